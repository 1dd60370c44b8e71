// The sun by npm astronomy-engine at the instants of sun_bench, which starts this and reads:
// a first line with nanoseconds a position, then one line "azimuth elevation" an instant.
import * as Astronomy from 'astronomy-engine';

const [latitude, longitude, height, start, step, count] = process.argv.slice(2).map(Number);
const observer = new Astronomy.Observer(latitude, longitude, height);

function sunAt(utcSeconds) {
  const time = Astronomy.MakeTime(new Date(utcSeconds * 1000));
  const equator = Astronomy.Equator(Astronomy.Body.Sun, time, observer, true, true);
  return Astronomy.Horizon(time, observer, equator.ra, equator.dec, null);
}

for (let i = 0; i < 2000; ++i) sunAt(start + step * i);  // let the compiler warm up
const seen = new Array(count);
const began = process.cpuUsage();
for (let i = 0; i < count; ++i) seen[i] = sunAt(start + step * i);
const nanoseconds = (process.cpuUsage(began).user * 1000) / count;

const lines = seen.map((sun) => `${sun.azimuth.toFixed(9)} ${sun.altitude.toFixed(9)}`);
console.log([nanoseconds.toFixed(1), ...lines].join('\n'));
