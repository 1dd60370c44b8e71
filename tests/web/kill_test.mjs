// kill_test.mjs [ROUNDS]: kills the browser process in the middle of marking, again and again. Every
// mark that was acknowledged must be there afterwards, and the database whole.
// [property] what is acknowledged is durable
import {setTimeout as sleep} from 'node:timers/promises';
import path from 'node:path';
import {check, dropProfile, finish, launch, newProfile, root, serve, started} from './browser.mjs';

const rounds = Number(process.argv[2] || 50);
const site = await serve(path.join(root, 'build/web/probe-site'));
const profile = newProfile();
let acknowledged = 0, lost = 0, broken = 0, unfinished = 0;
for (let round = 0; round <= rounds; ++round) {
  const {context, kill} = await launch(profile);
  const page = context.pages()[0] || await context.newPage();
  const problems = [];
  page.on('console', (m) => m.type() === 'error' && problems.push(m.text()));
  await page.goto(site.url);
  await started(page);
  const [count, highest, sound] = await page.evaluate(() => [Module._probe_count(), Module._probe_highest(), Module._probe_sound()]);
  if (highest < acknowledged || count !== Math.max(0, highest)) ++lost;
  if (sound !== 1) ++broken;
  if (highest > acknowledged) ++unfinished;
  if (problems.length) console.log(problems.join('\n'));
  if (round % 10 === 0) console.log(`${round} kills, ${acknowledged} marks acknowledged, ${lost} lost`);
  if (round === rounds) {
    await kill();
    break;
  }
  await page.exposeFunction('acknowledge', (number) => { acknowledged = Math.max(acknowledged, number); });
  page.evaluate(async () => {
    for (;;) {
      const number = Module._probe_mark();
      while (!Module._probe_durable()) await new Promise((next) => setTimeout(next, 0));
      acknowledge(number);
    }
  }).catch(() => {});
  await sleep(100 + Math.random() * 500);
  await kill();
}
check(lost === 0, `no acknowledged mark is missing after ${rounds} kills (${acknowledged} marks; ${unfinished} times a mark not yet acknowledged was there too)`);
check(broken === 0, 'the database is whole after each');
check(acknowledged > rounds, 'marks were being made');
dropProfile(profile);
site.stop();
finish();
