// A clear day on which the sun never came: what it adds, whether the stated range still holds the truth,
// and what a cloudy day that was called clear does. On reliefs that the method knows nothing of, made
// and real, lifted so that some winter days are without sun.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <string>
#include <vector>

#include "horizon/light/findings.h"
#include "horizon/skyline/contact_fit.h"
#include "horizon/sun/sun_track.h"
#include "tests/horizon/light/reliefs.h"
#include "tests/horizon/skyline/contact_truth.h"

using namespace horizon;

namespace {

struct Diary {
  Place place;
  reliefs::Line line;
  std::vector<ContactEvidence> rows;
  std::vector<DarkDay> dark;
};

// 10 to 40 days, one in one to four, from November on; one in three lost to clouds, times to the minute.
// Less than four minutes of sun nobody writes down: such a day is said to be without.
Diary diary(unsigned seed, const std::vector<std::pair<std::string, reliefs::Line>>& real,
            bool sunless) {
  Gauss gauss(seed);
  Diary d;
  d.place = {44 + 5 * gauss.even(), 10.3, 1400};
  d.line = reliefs::relief(reliefs::kFamilies[seed % reliefs::kFamilies.size()], gauss, real);
  double lift = 9 * gauss.even();
  if (sunless) {  // by 0.3 to 3 degrees at the solstice
    const SunTrack track(d.place, parse_utc_s("2025-12-20T00:00:00Z").value(),
                         parse_utc_s("2025-12-23T00:00:00Z").value());
    double over = -90;
    for (double t = 6 * 3600; t < 18 * 3600; t += 120) {
      const SunDirection sun = track.at(parse_utc_s("2025-12-21T00:00:00Z").value() + t);
      over = std::max(over, sun.elevation_deg + 0.3 - reliefs::at(d.line, sun.azimuth_deg));
    }
    lift = over + 0.3 + 2.7 * gauss.even();
  }
  for (double& v : d.line) v += lift;
  Air air = standard_air(d.place.height_m);
  air.temperature_c += 6 * gauss.next();
  const int days = 10 + static_cast<int>(30 * gauss.even()),
            every = 1 + static_cast<int>(3 * gauss.even());
  const double first =
      parse_utc_s("2025-11-01T03:00:00Z").value() + std::floor(40 * gauss.even()) * 86400;
  const double highest = *std::ranges::max_element(d.line);
  for (int k = 0, row = 0; k < days; ++k) {
    if (gauss.even() < 0.33) continue;
    const double start = first + k * every * 86400.0;
    const auto events =
        contact_truth::sun_events([&](double az) { return reliefs::at(d.line, az); }, d.place,
                                  start, start + 64000, air, highest);
    bool any = false;
    for (size_t i = 0; i + 1 < events.size(); ++i) {
      if (!events[i].came || events[i + 1].utc_s - events[i].utc_s < 240) continue;
      any = true;
      for (const auto& event : {events[i], events[i + 1]}) {
        ContactEvidence e;
        e.reading.came = event.came;
        e.reading.utc_s = std::round((event.utc_s + 15 * gauss.next()) / 60) * 60;
        e.reading.place = d.place;
        e.reading.reading_sigma_s = 25;
        e.reading.clock_sigma_s = 20;
        e.watched_on = true;
        e.row = row;
        d.rows.push_back(e);
      }
      ++row;
    }
    if (!any) d.dark.push_back({d.place, start + 8.3 * 3600});
  }
  return d;
}

// Seeds begin at ADRET_DIARIES_FROM, or where the daily run's do.
unsigned first_seed(unsigned daily) {
  const char* from = std::getenv("ADRET_DIARIES_FROM");
  return from ? static_cast<unsigned>(std::atoi(from)) + daily : daily;
}

StationInput input_of(const Diary& d, unsigned seed) {
  StationInput input;
  input.place = d.place;
  input.year = 2026;
  input.utc_offset_h = 1;
  input.seed = seed;
  input.draws = 0;
  return input;
}

struct Held {
  int held = 0, below = 0, above = 0;
  double width_h = 0, off_h = 0;
  void add(const Ranged& found, double truth_h) {
    below += truth_h < found.low - 0.01;
    above += truth_h > found.high + 0.01;
    held += truth_h >= found.low - 0.01 && truth_h <= found.high + 0.01;
    width_h += found.high - found.low;
    off_h += std::abs(found.value - truth_h);
  }
  void tell(const char* what, int n) const {
    MESSAGE(std::string(what) << ": held " << held << " of " << n << ", truth below " << below
                              << ", above " << above << ", mean width " << width_h / n
                              << " h, mean off " << off_h / n << " h of winter");
  }
};

}  // namespace

// ADRET_DIARIES=200: the counts in docs/contacts.md.
TEST_CASE("[property] clear days without sun narrow the range and keep the truth in it") {
  const char* asked = std::getenv("ADRET_DIARIES");
  const int trials = asked ? std::atoi(asked) : 16;
  const auto real = reliefs::read_real(ADRET_TEST_DATA "/real_horizons.csv");
  Held with, without;
  int tried = 0, sound = 0, alarms = 0, rows_lost = 0;
  for (int i = 0; i < trials; ++i) {
    const unsigned seed = first_seed(41000) + static_cast<unsigned>(i);
    const Diary d = diary(seed, real, true);
    if (d.dark.size() < 2) continue;
    ++tried;
    StationInput input = input_of(d, seed);
    input.skyline = reliefs::as_skyline(d.line);
    input.skyline.max_gap_deg = 5;
    const double truth_h = findings_of(input).hours.winter_h.value;
    input.draws = 120;
    const ContactFit plain = fit_contacts(d.rows), fit = fit_contacts(d.rows, nullptr, d.dark);
    input.skyline = with_contacts({}, plain);
    without.add(findings_of(input).hours.winter_h, truth_h);
    input.skyline = with_contacts({}, fit);
    with.add(findings_of(input).hours.winter_h, truth_h);
    for (const FittedDay& day : fit.dark) ++sound, alarms += day.fault != ContactFault::none;
    rows_lost += plain.used - fit.used;
  }
  MESSAGE(tried << " diaries with " << sound << " clear days without sun, " << alarms
                << " of them left out wrongly, readings lost by them " << rows_lost);
  with.tell("with them", tried);
  without.tell("without them", tried);
  REQUIRE(tried > 3);
  CHECK(alarms * 50 <= sound);
  CHECK(rows_lost * 100 <= sound);
  CHECK(with.held * 10 >= tried * 7);
  CHECK(with.off_h <= without.off_h);
}

TEST_CASE("[property] a cloudy day that was called clear is left out, or does little") {
  const char* asked = std::getenv("ADRET_DIARIES");
  const int trials = asked ? std::atoi(asked) : 24;
  const auto real = reliefs::read_real(ADRET_TEST_DATA "/real_horizons.csv");
  int tried = 0, found = 0, lost = 0;
  double harm_h = 0, worst_h = 0;
  for (int i = 0; i < trials; ++i) {
    const unsigned seed = first_seed(43000) + static_cast<unsigned>(i);
    Diary d = diary(seed, real, i % 2);
    if (d.rows.size() < 12) continue;
    StationInput input = input_of(d, seed);
    const ContactFit clean = fit_contacts(d.rows, nullptr, d.dark);
    input.skyline = with_contacts({}, clean);
    const double clean_h = findings_of(input).hours.winter_h.value;
    // Any day with sun becomes one without: half an hour of it at least.
    Gauss gauss(seed + 1);
    const auto day = [](const ContactEvidence& e) { return std::floor(e.reading.utc_s / 86400); };
    const double cloudy = day(
        d.rows[static_cast<size_t>(gauss.even() * 0.9999 * static_cast<double>(d.rows.size()))]);
    double sun_s = 0;
    for (const ContactEvidence& e : d.rows)
      if (day(e) == cloudy) sun_s += (e.reading.came ? -1 : 1) * e.reading.utc_s;
    if (sun_s < 1800) continue;
    int used = 0;  // of other days
    for (size_t k = 0; k < d.rows.size(); ++k)
      used += day(d.rows[k]) != cloudy && clean.contacts[k].used();
    std::erase_if(d.rows, [&](const ContactEvidence& e) { return day(e) == cloudy; });
    d.dark.push_back({d.place, cloudy * 86400 + 11.3 * 3600});
    ++tried;
    const ContactFit fit = fit_contacts(d.rows, nullptr, d.dark);
    lost += used - fit.used;
    if (fit.dark.back().fault != ContactFault::none) {
      ++found;
      CHECK(fit.dark.back().why.key.starts_with("error.dark_day"));
      continue;
    }
    input.skyline = with_contacts({}, fit);
    const double harm = std::abs(findings_of(input).hours.winter_h.value - clean_h);
    harm_h += harm;
    worst_h = std::max(worst_h, harm);
  }
  MESSAGE(tried << " cloudy days called clear: " << found
                << " left out; of the others winter off by " << harm_h / std::max(1, tried - found)
                << " h in the mean, " << worst_h << " h at most; readings of other days lost "
                << lost);
  REQUIRE(tried > 3);
  CHECK(found * 10 >= tried * 8);
}

TEST_CASE("[property] a June day called clear and without sun is a wrong date, and is said") {
  DarkDay june{{46.6, 10.3, 1400}, parse_utc_s("2026-06-20T11:20:00Z").value()};
  const ContactFit fit = fit_contacts({}, nullptr, std::vector{june});
  REQUIRE(fit.dark.size() == 1);
  CHECK(fit.dark[0].why.key == "error.dark_day_too_high");
  CHECK(fit.bounds.empty());
  // In December it is possible, and the ridge stands above the sun's way, about 20 degrees at noon.
  june.noon_utc_s = parse_utc_s("2026-12-20T11:20:00Z").value();
  const ContactFit winter = fit_contacts({}, nullptr, std::vector{june});
  CHECK(winter.dark[0].fault == ContactFault::none);
  const Skyline line = with_contacts({}, winter);
  const Mask mask(line);
  CHECK(mask.elevation_deg(180) > 19.9);
  CHECK(mask.elevation_deg(180) < 35);
}
