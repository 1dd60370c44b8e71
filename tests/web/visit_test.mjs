// visit_test.mjs [PICTURES]: a whole visit on a phone in headless Chromium, by touch, with emulated
// orientation, position and camera, offline after the first load; then the downloaded package is
// opened by the native program and by GDAL.
// [property] the browser's findings are the native program's; [property] what is handed over opens
// elsewhere; limits of time and size are this project's own.
import {execFileSync} from 'node:child_process';
import {existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync} from 'node:fs';
import {tmpdir} from 'node:os';
import path from 'node:path';
import {setTimeout as sleep} from 'node:timers/promises';
import {App} from './app.mjs';
import {asPhone, check, dropProfile, finish, launch, newProfile, root, serve, started, storageForGood, until} from './browser.mjs';

const pictures = process.argv[2];
const cli = process.env.ADRET_CLI || ['release', 'debug'].map((b) => path.join(root, 'build', b, 'app/adret-cli')).find(existsSync);
const run = (...args) => execFileSync(args[0], args.slice(1), {encoding: 'utf8', maxBuffer: 1 << 28});
const folder = mkdtempSync(path.join(tmpdir(), 'adret-visit-'));
const folderOfSite = path.join(root, 'build/web/site');
const download = readdirSync(folderOfSite).filter((f) => !/[.](gz|br)$/.test(f)).reduce((sum, f) => {
  const pressed = path.join(folderOfSite, f + '.br');
  return sum + statSync(existsSync(pressed) ? pressed : path.join(folderOfSite, f)).size;
}, 0);
console.log(`     download ${(download / 1e6).toFixed(2)} MB, compressed`);
check(download < 4.5e6, 'the whole app is less than 4.5 MB to download');

const site = await serve(folderOfSite);
const profile = newProfile();
const {browser, context, kill} = await launch(profile, ['--use-fake-ui-for-media-stream']);
const origin = site.url.slice(0, -1);
await context.grantPermissions(['geolocation', 'camera', 'accelerometer', 'gyroscope', 'magnetometer'], {origin});
await storageForGood(browser, origin);
const page = context.pages()[0];
const session = await asPhone(page);
const elsewhere = [], problems = [];
page.on('request', (r) => /^(blob:|data:)/.test(r.url()) || r.url().startsWith(site.url) || elsewhere.push(r.url()));
page.on('pageerror', (e) => problems.push(String(e)));
page.on('console', (m) => m.type() === 'error' && problems.push(m.text()));
// The invented visit is in the morning of a winter solstice.
const noon = Date.UTC(2025, 11, 21, 10, 0, 0);
await page.addInitScript((from) => {
  const now = Date.now.bind(Date), shift = from - now();
  Date.now = () => now() + shift;
}, noon);
const begun = Date.now();
const clock = () => new Date(noon + Date.now() - begun);
const picture = async (name) => {
  if (!pictures) return;
  mkdirSync(pictures, {recursive: true});
  await page.screenshot({path: path.join(pictures, name + '.png')});
};

await page.goto(site.url);
const cold = await started(page);
console.log(`     cold start ${cold} ms`);
const app = new App(page, session);
check(await until(page, () => navigator.serviceWorker.controller && 1, null, 30), 'the service worker holds the app');
site.stop();
await sleep(300);
const warm = [];
for (let i = 0; i < 3; ++i) {
  await page.reload();
  warm.push(await started(page));
  await sleep(300);
}
console.log(`     warm start without network ${warm.join(', ')} ms`);

try {
  // ---- Arrive
  await app.touch('New site');
  await app.touch('I have read this');
  for (let i = 0; i < 8; ++i) {
    await context.setGeolocation({latitude: 46.6213 + 1e-5 * ((i * 7) % 5 - 2), longitude: 10.3478 + 1e-5 * ((i * 3) % 5 - 2), accuracy: 4});
    await sleep(200);
  }
  await app.expect('46.621');
  await picture('arrive');
  await app.write('People (initials)', 'AB, CD');
  await app.write('Weather', 'clear, calm, -6 C');

  // ---- Skyline: a valley that opens to the south-east
  await app.touch('Skyline');
  const marks = [[60, 12.9], [94, 15.9], [112, 16.4], [128, 11.8], [144, 8.2], [160, 11.1], [176, 10.2], [192, 10.7],
    [207, 16.2], [219, 23.8], [229, 17.7], [244, 18.6], [261, 22.4], [280, 20.2], [304, 23.4], [329, 24.3], [356, 22.8], [24, 18.6]];
  let kind = 'Ridge';
  for (const [bearing, elevation] of marks) {
    const now = bearing >= 207 && bearing <= 229 ? 'Evergreen' : 'Ridge';
    await app.aim((bearing - 4 + 360) % 360, elevation);
    if (kind !== now) await app.touch(now);
    kind = now;
    const before = (await app.seen()).kept_marks;
    // The app refuses while the compass is restless, and says so: then once more, as a person does.
    for (let tries = 0, kept = false; !kept; ++tries) {
      await app.touch('Mark');
      kept = await app.until((s) => s.kept_marks === before + 1, 'the mark is not acknowledged', 3)
        .catch((error) => { if (tries === 8) throw error; return false; });
    }
    if (bearing === 192) await picture('skyline');
  }
  await app.settle();
  await app.expect('21 December here');
  check((await app.seen()).kept_marks === marks.length, `${marks.length} marks are acknowledged as durable`);

  // ---- frames while aiming, with the camera's picture behind
  const turning = (async () => { for (let i = 0; i < 80; ++i) { app.bearing = (app.bearing + 0.7) % 360; await sleep(25); } })();
  const frames = await page.evaluate(async () => {
    const took = [], frame = Module._adret_frame, paint = [];
    Module._adret_frame = () => { const from = performance.now(); const r = frame(); if (Module._adret_painted()) took.push(performance.now() - from); return r; };
    await new Promise((done) => setTimeout(done, 2000));
    Module._adret_frame = frame;
    return took.sort((a, b) => a - b);
  });
  await turning;
  const at = (list, part) => list[Math.min(list.length - 1, Math.floor(list.length * part))] ?? NaN;
  console.log(`     ${frames.length} frames in 2 s while aiming: median ${at(frames, 0.5).toFixed(1)} ms, 95 % below ${at(frames, 0.95).toFixed(1)} ms`);
  check(frames.length > 20, 'the sight follows the phone');

  // ---- a check of the compass, photos, ground
  await app.touch('Arrive');
  await app.touch('Check the compass');
  await app.touch('Landmark');
  await app.write('Name', 'Chapel');
  await app.write('Its position, and height if known', '46.6013 N 10.3478 E 1940');
  await app.aim(176.3, 11.5);
  await app.touch('Take the check');
  await app.touch('Photos');
  for (const [bearing, elevation] of [[176, 6], [216, 12]]) {
    await app.aim(bearing, elevation);
    await app.touch('Take a photo');
    await app.expect('Photo saved');
  }
  await picture('photos');
  await app.touch('Ground');
  await app.touch('New pit');
  for (const [depth, texture] of [['25', 'Texture: loam'], ['55', 'Texture: sandy loam'], ['90', 'Texture: silt loam']]) {
    await app.write('Down to, cm', depth);
    await app.touch(texture);
    await app.touch('Add the layer');
  }
  await picture('ground');

  // ---- Light: after one more mark all is worked out anew, beside the page, which goes on answering
  await app.touch('Skyline');
  await app.aim(74, 13.5);
  const marked = (await app.seen()).kept_marks;
  await app.touch('Mark');
  await app.until((s) => s.kept_marks === marked + 1, 'the mark is not acknowledged', 3);
  const gaps = page.evaluate(async () => {
    let last = performance.now(), longest = 0;
    for (const end = last + 4000; last < end;) {
      await new Promise((next) => setTimeout(next, 0));
      const now = performance.now();
      longest = Math.max(longest, now - last);
      last = now;
    }
    return longest;
  });
  const asked = Date.now();
  await app.touch('Light');
  await app.expect('facing within 2 % of the best', 60);
  await app.settle(60);
  const found = Date.now() - asked;
  console.log(`     all findings after ${found} ms, the page held up for ${(await gaps).toFixed(0)} ms at most meanwhile`);
  await app.settle();
  await picture('light');

  // ---- Hand over
  await app.touch('Hand over');
  await app.touch('Make the files');
  await app.expect('Done. The files are here', 120);
  await picture('handover');
  const labels = (await app.seen()).touch.map((t) => t.label);
  const shares = labels.filter((l) => /^(Share|Download): /.test(l));
  for (const label of shares) {
    const coming = page.waitForEvent('download', {timeout: 20000});
    await app.touch(label);
    const file = await coming;
    await file.saveAs(path.join(folder, file.suggestedFilename()));
  }

  // ---- heights of the land, brought as a GeoTIFF that GDAL wrote
  const land = mkdtempSync(path.join(tmpdir(), 'adret-land-'));
  const cells = Array.from({length: 150}, (_, r) => Array.from({length: 200}, (_, c) => {
    const north = (74.5 - r) * 111, east = (c - 97.8) * 76;
    return Math.round(1470 + 900 * Math.exp(-(((Math.hypot(north, east) - 4000) / 1200) ** 2)));
  }).join(' ')).join('\n');
  writeFileSync(path.join(land, 'land.asc'), `ncols 200\nnrows 150\nxllcorner 10.25\nyllcorner 46.5463\ncellsize 0.001\n${cells}\n`);
  const tif = path.join(land, 'larkholm-land.tif');
  run('gdal_translate', '-q', '-a_srs', 'EPSG:4326', '-ot', 'Float32', '-co', 'COMPRESS=DEFLATE', path.join(land, 'land.asc'), tif);
  await app.touch('Arrive');
  await app.touch('Check the compass');
  await app.touch('Terrain');
  const [chooser] = await Promise.all([page.waitForEvent('filechooser', {timeout: 20000}), app.touch('Bring in a height grid')]);
  await chooser.setFiles(tif);
  await app.settle(60);
  await app.expect('larkholm-land.tif', 60);
  await app.expect('Ground here, by the grid', 10);
  await picture('terrain');
  rmSync(land, {recursive: true});
} catch (error) {
  await picture('failed');
  console.log(String(error.stack || error));
  check(false, 'the visit goes through');
}
check(elsewhere.length === 0, `no request left the origin ${elsewhere}`);
check(problems.length === 0, `no error in the page ${problems}`);
await kill();

// ---- what was handed over, opened elsewhere
const got = readdirSync(folder);
console.log('     downloaded: ' + got.map((f) => `${f} (${(statSync(path.join(folder, f)).size / 1e6).toFixed(2)} MB)`).join(', '));
const zip = got.find((f) => f.endsWith('.zip'));
check(zip, 'the site package was downloaded');
if (zip && cli) {
  const unpacked = path.join(folder, 'unpacked');
  run('unzip', '-q', path.join(folder, zip), '-d', unpacked);
  const file = readdirSync(unpacked).find((f) => f.endsWith('.gpkg'));
  const gpkg = path.join(unpacked, file);
  const answer = (...args) => { try { return run(...args); } catch (error) { return 'FAILED ' + error.stdout + error.stderr; } };
  const verdict = answer(cli, 'check', gpkg);
  check(!verdict.startsWith('FAILED'), `adret-cli check: ${verdict.trim().split('\n').pop()}`);
  const layers = answer('ogrinfo', '-ro', '-al', '-so', gpkg);
  check(/Layer name: station/.test(layers) && !/ERROR|Warning/.test(layers), `GDAL reads ${layers.match(/Layer name/g)?.length} layers without a complaint`);
  // The browser's findings against the native program's for the same site file, to the last printed
  // digit: the package's own JSON, tables and surfaces, and what the command line prints.
  const browser = JSON.parse(readFileSync(path.join(unpacked, 'site.json'), 'utf8'));
  // With its photographs: the site file that was shared beside the package.
  const shared = path.join(folder, got.find((f) => f.endsWith('.gpkg')));
  run(cli, 'handover', shared, '--out', path.join(folder, 'native'), '--unpacked', '--quiet', '--time', browser.made_utc);
  const native = path.join(folder, 'native', readdirSync(path.join(folder, 'native')).find((f) => f.endsWith('-package')));
  const printed = readdirSync(unpacked, {recursive: true}).filter((f) => /\.(json|geojson|csv|dxf|gltf|txt)$/.test(f));
  // The browser writes no GeoTIFF, so README.txt does not list one there. Places of near things come
  // from a chain of draws in which the last digit of a sine may change a choice, and with them the
  // places for a house: of the plan only its frame and its stations are held here.
  const text = (folder, f) => {
    const all = readFileSync(path.join(folder, f), 'utf8').replace(/^plan\/sun_map\.tif\n.*\n\n?/m, '');
    if (f !== 'site.json') return all;
    const site = JSON.parse(all);
    return JSON.stringify({...site, plan: [site.plan.frame, site.plan.stations.map((s) => [s.ground, s.eye_height_m])]});
  };
  const other = printed.filter((f) => !f.startsWith('plan/') && text(unpacked, f) !== text(native, f));
  check(printed.length >= 8 && other.length === 0, `${printed.length} files of findings, tables and surfaces are the native program's, byte for byte (${printed.filter((f) => f.startsWith('plan/')).length} of a plan left out) ${other}`);
  const light = JSON.parse(answer(cli, 'light', gpkg, '--json'));
  check(light.stations.length > 0 && light.stations.every((s, i) =>
    JSON.stringify(s.findings) === JSON.stringify(browser.stations[i].light)),
        `findings equal those of adret-cli light (${browser.stations[0].light.winter.direct_sun_h.value} h of winter sun)`);
}

dropProfile(profile);
if (process.env.ADRET_KEEP) console.log(folder);
else rmSync(folder, {recursive: true});
finish();
