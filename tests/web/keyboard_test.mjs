// keyboard_test.mjs: a whole visit by the keys of a computer alone, in Chromium, without any sensor and
// without a pointer: from the first start to the downloaded package. Enter, Tab, Escape, arrows, figures.
// [published] WCAG 2.2, 2.1.1 (all by keyboard), 2.1.2 (no trap), 2.4.7 (the focus is seen: the element that
// has it lies in the window).
import path from 'node:path';
import {setTimeout as sleep} from 'node:timers/promises';
import {App} from './app.mjs';
import {check, dropProfile, finish, launch, newProfile, root, serve, started, until} from './browser.mjs';

const site = await serve(path.join(root, 'build/web/site'));
const profile = newProfile();
const {context, kill} = await launch(profile);
const page = context.pages()[0];
const problems = [];
page.on('pageerror', (e) => problems.push(String(e)));
// No touch, no pen, no mouse: what arrives of them would be a fault of this test.
await page.addInitScript(() => {
  window.pointers = 0;
  for (const name of ['pointerdown', 'mousedown', 'touchstart']) addEventListener(name, () => ++pointers, true);
});
const app = new App(page, null);
let keys = 0;
const press = async (key) => { ++keys; await page.keyboard.press(key); await sleep(40); };
const focus = async () => JSON.parse(await page.evaluate(() => Module.UTF8ToString(Module._adret_areas()))).focus;

async function tabTo(label) {
  await app.until((s) => s.touch.some((t) => !t.scroll && t.label === label && t.enabled), `there is no "${label}"`, 20);
  const passed = [];
  for (let i = 0; i < 150; ++i) {
    const now = await focus();
    if (now === label) break;
    passed.push(now);
    await press('Tab');
  }
  // The page's own focus follows, and stands where it can be seen.
  const seen = await until(page, (label) => {
    const at = document.activeElement, box = at?.getBoundingClientRect();
    return at?.dataset.name === label && box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth;
  }, label, 3);
  if (!seen) throw new Error(`Tab does not reach "${label}"; it passed ${passed.join(' | ')}; the page's focus is on ${await page.evaluate(() => document.activeElement?.outerHTML.slice(0, 200))}`);
}
async function enter(label) {
  await tabTo(label);
  await press('Enter');
  await sleep(80);
}
async function write(label, words) {
  await enter(label);
  if (!await until(page, (label) => document.activeElement.id === 'writing' && Module.UTF8ToString(Module._adret_writing_field()) === label, label, 3))
    throw new Error(`Enter does not begin to write into "${label}"`);
  keys += words.length;
  await page.keyboard.type(words, {delay: 5});
  await press('Tab');  // out of the field: no trap
}

try {
  await page.goto(site.url);
  await started(page);
  await enter('New site');
  await enter('I have read this');
  await enter('Type the position');
  await write('Position in any notation', '46.6213 N 10.3478 E 1482');
  await enter('Use this position');
  await app.expect('46.621');
  await write('People (initials)', 'AB');
  await enter('Instrument: Hand compass and clinometer');
  await enter('Skyline');
  // Readings of a hand compass, as figures; the bearing is proposed from the second on.
  await enter('Type a reading');
  const readings = [[50, 12], [92, 15], [134, 10], [176, 10], [218, 23], [260, 22], [302, 23], [344, 22], [26, 18]];
  for (const [i, [bearing, elevation]] of readings.entries()) {
    if (i === 1) await enter('Bearing to it');  // how far on is learned from the second
    if (i < 2) await page.keyboard.type(String(bearing));
    if (i < 2) await press('Enter');
    await page.keyboard.type(String(elevation));
    keys += (i < 2 ? String(bearing).length : 0) + 2;
    await sleep(60);
    await press('Enter');
    await app.until((s) => s.kept_marks === i + 1, `reading ${i + 1} is not kept`, 8);
  }
  await enter('Close');
  await app.expect('21 December here');
  check(true, `${readings.length} readings were typed and kept`);
  await enter('Undo');
  await enter('Arrive');
  await enter('Ice or snow underfoot');
  await enter('Ground');
  await enter('Wind and drifts');
  const before = (await app.seen()).screen;
  await press('Escape');
  await app.until((s) => s.screen !== before, 'Escape does not lead back', 5);
  await enter('New pit');
  await write('Down to, cm', '30');
  await enter('Texture: loam');
  await enter('Add the layer');
  await enter('Light');
  await app.settle(60);
  await enter('Hand over');
  const coming = page.waitForEvent('download', {timeout: 120000});
  await enter('Make the files');
  await app.expect('Done. The files are here', 120);
  const labels = (await app.seen()).touch.map((t) => t.label);
  await enter(labels.find((l) => /^(Share|Download): /.test(l)));
  check(/[.](zip|pdf|gpkg)$/.test((await coming).suggestedFilename()), `handed over: ${(await coming).suggestedFilename()}`);
  check(await page.evaluate(() => pointers) === 0, `from the first start to the hand-over in ${keys} keys, no pointer`);
} catch (error) {
  console.log(String(error.stack || error));
  check(false, 'the visit goes through');
}
check(problems.length === 0, `no error in the page ${problems}`);
await kill();
site.stop();
dropProfile(profile);
finish();
