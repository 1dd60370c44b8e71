#include "horizon/ground/ground_year.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "horizon/ground/cold.h"
#include "horizon/ground/edge_table.h"
#include "horizon/ground/ground_temperature.h"
#include "tests/near.h"

using namespace horizon;

// Conduction into a half space below a yearly sine (Carslaw and Jaeger 1959, 2.6): the swing falls
// by exp(-z/d) and lags by z/d.
TEST_CASE("[published] without freezing the ground follows the closed wave") {
  const ThermalLayer dry{20, 1.5, 0, 2.5e6};
  const double depths[] = {0.5, 1.0, 2.0};
  const auto air = [](double day) {
    return 12 - 8 * std::cos(2 * std::numbers::pi * (day - 20) / 365);
  };
  const auto year = ground_year({air, {}, 1, 0}, std::span(&dry, 1), depths);
  REQUIRE(year.has_value());
  CHECK_NEAR(year->frost_m, 0, 0);
  const TemperatureWave wave{12, 8, 20};
  for (const GroundAt& at : year->at) {
    double coldest = 1e9, warmest = -1e9;
    for (int day = 1; day <= 365; ++day) {
      const double t = ground_temperature_c(wave, at.depth_m, day, 1.5 / 2.5e6);
      coldest = std::min(coldest, t);
      warmest = std::max(warmest, t);
    }
    CAPTURE(at.depth_m);
    CHECK_NEAR(at.coldest_c, coldest, 0.12);
    CHECK_NEAR(at.warmest_c, warmest, 0.12);
  }
}

// Stefan's equation (no warmth of the ground's own, no heat capacity to speak of): x =
// sqrt(2 k I / L). k 1.7, index 500, 240 kg/m3 of water: 1.35 m.
TEST_CASE("[published] with nothing but latent heat the frost goes down as Stefan has it") {
  const ThermalLayer layer{20, 1.7, 240 * 334000.0, 2e5};
  const FreezingIndex air{500, 120, 0.3};
  const auto year = ground_year({air_of(air), {}, 1, 0}, std::span(&layer, 1), {});
  REQUIRE(year.has_value());
  const double stefan = std::sqrt(2 * 1.7 * 500 * 86400 / (240 * 334000.0));
  CHECK_NEAR(year->frost_m, stefan, 0.12 * stefan);
}

// The modified Berggren equation is the handbooks' own answer: the transient sum agrees within the
// 15 % that either is good for.
TEST_CASE(
    "[published] frost depth agrees with the modified Berggren equation, bare and under snow") {
  for (const auto& [index, duration, mean] :
       {std::tuple(900.0, 140.0, 5.0), {1500.0, 150.0, 3.0}, {500.0, 110.0, 7.0}})
    for (const double snow_m : {0.0, 0.3}) {
      const FreezingIndex air{index, duration, mean};
      const ThermalLayer silt = soil_layer(20, false, 1500, 18);
      const ThermalLayer snow = snow_layer(0.3);
      const auto closed =
          frost_depth(air, 0.7, std::span(&silt, 1), std::span(&snow, snow_m > 0 ? 1 : 0));
      REQUIRE(closed.has_value());
      GroundCover cover{air_of(air), {}, 0.7, 0};
      if (snow_m > 0) cover.snow_m = snow_of(air, snow_m);
      const auto year = ground_year(cover, std::span(&silt, 1), {});
      REQUIRE(year.has_value());
      CAPTURE(index);
      CAPTURE(snow_m);
      MESSAGE("closed " << closed->depth_m << " m, through the winter " << year->frost_m << " m");
      // The equation has the snow lie from the first day and the ground at its yearly mean; through
      // the winter the snow comes by and by, and the summer's warmth is still in the ground.
      if (snow_m > 0)
        CHECK(year->frost_m < closed->depth_m + 0.15);
      else
        CHECK_NEAR(year->frost_m, closed->depth_m, 0.15 * closed->depth_m);
    }
}

TEST_CASE("[property] snow and boards keep frost out, and the figures agree with each other") {
  const ThermalLayer loam = soil_layer(20, false, 1400, 20);
  const FreezingIndex air{1000, 150, 4};
  const double depths[] = {0.1, 0.3, 0.6, 1.2, 2.4};
  GroundCover bare{air_of(air), {}, 0.9, 0}, snow = bare, boards = bare;
  snow.snow_m = snow_of(air, 0.5);
  boards.boards_m2kw = 3;
  const auto a = ground_year(bare, std::span(&loam, 1), depths),
             b = ground_year(snow, std::span(&loam, 1), depths),
             c = ground_year(boards, std::span(&loam, 1), depths);
  REQUIRE(a.has_value());
  REQUIRE(b.has_value());
  REQUIRE(c.has_value());
  CHECK(b->frost_m < a->frost_m / 2);
  CHECK(c->frost_m < a->frost_m / 2);
  for (const auto& year : {*a, *b, *c})
    for (const GroundAt& at : year.at) {
      // Frozen at a depth if and only if the frost reaches it.
      if (at.coldest_c < -1.1) CHECK(year.frost_m > at.depth_m);
      if (at.coldest_c > 0) CHECK(year.frost_m < at.depth_m + 0.05);
    }
  CHECK_FALSE(ground_year(bare, {}, {}).has_value());
}

TEST_CASE("[property] deeper and thicker boards keep the inner edge warmer") {
  const ThermalLayer loam = soil_layer(20, false, 1400, 20);
  const FreezingIndex air{1000, 150, 4};
  std::vector<double> depths;
  for (double d = 0; d <= 3; d += 0.1) depths.push_back(d);
  const auto year = ground_year({air_of(air), {}, 0.7, 0}, std::span(&loam, 1), depths);
  REQUIRE(year.has_value());
  FloorShape floor;
  const auto table = edge_table(year->at, loam.conductivity_w_mk, floor);
  for (const EdgeRow& one : table)
    for (const EdgeRow& other : table) {
      if (other.depth_m < one.depth_m || other.resistance_m2kw < one.resistance_m2kw) continue;
      CHECK(other.coldest_c >= one.coldest_c - 1e-9);
      CHECK(other.saves_w_mk >= one.saves_w_mk - 1e-9);
    }
  // ISO 13370:2007 annex B: what the board saves is its own formula's.
  CHECK_NEAR(table[0].saves_w_mk, -edge_psi_wmk(floor, loam.conductivity_w_mk, {0.3, 1}), 1e-12);
}

// Baskerville and Emin 1969: base 10, low 5, high 25: the sine's part above, by hand. mean 15,
// swing 10, at = asin(-0.5) = -pi/6: (5 (pi/2 + pi/6) + 10 cos(pi/6)) / pi = 6.090.
TEST_CASE("[published] degree-days of a day as a sine") {
  CHECK_NEAR(sine_degree_days(5, 25, 10, 30), 6.090, 0.001);
  CHECK_NEAR(sine_degree_days(12, 24, 10, 30), 8, 1e-9);
  CHECK_NEAR(sine_degree_days(-5, 8, 10, 30), 0, 1e-9);
  CHECK_NEAR(sine_degree_days(31, 40, 10, 30), 20, 1e-9);
  // By summing up the sine.
  double sum = 0;
  for (int i = 0; i < 24000; ++i) {
    const double t = 21 + 12 * std::sin(2 * std::numbers::pi * (i + 0.5) / 24000);
    sum += std::clamp(t, 10.0, 30.0) - 10;
  }
  CHECK_NEAR(sine_degree_days(9, 33, 10, 30), sum / 24000, 1e-4);
}

// Days scattered about their month's mean: in deep winter nothing is lost, near the base some
// degree-days are won over the mean alone.
TEST_CASE("[property] heating degree-days of months") {
  const MonthlyMeans year = {-9, -7, -2, 3, 8, 12, 14, 13, 9, 4, -3, -8};
  CHECK_NEAR(month_heating_degree_days(-9, year, 31), 27 * 31, 1);
  CHECK(month_heating_degree_days(17, year, 31) > 31 + 10);
  CHECK(month_heating_degree_days(30, year, 31) < 5);
}
