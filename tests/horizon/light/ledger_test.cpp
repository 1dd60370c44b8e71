#include "horizon/light/ledger.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "horizon/light/aim_next.h"
#include "horizon/light/sun_steps.h"
#include "tests/near.h"

using namespace horizon;

namespace {

void add(Skyline& skyline, int obstacle, int layer,
         std::initializer_list<std::pair<double, double>> az_el) {
  for (auto [az, el] : az_el) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(az);
    point.elevation = Elevation::degrees(el);
    point.obstacle = obstacle;
    point.layer = layer;
    skyline.points.push_back(point);
  }
}

// A low ridge all round, higher in the west, two spruces before it.
Skyline garden() {
  Skyline skyline;
  skyline.obstacles = {{Kind::ridge, "ridge"}, {Kind::evergreen, "two spruces"}};
  for (int az = 0; az < 360; az += 10)
    if (az < 200 || az > 220) add(skyline, 0, 0, {{az, az > 220 && az < 300 ? 14 : 4}});
  add(skyline, 0, 1, {{200, 8}, {205, 9}, {210, 10}, {215, 11}, {220, 12}});
  add(skyline, 1, 0, {{202, 24}, {206, 26}, {212, 26}, {218, 22}});
  return skyline;
}

const SunSteps& winter_sun() {
  static const SunSteps sun = sun_steps({46.6, 10.3, 1480}, 2025, 1, 5);
  return sun;
}
constexpr unsigned kWinter = 0b110000000011;

}  // namespace

TEST_CASE("what is felled shows the next layer [property]") {
  const Skyline left = felled(garden(), 1);
  const Mask mask(left);
  CHECK_NEAR(mask.elevation_deg(210), 10, 1e-9);
  CHECK_NEAR(mask.elevation_deg(205), 9, 1e-9);
  CHECK(std::none_of(left.points.begin(), left.points.end(),
                     [](const SkylinePoint& p) { return p.obstacle == 1; }));
}

TEST_CASE("the ledger adds up: in view and taken make the flat hours [property]") {
  const Skyline skyline = garden();
  const SunSteps& sun = winter_sun();
  const std::vector<float> beam(sun.steps.size(), 1.0f / 1024);
  const std::vector<LedgerRow> rows = ledger_of(sun, skyline, kWinter, beam);
  REQUIRE(rows.size() == 2);
  double taken = 0, flat = 0, seen = 0;
  for (const LedgerRow& row : rows) {
    taken += row.takes_h;
    CHECK(row.alone_h >= row.takes_h);
    CHECK(row.returns_h <= row.alone_h + 1e-6);
  }
  const SunSteps winter = in_months(sun, kWinter);
  for (double h : daily_flat_hours(winter)) flat += h;
  for (double h : daily_hours(winter, sun_seen(winter, skyline, masks_of(skyline)).in_view))
    seen += h;
  CHECK_NEAR(taken + seen, flat, 1e-3);

  // The spruces hide the ridge behind, so not all that they take comes back; and the ridge alone
  // would take more than it does behind them.
  const LedgerRow& spruces = rows[1];
  CHECK(spruces.label == "two spruces");
  CHECK(spruces.takes_h > 50);
  CHECK(spruces.returns_h > 10);
  CHECK(spruces.returns_h < spruces.takes_h);
  CHECK(spruces.returns_kwh_m2 > 0);
  CHECK(spruces.from_deg >= 190);
  CHECK(spruces.to_deg <= 230);
  CHECK(rows[0].alone_h > rows[0].takes_h);

  // Felling for certain: the same hours as a skyline without them.
  const Skyline without = felled(skyline, 1);
  double after = 0;
  for (double h : daily_hours(winter, sun_seen(winter, without, masks_of(without)).in_view))
    after += h;
  CHECK_NEAR(after - seen, spruces.returns_h, 1e-3);
}

TEST_CASE("sun behind a stretch that nobody sighted is booked apart [property]") {
  Skyline skyline;
  skyline.obstacles = {{Kind::ridge, "ridge"}};
  add(skyline, 0, 0, {{120, 15}, {130, 15}, {230, 15}, {240, 15}});
  const SunSteps& sun = winter_sun();
  const auto rows = ledger_of(sun, skyline, kWinter, std::vector<float>(sun.steps.size(), 0));
  REQUIRE(rows.size() == 2);
  CHECK(rows[1].obstacle == -1);
  CHECK(rows[1].takes_h > 0);
}

TEST_CASE(
    "the advice names the stretch that the winter sun crosses and the marks leave open "
    "[property]") {
  Skyline skyline;
  skyline.obstacles = {{Kind::ridge, "ridge"}};
  for (int az = 0; az < 360; az += 3)
    if (az < 222 || az > 240) add(skyline, 0, 0, {{az, 9}});
  const SunSteps winter = in_months(winter_sun(), kWinter);
  const AimNext next = aim_next(winter, skyline, Mask(skyline));
  REQUIRE(!next.advice.empty());
  const Advice& first = next.advice.front();
  CHECK(first.open);
  CHECK(first.from_deg >= 219);
  CHECK(first.to_deg <= 243);
  CHECK((first.months & ~kWinter) == 0);
  CHECK(first.error_h > 0);
  CHECK(next.sigma_h > 0);
  // Aiming there pays: the error goes down, and the advice moves on.
  Skyline better = skyline;
  for (int az = 222; az <= 240; az += 3) add(better, 0, 0, {{az, 9}});
  const AimNext after = aim_next(winter, better, Mask(better));
  CHECK(after.sigma_h < next.sigma_h);
  CHECK(after.advice.front().error_h < first.error_h);
  // North, where no winter sun goes, is never asked for.
  for (const Advice& a : next.advice) CHECK((a.to_deg > 90 && a.from_deg < 270));
}

TEST_CASE("with no mark yet, the whole winter sky is asked for [property]") {
  const SunSteps winter = in_months(winter_sun(), kWinter);
  const AimNext next = aim_next(winter, {}, Mask());
  REQUIRE(!next.advice.empty());
  CHECK(next.advice[0].open);
  CHECK(next.advice[0].from_deg < 140);
  CHECK(next.advice[0].to_deg > 220);
}

TEST_CASE("advice in words [property]") {
  Advice advice;
  advice.from_deg = 231;
  advice.to_deg = 247;
  advice.months = 1;
  CHECK(in_words(advice) == "Aim between 231\u00b0 and 247\u00b0: the January sun crosses it.");
}
