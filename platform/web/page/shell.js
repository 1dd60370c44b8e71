// shell.js: the page round the program: starts it, brings touches, keys and text in, pixels out,
// keeps it up to date, and says what only the page can know (storage, versions, other windows).
'use strict';

(() => {
  const WORDS = {
    en: {
      elsewhere: 'Adret is open in another tab or window. Close it there, then go on here.',
      again: 'Go on here',
      secure: 'This page must be opened through https:// (or on this computer itself): without it the browser gives no compass, no camera and no storage. The handbook says how.',
      old: 'This browser is too old for Adret. Use a current Chrome, Edge, Firefox or Safari.',
      lost: 'Adret could not start. Reload the page; what was saved is safe.',
      threads: 'This browser or server gives no shared memory, which Adret needs. What was saved is safe: hand it over from here, or use a current Chrome, Edge, Firefox or Safari.',
      slow: 'Adret is taking long to start. Wait, or reload the page; what was saved is safe.',
      unread: 'What is stored here could not all be read, so nothing is written over it. Reload the page; if that does not help, hand over what can be read.',
      restored: 'This browser had lost its database. What is here comes from the second copy; the last seconds before it was closed may be missing. Look through the last marks.',
      rescue: 'Hand over what is stored',
      rescuing: 'Reading what is stored …',
      norescue: 'The browser gives nothing of what is stored. Do not clear this page\'s data; ask somebody with experience.',
      later: 'Later',
      stopped: 'Adret has stopped. Reload the page; everything shown as saved is safe.',
      reload: 'Reload',
      update: 'A new version is ready.',
      use: 'Use it',
      none: 'This browser keeps nothing (private window?). Hand the site over before you close it.',
      full: 'The storage is full: the last change is not saved. Hand the site over now, then make room.',
      failed: 'The last change is not saved yet. Adret keeps trying; hand the site over if this stays.',
      closed: 'The browser took the storage away. Hand the site over now, then reload.',
      nearly: 'The storage is nearly full ({used} of {all} MB). Hand sites over and delete them here.',
      evict: 'The browser may clear this data when room runs short. Hand the site over after each visit.',
      ok: 'OK',
    },
    de: {
      elsewhere: 'Adret ist in einem anderen Tab oder Fenster offen. Dort schließen, dann hier weitermachen.',
      again: 'Hier weiter',
      secure: 'Diese Seite muss über https:// geöffnet werden (oder auf diesem Rechner selbst): sonst gibt der Browser weder Kompass noch Kamera noch Speicher. Das Handbuch sagt, wie.',
      old: 'Dieser Browser ist zu alt für Adret. Ein aktueller Chrome, Edge, Firefox oder Safari hilft.',
      lost: 'Adret konnte nicht starten. Seite neu laden; Gespeichertes ist sicher.',
      threads: 'Dieser Browser oder Server gibt keinen gemeinsamen Speicher, den Adret braucht. Gespeichertes ist sicher: hier übergeben, oder einen aktuellen Chrome, Edge, Firefox oder Safari verwenden.',
      slow: 'Adret braucht lange zum Starten. Warten oder die Seite neu laden; Gespeichertes ist sicher.',
      unread: 'Nicht alles Gespeicherte ließ sich lesen; deshalb wird nichts überschrieben. Seite neu laden; hilft das nicht, übergeben, was lesbar ist.',
      restored: 'Dieser Browser hatte seine Datenbank verloren. Was hier steht, stammt aus der zweiten Kopie; die letzten Sekunden vor dem Schließen können fehlen. Die letzten Marken durchsehen.',
      rescue: 'Gespeichertes übergeben',
      rescuing: 'Gespeichertes wird gelesen …',
      norescue: 'Der Browser gibt nichts vom Gespeicherten her. Die Daten dieser Seite nicht löschen; jemanden mit Erfahrung fragen.',
      later: 'Später',
      stopped: 'Adret ist stehen geblieben. Seite neu laden; alles, was als gespeichert gezeigt wurde, ist sicher.',
      reload: 'Neu laden',
      update: 'Eine neue Version ist bereit.',
      use: 'Verwenden',
      none: 'Dieser Browser behält nichts (privates Fenster?). Die Fläche übergeben, bevor Sie schließen.',
      full: 'Der Speicher ist voll: die letzte Änderung ist nicht gesichert. Die Fläche jetzt übergeben, dann Platz schaffen.',
      failed: 'Die letzte Änderung ist noch nicht gesichert. Adret versucht es weiter; bleibt das so, die Fläche übergeben.',
      closed: 'Der Browser hat den Speicher entzogen. Die Fläche jetzt übergeben, dann neu laden.',
      nearly: 'Der Speicher ist fast voll ({used} von {all} MB). Flächen übergeben und hier löschen.',
      evict: 'Der Browser darf diese Daten löschen, wenn Platz fehlt. Nach jedem Besuch die Fläche übergeben.',
      ok: 'OK',
    },
  };
  const words = WORDS[(navigator.language || 'en').slice(0, 2)] || WORDS.en;
  const canvas = document.getElementById('screen');
  const context = canvas.getContext('2d', {alpha: false, desynchronized: true});
  const writing = document.getElementById('writing');
  const opening = document.getElementById('opening');
  let program = null;  // the Emscripten module once main() has run

  // ---- bars: short words above the program, one a name
  const bars = new Map();
  function bar(name, text, action, act, later) {
    unbar(name);
    const box = document.createElement('div'), line = document.createElement('p');
    box.className = 'bar';
    box.setAttribute('role', 'status');
    line.textContent = text;
    box.append(line);
    if (action) {
      const button = document.createElement('button');
      button.textContent = action;
      button.addEventListener('click', () => { unbar(name); act && act(); });
      box.append(button);
    }
    if (later) {
      const button = document.createElement('button');
      button.textContent = later;
      button.addEventListener('click', () => unbar(name));
      box.append(button);
    }
    document.getElementById('bars').append(box);
    bars.set(name, box);
    if (program) measure();  // the program's picture begins below the bars
  }
  function unbar(name) {
    const box = bars.get(name);
    if (!box) return;
    box.remove();
    bars.delete(name);
    if (program) measure();
  }
  function stop(text, ...actions) {  // words of a button, what it does, words of the next ...
    opening.hidden = false;
    document.getElementById('opening-words').textContent = text;
    opening.querySelectorAll('button').forEach((b) => b.remove());
    for (let i = 0; i < actions.length; i += 2) {
      const button = document.createElement('button');
      button.textContent = actions[i];
      button.addEventListener('click', actions[i + 1]);
      opening.append(button);
    }
  }
  const reload = () => location.reload();
  // Whatever keeps the program from starting: words, and a way to what is stored.
  function stopped(text) { stop(text, words.reload, reload, words.rescue, rescue); }
  async function rescue() {
    document.getElementById('opening-words').textContent = words.rescuing;
    try {
      const module = window.Module || {};
      if (!module.adretStore) keepFiles(module);
      const zips = await module.adretStore.rescued();
      zips.forEach((zip, i) => adretDevices.files.download(
        new File([zip], i ? `adret-stored-${i + 1}.zip` : 'adret-stored.zip', {type: 'application/zip'})));
      stopped(words.unread);
    } catch (error) {
      console.warn(error);
      stop(words.norescue, words.reload, reload);
    }
  }

  // ---- the screen as real elements, a few times a second at most
  const mirror = adretMirror((name) => {
    text('_adret_activate', name);
    kick();
  });
  let mirrored_ms = 0, mirrorTimer = 0;
  function reflect() {
    const wait = mirrored_ms + 300 - performance.now();
    if (wait > 0) {
      if (!mirrorTimer) mirrorTimer = setTimeout(() => { mirrorTimer = 0; reflect(); }, wait);
      return;
    }
    mirrored_ms = performance.now();
    if (program) mirror.show(program.UTF8ToString(program._adret_areas()));
  }

  // ---- the frame: drawn when something changed, asleep between
  let due = 0, timer = 0;
  function kick() {
    clearTimeout(timer);
    timer = 0;
    if (!due && program) due = requestAnimationFrame(frame);
  }
  function frame() {
    due = 0;
    if (!program) return;
    const sleep_s = program._adret_frame();
    paint();
    keyboard();
    reflect();
    if (sleep_s <= 0) kick();
    else if (!due) timer = setTimeout(kick, Math.min(sleep_s, 60) * 1000);
  }
  // The program lists what it repainted as x, y, width, height, address of RGBA rows.
  function paint() {
    const count = program._adret_painted(), list = program._adret_painted_list() >> 2;
    const {bytes, words} = program.memory();
    for (let i = 0; i < count; ++i) {
      const [x, y, w, h, at] = words.subarray(list + 5 * i, list + 5 * i + 5);
      const start = at >>> 0;
      const image = new ImageData(w, h);
      image.data.set(bytes.subarray(start, start + w * h * 4));
      context.putImageData(image, x, y);
    }
  }

  // ---- size: what the keyboard leaves, without the parts that a notch or a gesture bar covers
  function measure() {
    const view = window.visualViewport;
    const width = Math.round(view ? view.width * view.scale : innerWidth);
    const height = Math.round(view ? view.height * view.scale : innerHeight);
    const density = Math.min(window.devicePixelRatio || 1, 3);
    const style = getComputedStyle(document.getElementById('insets'));
    const inset = (side) => parseFloat(style['padding' + side]) || 0;
    const w = Math.round(width * density), h = Math.round(height * density);
    if (canvas.width !== w || canvas.height !== h) {
      canvas.width = w;
      canvas.height = h;
      canvas.style.width = width + 'px';
      canvas.style.height = height + 'px';
    }
    const keyboardUp = writing === document.activeElement && height < innerHeight * 0.8;
    program._adret_resize(w, h, density, inset('Left'),
                          Math.max(inset('Top'), document.getElementById('bars').getBoundingClientRect().bottom),
                          inset('Right'),
                          keyboardUp ? 0 : inset('Bottom'));
    window.scrollTo(0, 0);
    kick();
  }

  // ---- touches. The frame that answers is drawn inside the handler, so that what it asks for
  // (keyboard, camera, compass, share sheet) counts as asked by this touch.
  const fingers = new Map();
  let nextFinger = 1;
  function touch(kind, event) {
    if (!program) return;
    event.preventDefault();
    if (kind === 0) {
      fingers.set(event.pointerId, nextFinger++);
      try { canvas.setPointerCapture(event.pointerId); } catch (error) { /* already gone */ }
    }
    const finger = fingers.get(event.pointerId);
    if (finger === undefined) return;
    if (kind >= 2) fingers.delete(event.pointerId);
    program._adret_touch(kind, finger, event.clientX, event.clientY);
    if (kind === 2) {
      cancelAnimationFrame(due);
      frame();
    }
    kick();
  }
  function listenForTouches() {
    canvas.addEventListener('pointerdown', (e) => e.button === 0 && touch(0, e));
    canvas.addEventListener('pointermove', (e) => {
      touch(1, e);
    });
    canvas.addEventListener('pointerup', (e) => touch(2, e));
    canvas.addEventListener('pointercancel', (e) => touch(3, e));
    canvas.addEventListener('wheel', (e) => {
      e.preventDefault();
      program._adret_wheel(e.clientX, e.clientY, -e.deltaY);
      kick();
    }, {passive: false});
    // Page zoom, pull to refresh, the menu of a long press.
    for (const name of ['touchstart', 'touchmove', 'gesturestart', 'gesturechange', 'contextmenu', 'dblclick'])
      document.addEventListener(name, (e) => {
        if (!e.target.closest || !e.target.closest('.bar, #opening')) e.preventDefault();
      }, {passive: false});
  }

  // ---- text. The phone's keyboard writes into a hidden field; what changed in it since the last
  // event is replayed as deletions and insertions, which serves composition, autocorrection, swiped
  // words, dictation and paste alike. '. ' before the text makes keyboards start with a capital and
  // gives the backspace key something to delete.
  const LEAD = '. ';
  let before = LEAD, field = '';
  const KEYS = {ArrowLeft: 0, ArrowRight: 1, ArrowUp: 2, ArrowDown: 3, Home: 4, End: 5, Backspace: 8,
                Delete: 9, Enter: 13, Escape: 14, Tab: 15};
  const KEY_WORD_LEFT = 6, KEY_WORD_RIGHT = 7, KEY_BACKSPACE = 8, KEY_UNDO = 10, KEY_REDO = 11,
        KEY_ALL = 12, KEY_ENTER = 13;
  function clearWriting() {
    writing.value = before = LEAD;
    writing.setSelectionRange(LEAD.length, LEAD.length);
  }
  function text(call, value) {
    const bytes = new TextEncoder().encode(value + '\0');
    const at = program._malloc(bytes.length);
    program.memory().bytes.set(bytes, at);
    program[call](at);
    program._free(at);
  }
  function written() {
    const now = writing.value;
    const old = Array.from(before), fresh = Array.from(now);
    let same = 0;
    while (same < old.length && same < fresh.length && old[same] === fresh[same]) ++same;
    for (let i = old.length; i > same; --i) program._adret_key(KEY_BACKSPACE, 0);
    const added = fresh.slice(same).join('');
    added.split('\n').forEach((part, i) => {
      if (i) program._adret_key(KEY_ENTER, 0);
      if (part) text('_adret_typed', part);
    });
    before = now;
    if (!now.startsWith(LEAD)) clearWriting();
    kick();
  }
  function keyboard() {
    const wanted = !!program._adret_writing();
    const name = wanted ? program.UTF8ToString(program._adret_writing_field()) : '';
    if (wanted && (name !== field || document.activeElement !== writing)) {
      clearWriting();
      writing.focus({preventScroll: true});
    } else if (!wanted && document.activeElement === writing) {
      writing.blur();
      canvas.focus({preventScroll: true});
    }
    field = name;
    if (wanted) {
      const at = program.memory().floats.subarray(program._adret_caret() >> 2);
      writing.style.transform = `translate(${Math.max(0, at[0])}px, ${Math.max(0, at[1])}px)`;
    }
  }
  function listenForText() {
    writing.addEventListener('input', written);
    writing.addEventListener('blur', () => {
      // The keyboard was put away by the system: the program's field ends too.
      if (program._adret_writing() && document.visibilityState === 'visible') {
        program._adret_key(KEYS.Escape, 0);
        kick();
      }
    });
    document.addEventListener('keydown', (e) => {
      if (!program || e.isComposing || e.keyCode === 229) return;
      const control = e.ctrlKey || e.metaKey, shift = e.shiftKey ? 1 : 0, here = e.target === writing;
      const key = e.key.toLowerCase();
      let act = null;
      if (control && key === 'z') act = shift ? KEY_REDO : KEY_UNDO;
      else if (control && key === 'y') act = KEY_REDO;
      else if (control && key === 'a') act = KEY_ALL;
      else if (control && e.key === 'ArrowLeft') act = KEY_WORD_LEFT;
      else if (control && e.key === 'ArrowRight') act = KEY_WORD_RIGHT;
      else if (e.key === 'Backspace' && here && writing.value.length > LEAD.length) return;
      else if (e.key in KEYS) act = KEYS[e.key];
      if (act === null) {
        // The shutter: volume keys (of some), space where nothing is written.
        if (!here && !e.repeat && (e.key === ' ' || e.key.startsWith('AudioVolume') || e.key === 'Camera')) {
          program._adret_mark_key();
        } else if (!here && !control && !e.altKey && [...e.key].length === 1) {
          text('_adret_typed', e.key);  // figures go into the keypad that is open
        } else {
          return;
        }
        e.preventDefault();
        kick();
        return;
      }
      e.preventDefault();
      if (act === KEYS.Escape && !program._adret_writing()) program._adret_back();
      else program._adret_key(act, shift);
      if (here) clearWriting();  // the caret moved: the field no longer mirrors what is before it
      kick();
    });
  }

  // ---- the back gesture: one step back in the program; out of it only from its first screen
  function listenForBack() {
    history.pushState({adret: true}, '');
    window.addEventListener('popstate', () => {
      if (program._adret_back()) history.pushState({adret: true}, '');
      else history.back();
      kick();
    });
  }

  // ---- storage
  let asked = false;
  async function onStore(state, problem) {
    if (state === 'failed' && problem === 'unread') return stopped(words.unread);
    if (state === 'failed') return bar('store', words[problem] || words.failed);
    if (state === 'restored') return bar('restored', words.restored, words.ok);
    unbar('store');
    kick();
    if (!navigator.storage || !window.Module.adretStore.holds('.gpkg')) return;
    if (!asked && navigator.storage.persist) {
      asked = true;  // once there is a site: something worth keeping
      if (!await navigator.storage.persisted() && !await navigator.storage.persist() &&
          !localStorage.getItem('adret-evict-said')) {
        localStorage.setItem('adret-evict-said', '1');
        bar('evict', words.evict, words.ok);
      }
    }
    const {usage, quota} = await navigator.storage.estimate();
    if (quota - usage < 60e6 || usage > 0.85 * quota)
      bar('nearly', words.nearly.replace('{used}', Math.round(usage / 1e6)).replace('{all}', Math.round(quota / 1e6)), words.ok);
  }

  // ---- versions: the new one waits until it is asked for
  async function registerWorker() {
    if (!('serviceWorker' in navigator)) return;
    const offer = (registration) => {
      if (registration.waiting && navigator.serviceWorker.controller)
        bar('update', words.update, words.use, () => {
          navigator.serviceWorker.addEventListener('controllerchange', () => location.reload());
          registration.waiting.postMessage('use');
        }, words.later);
    };
    try {
      const registration = await navigator.serviceWorker.register('service_worker.js', {updateViaCache: 'none'});
      offer(registration);
      registration.addEventListener('updatefound', () => {
        const fresh = registration.installing;
        fresh.addEventListener('statechange', () => fresh.state === 'installed' && offer(registration));
      });
      document.addEventListener('visibilitychange', () => {
        if (document.visibilityState === 'visible' && navigator.onLine) registration.update().catch(() => {});
      });
    } catch (error) { /* without it the app works, but not offline */ }
  }
  // Threads need an isolated page. Where the server does not say so, the service worker does, from
  // the second load on.
  async function isolated() {
    if (window.crossOriginIsolated) return true;
    if (!('serviceWorker' in navigator)) return false;
    await navigator.serviceWorker.ready;
    if (!navigator.serviceWorker.controller)
      await new Promise((done) => navigator.serviceWorker.addEventListener('controllerchange', done, {once: true}));
    if (sessionStorage.getItem('adret-isolating')) return false;
    sessionStorage.setItem('adret-isolating', '1');
    location.reload();
    return new Promise(() => {});
  }

  // ---- site files that the system opens with this app, or another app shares with it
  async function takeFiles() {
    if ('launchQueue' in window)
      window.launchQueue.setConsumer(async (launch) => {
        for (const handle of launch.files) adretDevices.files.take(await handle.getFile(), adretDevices.files.opened);
      });
    if (!('caches' in window)) return;
    const shared = await caches.open('shared');
    for (const request of await shared.keys()) {
      const name = decodeURIComponent(request.url.slice(request.url.lastIndexOf('/') + 1));
      await adretDevices.files.take(new File([await (await shared.match(request)).blob()], name), adretDevices.files.opened);
      await shared.delete(request);
    }
  }

  // ---- one window at a time writes
  function alone() {
    return new Promise((done) => {
      if (!navigator.locks) return done(true);
      const ask = () => navigator.locks.request('adret', {ifAvailable: true}, (lock) => {
        if (!lock) return stop(words.elsewhere, words.again, ask);
        done(true);
        return new Promise(() => {});  // held until the window closes
      });
      ask();
    });
  }

  async function start() {
    if (!window.isSecureContext) return stop(words.secure);
    if (!window.WebAssembly || !window.indexedDB) return stop(words.old);
    registerWorker();
    if (!await isolated() || typeof SharedArrayBuffer === 'undefined') return stopped(words.threads);
    sessionStorage.removeItem('adret-isolating');
    await alone();
    stop('Adret');
    setTimeout(() => { if (!program && !document.querySelector('#opening button')) stopped(words.slow); }, 25000);
    // As a blob: some engines' workers fetch their script past the service worker, and so not offline.
    const code = await (await fetch('adret.js')).blob();
    window.Module = {
      mainScriptUrlOrBlob: new Blob([code], {type: 'text/javascript'}),
      onStore,
      locateFile: (name) => name,
      print: (line) => console.log(line),
      printErr: (line) => console.warn(line),
      onAbort: () => { program = null; stopped(words.stopped); },
      postRun: [() => {  // main() has run
        program = window.Module;
        program._adret_start();
        adretDevices.onWake(kick);
        measure();
        listenForTouches();
        listenForText();
        listenForBack();
        window.addEventListener('resize', measure);
        if (window.visualViewport) window.visualViewport.addEventListener('resize', measure);
        if (screen.orientation) screen.orientation.addEventListener('change', () => setTimeout(measure, 100));
        document.addEventListener('visibilitychange', () => {
          if (document.visibilityState === 'hidden') program._adret_pause();
          kick();
        });
        takeFiles();
        frame();
        opening.hidden = true;
        document.documentElement.dataset.ready = String(Math.round(performance.now()));
      }],
    };
    keepFiles(window.Module);
    const script = document.createElement('script');
    script.src = 'adret.js';
    script.onerror = () => stopped(words.lost);
    document.body.append(script);
  }
  window.addEventListener('error', (e) => {
    if (e.error instanceof WebAssembly.RuntimeError || e.error instanceof WebAssembly.Exception) {
      program = null;
      stopped(words.stopped);
    } else if (!document.documentElement.dataset.ready) {
      stopped(words.lost);
    }
  });
  window.addEventListener('unhandledrejection', () => {
    if (!document.documentElement.dataset.ready) stopped(words.lost);
  });
  window.adretKick = kick;
  start().catch(() => stopped(words.lost));
})();
