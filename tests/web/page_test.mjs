// page_test.mjs: the page round the app in headless Chromium at phone size: text as a phone's keyboard
// writes it, poses of the phone, refused permissions, the back gesture, a second window, a full
// storage, a new version, and that nothing leaves the origin.
import {cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync} from 'node:fs';
import {tmpdir} from 'node:os';
import path from 'node:path';
import {setTimeout as sleep} from 'node:timers/promises';
import {App} from './app.mjs';
import {asPhone, check, dropProfile, finish, hold, launch, newProfile, root, serve, started, until} from './browser.mjs';

const folder = mkdtempSync(path.join(tmpdir(), 'adret-site-'));  // a copy, which gets a new version
cpSync(path.join(root, 'build/web/site'), folder, {recursive: true});
const site = await serve(folder);
const profile = newProfile();
const {browser, context, kill} = await launch(profile);
const origin = site.url.slice(0, -1);
const page = context.pages()[0];
const session = await asPhone(page);
const elsewhere = [], problems = [];
page.on('request', (r) => /^(blob:|data:)/.test(r.url()) || r.url().startsWith(site.url) || elsewhere.push(r.url()));
page.on('pageerror', (e) => problems.push(String(e)));

await page.goto(site.url);
await started(page);
const app = new App(page, session);
check(await page.evaluate(() => crossOriginIsolated), 'the page is isolated, so that threads work');
check(await page.evaluate(() => document.querySelector('#screen').width) === Math.round(412 * 2.625), 'the canvas has the pixels of the device');

try {
  // ---- refused permissions: said with the way out, and the app goes on
  const cdp = await browser.newBrowserCDPSession();
  for (const name of ['geolocation', 'videoCapture', 'sensors'])
    await cdp.send('Browser.setPermission', {permission: {name: name === 'videoCapture' ? 'camera' : name === 'sensors' ? 'accelerometer' : name}, setting: 'denied', origin}).catch((e) => problems.push(String(e)));
  await app.touch('New site');
  await app.touch('I have read this');
  const told = await until(page, () => document.querySelector('#bars button') && document.getElementById('bars').textContent);
  check(/may clear this data/.test(told), 'storage that is not for ever is said, with what to do');
  await page.locator('#bars button').click();
  await until(page, () => !document.querySelector('#bars button') && 1);
  await app.expect('was refused');
  check(true, 'a refused position is said, with what to do');
  await app.touch('Type the position');
  await app.write('Position in any notation', '46.6213 N 10.3478 E 1482');
  await app.touch('Use this position');
  await app.expect('46.621');
  check(true, 'the position is typed in instead');

  // ---- text
  await app.write('People (initials)', 'AB');
  check(await app.expect('AB'), 'typed text arrives');
  await session.send('Input.imeSetComposition', {text: ', C', selectionStart: 3, selectionEnd: 3});
  await session.send('Input.imeSetComposition', {text: ', CDE', selectionStart: 5, selectionEnd: 5});
  await session.send('Input.insertText', {text: ', CDE'});
  await app.until((s) => s.words.includes('AB, CDE'), 'composed text does not arrive once', 5);
  check(true, 'composed text arrives once');
  await page.evaluate(() => {  // as an autocorrection does it: the last word replaced
    const field = document.getElementById('writing');
    field.value = field.value.replace('CDE', 'CD Ö');
    field.dispatchEvent(new InputEvent('input', {inputType: 'insertReplacementText'}));
  });
  await app.until((s) => s.words.includes('AB, CD Ö'), 'a corrected word does not replace the first', 5);
  check(true, 'a corrected word replaces the first');

  // ---- poses: the camera's bearing and elevation by the rotation matrix of the W3C's Device
  // Orientation specification, Z(alpha) X(beta) Y(gamma), its axis the device's -z
  await context.grantPermissions(['geolocation', 'camera', 'accelerometer', 'gyroscope', 'magnetometer'], {origin});
  await app.touch('Skyline');
  await sleep(300);
  let worst = 0, poses = 0;
  for (const [alpha, beta, gamma] of [[225, 110, 0], [0, 90, 0], [10, 75, 12], [300, 100, -25], [90, 5, -85], [45, -4, 80],
    [180, 120, 30], [359.5, 91, 0.5], [200, -110, 0], [123.4, 60, -40]]) {
    const [a, b, c] = [alpha, beta, gamma].map((v) => v * Math.PI / 180);
    const axis = [-(Math.cos(a) * Math.sin(c) + Math.sin(a) * Math.sin(b) * Math.cos(c)),
                  -(Math.sin(a) * Math.sin(c) - Math.cos(a) * Math.sin(b) * Math.cos(c)), -(Math.cos(b) * Math.cos(c))];
    const bearing = (Math.atan2(axis[0], axis[1]) * 180 / Math.PI + 360) % 360;
    const elevation = Math.asin(axis[2]) * 180 / Math.PI;
    if (Math.abs(elevation) > 85) continue;
    // From far away, so that the app takes this one reading and no mean.
    await hold(session, (alpha + 60) % 360, beta, gamma);
    await sleep(200);
    await hold(session, alpha, beta, gamma);
    const near = (aim) => aim && Math.abs(((aim[0] - bearing + 540) % 360) - 180) < 1 && aim;
    const got = await app.until((s) => near(s.aim), `no pose ${alpha} ${beta} ${gamma}`, 10);
    ++poses;
    const off = got ? Math.max(Math.abs(((got[0] - bearing + 540) % 360) - 180), Math.abs(got[1] - elevation)) : 180;
    worst = Math.max(worst, off);
  }
  check(worst < 0.01, `${poses} poses of the phone arrive within ${worst.toFixed(4)} degree`);

  // ---- the back gesture stays in the app
  await page.evaluate(() => history.back());
  check(await app.until((s) => s.screen !== 'skyline', 'back does nothing', 5), 'the back gesture goes one step back in the app');

  // ---- a second window says so
  check(await until(page, () => navigator.serviceWorker.controller && 1, null, 30), 'the service worker holds the app');
  const second = await context.newPage();
  await second.goto(site.url);
  check(await until(second, () => /another tab/.test(document.getElementById('opening').textContent)), 'a second window says that the first is open');
  await second.close();

  // ---- a file that the system opens with the app, while a screen is open that takes photographs
  await app.touch((await app.seen()).touch.find((t) => t.label.startsWith('Site of')).label);
  await app.touch('Photos');
  await app.until((t) => t.screen === 'photos', 'the photographs do not open', 5);
  await page.evaluate(() => adretDevices.files.take(new File(['no site'], 'shared.gpkg'), adretDevices.files.opened));
  check(await app.until((t) => t.screen === 'sites' && JSON.stringify(t.words).includes('shared.gpkg'), 'nothing is said of it', 10),
        'a file that the system opens is taken for a site');
  await app.touch((await app.seen()).touch.find((t) => t.label.includes('shared.gpkg')).label);  // read

  // ---- storage that fails: said, marked as not kept, and mended when there is room again
  await page.evaluate(() => {
    const database = Module.adretStore.database, plain = database.transaction.bind(database);
    window.makeRoom = () => { delete database.transaction; };
    database.transaction = () => { throw new DOMException('', 'QuotaExceededError'); };
  });
  await app.touch((await app.seen()).touch.find((t) => t.label.startsWith('Site of')).label);
  await app.touch('Arrive');
  await app.write('Weather', 'clear');
  check(await until(page, () => /storage is full/.test(document.getElementById('bars').textContent), null, 10), 'a full storage is said, with what to do');
  check(await page.evaluate(() => !Module.adretStore.durable()), 'nothing counts as saved meanwhile');
  await page.evaluate(() => makeRoom());
  check(await until(page, () => Module.adretStore.durable() && 1, null, 20), 'the change is kept once there is room');
  check(await until(page, () => !/storage is full/.test(document.getElementById('bars').textContent) && 1, null, 10), 'and the warning goes');

  // ---- a database that the browser has thrown away: the second copy takes its place, and that is said
  const marked = await page.evaluate(() => [...Module.adretStore.stored.values()].map((t) => JSON.parse(t)).filter((t) => t[0].endsWith('.gpkg')));
  check(await until(page, () => [...Module.adretStore.copied.keys()].some((name) => name.endsWith('.gpkg')) && Module.adretStore.durable() && 1, null, 20), 'a second copy is made once all is at rest');
  await sleep(5000);
  await page.goto(site.url + 'icon.svg');
  check(await page.evaluate(() => new Promise((done) => {
    const gone = indexedDB.deleteDatabase('adret');
    gone.onerror = gone.onblocked = () => done(false);
    gone.onsuccess = () => {  // and killed again when the new one was just made
      const made = indexedDB.open('adret', 1);
      made.onupgradeneeded = () => {
        made.result.createObjectStore('files');
        made.result.createObjectStore('blocks');
      };
      made.onsuccess = () => { made.result.close(); done(true); };
    };
  })), 'the database is gone, the new one is empty');
  await page.addInitScript(() => {
    if (sessionStorage.getItem('unreadable'))
      FileSystemFileHandle.prototype.getFile = () => Promise.reject(new DOMException('', 'NotReadableError'));
  });
  await page.evaluate(() => sessionStorage.setItem('unreadable', '1'));
  await page.goto(site.url);
  check(await until(page, () => /could not all be read/.test(document.getElementById('opening').textContent), null, 30), 'a copy that cannot be read now is said, and nothing takes its place');
  await page.evaluate(() => sessionStorage.removeItem('unreadable'));
  await page.goto(site.url);
  await started(page);
  check(await until(page, () => /lost its database/.test(document.getElementById('bars').textContent), null, 20), 'that the database was lost is said');
  const back = await page.evaluate(() => Module.FS.readdir('/adret').length);
  const again = await until(page, () => Module.adretStore.durable() && [...Module.adretStore.stored.values()].map((t) => JSON.parse(t)).filter((t) => t[0].endsWith('.gpkg')), null, 20);
  check(back > 2 && JSON.stringify(again) === JSON.stringify(marked), `its files are back, ${JSON.stringify(again)}`);
  check(await app.until((t) => t.touch.some((hit) => hit.label.startsWith('Site of')) || t.screen !== 'sites', 'no site', 20), 'and so is the site');

  // ---- a new version is offered, not forced
  const worker = path.join(folder, 'service_worker.js');
  const changed = readFileSync(worker, 'utf8').replace(/const VERSION = '[^']*'/, "const VERSION = 'next'");
  writeFileSync(worker, changed);
  rmSync(worker + '.gz', {force: true});
  await page.evaluate(() => navigator.serviceWorker.getRegistration().then((r) => r.update()));
  check(await until(page, () => /new version/.test(document.getElementById('bars').textContent), null, 30), 'a new version is offered');
  check((await page.evaluate(() => caches.keys())).filter((n) => n.startsWith('adret-')).length === 2, 'the one in use stays until it is wanted');
} catch (error) {
  console.log(String(error.stack || error));
  check(false, 'the test goes through');
}
check(elsewhere.length === 0, `no request left the origin ${elsewhere}`);
check(problems.length === 0, `no error in the page ${problems}`);
await kill();
site.stop();
dropProfile(profile);
rmSync(folder, {recursive: true});
finish();
