// access_test.mjs: the page for those who do not see it. On every screen on the way axe-core finds nothing
// to complain of, and Chromium's own accessibility tree holds each area that can be touched with its name,
// a role and its place; the way itself is walked through that tree alone.
// [published] the rules are axe-core's, after WCAG 2.2 A and AA and good practice.
import {createRequire} from 'node:module';
import {readFileSync} from 'node:fs';
import path from 'node:path';
import {setTimeout as sleep} from 'node:timers/promises';
import {App} from './app.mjs';
import {asPhone, check, dropProfile, finish, launch, newProfile, root, serve, started} from './browser.mjs';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const site = await serve(path.join(root, 'build/web/site'));
const profile = newProfile();
const {context, kill} = await launch(profile);
const page = context.pages()[0];
const session = await asPhone(page);
await page.goto(site.url);
await started(page);
const app = new App(page, session);
const ROLES = new Set(['button', 'radio', 'checkbox', 'textbox']);
let screens = 0, areas = 0;
const complaints = [], missing = [];

async function tree() {
  const {nodes} = await session.send('Accessibility.getFullAXTree');
  return nodes.filter((n) => !n.ignored && ROLES.has(n.role?.value));
}
const name = (node) => node.name?.value ?? '';
const called = (node, label) => name(node) === label || name(node).startsWith(`${label}: `);

// Through the tree alone: what a screen reader does when its user acts on the element of that name.
async function act(label) {
  for (let tries = 0; tries < 100; ++tries, await sleep(50)) {
    const node = (await tree()).filter((n) => called(n, label) && !n.properties?.some((p) => p.name === 'disabled' && p.value.value)).pop();
    if (!node) continue;
    const {object} = await session.send('DOM.resolveNode', {backendNodeId: node.backendDOMNodeId});
    await session.send('Runtime.callFunctionOn', {objectId: object.objectId, functionDeclaration: 'function() { this.click(); }'});
    await sleep(120);
    return;
  }
  throw new Error(`the tree holds no "${label}"; it holds ${(await tree()).map(name).join(' | ')}`);
}
async function write(label, text) {
  await act(label);
  await session.send('Input.insertText', {text});
  await sleep(80);
}
async function look(what) {
  await app.settle();
  await sleep(200);
  ++screens;
  await page.evaluate(axe);
  const {violations} = await page.evaluate(() => axe.run(document, {resultTypes: ['violations']}));
  for (const v of violations) complaints.push(`${what}: ${v.id} (${v.nodes.length}): ${v.nodes[0].html.slice(0, 120)}`);
  const nodes = await tree();
  const boxes = await page.evaluate(() => [...document.querySelectorAll('#mirror [role]')].map((e) => {
    const b = e.getBoundingClientRect();
    return [e.dataset.name, b.x, b.y, b.width, b.height];
  }));
  for (const area of (await app.seen()).touch) {
    if (area.scroll || !area.label || area.visible[2] * area.visible[3] < 1) continue;
    ++areas;
    const here = boxes.some(([label, x, y]) => label === area.label && Math.abs(x - area.box[0]) < 2 && Math.abs(y - area.box[1]) < 2);
    if (!nodes.some((n) => called(n, area.label)) || !here) missing.push(`${what}: ${area.label}`);
  }
}

try {
  await look('sites');
  await act('New site');
  await look('warnings');
  await act('I have read this');
  await look('arrive');
  await act('Type the position');
  await write('Position in any notation', '46.6213 N 10.3478 E 1482');
  await act('Use this position');
  await app.expect('46.621');
  await act('Stations');
  await look('stations');
  await act('Skyline');
  await look('skyline');
  await act('Ground');
  await look('ground');
  await act('New pit');
  await write('Down to, cm', '9999');
  await sleep(200);
  const refused = (await tree()).find((n) => called(n, 'Down to, cm'));
  check(/write a number/i.test(refused?.description?.value ?? ''), `a refused entry is told to a screen reader: "${refused?.description?.value}"`);
  await look('pit');
  await act('Light');
  await look('light');
  await act('Hand over');
  await look('handover');
  await act('Settings');
  await look('settings');
  check(true, 'from the first start to the hand-over through the accessibility tree alone');
} catch (error) {
  console.log(String(error.stack || error));
  check(false, 'the walk goes through');
}
check(complaints.length === 0, `axe-core finds nothing on ${screens} screens ${complaints.join('\n       ')}`);
check(missing.length === 0, `the tree holds all ${areas} areas with name, role and place ${missing.slice(0, 10).join('\n       ')}`);
await kill();
site.stop();
dropProfile(profile);
finish();
