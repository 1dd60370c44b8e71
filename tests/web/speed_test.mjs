// speed_test.mjs SITE.gpkg: how long the house without heat and the plot's map take in the page, and for how long the
// page is held up meanwhile. A benchmark with this project's own limits; the machine must be idle.
// SITE.gpkg: a site with weather, stations and near things (build/release/app/adret-demo makes one).
import path from 'node:path';
import {setTimeout as sleep} from 'node:timers/promises';
import {App} from './app.mjs';
import {asPhone, check, dropProfile, finish, launch, newProfile, root, serve, started} from './browser.mjs';

const site = await serve(path.join(root, 'build/web/site'));
const profile = newProfile();
const {context, kill} = await launch(profile);
const page = context.pages()[0];
const session = await asPhone(page);
page.on('console', (m) => console.log('     ', m.text()));
page.on('pageerror', (e) => console.log('     ', String(e)));
await page.goto(site.url);
await started(page);
const app = new App(page, session);
const shown = (words) => (s) => s.words.some((w) => w.includes(words));
// Through the tree of areas: no time for scrolling.
const at = async (label) => {
  await app.until((s) => s.touch.some((t) => t.label === label), `there is no "${label}"`);
  await page.waitForSelector(`[data-name="${label}"]`, {state: 'attached'});
  await page.evaluate((name) => document.querySelector(`[data-name="${name}"]`).click(), label);
};
// The longest time between two turns of the page's own clock.
const watch = () => page.evaluate(() => {
  let last = performance.now();
  window.heldUp = 0;
  setInterval(() => { const now = performance.now(); heldUp = Math.max(heldUp, now - last); last = now; }, 5);
});

try {
  const [chooser] = await Promise.all([page.waitForEvent('filechooser', {timeout: 20000}), app.touch('Bring in a file')]);
  await chooser.setFiles(process.argv[2]);
  await app.expect('Larkholm school garden', 60);
  await app.settle();
  for (let i = 0; i < 5 && (await app.seen()).screen === 'sites'; ++i, await sleep(500)) await app.touch('Larkholm school garden');
  const next = await app.until((s) => s.touch.find((t) => t.label === 'Light' || t.label === 'I have read this'), 'the site does not open', 30);
  if (next.label !== 'Light') await app.touch(next.label);
  await app.settle(60);
  await watch();
  // From the touch that asks for it, with the way there.
  let begun = Date.now();
  const passed = () => (Date.now() - begun) / 1000;
  await app.touch('Light');
  await app.expect('facing within 2 % of the best', 60);
  console.log(`     findings of the station after ${passed().toFixed(1)} s`);
  begun = Date.now();
  await at('All about the house');
  await app.until(shown('of 10 winters'), 'no sentence on the house', 60);
  const first = passed();
  await app.until((s) => !s.busy && !shown('More winters')(s) && !shown('Living through')(s), 'the winters do not end', 60);
  console.log(`     house: first sentence after ${first.toFixed(1)} s more, all of it after ${passed().toFixed(1)} s`);
  check(passed() < 5, 'the house in 5 s');
  begun = Date.now();
  await app.touch('Ground');
  await at('Sun map and verdict');
  await app.until((s) => !s.busy && !shown('being worked out')(s), 'the map does not come', 60);
  console.log(`     plot: the map after ${passed().toFixed(1)} s`);
  check(passed() < 4, 'the map in 4 s');
  console.log(`     the page was held up for ${await page.evaluate(() => Math.round(heldUp))} ms at most`);
} catch (error) {
  console.log(String(error.stack || error));
  check(false, 'the walk goes through');
}
await kill();
site.stop();
dropProfile(profile);
finish();
