#include "horizon/skyline/contact.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <cstdlib>
#include <string>

#include "horizon/light/uncertainty.h"
#include "horizon/skyline/contact_fit.h"
#include "horizon/sun/moon.h"
#include "horizon/terrain/terrain.h"
#include "tests/horizon/skyline/contact_truth.h"
#include "tests/horizon/terrain/jacksboro.h"
#include "tests/near.h"

using namespace horizon;

namespace {

double utc(const std::string& text) { return parse_utc_s(text).value(); }
const Place kLarkholm{46.6213, 10.3478, 1482};

ContactReading reading(const std::string& when, bool came = false, Touch touch = Touch::edge) {
  ContactReading r;
  r.touch = touch;
  r.came = came;
  r.utc_s = utc(when);
  r.place = kLarkholm;
  return r;
}

}  // namespace

// By hand from alt = h + R + S cos b, az = A - S sin b / cos(alt); S 0.266, b 30: 0.133 sideways,
// 0.036 less height than over a level ridge.
TEST_CASE("[property] the touched point lies on the normal of the ridge") {
  ContactReading r = reading("2027-01-10T13:00:00Z");
  r.air = Air{840, -10};
  const SunPosition sun = sun_position(r.utc_s, r.place);
  const double s = sun.semidiameter_deg, h = sun.elevation.degrees();
  for (const double b : {-30.0, 0.0, 30.0}) {
    const auto c = contact_point(r, {b, 0});
    REQUIRE(c.has_value());
    const double up = h + s * std::cos(b * kDegree);
    CHECK_NEAR(c->elevation.degrees(), apparent_elevation_deg(up, *r.air), 0.0004);
    CHECK_NEAR(clockwise_deg(sun.azimuth, c->azimuth),
               -s * std::sin(b * kDegree) / std::cos(c->elevation.radians()), 0.0015);
  }
  r.touch = Touch::whole;
  const auto below = contact_point(r, {30, 0});
  REQUIRE(below.has_value());
  CHECK_NEAR(below->elevation.degrees(),
             apparent_elevation_deg(h - s * std::cos(30 * kDegree), *r.air), 0.0004);
  CHECK(clockwise_deg(sun.azimuth, below->azimuth) > 0.13);
  r.touch = Touch::half;
  const auto half = contact_point(r, {30, 0});
  REQUIRE(half.has_value());
  CHECK_NEAR(half->elevation.degrees(), apparent_elevation_deg(h, *r.air), 1e-9);
  CHECK_NEAR(half->azimuth.degrees(), sun.azimuth.degrees(), 1e-9);
}

// 15.04 cos(lat) sin(az) arcseconds a second; at azimuth 150 and elevation 15: 5.2" a second up,
// 12.7 to 13.7 sideways, so that 5 s are 0.007 and 0.019 degree.
TEST_CASE("[property] five seconds of the clock are two hundredths of a degree") {
  ContactReading r = reading("2027-01-20T09:40:00Z", true);
  r.reading_sigma_s = 5;
  r.clock_sigma_s = 0;
  const auto c = contact_point(r, {0, 0});
  REQUIRE(c.has_value());
  const double az = c->body_azimuth.degrees();
  CHECK_NEAR(c->elevation_rate * 3600,
             15.04 * std::cos(kLarkholm.latitude_deg * kDegree) * std::sin(az * kDegree), 0.15);
  CHECK(c->azimuth_rate * 3600 > 11);
  CHECK(c->azimuth_rate * 3600 < 15);
  CHECK(c->line_sigma_deg < 0.02);
  CHECK(c->opening_rate > 0);  // it can have come
}

TEST_CASE("[property] what cannot be a contact is refused with the cure") {
  CHECK(!contact_point(reading("2027-01-20T22:00:00Z")));  // night
  ContactReading moon = reading("2027-01-20T22:00:00Z");
  moon.body = Body::moon;
  for (double t = moon.utc_s, down = 0; down < 1; t += 600) {
    moon.utc_s = t;
    if (moon_position(t, moon.place).elevation.degrees() > -3) continue;
    const auto c = contact_point(moon);
    REQUIRE(!c);
    CHECK(c.error().key == "error.moon_was_below_horizon");
    down = 1;
  }
  // 7 February 2027, 15:56 UT: new moon (and an eclipse elsewhere).
  moon.utc_s = utc("2027-02-06T13:00:00Z");
  const auto thin = contact_point(moon);
  REQUIRE(!thin);
  CHECK(thin.error().key == "error.moon_was_new");
  CHECK(!contact_point(reading("1920-01-20T12:00:00Z")));
  ContactReading nowhere = reading("2027-01-20T12:00:00Z");
  nowhere.place.latitude_deg = 91;
  CHECK(!contact_point(nowhere));
  ContactReading thick = reading("2027-01-20T12:00:00Z");
  thick.air = Air{84000, -10};
  CHECK(!contact_point(thick));
}

TEST_CASE("[property] only the lit limb of a waxing moon counts") {
  // Some days before full the moon's lit side faces the evening sun.
  ContactReading moon = reading("2027-06-14T20:00:00Z");
  moon.body = Body::moon;
  const MoonPosition seen = moon_position(moon.utc_s, moon.place);
  REQUIRE(seen.lit_share > 0.3);
  REQUIRE(seen.lit_share < 0.9);
  REQUIRE(seen.elevation.degrees() > 0);
  int lit = 0, dark = 0;
  for (const Touch touch : {Touch::edge, Touch::whole})
    for (const double slope : {-60.0, 60.0}) {
      moon.touch = touch;
      const auto c = contact_point(moon, {slope, 10});
      const double from_top = touch == Touch::edge ? -slope : 180 - slope;
      CHECK(c.has_value() == limb_lit(seen, from_top));
      ++(c ? lit : dark);
    }
  CHECK(lit > 0);
  CHECK(dark > 0);
}

// The grid is real relief, its horizon worked out by horizon/terrain, which another program's
// horizon confirms to 0.05 degree; the events by brute force in contact_truth.h.
TEST_CASE("[property] contacts give back the horizon of real terrain") {
  const auto grid = jacksboro();
  if (!grid) {
    MESSAGE("python-matplotlib-data or unzip not installed, left out");
    return;
  }
  TerrainOptions options;
  options.azimuth_step_deg = 0.05;
  options.reach_m = 12000;
  Gauss gauss(11);
  const int most = std::getenv("ADRET_LONG") ? 12 : 4;
  int stations = 0, points = 0, within = 0, within_sigma = 0;
  double worst = 0;
  for (int s = 0; s < 40 && stations < most; ++s) {
    const Place place{36.48 + 0.2 * (s % 8) / 8.0, -84.38 + 0.28 * (s / 8) / 5.0, 0};
    const auto terrain = terrain_skyline(*grid, place, 1.6, options);
    if (!terrain) continue;
    double highest = -90;
    for (const auto& p : terrain->points) highest = std::max(highest, p.elevation.degrees());
    if (highest < 8) continue;
    ++stations;
    const auto line = [&](double az) { return terrain->elevation_deg(wrap_360(az)); };
    const Place eye{place.latitude_deg, place.longitude_deg, terrain->ground_m + 1.6};
    std::vector<ContactEvidence> evidence;
    for (int day = 0; day < 30; ++day) {
      const double start = utc("2026-11-01T05:00:00Z") + day * 4 * 86400.0;
      Air air = standard_air(eye.height_m);
      air.temperature_c += 10 * gauss.next();
      for (const auto& event :
           contact_truth::sun_events(line, eye, start, start + 86400, air, highest)) {
        ContactEvidence e;
        e.reading.came = event.came;
        e.reading.utc_s = event.utc_s + 5 * gauss.next();
        e.reading.place = eye;
        e.reading.reading_sigma_s = 5;
        e.reading.clock_sigma_s = 0;
        evidence.push_back(e);
      }
    }
    const ContactFit fit = fit_contacts(evidence);
    for (const FittedContact& c : fit.contacts) {
      if (!c.used()) continue;
      const double truth = line(c.contact->azimuth.degrees());
      if (truth < 5) continue;  // below, the air decides
      const double off = c.contact->elevation.degrees() - truth;
      ++points;
      within += std::abs(off) < 0.05;
      within_sigma += std::abs(off) < 2 * c.contact->line_sigma_deg;
      worst = std::max(worst, std::abs(off));
    }
  }
  MESSAGE(points << " within .05 " << within << " 2 sigma " << within_sigma << " worst " << worst);
  CHECK(points > 100);
  CHECK(within * 100 >= points * 99);
  CHECK(within_sigma * 100 >= points * 95);
  CHECK(worst < 0.08);
}
