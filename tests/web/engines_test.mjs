// engines_test.mjs [ENGINE...]: the visit in Chromium, Firefox and WebKit: started, without network,
// aimed, a heading of the top edge, worked out, opened again, its store unreadable at every read.
// [property] three engines show the same figures; [property] a failed read loses nothing
import {cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync} from 'node:fs';
import {tmpdir} from 'node:os';
import path from 'node:path';
import {brotliCompressSync, gzipSync} from 'node:zlib';
import {setTimeout as sleep} from 'node:timers/promises';
import {check, finish, root, serve} from './browser.mjs';
import {engines} from './engines.mjs';

const folder = mkdtempSync(path.join(tmpdir(), 'adret-site-'));
cpSync(path.join(root, 'build/web/site'), folder, {recursive: true});
const press = (name) => {
  const bytes = readFileSync(name);
  writeFileSync(name + '.gz', gzipSync(bytes));
  writeFileSync(name + '.br', brotliCompressSync(bytes));
};
const change = (file, from, to) => {
  const name = path.join(folder, file), text = readFileSync(name, 'utf8');
  if (!text.includes(from)) throw new Error(`${file} has no ${from}`);
  writeFileSync(name, text.replace(from, to));
  press(name);
};
cpSync(path.join(root, 'tests/web/made_events.js'), path.join(folder, 'made_events.js'));
press(path.join(folder, 'made_events.js'));
change('index.html', '<script src="devices.js">', '<script src="made_events.js"></script>\n<script src="devices.js">');
change('service_worker.js', 'const FILES = [', "const FILES = ['made_events.js', ");

const seen = (e) => e.run(() => JSON.parse(Module.UTF8ToString(Module._adret_seen())));
async function until(e, question, what, most_s = 30) {
  let now;
  for (const end = Date.now() + most_s * 1000; Date.now() < end; await sleep(60)) {
    now = await seen(e);
    const answer = question(now);
    if (answer) return answer;
  }
  throw new Error(`${what}; there is ${now.words.join(' | ')}; to touch: ${now.touch.map((t) => t.label).join(' | ')}`);
}
const expect = (e, words, most_s) => until(e, (s) => s.words.some((w) => w.includes(words)), `"${words}" is not shown`, most_s);
// The mirror's way: every area can be acted on by its name, wherever it lies.
async function touch(e, label) {
  await until(e, (s) => s.touch.some((t) => t.label === label && t.enabled), `nothing to touch is named "${label}"`, 15);
  for (let i = 0; i < 60; ++i, await sleep(100))
    if (await e.run((name) => {
      const area = [...document.querySelectorAll('#mirror *')].find((a) => (a.getAttribute('aria-label') || a.textContent) === name);
      if (area) area.click();
      return !!area;
    }, label)) break;
    else if (i === 59) throw new Error(`no element is named "${label}"`);
  await sleep(120);
}
async function write(e, label, text) {
  await touch(e, label);
  for (let i = 0; i < 60; ++i, await sleep(50))
    if (await e.run((name) => document.activeElement.id === 'writing' && Module.UTF8ToString(Module._adret_writing_field()) === name, label)) break;
  await e.run((words) => {
    const field = document.getElementById('writing');
    field.value += words;
    field.dispatchEvent(new Event('input'));
  }, text);
  await sleep(100);
}
async function started(e, most_s = 60) {
  for (let i = 0; i < most_s * 20; ++i, await sleep(50)) {
    const ready = await e.run(() => document.documentElement.dataset.ready || null).catch(() => null);
    if (ready) return Number(ready);
  }
  throw new Error('the page did not start: ' + await e.run(() => document.body.textContent.slice(0, 400)).catch(String));
}
// After starts that did not last the app waits at its list of sites.
async function openSite(e) {
  const now = await until(e, (s) => !s.busy && s, 'it does not come to rest');
  const site = now.touch.map((t) => t.label).find((l) => l === 'Open it all the same' || l.startsWith('Site of'));
  if (site && now.words.includes('Sites')) await touch(e, site);
}
const hold = (e, bearing, elevation, top = false) => e.run((pose) => { Object.assign(made, pose); }, {bearing, elevation, top});
async function mark(e, bearing, elevation) {
  await hold(e, bearing, elevation);
  await sleep(3000);  // until the pose has settled: the page smooths what a device sends
  const before = (await seen(e)).kept_marks;
  for (let tries = 0; tries < 8; ++tries) {
    await touch(e, 'Mark');
    if (await until(e, (s) => s.kept_marks === before + 1, '', 2).catch(() => false)) return;
  }
  throw new Error('the mark is not acknowledged');
}

const figures = {};
const asked = process.argv.slice(2);
for (const name of asked.length ? asked : Object.keys(engines)) {
  const site = await serve(folder);
  const e = await engines[name]();
  const say = (fact, what) => check(fact, `${name}: ${what}`);
  try {
    await e.go(site.url);
    console.log(`     ${name}: cold start ${await started(e)} ms`);
    say(await e.run(() => crossOriginIsolated), 'memory is shared, so that findings are worked out beside the page');
    for (let i = 0; i < 200 && !await e.run(() => !!navigator.serviceWorker.controller); ++i) await sleep(100);
    say(await e.run(() => !!navigator.serviceWorker.controller), 'the service worker holds the app');
    site.stop();
    await sleep(300);
    await e.go(site.url);
    console.log(`     ${name}: start without network ${await started(e)} ms`);

    await touch(e, 'New site');
    await touch(e, 'I have read this');
    await touch(e, 'Type the position');
    await write(e, 'Position in any notation', '46.6213 N 10.3478 E 1482');
    await touch(e, 'Use this position');
    await expect(e, '46.621');
    await touch(e, 'Skyline');
    for (const [bearing, elevation] of [[60, 12.9], [94, 15.9], [128, 11.8], [144, 8.2], [160, 11.1], [176, 10.2], [207, 16.2], [229, 17.7], [261, 22.4], [304, 23.4], [356, 22.8], [24, 18.6]])
      await mark(e, bearing, elevation);
    say((await seen(e)).kept_marks === 12, '12 marks are acknowledged as durable');

    await touch(e, 'Light');
    await expect(e, 'facing within 2 % of the best', 90);
    await until(e, (s) => !s.busy, 'it does not come to rest', 90);
    // Lines are broken by the width of the page; the figures are the same.
    const told = (await seen(e)).words.filter((w) => !/Site of/.test(w)).join(' ').match(/\d[\d.,:]*/g) || [];
    figures[name] = [...told].sort().join(' ');
    say(told.length > 20, `light is worked out: ${told.length} figures`);

    // A store that cannot be read: at the start nothing is shown but words and a way out; afterwards
    // all is there.
    let refusals = 0, reads = 1;
    for (; reads <= 40; ++reads) {
      await e.run((n) => localStorage.setItem('failing', n), String(reads));
      await e.go(site.url);
      const state = await (async () => {
        for (let i = 0; i < 400; ++i, await sleep(50)) {
          const now = await e.run(() => document.documentElement.dataset.ready ? 'ready' : document.querySelector('#opening button') ? 'words' : '').catch(() => '');
          if (now) return now;
        }
        return 'silence';
      })();
      if (state === 'silence') say(false, `read ${reads} fails and the page stays silent`);
      if (state === 'words') ++refusals;
      if (state === 'ready' && refusals > 0) break;  // that read is no longer one of the start
    }
    await e.run(() => localStorage.removeItem('failing'));
    await e.go(site.url);
    await started(e);
    await openSite(e);
    say(refusals > 0 && (await until(e, (s) => s.kept_marks === 12, 'marks are missing', 20).catch(() => false)), `${refusals} of ${reads} failed reads refused the start with words; all marks are there afterwards`);

    // A heading of the top edge: opened already raised, north is not known; lowered once, it is.
    await e.go(site.url);
    await started(e);
    await hold(e, 100, 12, true);
    await sleep(2500);  // raised before the sight opens
    await openSite(e);
    await touch(e, 'Skyline');
    await sleep(1500);
    const raised = (await seen(e)).words.join(' | ');
    say(/turn, not north/.test(raised) && !/true bearing/.test(raised), 'a heading of the top edge, begun raised, is told to be a turn and not north');
    await hold(e, 100, -60, true);
    await sleep(1800);
    await hold(e, 100, 12, true);
    await sleep(2500);
    const lowered = (await seen(e)).words.join(' | ');
    if (!/true bearing/.test(lowered)) console.log(lowered);
    const bearing = (lowered.match(/\d+\.\d(?=°)/g) || []).map(Number).find((v) => Math.abs(v - 104) < 8);
    say(/true bearing/.test(lowered) && bearing, `lowered once, north is known: ${bearing} where 100 magnetic is held`);
  } catch (error) {
    console.log(String(error.stack || error));
    say(false, 'the visit goes through');
  }
  await e.end();
  site.stop();
}
// As many as the page has room for: each list is a part of the longest.
const lists = Object.values(figures).map((words) => words.split(' ')).sort((a, b) => b.length - a.length);
const partOf = (few, many) => { const left = [...many]; return few.every((w) => left.includes(w) && left.splice(left.indexOf(w), 1)); };
const same = lists.length > 0 && lists.every((list) => partOf(list, lists[0]));
check(same, `${lists.length} engines show the same figures of light`);
if (!same) console.log(figures);
rmSync(folder, {recursive: true});
finish();
