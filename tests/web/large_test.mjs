// large_test.mjs [PHOTOS]: files of many megabytes, of which only what is in use may lie in memory (large_file.js).
// [property] any mix of writes, cuts and reads gives what plain bytes give, also after the page was opened again,
//            in three engines (WebKit's driven windows cannot store Blobs: all stays in memory there)
// [property] a database that is thrown away comes back from the second copy byte for byte
// [property] a site of PHOTOS (40) photographs of 4 MB opens, shows and hands them over; every file of the package is whole
import {execFileSync} from 'node:child_process';
import {createHash, randomBytes} from 'node:crypto';
import {cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync} from 'node:fs';
import {tmpdir} from 'node:os';
import path from 'node:path';
import {setTimeout as sleep} from 'node:timers/promises';
import {App} from './app.mjs';
import {asPhone, check, dropProfile, finish, launch, newProfile, root, serve, started, storageForGood, until} from './browser.mjs';
import {engines} from './engines.mjs';

const count = Number(process.argv[2] || 40);
const folder = mkdtempSync(path.join(tmpdir(), 'adret-large-'));
cpSync(path.join(root, 'build/web/site'), folder, {recursive: true});
const site = await serve(folder);

// Writes, cuts and reads beside the same on plain bytes; 'same', or where they part.
async function play([seed, steps]) {
  LargeFile.most = 1 << 20;  // so that chunks come and go
  const name = '/adret/trial.bin', {FS} = Module;
  let state = seed;
  const random = (below) => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return Math.floor(state / 2 ** 32 * below);
  };
  let plain = new Uint8Array(0);
  const there = FS.analyzePath(name).exists;
  if (there) plain = FS.readFile(name);
  else FS.writeFile(name, '');
  const file = FS.open(name, 'r+');
  for (let step = 0; step < steps; ++step) {
    const what = random(10);
    if (what < 5) {
      const at = random(plain.length + 1), bytes = new Uint8Array(1 + random(what ? 40000 : 1500000));
      for (let i = 0; i < bytes.length; ++i) bytes[i] = (i * 31 + step * 7 + (i >> 8)) & 255;
      if (at + bytes.length > 12 << 20) continue;
      FS.write(file, bytes, 0, bytes.length, at);
      if (at + bytes.length > plain.length) {
        const longer = new Uint8Array(at + bytes.length);
        longer.set(plain);
        plain = longer;
      }
      plain.set(bytes, at);
    } else if (what === 5 && random(4) === 0) {
      const size = random(plain.length + 1);
      FS.ftruncate(file.fd, size);
      plain = plain.slice(0, size);
    } else if (what === 6 && random(8) === 0) {
      const longer = new Uint8Array(Math.min(12 << 20, plain.length + random(2 << 20)));
      longer.set(plain);
      FS.ftruncate(file.fd, longer.length);
      plain = longer;
    } else {
      const at = random(plain.length + 1), into = new Uint8Array(random(100000)), got = FS.read(file, into, 0, into.length, at);
      if (got !== Math.min(into.length, plain.length - at)) return `step ${step}: ${got} bytes read`;
      for (let i = 0; i < got; ++i) if (into[i] !== plain[at + i]) return `step ${step}: byte ${at + i}`;
    }
    if (random(6) === 0) await new Promise((next) => setTimeout(next, random(60)));
  }
  FS.close(file);
  while (!Module.adretStore.durable()) await new Promise((next) => setTimeout(next, 20));
  const hash = new Uint8Array(await crypto.subtle.digest('SHA-256', plain));
  localStorage.setItem('trial', JSON.stringify([plain.length, ...hash]));
  return 'same';
}
async function opened() {
  const bytes = Module.FS.readFile('/adret/trial.bin');
  const hash = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
  const {node} = Module.FS.lookupPath('/adret/trial.bin');
  return {same: localStorage.getItem('trial') === JSON.stringify([bytes.length, ...hash]), size: bytes.length, large: !!node.large};
}

for (const name of Object.keys(engines)) {
  const e = await engines[name]();
  try {
    const open = async () => {
      await e.go(site.url);
      for (let i = 0; i < 1200 && !await e.run(() => document.documentElement.dataset.ready || null).catch(() => null); ++i) await sleep(50);
    };
    await open();
    let all = 0, wrong = '', most = 0, large = 0;
    for (let round = 1; round <= 8 && !wrong; ++round) {
      const told = await e.run(play, [round * 7919, 150]);
      if (told !== 'same') wrong = `round ${round}, ${told}`;
      await open();
      const now = await e.run(opened);
      if (!now.same) wrong = wrong || `round ${round}, opened again with ${now.size} bytes`;
      all += 150;
      most = Math.max(most, now.size);
      large += now.large;
    }
    check(!wrong, `${name}: ${all} writes, cuts and reads as on plain bytes, opened again 8 times, up to ${(most / 1e6).toFixed(0)} MB, ${large} times by pieces ${wrong}`);
    if (name !== 'webkit') check(large > 4, `${name}: it is kept by pieces`);
  } catch (error) {
    check(false, `${name}: ${error.stack || error}`);
  }
  await e.end();
}

// ---- a site with many photographs
const cli = process.env.ADRET_CLI || path.join(root, 'build/release/app/adret-cli');
const made = path.join(folder, 'photos.gpkg'), pictures = path.join(folder, 'pictures');
// A picture with four megabytes of noise behind its end.
const small = execFileSync('rsvg-convert', ['-w', '320', path.join(root, 'platform/web/page/icon.svg')]);
execFileSync(cli, ['new', made, '--name', 'Many photos', '--lat', '46.6', '--lon', '10.3', '--height-m', '1400'], {stdio: 'ignore'});
mkdirSync(pictures);
for (let i = 0; i < count; ++i) {
  const file = path.join(pictures, `${i}.png`);
  writeFileSync(file, Buffer.concat([small, randomBytes(4e6)]));
  execFileSync(cli, ['import', made, file], {stdio: 'ignore'});
  rmSync(file);
}
const csv = path.join(folder, 'sightings.csv');
writeFileSync(csv, 'bearing,elevation\n' + Array.from({length: 36}, (_, i) => `${i * 10},${10 + i % 5}\n`).join(''));
execFileSync(cli, ['import', made, csv, '--reference', 'true'], {stdio: 'ignore'});

const profile = newProfile(), {browser, context, kill} = await launch(profile);
// The page's own process: the largest of the browser's.
const memory_mb = () => Math.max(...execFileSync('ps', ['-eo', 'rss=,args=']).toString().split('\n')
  .filter((line) => line.includes('--type=renderer') && line.includes(profile)).map((line) => parseInt(line) / 1024), 0);
let most_mb = 0;
const watching = setInterval(() => { most_mb = Math.max(most_mb, memory_mb()); }, 100);
try {
  const page = context.pages()[0], session = await asPhone(page);
  await storageForGood(browser, site.url.slice(0, -1));
  await page.goto(site.url);
  await started(page);
  await page.evaluate(async () => {
    const {FS} = Module, reader = (await fetch('photos.gpkg')).body.getReader();
    const file = FS.open('/adret/sites/photos.gpkg', 'w');
    for (let part; !(part = await reader.read()).done;) {
      FS.write(file, part.value, 0, part.value.length);
      while (LargeFile.held > 2 * LargeFile.most && !Module.adretStore.durable()) await new Promise((next) => setTimeout(next, 5));
    }
    FS.close(file);
  });
  check(await until(page, () => Module.adretStore.durable() && 1, null, 300), 'the site is stored');
  console.log(`     written: the page takes ${memory_mb().toFixed(0)} MB, at most ${most_mb.toFixed(0)}`);

  // The database thrown away by the browser: it comes back from the second copy, byte for byte.
  check(await until(page, () => Module.adretStore.copied.has('/sites/photos.gpkg') && Module.adretStore.durable() && !Module.adretStore.copying && 1, null, 300), 'a second copy is made');
  await page.goto(site.url + 'icon.svg');
  check(await page.evaluate(() => new Promise((done) => {
    const gone = indexedDB.deleteDatabase('adret');
    gone.onerror = gone.onblocked = () => done(false);
    gone.onsuccess = () => done(true);
  })), 'the database is gone');
  await page.goto(site.url);
  await started(page, 120);
  check(await until(page, () => Module.adretStore.durable() && 1, null, 300), 'what the copy gave is stored');
  const back = await page.evaluate(async () => {
    const bytes = await Module.adretStore.blobOf('/adret/sites/photos.gpkg').arrayBuffer();
    return [...new Uint8Array(await crypto.subtle.digest('SHA-256', bytes))].map((b) => b.toString(16).padStart(2, '0')).join('');
  });
  check(back === createHash('sha256').update(readFileSync(made)).digest('hex'), 'it is the site byte for byte');

  await page.goto('about:blank');
  await sleep(500);
  most_mb = 0;
  await page.goto(site.url);
  const start_ms = await started(page), app = new App(page, session);
  const size = statSync(made).size / 1e6;
  await app.expect('Many photos');
  console.log(`     ${size.toFixed(0)} MB: start ${start_ms} ms, ${memory_mb().toFixed(0)} MB`);
  await app.settle();
  for (let i = 0; i < 5 && (await app.seen()).screen === 'sites'; ++i, await sleep(500)) await app.touch('Many photos');
  const next = await app.until((s) => s.touch.find((t) => t.label === 'Photos' || t.label === 'I have read this'), 'the site does not open', 30);
  if (next.label !== 'Photos') await app.touch(next.label);
  let begun = Date.now();
  await app.touch('Photos');
  await app.until((s) => s.screen === 'photos' && !s.busy, 'the photographs are not shown', 60);
  console.log(`     photographs shown after ${Date.now() - begun} ms; at most ${most_mb.toFixed(0)} MB`);
  check(most_mb < 512, `${count} photographs of 4 MB open in ${most_mb.toFixed(0)} MB`);
  await page.evaluate(() => history.back());
  await app.touch('Hand over');
  most_mb = 0;
  begun = Date.now();
  await app.touch('Make the files');
  await app.expect('Done. The files are here', 120 + 8 * count);
  console.log(`     handed over after ${((Date.now() - begun) / 1000).toFixed(1)} s; the page took ${most_mb.toFixed(0)} MB at most`);
  const coming = page.waitForEvent('download', {timeout: 120000});
  await app.touch((await app.seen()).touch.map((t) => t.label).find((l) => /^(Share|Download): .*zip$/.test(l)));
  const zip = path.join(folder, 'package.zip');
  await (await coming).saveAs(zip);
  const tested = execFileSync('unzip', ['-t', zip]).toString();
  const inside = tested.match(/photos\/.*OK/g) || [];
  check(/No errors detected/.test(tested) && inside.length === count, `the package of ${(statSync(zip).size / 1e6).toFixed(0)} MB is whole, with ${inside.length} photographs`);
} catch (error) {
  check(false, String(error.stack || error));
}
clearInterval(watching);
await kill();
site.stop();
dropProfile(profile);
rmSync(folder, {recursive: true});
finish();
