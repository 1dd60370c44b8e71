// kill_test.mjs [ROUNDS [SITE.gpkg]]: kills the browser in the middle of marking the skyline, again and again.
// Every mark that the app acknowledged must be there afterwards, and the site file whole.
// With SITE.gpkg, of some photographs, the marks go into that: a large file, kept by pieces (large_file.js).
// [property] what is acknowledged is durable
import {readFileSync} from 'node:fs';
import path from 'node:path';
import {setTimeout as sleep} from 'node:timers/promises';
import {App} from './app.mjs';
import {asPhone, check, dropProfile, finish, launch, newProfile, root, serve, started, storageForGood, until} from './browser.mjs';

const rounds = Number(process.argv[2] || 50);
const site = await serve(path.join(root, 'build/web/site'));
const profile = newProfile();
let acknowledged = 0, lost = 0, more = 0, starts = 0;
const problems = [];
for (let round = 0; round <= rounds; ++round) {
  const {browser, context, kill} = await launch(profile);
  const page = context.pages()[0] || await context.newPage();
  const session = await asPhone(page);
  page.on('pageerror', (e) => problems.push(String(e)));
  const origin = site.url.slice(0, -1);
  await context.grantPermissions(['accelerometer', 'gyroscope', 'magnetometer', 'geolocation'], {origin});
  await storageForGood(browser, origin);
  await page.goto(site.url);
  starts += await started(page);
  const app = new App(page, session);
  if (round === 0) {
    if (process.argv[3]) {
      const bytes = readFileSync(process.argv[3]);
      for (let at = 0; at < bytes.length; at += 1 << 20)
        await page.evaluate(async ([part, at]) => {
          const file = Module.FS.open('/adret/sites/large.gpkg', at ? 'r+' : 'w');
          const some = Uint8Array.from(atob(part), (letter) => letter.charCodeAt(0));
          Module.FS.write(file, some, 0, some.length, at);
          Module.FS.close(file);
          while (!Module.adretStore.durable()) await new Promise((next) => setTimeout(next, 5));
        }, [bytes.subarray(at, at + (1 << 20)).toString('base64'), at]);
      await page.goto(site.url);
      await started(page);
      const named = await app.until((s) => s.touch.find((t) => t.label.startsWith('More on ')), 'the site does not come in', 120);
      await app.touch(named.label.slice('More on '.length));
    } else {
      await app.touch('New site');
    }
    await app.touch('I have read this');
    await app.until((s) => !['sites', 'visit'].includes(s.screen), 'the site does not open');
  }
  // After three starts that did not last the app waits at the list.
  const labels = (await app.seen()).touch.map((t) => t.label);
  if (labels.includes('Open it all the same')) await app.touch('Open it all the same');
  if ((await app.seen()).screen !== 'skyline') await app.touch('Skyline');
  // The page is asked as soon as it stands and what it wrote by starting is stored: nothing is kept but
  // what the last round left.
  await app.until((s) => s.screen === 'skyline' && !s.busy, 'the skyline is not shown');
  await until(page, () => Module.adretStore.durable() && 1, null, 30);
  await sleep(1000);  // and the app has looked
  const there = (await app.until((s) => s.screen === 'skyline' && !s.busy && s, 'the skyline is not shown')).kept_marks;
  if (there < acknowledged) {
    ++lost;
    console.log(`     round ${round}: ${there} of ${acknowledged} are there; ${await page.evaluate(() => document.getElementById('bars').textContent)}`);
  }
  if (there > acknowledged) ++more;
  if (round % 10 === 0) console.log(`     ${round} kills, ${acknowledged} marks acknowledged, ${there} there, ${lost} times one was missing`);
  acknowledged = there;
  if (round === rounds) {
    await kill();
    break;
  }
  await page.exposeFunction('acknowledge', (number) => { acknowledged = Math.max(acknowledged, number); });
  await app.aim((round * 7) % 360, 10 + round % 9);
  const hit = await app.until((s) => s.touch.find((t) => t.label === 'Mark' && t.enabled), 'nothing can be marked');
  // Touches as fast as they are taken, from inside the page; each change of the count is told.
  page.evaluate(async ([x, y]) => {
    const canvas = document.getElementById('screen');
    const finger = (kind) => canvas.dispatchEvent(new PointerEvent(kind, {pointerId: 7, clientX: x, clientY: y, button: 0, bubbles: true, cancelable: true}));
    for (let told = -1;;) {
      finger('pointerdown');
      finger('pointerup');
      for (let i = 0; i < 20; ++i) {
        await new Promise((next) => setTimeout(next, 2));
        const kept = JSON.parse(Module.UTF8ToString(Module._adret_seen())).kept_marks;
        if (kept !== told) acknowledge(told = kept);
      }
    }
  }, [hit.visible[0] + hit.visible[2] / 2, hit.visible[1] + hit.visible[3] / 2]).catch(() => {});
  await sleep(200 + Math.random() * 600);
  await kill();
}
check(lost === 0, `no acknowledged mark is missing after ${rounds} kills (${acknowledged} marks; ${more} times one not yet acknowledged was there too)`);
check(acknowledged > rounds, 'marks were being made');
check(problems.length === 0, `no error in the page ${[...new Set(problems)]}`);
console.log(`     start ${(starts / (rounds + 1)).toFixed(0)} ms on average`);
dropProfile(profile);
site.stop();
finish();
