#include "horizon/skyline/contact_fit.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <string>
#include <vector>

#include "horizon/light/uncertainty.h"
#include "tests/horizon/skyline/contact_truth.h"
#include "tests/near.h"

using namespace horizon;

namespace {

bool long_suite() { return std::getenv("ADRET_LONG") != nullptr; }
double utc(const std::string& text) { return parse_utc_s(text).value(); }
const Place kPlace{46.6213, 10.3478, 1482};

// Waves of many lengths, 8 to 20 degrees high: nothing that the fit assumes.
double wavy(double az, double seed) {
  double el = 14;
  for (int k = 1; k <= 60; ++k)
    el += 3.2 / std::pow(k, 1.35) * std::sin(k * az * kDegree * 2 + seed * k * k + 0.7 * k);
  return el;
}

std::vector<ContactEvidence> diary(double seed, int first_day, int days, int every, Gauss& gauss,
                                   double sigma_s = 5) {
  std::vector<ContactEvidence> all;
  const auto line = [&](double az) { return wavy(az, seed); };
  for (int d = 0; d < days; ++d) {
    const double start = utc("2026-11-01T04:00:00Z") + (first_day + d * every) * 86400.0;
    for (const auto& event : contact_truth::sun_events(line, kPlace, start, start + 50000,
                                                       standard_air(kPlace.height_m), 35)) {
      ContactEvidence e;
      e.reading.came = event.came;
      e.reading.utc_s = event.utc_s + sigma_s * gauss.next();
      e.reading.place = kPlace;
      e.reading.reading_sigma_s = sigma_s;
      e.watched_on = true;
      all.push_back(e);
    }
  }
  return all;
}

}  // namespace

TEST_CASE("[property] a row an hour off, or on a wrong day, is named and not used") {
  int hour_named = 0, hour_cause = 0, day_named = 0, false_alarms = 0, sound = 0;
  const int kTrials = long_suite() ? 12 : 5;
  for (int trial = 0; trial < kTrials; ++trial) {
    Gauss gauss(100 + trial);
    auto rows = diary(trial * 0.37, 0, 20, 6, gauss);
    const ContactFit clean = fit_contacts(rows);
    for (const auto& c : clean.contacts) false_alarms += !c.used(), ++sound;
    const size_t bad = (trial * 7) % rows.size();
    auto hour = rows;
    hour[bad].reading.utc_s += trial % 2 ? 3600 : -3600;
    const ContactFit with_hour = fit_contacts(hour);
    hour_named += !with_hour.contacts[bad].used();
    hour_cause += with_hour.contacts[bad].fault == ContactFault::hour_off;
    if (with_hour.contacts[bad].used() || with_hour.contacts[bad].fault != ContactFault::hour_off)
      MESSAGE("trial " << trial << " row " << bad << " of " << rows.size() << " fault "
                       << name_of(with_hour.contacts[bad].fault));
    int others = 0;
    for (size_t i = 0; i < hour.size(); ++i)
      others += i != bad && !with_hour.contacts[i].used() && clean.contacts[i].used();
    CHECK(others <= 1);
    auto day = rows;
    day[bad].reading.utc_s += 30 * 86400.0;
    day_named += !fit_contacts(day).contacts[bad].used();
  }
  // At the ends of so thin a diary (a day in six) no other day may tell.
  CHECK(hour_named >= kTrials - 1);
  CHECK(hour_cause == hour_named);
  CHECK(false_alarms * 50 <= sound);
}

TEST_CASE("[property] two contacts a second apart on opposite sides are both left out, and said") {
  Gauss gauss(1);
  auto rows = diary(0.2, 0, 10, 6, gauss);
  ContactEvidence other = rows[3];
  other.reading.utc_s += 1;
  other.reading.came = !other.reading.came;
  rows.push_back(other);
  ContactEvidence twice = rows[5];
  twice.reading.utc_s += 2;
  rows.push_back(twice);
  const ContactFit fit = fit_contacts(rows);
  CHECK(fit.contacts[3].fault == ContactFault::opposite);
  CHECK(fit.contacts[rows.size() - 2].fault == ContactFault::opposite);
  CHECK(fit.contacts[3].against == static_cast<int>(rows.size()) - 2);
  CHECK(fit.contacts[3].why.key == "error.contact_opposite");
  CHECK(fit.contacts[5].used());
  CHECK(fit.contacts.back().fault == ContactFault::doubled);
}
