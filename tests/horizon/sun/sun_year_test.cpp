#include "horizon/sun/sun_year.h"

#include <doctest/doctest.h>

#include <cmath>

#include "horizon/sun/sun.h"
#include "tests/near.h"

using namespace horizon;
using namespace std::chrono_literals;

namespace {

using Corners = std::vector<std::pair<double, double>>;

int add_obstacle(Skyline& skyline, Kind kind, const Corners& corners, int layer = 0) {
  skyline.obstacles.push_back({kind, std::string(name_of(kind))});
  const int obstacle = static_cast<int>(skyline.obstacles.size()) - 1;
  for (auto [az, el] : corners) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(az);
    point.elevation = Elevation::degrees(el);
    point.obstacle = obstacle;
    point.layer = layer;
    skyline.points.push_back(point);
  }
  return obstacle;
}

Skyline ring(const Corners& corners) {
  Skyline skyline;
  skyline.max_gap_deg = 120;
  add_obstacle(skyline, Kind::ridge, corners);
  return skyline;
}

SunYear year_of(const Skyline& skyline, const Place& place, int year = 2026) {
  return sun_year(SunPath::of_year(place, year), masks_of(skyline), skyline.obstacles);
}

const Place kValley{46.6213, 10.3478, 1482};
// An east-west valley: a high ridge to the south, open to east and west.
const Corners kNarrow{{70, 8},   {100, 14}, {140, 24}, {180, 27},
                      {220, 24}, {260, 14}, {290, 8},  {0, 15}};

double utc(const char* text) { return parse_utc_s(text).value(); }

}  // namespace

TEST_CASE("[property] the sums agree with each other, and a flat site with the flat horizon") {
  const SunYear year = year_of(ring({{0, 0}, {90, 0}, {180, 0}, {270, 0}}), kValley);
  REQUIRE(year.days.size() == 365);
  double direct = 0;
  for (const SunYearDay& day : year.days) {
    CHECK_NEAR(day.hours.direct_h, day.hours.flat_h, 1e-5);
    CHECK_NEAR(hours_in(day.direct), day.hours.direct_h, 1e-9);
    direct += day.hours.direct_h;
  }
  CHECK_NEAR(year.whole.direct_h, direct, 1e-6);
  double months = 0;
  for (const SunHoursSum& month : year.months) months += month.direct_h;
  CHECK_NEAR(months, direct, 1e-6);
  CHECK_NEAR(year.winter.direct_h,
             year.months[10].direct_h + year.months[11].direct_h + year.months[0].direct_h +
                 year.months[1].direct_h,
             1e-6);
  CHECK(year.without_direct_sun.empty());
  CHECK(year_of(ring({{0, 0}, {90, 0}, {180, 0}, {270, 0}}), kValley, 2028).days.size() == 366);
}

// A rule of the trade: a valley's ridges stand where the winter sun passes, and below the summer's.
TEST_CASE("[common practice] a narrow valley cuts the winter's hours far more than the summer's") {
  const SunYear year = year_of(ring(kNarrow), kValley);
  const auto share = [&](int month) {
    return year.months[month - 1].direct_h / year.months[month - 1].flat_h;
  };
  CHECK(share(12) < 0.25);
  CHECK(share(6) > 0.7);
  CHECK(share(1) < share(2));
  CHECK(share(2) < share(4));
  const Place south{-46.6213, 10.3478, 1482};
  Corners turned;
  for (auto [az, el] : kNarrow) turned.push_back({wrap_360(180 - az), el});
  const SunYear other = year_of(ring(turned), south);
  CHECK(other.winter_months == 0x0F0);
  CHECK(other.months[5].direct_h / other.months[5].flat_h < 0.25);
  CHECK(other.months[11].direct_h / other.months[11].flat_h > 0.7);
}

TEST_CASE("[property] the weeks without direct sun run over New Year, as one spell") {
  const SunYear year = year_of(ring({{60, 22}, {180, 22}, {300, 22}, {0, 5}}), kValley);
  REQUIRE(year.without_direct_sun.size() == 1);
  const SunlessSpell& spell = year.without_direct_sun[0];
  CHECK(static_cast<int>(spell.first.year()) == 2026);
  CHECK(static_cast<int>(spell.last.year()) == 2027);
  CHECK(static_cast<unsigned>(spell.first.month()) >= 11);
  // The noon sun stands at 90 - latitude + declination: below 22 degrees from mid November on, as
  // long before the solstice as after it.
  const auto before = std::chrono::sys_days(2026y / 12 / 21) - std::chrono::sys_days(spell.first);
  const auto after = std::chrono::sys_days(spell.last) - std::chrono::sys_days(2026y / 12 / 21);
  CHECK(std::abs((before - after).count()) <= 3);
  CHECK(spell.days ==
        (std::chrono::sys_days(spell.last) - std::chrono::sys_days(spell.first)).count() + 1);
  CHECK_FALSE(year.on_the_21st[11].first_utc_s);
  CHECK(year.on_the_21st[5].first_utc_s);
  CHECK(*year.on_the_21st[5].first_utc_s < *year.on_the_21st[5].last_utc_s);
  CHECK(date_of(*year.on_the_21st[5].first_utc_s, 1) == Date(2026y / 6 / 21));
}

TEST_CASE("[property] behind leafy trees the light is counted apart, by the month's foliage") {
  Skyline skyline = ring({{0, 2}, {90, 2}, {180, 2}, {270, 2}});
  const int tree = add_obstacle(skyline, Kind::leafy, {{150, 70}, {210, 70}}, 1);
  skyline.max_gap_deg = 100;
  const SunPath path = SunPath::of_year(kValley, 2026);
  const Masks masks = masks_of(skyline);
  const SunYear year = sun_year(path, masks, skyline.obstacles);
  const SunYear bare = year_of(ring({{0, 2}, {90, 2}, {180, 2}, {270, 2}}), kValley);
  for (int m = 0; m < 12; ++m) {
    CAPTURE(m);
    CHECK(year.months[m].filtered_h > 10);
    CHECK_NEAR(year.months[m].direct_h + year.months[m].filtered_h, bare.months[m].direct_h, 1e-3);
    const double through = m >= 4 && m <= 9 ? 0.15 : 0.60;
    CHECK_NEAR(year.months[m].filtered_light_h, through * year.months[m].filtered_h, 1e-6);
  }
  const SunSight noon = sun_sight(path, masks, skyline.obstacles, utc("2026-01-15T11:25:00Z"));
  CHECK(noon.sight == SightOfSun::filtered);
  CHECK(noon.obstacle == tree);
  CHECK(noon.light == 0.60);
}

TEST_CASE(
    "[property] hours through an open stretch are counted apart, and all of them on a bare site") {
  Skyline skyline = ring({{0, 5}, {60, 5}, {100, 5}, {140, 5}, {220, 5}, {260, 5}, {300, 5}});
  skyline.max_gap_deg = 60;  // open from 140 to 220
  const SunYear year = year_of(skyline, kValley);
  CHECK(year.winter.open_h > 0.3 * year.winter.direct_h);
  CHECK(year.winter.open_h < 0.99 * year.winter.direct_h);
  const SunYear blank = year_of(Skyline{}, kValley);
  CHECK_NEAR(blank.whole.open_h, blank.whole.direct_h, 1e-4);
  CHECK_NEAR(blank.whole.direct_h, blank.whole.flat_h, 1e-9);
}

TEST_CASE("[property] what hides the sun, minute by minute, adds up to the hours") {
  Skyline skyline = ring(kNarrow);
  const int house = add_obstacle(skyline, Kind::building, {{195, 35}, {210, 35}}, 1);
  const SunPath path = SunPath::of_year(kValley, 2026);
  const Masks masks = masks_of(skyline);
  const SunYear year = sun_year(path, masks, skyline.obstacles);
  const int day = day_of_year(2026y / 3 / 1) - 1;
  double in_view = 0, up = 0;
  bool by_house = false;
  for (int minute = 0; minute < 1440; ++minute) {
    const double t = path.day_start_utc_s(day) + minute * 60 + 30;
    const SunSight sight = sun_sight(path, masks, skyline.obstacles, t);
    in_view += (sight.sight == SightOfSun::in_view) / 60.0;
    up += (sight.sight != SightOfSun::below_horizon) / 60.0;
    by_house |= sight.sight == SightOfSun::hidden && sight.obstacle == house;
    if (sight.sight == SightOfSun::in_view && sight.disc_in_view < 0.5)
      CHECK(sight.disc_in_view > 0.3);  // the centre is in view: a corner may hide more than half
    if (sight.sight == SightOfSun::hidden) CHECK(sight.disc_in_view < 0.7);
  }
  CHECK(by_house);
  CHECK_NEAR(in_view, year.days[day].hours.direct_h, 0.1);
  CHECK_NEAR(up, year.days[day].hours.flat_h, 0.04);
}

TEST_CASE(
    "[property] polar day and polar night have 24 and 0 hours, and no spell breaks at midnight") {
  const SunYear year = year_of(ring({{0, 0}, {120, 0}, {240, 0}}), {78.2, 15.6, 10});
  const SunYearDay& summer = year.days[day_of_year(2026y / 6 / 21) - 1];
  CHECK_NEAR(summer.hours.direct_h, 24, 1e-6);
  CHECK_NEAR(summer.hours.flat_h, 24, 1e-6);
  REQUIRE(summer.direct.size() == 1);
  CHECK(year.days[0].hours.flat_h == 0);
  REQUIRE(year.without_direct_sun.size() == 1);
  CHECK(year.without_direct_sun[0].days > 100);
  CHECK(year.without_direct_sun[0].days < 130);
}

TEST_CASE(
    "[property] a day with less than a minute of sun ends no spell; one over New Year ends as "
    "the year that follows shows") {
  // The south wall of the valley, so high that the sun just fails to clear it for weeks.
  const Skyline skyline = ring(kNarrow);
  for (const int first : {2026, 2027, 2028}) {
    const SunYear year = year_of(skyline, kValley, first),
                  next = year_of(skyline, kValley, first + 1);
    REQUIRE_FALSE(year.without_direct_sun.empty());
    const SunlessSpell& spell = year.without_direct_sun[0];
    CHECK(static_cast<int>(spell.first.year()) == first);
    REQUIRE(static_cast<int>(spell.last.year()) == first + 1);
    const int begins = day_of_year(spell.first), ends = day_of_year(spell.last);
    CHECK(spell.days == days_in_year(first) - begins + 1 + ends);
    CHECK(year.days[begins - 2].hours.direct_h >= kDayWithSun_h);
    for (int d = begins; d <= days_in_year(first); ++d)
      REQUIRE(year.days[d - 1].hours.direct_h < kDayWithSun_h);
    for (int d = 1; d <= ends; ++d) REQUIRE(next.days[d - 1].hours.direct_h < kDayWithSun_h);
    CHECK(next.days[ends].hours.direct_h >= kDayWithSun_h);
  }
}
