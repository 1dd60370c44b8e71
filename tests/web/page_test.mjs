// page_test.mjs: the app's page in headless Chromium at phone size: first visit online, then with the
// server gone; touches, text as a phone's keyboard writes it, the back gesture, the sensors as the
// browser emulates them, a second window, and that nothing leaves the origin.
import path from 'node:path';
import {setTimeout as sleep} from 'node:timers/promises';
import {asPhone, check, dropProfile, finish, launch, newProfile, root, serve, started, until} from './browser.mjs';

const site = await serve(path.join(root, process.argv[2] || 'build/web/probe-site'));
const profile = newProfile();
const {context, kill} = await launch(profile);
const origin = site.url.slice(0, -1);
await context.grantPermissions(['geolocation', 'camera', 'accelerometer', 'gyroscope', 'magnetometer'], {origin});
await context.setGeolocation({latitude: 46.6213, longitude: 10.3478, accuracy: 4});
const page = context.pages()[0];
const session = await asPhone(page);
const elsewhere = [], problems = [];
page.on('request', (r) => r.url().startsWith(site.url) || r.url().startsWith('blob:') || elsewhere.push(r.url()));
page.on('pageerror', (e) => problems.push(String(e)));

async function tap(x, y) {
  await session.send('Input.dispatchTouchEvent', {type: 'touchStart', touchPoints: [{x, y}]});
  await session.send('Input.dispatchTouchEvent', {type: 'touchEnd', touchPoints: []});
}

await page.goto(site.url);
console.log(`     cold start ${await started(page)} ms`);
check(await page.evaluate(() => crossOriginIsolated), 'the page is isolated, so that threads work');
check(await page.evaluate(() => document.querySelector('#screen').width) === Math.round(412 * 2.625), 'the canvas has the pixels of the device');

await tap(200, 600);
check(await until(page, () => Module._probe_count() === 1 && Module._probe_durable()), 'a touch makes a mark, and it becomes durable');

await tap(200, 100);
check(await until(page, () => document.activeElement.id === 'writing'), 'a touch on text brings the keyboard');
const kept = () => page.evaluate(() => Module.UTF8ToString(Module._probe_text()));
await session.send('Input.insertText', {text: 'Larkholm'});
check(await kept() === 'Larkholm', `typed text arrives (${await kept()})`);
await session.send('Input.imeSetComposition', {text: ' gar', selectionStart: 4, selectionEnd: 4});
await session.send('Input.imeSetComposition', {text: ' garden', selectionStart: 7, selectionEnd: 7});
await session.send('Input.insertText', {text: ' garden'});
check(await kept() === 'Larkholm garden', `composed text arrives once (${await kept()})`);
await page.evaluate(() => {  // as an autocorrection does it: the last word replaced
  const field = document.getElementById('writing');
  field.value = field.value.replace('garden', 'gardens');
  field.dispatchEvent(new InputEvent('input', {inputType: 'insertReplacementText'}));
});
check(await kept() === 'Larkholm gardens', `a corrected word replaces the first (${await kept()})`);

await page.evaluate(() => Module._probe_aim());
await sleep(300);  // the event goes to those who listen
await session.send('DeviceOrientation.setDeviceOrientationOverride', {alpha: 225, beta: 110, gamma: 0});
const aimed = await until(page, () => Module._probe_aimed(0) >= 0 && [0, 1, 2].map((i) => Module._probe_aimed(i) / 1000));
check(aimed && Math.abs(aimed[0] - 135) < 0.01 && Math.abs(aimed[1] - 20) < 0.01 && Math.abs(aimed[2]) < 0.01,
      `emulated orientation: bearing 135, elevation 20, roll 0 (${aimed})`);
await page.evaluate(() => Module._probe_locate());
check(await until(page, () => Module._probe_located() === 46621300), 'emulated position arrives');
await page.evaluate(() => Module._probe_film());
check(await until(page, () => Module._probe_filmed() > 0), 'the camera gives pictures');

check(await until(page, () => navigator.serviceWorker.controller && 1, null, 30), 'the service worker holds the app');
const second = await context.newPage();
await second.goto(site.url);
check(await until(second, () => /another tab|anderen Tab/.test(document.getElementById('opening').textContent)), 'a second window says that the first is open');
await second.close();

site.stop();
await sleep(300);
const begun = Date.now();
await page.reload();
await started(page);
console.log(`     warm start, server gone, ${await page.evaluate(() => document.documentElement.dataset.ready)} ms (${Date.now() - begun} ms from outside)`);
check(await page.evaluate(() => Module._probe_count()) === 1, 'offline, the mark is still there');
await page.evaluate(() => history.back());
check(await until(page, () => !!document.getElementById('screen')), 'the back gesture stays in the app');
check(elsewhere.length === 0, `no request left the origin ${elsewhere}`);
check(problems.length === 0, `no error in the page ${problems}`);

await kill();
dropProfile(profile);
finish();
