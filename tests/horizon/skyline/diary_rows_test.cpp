// Is a wrong row of a diary found, and what harm does one do that is not? On reliefs that the method
// knows nothing of: power laws, folded ridges, straight faces, steps, crowns, crags, and real ones.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "horizon/light/findings.h"
#include "horizon/skyline/contact_fit.h"
#include "tests/csv_rows.h"
#include "tests/horizon/light/reliefs.h"
#include "tests/horizon/skyline/contact_truth.h"

using namespace horizon;

namespace {

constexpr double kDay_s = 86400, kHour_s = 3600;

struct Row {
  int day = 0;
  double came_utc_s = 0, went_utc_s = 0;
};

// 12 to 60 days, one in one to four, from October on, three in ten lost to clouds; times to the
// minute, read 10 to 30 s wrong; the air warmer or colder than the standard's. Nobody writes down
// less than four minutes of sun, or a gap of less than a minute and a half.
struct Diary {
  Place place;
  reliefs::Line line;
  std::vector<Row> rows;
};

Diary diary(unsigned seed, const std::vector<std::pair<std::string, reliefs::Line>>& real) {
  Gauss gauss(seed);
  Diary d;
  d.place = {44 + 5 * gauss.even(), 10.3, 1400};
  d.line = reliefs::relief(reliefs::kFamilies[seed % reliefs::kFamilies.size()], gauss, real);
  Air air = standard_air(d.place.height_m);
  air.temperature_c += 6 * gauss.next();
  const int days = 12 + static_cast<int>(50 * gauss.even());
  const int every = 1 + static_cast<int>(4 * gauss.even());
  const double first =
      parse_utc_s("2025-10-01T03:00:00Z").value() + std::floor(70 * gauss.even()) * kDay_s;
  const double sigma_s = 10 + 20 * gauss.even();
  const auto noted = [&](double utc_s) {
    return std::round((utc_s + sigma_s * gauss.next()) / 60) * 60;
  };
  for (int k = 0; k < days; ++k) {
    if (gauss.even() < 0.3) continue;
    const double start = first + k * every * kDay_s;
    const auto events =
        contact_truth::sun_events([&](double az) { return reliefs::at(d.line, az); }, d.place,
                                  start, start + 64000, air, *std::ranges::max_element(d.line));
    for (size_t i = 0; i + 1 < events.size(); ++i) {
      if (!events[i].came || events[i + 1].utc_s - events[i].utc_s < 240) continue;
      const Row row{k * every, noted(events[i].utc_s), noted(events[i + 1].utc_s)};
      if (!d.rows.empty() && d.rows.back().day == row.day &&
          row.came_utc_s - d.rows.back().went_utc_s < 90)
        d.rows.back().went_utc_s = row.went_utc_s;
      else
        d.rows.push_back(row);
    }
  }
  return d;
}

std::vector<ContactEvidence> evidence(const Diary& d, const std::vector<Row>& rows) {
  std::vector<ContactEvidence> all;
  for (size_t r = 0; r < rows.size(); ++r)
    for (const bool came : {true, false}) {
      ContactEvidence e;
      e.reading.came = came;
      e.reading.utc_s = came ? rows[r].came_utc_s : rows[r].went_utc_s;
      e.reading.place = d.place;
      e.reading.reading_sigma_s = 30;
      e.reading.clock_sigma_s = 20;
      e.watched_on = true;
      e.row = static_cast<int>(r);
      all.push_back(e);
    }
  return all;
}

double winter_h(const Diary& d, const ContactFit& fit) {
  StationInput input;
  input.place = d.place;
  input.year = 2026;
  input.utc_offset_h = 1;
  input.draws = 0;
  input.skyline = with_contacts({}, fit);
  return findings_of(input).hours.winter_h.value;
}

void shift(Row& row, double by_s) { row.came_utc_s += by_s, row.went_utc_s += by_s; }

void swap_day_and_month(Row& row) {
  const Date date = date_of(row.came_utc_s, 1);
  const unsigned day = static_cast<unsigned>(date.day()),
                 month = static_cast<unsigned>(date.month());
  if (day > 12 || day == month) return shift(row, 10 * kDay_s);
  const Date swapped{date.year(), std::chrono::month{day}, std::chrono::day{month}};
  shift(row, kDay_s * (std::chrono::sys_days{swapped} - std::chrono::sys_days{date}).count());
}

struct Slip {
  const char* name;
  std::function<void(Row&)> make;
  ContactFault fault;
  bool small = false;  // a day or two, some minutes: little harm where it passes
};
const std::vector<Slip>& slips() {
  using F = ContactFault;
  static const std::vector<Slip> all = {
      {"a day late", [](Row& r) { shift(r, kDay_s); }, F::day_off, true},
      {"a day early", [](Row& r) { shift(r, -kDay_s); }, F::day_off, true},
      {"two days late", [](Row& r) { shift(r, 2 * kDay_s); }, F::day_off, true},
      {"a week late", [](Row& r) { shift(r, 7 * kDay_s); }, F::day_off, true},
      {"ten days late", [](Row& r) { shift(r, 10 * kDay_s); }, F::day_off},
      {"a month late", [](Row& r) { shift(r, 31 * kDay_s); }, F::day_off},
      {"a month early", [](Row& r) { shift(r, -30 * kDay_s); }, F::day_off},
      {"day and month swapped", swap_day_and_month, F::day_off},
      {"an hour late", [](Row& r) { shift(r, kHour_s); }, F::hour_off},
      {"came an hour early", [](Row& r) { r.came_utc_s -= kHour_s; }, F::hour_off},
      {"went an hour late", [](Row& r) { r.went_utc_s += kHour_s; }, F::hour_off},
      {"went 20 minutes early", [](Row& r) { r.went_utc_s -= 1200; }, F::contradicts, true}};
  return all;
}

struct Tally {
  int tried = 0, found = 0, cause = 0, others = 0;
  double harm_h = 0, worst_h = 0;  // of those that pass: mean and largest
};

void tell(const std::string& name, const Tally& t) {
  MESSAGE(name << ": " << t.found << " of " << t.tried << " left out, " << t.cause
               << " with the cause; sound readings left out beside them " << t.others
               << "; winter off by one that passed: mean "
               << t.harm_h / std::max(1, t.tried - t.found) << " h, most " << t.worst_h << " h");
}

}  // namespace

// ADRET_DIARIES=42: the table in docs/contacts.md, half an hour.
TEST_CASE("[property] a wrong row of a diary is left out, and sound rows are not") {
  const char* asked = std::getenv("ADRET_DIARIES");
  const int trials = asked ? std::atoi(asked) : 4;
  const auto real = reliefs::read_real(ADRET_TEST_DATA "/real_horizons.csv");
  std::map<std::string, Tally> tallies;
  int sound = 0, alarms = 0, great = 0, great_found = 0;
  for (int trial = 0; trial < trials; ++trial) {
    const auto seed = static_cast<unsigned>(100 + (asked ? trial : 3 * trial + 1));
    const Diary d = diary(seed, real);
    if (d.rows.size() < 8) continue;
    const ContactFit clean = fit_contacts(evidence(d, d.rows));
    for (const auto& c : clean.contacts) {
      if (c.fault == ContactFault::unusable) continue;  // by a minute below a flat horizon
      ++sound;
      alarms += !c.used();
    }
    const double clean_h = asked ? winter_h(d, clean) : 0;
    Gauss gauss(seed + 7);
    const auto attempt = [&](const std::string& name, size_t from, size_t to, const Slip& slip) {
      auto rows = d.rows;
      for (size_t r = from; r < to; ++r) slip.make(rows[r]);
      const ContactFit fit = fit_contacts(evidence(d, rows));
      Tally& t = tallies[name];
      int used = 0, cause = 0;
      for (size_t i = 0; i < fit.contacts.size(); ++i) {
        const bool bad = i / 2 >= from && i / 2 < to &&
                         evidence(d, rows)[i].reading.utc_s != evidence(d, d.rows)[i].reading.utc_s;
        if (!bad && !(i / 2 >= from && i / 2 < to))
          t.others += !fit.contacts[i].used() && clean.contacts[i].used();
        if (bad) used += fit.contacts[i].used(), cause += fit.contacts[i].fault == slip.fault;
      }
      ++t.tried;
      t.found += used == 0;
      t.cause += used == 0 && cause > 0;
      if (!slip.small) ++great, great_found += used == 0;
      if (used == 0 || !asked) return;
      const double harm_h = std::abs(winter_h(d, fit) - clean_h);
      t.harm_h += harm_h;
      t.worst_h = std::max(t.worst_h, harm_h);
    };
    for (const Slip& slip : slips()) {
      if (!asked && slip.small) continue;
      const auto bad = static_cast<size_t>(gauss.even() * 0.9999 * d.rows.size());
      attempt(slip.name, bad, bad + 1, slip);
    }
    auto first = static_cast<size_t>(d.rows.size() * (0.1 + 0.25 * gauss.even())) + 2;
    while (first + 1 < d.rows.size() && d.rows[first].day == d.rows[first - 1].day) ++first;
    attempt("summer time forgotten at the start", 0, first, slips()[8]);
  }
  MESSAGE(sound << " sound readings, " << alarms << " left out wrongly");
  for (const auto& [name, tally] : tallies) tell(name, tally);
  CHECK(sound > 100);
  CHECK(alarms * 200 <= sound);
  CHECK(great_found * 100 >= great * 85);
}

// Times that nobody here made, to the minute, of a horizon that is known: flat. Half of them lie
// below it by their rounding.
TEST_CASE("[published] a year of USNO's sunrises and sunsets as a diary is the flat horizon") {
  const Place fredonia{36.95, -112.52, 0};
  std::vector<ContactEvidence> evidence;
  int row = 0;
  for (const CsvRow& day : csv_rows("usno_rise_set_2023.csv")) {
    if (day.text.at("body") != "sun") continue;
    for (const char* which : {"rise", "set"}) {
      ContactEvidence one;
      one.row = row;
      one.watched_on = true;
      one.reading.came = *which == 'r';
      one.reading.place = fredonia;
      one.reading.reading_sigma_s = 30;
      one.reading.utc_s =
          parse_utc_s(day.text.at("date") + "T" + day.text.at(which) + ":00-07:00").value();
      evidence.push_back(one);
    }
    ++row;
  }
  REQUIRE(row == 365);
  const auto mean_deg = [](const ContactFit& fit) {
    double sum = 0;
    for (const auto& c : fit.contacts)
      if (c.used()) sum += c.contact->elevation.degrees() / fit.used;
    return sum;
  };
  const ContactFit fit = fit_contacts(evidence);
  CHECK(fit.used == 730);
  CHECK(std::abs(mean_deg(fit)) < 0.03);
  // One row an hour late: it alone is left out.
  evidence[40].reading.utc_s += 3600;
  evidence[41].reading.utc_s += 3600;
  const ContactFit late = fit_contacts(evidence);
  CHECK(late.used == 728);
  CHECK_FALSE(late.contacts[40].used());
  CHECK_FALSE(late.contacts[41].used());
  CHECK(std::abs(mean_deg(late)) < 0.03);
}
