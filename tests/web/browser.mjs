// browser.mjs: Debian's Chromium in a profile of its own, as a phone, and a server for a site.
import {spawn} from 'node:child_process';
import {mkdtempSync, readFileSync, existsSync, rmSync} from 'node:fs';
import {tmpdir} from 'node:os';
import path from 'node:path';
import {setTimeout as sleep} from 'node:timers/promises';
import {fileURLToPath} from 'node:url';
import {chromium} from 'playwright-core';

export const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '../..');
export const phone = {width: 412, height: 892, scale: 2.625};

export async function serve(folder) {
  const port = 20000 + Math.floor(Math.random() * 20000);
  const server = spawn(path.join(root, 'platform/web/serve.sh'), ['--local', String(port)],
                       {stdio: 'ignore', env: {...process.env, ADRET_SITE: folder}});
  process.on('exit', () => server.kill());
  for (let i = 0; i < 100; ++i) {
    try {
      await fetch(`http://localhost:${port}/`);
      break;
    } catch { await sleep(50); }
  }
  return {url: `http://localhost:${port}/`, stop: () => server.kill()};
}

export function newProfile() { return mkdtempSync(path.join(tmpdir(), 'adret-profile-')); }
export function dropProfile(profile) { rmSync(profile, {recursive: true, force: true}); }

// A browser that can be killed like a machine that loses its power.
export async function launch(profile, more = []) {
  rmSync(path.join(profile, 'DevToolsActivePort'), {force: true});
  const child = spawn('/usr/bin/chromium', [
    process.env.ADRET_HEADLESS || '--headless=new', '--no-sandbox', '--disable-quic', '--no-first-run', '--disable-background-networking',
    '--disable-component-update', '--disable-sync', '--disable-gpu', '--disable-dev-shm-usage',
    '--remote-debugging-port=0', `--user-data-dir=${profile}`, '--use-fake-device-for-media-stream',
    `--window-size=${phone.width},${phone.height}`, ...more, 'about:blank',
  ], {stdio: 'ignore', detached: true});
  const file = path.join(profile, 'DevToolsActivePort');
  for (let i = 0; i < 600 && !existsSync(file); ++i) await sleep(50);
  let port = '';
  for (let i = 0; i < 100 && !port; ++i) {
    port = readFileSync(file, 'utf8').split('\n')[0];
    if (!port) await sleep(20);
  }
  const browser = await chromium.connectOverCDP(`http://127.0.0.1:${port}`);
  const context = browser.contexts()[0];
  const kill = async () => {
    const gone = new Promise((done) => child.once('exit', done));
    try { process.kill(-child.pid, 'SIGKILL'); } catch { /* gone already */ }
    await gone;
    await browser.close().catch(() => {});
  };
  return {browser, context, kill};
}

// As once the app is on the home screen: the browser keeps its storage.
export async function storageForGood(browser, origin) {
  const session = await browser.newBrowserCDPSession();
  await session.send('Browser.setPermission', {permission: {name: 'persistent-storage'}, setting: 'granted', origin});
}

// The page at the size and density of a phone, with touch.
export async function asPhone(page, size = phone) {
  const session = await page.context().newCDPSession(page);
  await session.send('Emulation.setDeviceMetricsOverride', {
    width: size.width, height: size.height, deviceScaleFactor: size.scale, mobile: true,
    screenOrientation: {type: 'portraitPrimary', angle: 0},
  });
  await session.send('Emulation.setTouchEmulationEnabled', {enabled: true, maxTouchPoints: 5});
  // A virtual sensor, since DevTools' older orientation override tells of each new value only as a
  // free turn, not as one that knows north.
  await session.send('Emulation.setSensorOverrideEnabled', {
    enabled: true, type: 'absolute-orientation', metadata: {available: true, minimumFrequency: 1, maximumFrequency: 60},
  });
  return session;
}

// W3C Device Orientation's angles as its worked example turns them into a quaternion.
export async function hold(session, alpha, beta, gamma) {
  const half = Math.PI / 360;
  const [cx, cy, cz] = [beta, gamma, alpha].map((a) => Math.cos(a * half));
  const [sx, sy, sz] = [beta, gamma, alpha].map((a) => Math.sin(a * half));
  await session.send('Emulation.setSensorOverrideReadings', {type: 'absolute-orientation', reading: {quaternion: {
    x: sx * cy * cz - cx * sy * sz, y: cx * sy * cz + sx * cy * sz,
    z: cx * cy * sz + sx * sy * cz, w: cx * cy * cz - sx * sy * sz,
  }}});
}

// Asked again and again from here: the page's content security policy forbids what waiting inside it
// would evaluate.
export async function started(page, most_s = 60) {
  for (let i = 0; i < most_s * 20; ++i) {
    const ready = await page.evaluate(() => document.documentElement.dataset.ready).catch(() => null);
    if (ready) return Number(ready);
    await sleep(50);
  }
  throw new Error('the page did not start');
}
export async function until(page, question, argument, most_s = 20) {
  for (let i = 0; i < most_s * 20; ++i) {
    const answer = await page.evaluate(question, argument).catch(() => null);
    if (answer) return answer;
    await sleep(50);
  }
  return null;
}

let failures = 0;
export function check(fact, what) {
  console.log(`${fact ? 'ok  ' : 'FAIL'} ${what}`);
  if (!fact) ++failures;
}
export function finish() { process.exit(failures ? 1 : 0); }
