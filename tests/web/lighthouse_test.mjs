// lighthouse_test.mjs: the page judged by Lighthouse as on a middling phone with a slow network (its own
// simulation: a quarter of this processor, 1.6 Mbit/s, 150 ms). The machine must be idle.
// [published] Lighthouse's own audits and weights; the limits are this project's.
import {readFileSync} from 'node:fs';
import path from 'node:path';
import lighthouse from 'lighthouse';
import {check, dropProfile, finish, launch, newProfile, root, serve} from './browser.mjs';

const site = await serve(path.join(root, 'build/web/site'));
const profile = newProfile();
const {kill} = await launch(profile);
const port = Number(readFileSync(path.join(profile, 'DevToolsActivePort'), 'utf8').split('\n')[0]);
const {lhr} = await lighthouse(site.url, {port, logLevel: 'error', onlyCategories: ['performance', 'accessibility', 'best-practices']});
for (const [category, least] of [['performance', 0.9], ['accessibility', 1], ['best-practices', 1]]) {
  const {score, auditRefs} = lhr.categories[category];
  const lost = auditRefs.filter((ref) => ref.weight > 0 && lhr.audits[ref.id].score !== null && lhr.audits[ref.id].score < 0.9)
    .map((ref) => `${ref.id} ${lhr.audits[ref.id].score} ${lhr.audits[ref.id].displayValue ?? ''}`);
  check(score >= least, `${category} ${Math.round(score * 100)} of 100 ${lost.join('; ')}`);
}
await kill();
site.stop();
dropProfile(profile);
finish();
