#include "horizon/skyline/contact_plan.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "horizon/sun/sun.h"
#include "tests/horizon/skyline/contact_truth.h"
#include "tests/horizon/skylines.h"
#include "tests/near.h"

using namespace horizon;

namespace {

double utc(const std::string& text) { return parse_utc_s(text).value(); }
Date date(const std::string& text) { return parse_date(text).value(); }
const Place kPlace{46.6213, 10.3478, 1482};
const Air kAir = standard_air(1482);

}  // namespace

TEST_CASE("[property] the next contact is when the last of the disc meets the line") {
  const Mask mask = mask_through({{0, 8}, {120, 9}, {150, 16}, {175, 12}, {215, 18}, {240, 10}});
  const auto line = [&](double az) { return mask.elevation_deg(az); };
  const double from = utc("2027-01-14T05:00:00Z");
  const auto truth = contact_truth::sun_events(line, kPlace, from, from + 43200, kAir, 20);
  const auto expected = expected_contacts(Body::sun, from, from + 43200, kPlace, kAir, mask);
  REQUIRE(expected.size() == truth.size());
  REQUIRE(truth.size() >= 2);
  for (size_t i = 0; i < truth.size(); ++i) {
    CHECK_NEAR(expected[i].utc_s, truth[i].utc_s, 3);
    CHECK(expected[i].came == truth[i].came);
    CHECK(expected[i].obstacle == 0);
  }
  const auto next = next_contact(Body::sun, truth[0].utc_s + 60, kPlace, kAir, mask);
  REQUIRE(next.has_value());
  CHECK_NEAR(next->utc_s, truth[1].utc_s, 3);
}

TEST_CASE("[property] polar day and polar night have no next contact, and say so") {
  const Place far_north{78.2, 15.6, 0};
  const Mask flat = mask_through({{0, 1}, {180, 1}});
  CHECK(!next_contact(Body::sun, utc("2027-06-21T00:00:00Z"), far_north, standard_air(0), flat));
  CHECK(!next_contact(Body::sun, utc("2027-12-21T00:00:00Z"), far_north, standard_air(0), flat));
  const SunReturn back = sun_return(date("2027-12-21"), 1, far_north, standard_air(0), flat);
  CHECK(back.now_without);
  REQUIRE(back.back.has_value());
  // Flat horizon of 1 degree at 78 N: about the middle of February. [common practice]
  CHECK(*back.back > date("2028-02-05"));
  CHECK(*back.back < date("2028-03-05"));
}

// Noon elevation of the upper limb: 90 - latitude + declination + 0.27 + refraction; over a wall of
// 22 degrees all round it is reached when the declination passes -21.68: the Astronomical
// Almanac's sun has that on 1 December and about 11 January.
TEST_CASE("[property] the sun is due back when its noon stands as high as the ridge") {
  const Mask wall = mask_through({{0, 22}, {180, 22}});
  const SunReturn spell = sun_return(date("2026-12-21"), 1, kPlace, kAir, wall);
  CHECK(spell.now_without);
  REQUIRE(spell.back.has_value());
  REQUIRE(spell.gone.has_value());
  const auto noon = [&](Date d) {
    const SunDay day = sun_day(d, 1, kPlace);
    const SunPosition sun = sun_position(*day.transit_utc_s, kPlace);
    return apparent_elevation_deg(sun.elevation.degrees(), kAir) + sun.semidiameter_deg;
  };
  CHECK(noon(*spell.back) > 22);
  CHECK(noon(*spell.gone) > 22);
  CHECK(noon(date_of(start_of_day_utc_s(*spell.back) - 3600)) < 22.02);
  const SunReturn ahead = sun_return(date("2026-11-01"), 1, kPlace, kAir, wall);
  CHECK(!ahead.now_without);
  CHECK(ahead.gone == spell.gone);
  CHECK(ahead.back == spell.back);
  CHECK(!sun_return(date("2026-11-01"), 1, kPlace, kAir, mask_through({{0, 5}, {180, 5}})).back);
}

// Full moons of May to July by PyEphem 4.1.4, geocentric declination: 2028 -21.8 -25.9 -23.3, 2031
// -17.8 -21.1 -19.2.
TEST_CASE("[published] the summer full moons that run where the winter sun runs") {
  const Mask mask = mask_through({{0, 10}, {180, 10}});
  for (const int year : {2028, 2031}) {
    const auto nights = moon_nights(year, 1, kPlace, kAir, mask);
    REQUIRE(!nights.empty());
    int summer = 0;
    for (const MoonNight& night : nights) {
      CHECK(night.lit_share >= 0.93);
      CHECK(night.declination_deg < -12.4);
      CHECK(night.declination_deg > -25.6);
      CHECK(night.highest_deg > 10);
      const unsigned month = static_cast<unsigned>(night.evening.month());
      CHECK(month >= 3);
      CHECK(month <= 9);
      summer += month >= 5 && month <= 7;
    }
    CHECK(summer >= 4);
  }
}

TEST_CASE("[property] the days to watch are those when the sun crosses where nobody aimed") {
  Skyline skyline;
  skyline.obstacles.push_back({Kind::ridge, "ridge"});
  // Fine points everywhere but between 135 and 147.
  for (double az = 90; az < 270; az += 0.5) {
    if (az > 135 && az < 147) continue;
    SkylinePoint p;
    p.azimuth = TrueAzimuth::degrees(az);
    p.elevation = Elevation::degrees(12);
    p.azimuth_sigma_deg = 0.01;
    p.elevation_sigma_deg = 0.02;
    skyline.points.push_back(p);
  }
  const auto days = days_to_watch(skyline, date("2026-11-01"), 100, 1, kPlace, kAir);
  REQUIRE(!days.empty());
  for (const DaysToWatch& d : days) {
    CHECK(d.came);
    CHECK(d.from_azimuth_deg > 134);
    CHECK(d.to_azimuth_deg < 148);
    CHECK(d.first <= d.last);
  }
  CHECK(line_doubt_deg(skyline, 141) > 0.5);
  CHECK(line_doubt_deg(skyline, 160.2) < 0.3);
}
