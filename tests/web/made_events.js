// made_events.js: a phone's orientation where a test's browser has none. The tests put it into a copy
// of the page before everything else. W3C Device Orientation: R = Rz(alpha) Rx(beta) Ry(gamma).
'use strict';
window.made = {bearing: 0, elevation: -60, top: false, shake: 0.001};
if (!('DeviceOrientationEvent' in window)) window.DeviceOrientationEvent = class extends Event {};
// A hand takes its time: 100 degrees a second.
const now = {bearing: 0, elevation: -60};
const towards = (from, by) => from + Math.max(-2.5, Math.min(2.5, by));
setInterval(() => {
  made.shake = -made.shake;
  now.bearing = towards(now.bearing, (made.bearing - now.bearing + 540) % 360 - 180);
  now.elevation = towards(now.elevation, made.elevation - now.elevation);
  const beta = 90 + now.elevation, bearing = (now.bearing + made.shake + 360) % 360;
  // With `top`: a free turn that began anywhere, and a compass heading of the top edge laid level,
  // which points backwards once the phone is raised past the vertical.
  const event = new Event(made.top ? 'deviceorientation' : 'deviceorientationabsolute');
  Object.assign(event, {alpha: (360 - bearing + (made.top ? 77 : 0)) % 360, beta, gamma: 0, absolute: !made.top});
  if (made.top) Object.assign(event, {webkitCompassHeading: (bearing + (beta > 90 ? 180 : 0)) % 360, webkitCompassAccuracy: 5});
  window.dispatchEvent(event);
}, 25);
// Reads of the store that fail from the n-th on: the n stays over a reload.
const failing = Number(localStorage.getItem('failing'));
if (failing) {
  let reads = 0;
  for (const name of ['get', 'getAll']) {
    const plain = IDBObjectStore.prototype[name];
    IDBObjectStore.prototype[name] = function(...given) {
      if (++reads >= failing) throw new DOMException('made', 'UnknownError');
      return plain.apply(this, given);
    };
  }
}
