// devices.js: the browser's sensors, camera, files and sharing, kept as the newest values for the
// program to fetch when it draws. Nothing here decides; platform/web/devices.cpp gives it meaning.
'use strict';

const adretDevices = (() => {
  const report = (state, problem) => ({state, problem: problem || ''});
  // The numbers are those of platform::DeviceState.
  const MISSING = 0, OFF = 1, ASKING = 2, REFUSED = 3, STARTING = 4, RUNNING = 5, FAILED = 6;
  let wake = () => {};  // set by the shell: something new has come

  // ---- position
  const position = {
    ...report('geolocation' in navigator ? OFF : MISSING,
              'geolocation' in navigator ? '' : 'device.browser_gives_no_position_type'),
    fixes: [],
    watch: null,
    start() {
      if (this.state === MISSING || this.watch !== null) return;
      Object.assign(this, report(ASKING));
      this.watch = navigator.geolocation.watchPosition((p) => {
        Object.assign(this, report(RUNNING));
        const c = p.coords;
        this.fixes.push([p.timestamp / 1000, c.latitude, c.longitude,
                         c.altitude ?? NaN, c.accuracy, c.altitudeAccuracy ?? NaN]);
        if (this.fixes.length > 600) this.fixes.shift();
        wake();
      }, (error) => {
        const refused = error.code === error.PERMISSION_DENIED;
        if (refused) this.stop();
        Object.assign(this, refused
          ? report(REFUSED, 'device.position_was_refused')
          : report(FAILED, 'device.no_position_yet_step_into'));
        wake();
      }, {enableHighAccuracy: true, maximumAge: 0, timeout: 30000});
    },
    stop() {
      if (this.watch !== null) navigator.geolocation.clearWatch(this.watch);
      this.watch = null;
      if (this.state !== MISSING && this.state !== REFUSED) Object.assign(this, report(OFF));
    },
  };

  // ---- attitude: kind 1 = angles that refer to north, 2 = angles of a free turn and a compass heading
  // (NaN while the compass has none), 3 = quaternion that refers to north, 4 = angles of a free turn
  const NO_COMPASS = 'device.no_compass_level_browser';
  const attitude = {
    ...report('DeviceOrientationEvent' in window || 'AbsoluteOrientationSensor' in window ? OFF : MISSING,
              'DeviceOrientationEvent' in window ? '' : NO_COMPASS),
    absent: !('DeviceOrientationEvent' in window || 'AbsoluteOrientationSensor' in window),
    newest: null,
    field: null,
    running: false,
    sensor: null,
    magnetometer: null,
    seen: 0,
    asked: 0,
    absolute: false,
    timer: 0,
    screenAngle() {
      if (screen.orientation && typeof screen.orientation.angle === 'number') return screen.orientation.angle;
      return typeof window.orientation === 'number' ? (window.orientation + 360) % 360 : 0;
    },
    give(kind, a, b, c, d, accuracy, time) {
      this.newest = [kind, a, b, c, d, this.screenAngle(), accuracy, time / 1000];
      this.seen = performance.now();
      if (this.state !== RUNNING) Object.assign(this, report(RUNNING));
      wake();
    },
    onAbsolute(e) {
      if (e.alpha === null || e.beta === null || e.gamma === null) return;
      this.absolute = true;
      this.give(1, e.alpha, e.beta, e.gamma, 0, NaN, e.timeStamp);
    },
    onOrientation(e) {
      if (e.beta === null || e.gamma === null || this.absolute) return;
      if (typeof e.webkitCompassHeading === 'number') {
        const sound = e.webkitCompassAccuracy >= 0;
        this.give(2, e.alpha || 0, e.beta, e.gamma, sound ? e.webkitCompassHeading : NaN,
                  sound ? e.webkitCompassAccuracy : NaN, e.timeStamp);
      } else
        this.give(e.absolute ? 1 : 4, e.alpha || 0, e.beta, e.gamma, 0, NaN, e.timeStamp);
    },
    // Tried anew each time: readings may only have been late.
    async start() {
      if (this.absent || this.running) return;
      this.running = true;
      Object.assign(this, report(ASKING));
      try {
        // iOS: answers only inside a touch, which is where the program calls from.
        const request = window.DeviceOrientationEvent && window.DeviceOrientationEvent.requestPermission;
        if (request && await request.call(window.DeviceOrientationEvent) !== 'granted') {
          this.running = false;
          Object.assign(this, report(REFUSED, 'device.compass_was_refused'));
          return wake();
        }
      } catch (error) {
        this.running = false;
        Object.assign(this, report(OFF, 'device.touch_sight_once_start_compass'));
        return wake();
      }
      if (!this.running) return;
      Object.assign(this, report(STARTING));
      this.absolute = false;
      this.listeners = [['deviceorientationabsolute', (e) => this.onAbsolute(e)],
                        ['deviceorientation', (e) => this.onOrientation(e)]];
      for (const [name, act] of this.listeners) window.addEventListener(name, act);
      this.timer = setTimeout(() => { if (!this.seen) this.startSensor(); }, 1500);
      this.startMagnetometer();
    },
    // Where the events stay away: the Generic Sensor API.
    startSensor() {
      const none = () => {
        if (this.seen) return;
        Object.assign(this, report(MISSING, NO_COMPASS));
        wake();
      };
      if (!('AbsoluteOrientationSensor' in window)) return none();
      try {
        this.sensor = new AbsoluteOrientationSensor({frequency: 60, referenceFrame: 'device'});
        this.sensor.onreading = () => {
          const q = this.sensor.quaternion;
          this.give(3, q[0], q[1], q[2], q[3], NaN, this.sensor.timestamp);
        };
        this.sensor.onerror = (e) => {
          if (e.error.name === 'NotAllowedError')
            Object.assign(this, report(REFUSED, 'device.compass_was_refused'));
          else none();
          wake();
        };
        this.sensor.start();
        setTimeout(none, 3000);
      } catch (error) {
        none();
      }
    },
    startMagnetometer() {
      if (!('Magnetometer' in window)) return;
      try {
        this.magnetometer = new Magnetometer({frequency: 10});
        this.magnetometer.onreading = () => {
          this.field = [this.magnetometer.x, this.magnetometer.y, this.magnetometer.z];
        };
        this.magnetometer.onerror = () => { this.field = null; };
        this.magnetometer.start();
      } catch (error) {
        this.magnetometer = null;
      }
    },
    stop() {
      clearTimeout(this.timer);
      for (const [name, act] of this.listeners || []) window.removeEventListener(name, act);
      this.listeners = [];
      if (this.sensor) this.sensor.stop();
      if (this.magnetometer) this.magnetometer.stop();
      this.sensor = this.magnetometer = this.field = this.newest = null;
      this.running = false;
      this.seen = 0;
      if (this.state !== MISSING && this.state !== REFUSED) Object.assign(this, report(OFF));
    },
    // A device at rest sends nothing, and so does a dead sensor. Listening anew brings the reading of a
    // living one at once; where that stays away too, the sensor died.
    check() {
      if (this.state !== RUNNING || document.visibilityState !== 'visible') return;
      const silent = performance.now() - this.seen;
      if (silent < 2000) {
        this.asked = 0;
      } else if (!this.asked) {
        this.asked = performance.now();
        for (const [name, act] of this.listeners || []) window.removeEventListener(name, act);
        setTimeout(() => {
          for (const [name, act] of this.listeners || []) window.addEventListener(name, act);
        }, 0);
      } else if (performance.now() - this.asked > 3000) {
        Object.assign(this, report(FAILED, 'device.compass_gives_nothing_more'));
      }
    },
  };

  // ---- camera
  const canFilm = !!(navigator.mediaDevices && navigator.mediaDevices.getUserMedia);
  const camera = {
    ...report(canFilm ? OFF : MISSING, canFilm ? '' : 'device.no_camera_browser_pick_picture'),
    stream: null,
    video: null,
    canvas: null,
    newest: null,
    shown: 0,
    photo: null,
    async start() {
      if (this.state === MISSING || this.stream || this.state === ASKING) return;
      Object.assign(this, report(ASKING));
      try {
        const stream = await navigator.mediaDevices.getUserMedia({
          audio: false,
          video: {facingMode: {ideal: 'environment'}, width: {ideal: 1920}, height: {ideal: 1080}},
        });
        if (this.state !== ASKING) return stream.getTracks().forEach((t) => t.stop());
        this.stream = stream;
        this.video = document.createElement('video');
        this.video.muted = true;
        this.video.playsInline = true;
        this.video.srcObject = stream;
        stream.getVideoTracks()[0].onended = () => {
          this.stop();
          Object.assign(this, report(FAILED, 'device.camera_stopped_open_sight_again'));
          wake();
        };
        await this.video.play();
        Object.assign(this, report(RUNNING));
        this.watch();
      } catch (error) {
        Object.assign(this, error.name === 'NotAllowedError'
          ? report(REFUSED, 'device.camera_was_refused')
          : report(error.name === 'NotFoundError' ? MISSING : FAILED, 'device.no_camera_answers_aim_without'));
      }
      wake();
    },
    stop() {
      if (this.stream) this.stream.getTracks().forEach((t) => t.stop());
      this.stream = this.video = this.newest = null;
      if (this.state !== MISSING && this.state !== REFUSED) Object.assign(this, report(OFF));
    },
    // Reads the film between the app's frames, as reading it takes longer than drawing it: at most 15
    // pictures a second, 640 pixels wide, and none that the app has not asked for.
    watch() {
      const video = this.video;
      const read = () => {
        if (this.video !== video) return;
        if (!this.newest && performance.now() - this.shown >= 66) this.read();
        if (video.requestVideoFrameCallback) video.requestVideoFrameCallback(read);
        else setTimeout(read, 66);
      };
      read();
    },
    read() {
      if (this.video.readyState < 2) return;
      this.shown = performance.now();
      const scale = Math.min(1, 640 / this.video.videoWidth);
      const width = Math.round(this.video.videoWidth * scale), height = Math.round(this.video.videoHeight * scale);
      if (!width || !height) return;
      if (!this.canvas) this.canvas = document.createElement('canvas');
      if (this.canvas.width !== width || this.canvas.height !== height)
        Object.assign(this.canvas, {width, height});
      const context = this.canvas.getContext('2d', {willReadFrequently: true});
      context.drawImage(this.video, 0, 0, width, height);
      this.newest = [width, height, context.getImageData(0, 0, width, height).data];
      wake();
    },
    // [width, height, RGBA bytes] or null.
    picture() {
      const picture = this.newest;
      this.newest = null;
      return picture;
    },
    async take() {
      if (!this.stream) return;
      try {
        const track = this.stream.getVideoTracks()[0];
        let blob = null;
        if ('ImageCapture' in window) blob = await new ImageCapture(track).takePhoto().catch(() => null);
        if (!blob) {
          const canvas = document.createElement('canvas');
          canvas.width = this.video.videoWidth;
          canvas.height = this.video.videoHeight;
          canvas.getContext('2d').drawImage(this.video, 0, 0);
          blob = await new Promise((done) => canvas.toBlob(done, 'image/jpeg', 0.92));
        }
        this.photo = new Uint8Array(await blob.arrayBuffer());
      } catch (error) {
        Object.assign(this, report(FAILED, 'device.photo_failed_take_again_pick'));
      }
      wake();
    },
  };

  // ---- what a hand or an ear notices
  const feedback = {
    speaks: () => 'speechSynthesis' in window,
    speak(words, language) {
      if (!('speechSynthesis' in window)) return;
      const said = new SpeechSynthesisUtterance(words);
      said.lang = language;
      speechSynthesis.cancel();  // the newest reading counts
      speechSynthesis.speak(said);
    },
    lock: null,
    wanted: false,
    sound: null,
    give(signal) {  // 0 saved, 1 refused, 2 done
      if (navigator.vibrate) return navigator.vibrate([[20], [60, 60, 60], [20, 60, 20]][signal] || 20);
      try {
        this.sound = this.sound || new (window.AudioContext || window.webkitAudioContext)();
        const tone = this.sound.createOscillator(), volume = this.sound.createGain();
        tone.frequency.value = [880, 220, 660][signal] || 880;
        volume.gain.setValueAtTime(0.2, this.sound.currentTime);
        volume.gain.exponentialRampToValueAtTime(0.001, this.sound.currentTime + 0.07);
        tone.connect(volume).connect(this.sound.destination);
        tone.start();
        tone.stop(this.sound.currentTime + 0.08);
      } catch (error) { /* silent then */ }
    },
    async keepScreenOn(on) {
      this.wanted = on;
      try {
        if (on && !this.lock && navigator.wakeLock && document.visibilityState === 'visible') {
          this.lock = await navigator.wakeLock.request('screen');
          this.lock.onrelease = () => { this.lock = null; };
          if (!this.wanted) this.lock.release();
        } else if (!on && this.lock) {
          this.lock.release();
        }
      } catch (error) { /* the screen goes dark by itself, nothing is lost */ }
    },
  };
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible' && feedback.wanted) feedback.keepScreenOn(true);
  });

  // ---- files that the user picks, hands on or keeps
  const KINDS = {
    gpkg: 'application/geopackage+sqlite3', csv: 'text/csv', json: 'application/json', pdf: 'application/pdf',
    zip: 'application/zip', png: 'image/png', jpg: 'image/jpeg', jpeg: 'image/jpeg', txt: 'text/plain',
    svg: 'image/svg+xml', html: 'text/html', glb: 'model/gltf-binary', gltf: 'model/gltf+json',
    dxf: 'image/vnd.dxf', epw: 'text/plain', geojson: 'application/geo+json',
  };
  const files = {
    chosen: [],
    opened: [],
    pick(kinds) {
      const input = document.createElement('input');
      input.type = 'file';
      input.accept = kinds.split(',').map((kind) => '.' + kind.trim()).join(',');
      input.onchange = async () => {
        for (const file of input.files) await this.take(file, this.chosen);
      };
      input.click();
    },
    async take(file, into) {
      into.push({name: file.name, bytes: new Uint8Array(await file.arrayBuffer())});
      wake();
    },
    file(name, bytes) {
      const kind = KINDS[name.split('.').pop().toLowerCase()] || 'application/octet-stream';
      return new File([bytes], name, {type: kind});
    },
    canShare() {
      try {
        return !!navigator.canShare && navigator.canShare({files: [this.file('a.pdf', new Uint8Array(1))]});
      } catch (error) {
        return false;
      }
    },
    share(name, bytes) {
      const file = this.file(name, bytes);
      // Browsers share a short list of kinds; the rest is downloaded.
      if (navigator.canShare && navigator.canShare({files: [file]}))
        navigator.share({files: [file], title: name}).catch((error) => {
          if (error.name !== 'AbortError') this.download(file);
        });
      else
        this.download(file);
    },
    download(file) {
      const link = document.createElement('a');
      link.href = URL.createObjectURL(file);
      link.download = file.name;
      document.body.appendChild(link);
      link.click();
      link.remove();
      setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    },
  };

  return {position, attitude, camera, feedback, files, onWake: (act) => { wake = act; }};
})();
