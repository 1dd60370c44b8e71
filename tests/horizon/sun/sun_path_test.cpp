#include "horizon/sun/sun_path.h"

#include <doctest/doctest.h>
#include <erfa.h>
#include <erfam.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <random>
#include <string>

#include "horizon/sun/sun.h"
#include "tests/horizon/skylines.h"
#include "tests/near.h"

using namespace horizon;

namespace {

// An independent sun: ERFA's equinox-based place every quarter of an hour, straight between, turned
// by apparent sidereal time; parallax and refraction written out anew.
class ReferenceSun {
 public:
  ReferenceSun(const Place& place, const Air& air, double from_utc_s, double to_utc_s)
      : place_(place), air_(air), from_(from_utc_s) {
    for (double t = from_; t < to_utc_s + 2 * kStep; t += kStep) nodes_.push_back(node(t));
  }

  struct Seen {
    double azimuth_deg, elevation_deg;
  };
  Seen at(double utc_s) const {
    const auto i = static_cast<size_t>((utc_s - from_) / kStep);
    const double u = (utc_s - from_) / kStep - i;
    const Node &a = nodes_[i], &b = nodes_[i + 1];
    const double declination = a.dec + u * (b.dec - a.dec);
    // The hour angle without its daily turn is nearly constant.
    const double slow =
        a.hour_angle + u * std::remainder(b.hour_angle - a.hour_angle - kTurn, ERFA_D2PI);
    const double hour_angle = slow + u * kTurn + place_.longitude_deg * kDegree;
    const double lat = place_.latitude_deg * kDegree;
    // Seen from the surface: 8.794" lower at the horizon, 0.32" to the east at the equator.
    const double east = -std::cos(declination) * std::sin(hour_angle) + 1.55e-6 * std::cos(lat);
    const double north = std::cos(lat) * std::sin(declination) -
                         std::sin(lat) * std::cos(declination) * std::cos(hour_angle);
    const double up = std::sin(lat) * std::sin(declination) +
                      std::cos(lat) * std::cos(declination) * std::cos(hour_angle) - 4.26e-5;
    const double azimuth = std::atan2(east, north) / kDegree;
    double elevation = std::atan2(up, std::hypot(east, north)) / kDegree;
    if (elevation > -1.9)
      elevation += air_.pressure_hpa / 1010 * 283 / (273 + air_.temperature_c) * 1.02 / 60 /
                   std::tan((elevation + 10.3 / (elevation + 5.11)) * kDegree);
    return {azimuth < 0 ? azimuth + 360 : azimuth, elevation};
  }

 private:
  static constexpr double kStep = 900;
  static constexpr double kTurn = ERFA_D2PI * kStep / 86400.0;
  struct Node {
    double hour_angle, dec;  // at Greenwich
  };
  static Node node(double utc_s) {
    const double jd = 2440587.5, ut = utc_s / 86400.0, tt = ut + 69.184 / 86400.0;
    double pvh[2][3], pvb[2][3], npb[3][3], sun[3], unit[3], velocity[3], apparent[3], date[3];
    eraEpv00(jd, tt, pvh, pvb);
    for (int i = 0; i < 3; ++i) {
      sun[i] = -pvh[0][i];
      velocity[i] = pvb[1][i] * ERFA_AULT / ERFA_DAYSEC;
    }
    double r, ra, dec;
    eraPn(sun, &r, unit);
    eraAb(unit, velocity, r, std::sqrt(1 - eraPdp(velocity, velocity)), apparent);
    eraPnm06a(jd, tt, npb);
    eraRxp(npb, apparent, date);
    eraC2s(date, &ra, &dec);
    return {eraGst06a(jd, ut, jd, tt) - ra, dec};
  }

  Place place_;
  Air air_;
  double from_;
  std::vector<Node> nodes_;
};

using Line = std::function<double(double)>;  // azimuth to elevation

// Straight between corners, over north too, by plain search; a step is two corners at one azimuth.
Line line_through(std::vector<std::pair<double, double>> corners) {
  return [corners](double az) {
    const size_t n = corners.size();
    for (size_t i = 0; i < n; ++i) {
      const auto [az0, el0] = corners[i];
      auto [az1, el1] = corners[(i + 1) % n];
      if (i + 1 == n) az1 += 360;
      const double at = i + 1 == n && az < az0 ? az + 360 : az;
      if (at >= az0 && at < az1) return el0 + (el1 - el0) * (at - az0) / (az1 - az0);
    }
    return 0.0;
  };
}

// Every window of the day, second by second.
SunWindows second_by_second(const ReferenceSun& sun, const Line& line, double from, double to) {
  SunWindows windows;
  bool up = false;
  for (double t = from; t <= to; t += 1) {
    const auto seen = sun.at(t);
    const bool now = t < to && seen.elevation_deg > line(seen.azimuth_deg);
    if (now && !up) windows.push_back({t, t});
    if (!now && up) windows.back().to_utc_s = t;
    up = now;
  }
  return windows;
}

// Gaps and windows shorter than this may fall between two seconds.
constexpr double kBlink_s = 3;

SunWindows without_blinks(SunWindows windows) {
  for (size_t i = 0; i + 1 < windows.size();) {
    if (windows[i + 1].from_utc_s - windows[i].to_utc_s < kBlink_s) {
      windows[i].to_utc_s = windows[i + 1].to_utc_s;
      windows.erase(windows.begin() + i + 1);
    } else {
      ++i;
    }
  }
  std::erase_if(windows, [](const SunWindow& w) { return w.to_utc_s - w.from_utc_s < kBlink_s; });
  return windows;
}

// Where the sun grazes the line, a ten-thousandth of a degree is a minute: there its height over
// the line, by the independent sun, is checked instead.
constexpr double kGraze_deg = 0.0003;

void check_same(SunWindows found, SunWindows expected, double tolerance_s,
                const std::function<double(double)>& height_deg) {
  found = without_blinks(found);
  expected = without_blinks(expected);
  REQUIRE(found.size() == expected.size());
  const auto check_time = [&](double at, double should_be) {
    if (std::abs(height_deg(at)) < kGraze_deg && std::abs(at - should_be) < 120) return;
    CHECK_NEAR(at, should_be, tolerance_s);
  };
  for (size_t i = 0; i < found.size(); ++i) {
    check_time(found[i].from_utc_s, expected[i].from_utc_s);
    check_time(found[i].to_utc_s, expected[i].to_utc_s);
  }
}

void check_day(const Place& place, const char* day, const Mask& mask, const Line& line,
               double tolerance_s = 1.5) {
  CAPTURE(std::string(day));
  CAPTURE(place.latitude_deg);
  const double zone = solar_zone_h(place.longitude_deg);
  const Air air = standard_air(place.height_m);
  const SunPath path(place, parse_date(day).value(), 1, zone, air);
  const double from = path.day_start_utc_s(0), to = path.end_utc_s();
  const ReferenceSun sun(place, air, from, to);
  check_same(windows_above(path, mask), second_by_second(sun, line, from, to), tolerance_s,
             [&](double t) {
               const auto seen = sun.at(t);
               return seen.elevation_deg - line(seen.azimuth_deg);
             });
}

using Corners = std::vector<std::pair<double, double>>;
void check_corners(const Place& place, const char* day, const Corners& corners) {
  check_day(place, day, mask_through(corners), line_through(corners));
}

const Place kValley{46.6213, 10.3478, 1482};

}  // namespace

// Each against an independent sun at every second of the day.
TEST_CASE("[property] vertical steps, and notches narrower than the sun, are found to the second") {
  check_corners(kValley, "2026-12-21",
                {{90, 25},
                 {160, 25},
                 {160, 5},
                 {160.3, 5},
                 {160.3, 25},
                 {175, 25},
                 {175, 3},
                 {190, 3},
                 {190, 25},
                 {205, 25},
                 {205.02, 0},
                 {205.1, 0},
                 {205.12, 25},
                 {270, 25}});
}

TEST_CASE("[property] thin poles cut the day, each for its own seconds") {
  Corners corners{{0, 2}};
  for (double az = 130.05; az < 230; az += 7.13)
    for (auto [a, e] : Corners{{az, 2}, {az, 40}, {az + 0.2, 40}, {az + 0.2, 2}})
      corners.push_back({a, e});
  check_corners(kValley, "2026-12-21", corners);
  check_corners(kValley, "2026-03-05", corners);
}

TEST_CASE(
    "[property] a summit that only touches the noon sun takes it for minutes, or not at all") {
  const SunPath path(kValley, parse_date("2026-12-21").value(), 1, 1, standard_air(1482));
  double top = 0, at = 0;
  for (double t = path.day_start_utc_s(0); t < path.end_utc_s(); t += 1)
    if (path.at(t).elevation_deg > top) top = path.at(t).elevation_deg, at = path.at(t).azimuth_deg;
  for (double above : {-0.02, 0.005, 0.02, 0.1}) {
    CAPTURE(above);
    // A cone with its summit at the sun's highest point, and a flat plateau.
    check_corners(kValley, "2026-12-21", {{0, 1}, {at - 30, 1}, {at, top + above}, {at + 30, 1}});
    check_corners(
        kValley, "2026-12-21",
        {{0, 1}, {at - 40, 1}, {at - 40, top + above}, {at + 40, top + above}, {at + 40, 1}});
  }
  const SunWindows cleared =
      windows_above(path, mask_through({{at - 30, 1}, {at, top - 1e-4}, {at + 30, 1}, {0, 1}}));
  CHECK(cleared.size() == 1);
  const SunWindows split =
      windows_above(path, mask_through({{at - 30, 1}, {at, top + 1e-4}, {at + 30, 1}, {0, 1}}));
  CHECK(split.size() == 2);
  // A level line just under the day's highest point: minutes of sun, found though no ten-minute
  // step sees them.
  const SunWindows glimpse =
      windows_above(path, mask_through({{0, top - 1e-3}, {180, top - 1e-3}}));
  REQUIRE(glimpse.size() == 1);
  CHECK(glimpse[0].hours() < 0.2);
  CHECK(windows_above(path, mask_through({{0, top + 1e-6}, {180, top + 1e-6}})).empty());
}

TEST_CASE("[property] ridges of every shape, on random days and places, both hemispheres") {
  std::mt19937 random(20261221);
  const auto between = [&](double a, double b) {
    return a + (b - a) * std::uniform_real_distribution<>(0, 1)(random);
  };
  for (int i = 0; i < 40; ++i) {
    const Place place{between(-66, 66), between(-180, 180), between(0, 4000)};
    const std::string day =
        format_date(date_of_day(2020 + i % 12, 1 + static_cast<int>(between(0, 364))));
    Corners corners;
    for (double az = between(0, 10); az < 360; az += between(0.05, i % 2 ? 3 : 20)) {
      corners.push_back({az, between(0, 35)});
      if (i % 3 == 0) corners.push_back({az, between(0, 35)});
    }
    if (i % 3 == 0) {
      // The mask puts the two corners of a step in the order in which the line runs; so does this.
      const Mask mask = mask_through(corners);
      check_day(place, day.c_str(), mask, [&](double az) { return mask.elevation_deg(az); });
    } else {
      check_corners(place, day.c_str(), corners);
    }
  }
}

TEST_CASE("[property] the sun that passes near the zenith, and on either side of it") {
  for (double latitude : {23.2, 23.44, 23.43, 20.0, 0.0, 10.0})
    for (const char* day : {"2026-06-21", "2026-05-20", "2026-03-20"}) {
      const Place place{latitude, 32.5, 1200};
      check_corners(place, day,
                    {{0, 20}, {45, 88}, {90, 10}, {180, 85}, {181, 30}, {270, 70}, {300, 40}});
      check_corners(place, day, {{0, 89.5}, {90, 89.5}, {91, 3}, {269, 3}, {270, 89.5}});
      check_corners(place, day,
                    {{0, 3},
                     {63, 3},
                     {63, 60},
                     {63.2, 60},
                     {63.2, 3},
                     {295, 3},
                     {295, 80},
                     {295.2, 80},
                     {295.2, 3}});
    }
}

TEST_CASE("[property] midnight sun, polar night and the poles themselves") {
  const Corners corners{{0, 1}, {30, 12}, {60, 2}, {170, 3}, {170, 9}, {300, 15}};
  for (const char* day : {"2026-06-21", "2026-12-21", "2026-05-16", "2026-03-21"})
    for (double latitude : {69.65, 78.0, 89.9, 90.0, -69.0, -90.0})
      check_corners({latitude, 18.96, 10}, day, corners);
}

TEST_CASE("[property] a wall's edge along a great circle, over which the sun passes") {
  Skyline skyline;
  skyline.obstacles.push_back({Kind::building, "wall"});
  skyline.obstacles[0].edge = Edge::great_circle;
  skyline.obstacles.push_back({Kind::ridge, "ridge"});
  for (auto [az, el, obstacle] : {std::tuple{110.0, 3.0, 0},
                                  {215.0, 12.0, 0},
                                  {215.0, 4.0, 1},
                                  {340.0, 6.0, 1},
                                  {110.0, 4.0, 1}}) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(az);
    point.elevation = Elevation::degrees(el);
    point.obstacle = obstacle;
    skyline.points.push_back(point);
  }
  const Mask mask(skyline);
  check_day(kValley, "2026-12-21", mask, [&](double az) { return mask.elevation_deg(az); });
  check_day(kValley, "2026-02-10", mask, [&](double az) { return mask.elevation_deg(az); });
}

TEST_CASE("[property] a flat skyline gives the flat hours, and limbs come in their order") {
  const SunPath path = SunPath::of_year(kValley, 2026);
  const SunWindows flat = windows_above(path, Mask());
  const SunWindows zero = windows_above(path, mask_through({{0, 0}, {180, 0}}));
  REQUIRE(flat.size() == zero.size());
  CHECK(flat.size() == 365);
  for (size_t i = 0; i < flat.size(); ++i) {
    CHECK_NEAR(flat[i].from_utc_s, zero[i].from_utc_s, 0.01);
    CHECK_NEAR(flat[i].to_utc_s, zero[i].to_utc_s, 0.01);
  }
  const SunWindows upper = windows_above(path, Mask(), Limb::upper);
  const SunWindows lower = windows_above(path, Mask(), Limb::lower);
  REQUIRE(upper.size() == 365);
  REQUIRE(lower.size() == 365);
  for (size_t i = 0; i < flat.size(); ++i) {
    CHECK(upper[i].from_utc_s < flat[i].from_utc_s);
    CHECK(flat[i].from_utc_s < lower[i].from_utc_s);
    CHECK(upper[i].to_utc_s > flat[i].to_utc_s);
    CHECK(flat[i].to_utc_s > lower[i].to_utc_s);
  }
  CHECK_NEAR(hours_in(flat), 365 * 12, 80);  // half the year, and the lift of the air
  const std::vector<double> daily = hours_by_day(path, flat);
  double sum = 0;
  for (double h : daily) sum += h;
  CHECK_NEAR(sum, hours_in(flat), 1e-6);
}

TEST_CASE("[property] windows can be cut, subtracted and split where the obstacle changes") {
  const SunWindows outer{{0, 100}, {200, 300}}, inner{{10, 20}, {90, 100}, {250, 260}};
  const SunWindows rest = difference(outer, inner);
  REQUIRE(rest.size() == 4);
  CHECK(rest[0].to_utc_s == 10);
  CHECK(rest[1].from_utc_s == 20);
  CHECK(rest[1].to_utc_s == 90);
  CHECK(rest[3].from_utc_s == 260);
  const SunWindows part = clipped(outer, 50, 220);
  REQUIRE(part.size() == 2);
  CHECK(part[0].from_utc_s == 50);
  CHECK(part[1].to_utc_s == 220);

  Skyline skyline;
  for (int i = 0; i < 3; ++i) skyline.obstacles.push_back({Kind::ridge, "ridge"});
  for (auto [az, obstacle] :
       {std::pair{20.0, 0}, {170.0, 0}, {170.0, 1}, {200.0, 1}, {200.0, 2}, {340.0, 2}}) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(az);
    point.elevation = Elevation::degrees(1);
    point.obstacle = obstacle;
    skyline.points.push_back(point);
  }
  skyline.max_gap_deg = 360;
  const Mask mask(skyline);
  const SunPath path(kValley, parse_date("2026-12-21").value(), 1, 1, standard_air(1482));
  const SunWindows day = windows_above(path, mask);
  const auto stretches = by_obstacle(path, day, mask);
  REQUIRE(stretches.size() == 3);
  CHECK(stretches[0].obstacle == 0);
  CHECK(stretches[2].obstacle == 2);
  CHECK(stretches[0].window.from_utc_s == day[0].from_utc_s);
  CHECK(stretches[2].window.to_utc_s == day[0].to_utc_s);
  CHECK(stretches[0].window.to_utc_s == stretches[1].window.from_utc_s);
  CHECK_NEAR(path.at(stretches[1].window.from_utc_s).azimuth_deg, 170, 1e-4);
  CHECK_NEAR(path.at(stretches[1].window.to_utc_s).azimuth_deg, 200, 1e-4);
}
