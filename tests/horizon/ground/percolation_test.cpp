#include "horizon/ground/percolation.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "tests/near.h"

using namespace horizon;

namespace {
constexpr double kStart = 1795000000;

// Water at a true infiltration rate out of a round hole, refilled at each reading.
std::vector<WaterReading> run(double infiltration_mm_h, double width_mm, int count,
                              double every_min, double noise_mm, unsigned number) {
  std::mt19937 random(number);
  std::normal_distribution<double> noise(0, noise_mm);
  std::vector<WaterReading> readings;
  const double r = width_mm / 2;
  for (int i = 0; i <= count; ++i) {
    double h = 150;
    if (i > 0)
      for (int step = 0; step < 1000; ++step)
        h = std::max(0.0, h - infiltration_mm_h * (r + 2 * h) / r * every_min / 60 / 1000);
    readings.push_back({kStart + i * every_min * 60, std::max(0.0, h + noise(random)), 150.0});
  }
  return readings;
}
}  // namespace

// Horticultural advice: 1 to 3 in/h suits most plants, under 1 poor, over 4 too fast. An 18-inch
// hole that empties within an hour is good, within a day fair, later poor.
TEST_CASE("[published] what a rate means for planting beds") {
  CHECK(planting_verdict(0.9 * 25.4) == DrainsFor::slow);
  CHECK(planting_verdict(25.4) == DrainsFor::good);
  CHECK(planting_verdict(2 * 25.4) == DrainsFor::good);
  CHECK(planting_verdict(3 * 25.4) == DrainsFor::good);
  CHECK(planting_verdict(4.1 * 25.4) == DrainsFor::too_fast);
  CHECK(emptied_verdict(0.9) == DrainsFor::good);
  CHECK(emptied_verdict(10) == DrainsFor::slow);
  CHECK(emptied_verdict(30) == DrainsFor::too_slow);
}

// Identity: 60 / (minutes an inch) = inches an hour.
TEST_CASE("[published] minutes an inch") {
  const WaterReading readings[] = {{kStart, 100, {}}, {kStart + 1800, 100 - 25.4, {}}};
  const auto result = percolation({}, readings);
  REQUIRE(result.has_value());
  CHECK_NEAR(result->minutes_per_inch(), 30, 1e-9);
  CHECK_NEAR(result->fall_mm_h, 50.8, 1e-9);
  CHECK_FALSE(result->steady);
}

TEST_CASE("[property] the rate through bottom and walls comes back from a simulated hole") {
  for (const double true_mm_h : {3.0, 12.0, 30.0}) {
    const auto result = percolation({300, false, 24, 1}, run(true_mm_h, 300, 8, 30, 0, 1));
    REQUIRE(result.has_value());
    CHECK(result->steady);
    CHECK(result->soaked);
    // The mean depth stands for the depth through the interval: within 3 % for these drops.
    CHECK_NEAR(result->infiltration_mm_h, true_mm_h, 0.03 * true_mm_h);
  }
}

TEST_CASE("[property] the stated error of the rate holds in simulation") {
  int inside = 0;
  constexpr int kRuns = 400;
  const double true_fall = percolation({}, run(5, 300, 6, 30, 0, 1))->fall_mm_h;
  for (int i = 0; i < kRuns; ++i) {
    const auto result = percolation({}, run(5, 300, 6, 30, 1.5, 100 + i));
    if (!result) continue;
    inside += std::abs(result->fall_mm_h - true_fall) <= 2 * result->fall_sigma_mm_h;
  }
  CHECK(inside >= kRuns * 0.85);
}

TEST_CASE("[property] the steady part is found after the fast beginning of a dry soil") {
  std::vector<WaterReading> readings;
  double t = kStart;
  readings.push_back({t, 150, {}});
  for (const double fall_mm : {60.0, 45.0, 33.0, 26.0, 25.0, 25.5, 24.8}) {
    t += 1800;
    readings.push_back({t, 150 - fall_mm, 150.0});
  }
  const auto result = percolation({300, false, 4, 1}, readings);
  REQUIRE(result.has_value());
  CHECK(result->steady);
  CHECK_NEAR(result->fall_mm_h, 50.6, 1.0);
  CHECK_FALSE(result->intervals[0].steady);
  CHECK_FALSE(result->intervals[2].steady);
  CHECK(result->intervals.back().steady);
  CHECK(result->planting == DrainsFor::good);
  CHECK(result->planting_sure);
}

TEST_CASE("[property] readings that cannot be are refused by number") {
  const auto where = [](std::vector<WaterReading> readings) {
    const auto result = percolation({}, readings);
    REQUIRE_FALSE(result.has_value());
    return result.error().where;
  };
  CHECK(where({{kStart, 100, {}}, {kStart - 3000, 80, {}}}) == "reading 2");  // clock set back
  CHECK(where({{kStart, 100, {}}, {kStart + 600, 130, {}}}) == "reading 2");
  CHECK(where({{kStart, 100, {}}, {kStart + 10, 99, {}}}) == "reading 2");
  CHECK(where({{kStart, -1, {}}, {kStart + 600, 99, {}}}) == "reading 1");
  CHECK(where({{kStart, 100, {}}, {std::nan(""), 99, {}}}) == "reading 2");
  CHECK(where({{kStart, 100, {}}}) == "readings");
  // Water that seems to rise by less than four errors of a reading (1.5 mm) may be a slip of the eye.
  CHECK(where({{kStart, 100, {}}, {kStart + 600, 106.1, {}}}) == "reading 2");
  CHECK(percolation({}, std::vector<WaterReading>{{kStart, 100, {}}, {kStart + 600, 105.9, {}}})
            .has_value());
}

TEST_CASE("[property] a test's time outlives the program, and a changed clock is seen") {
  const ClockMark begun{kStart, 5000, "run-a"};
  // The program was killed and started again: nothing but the two marks is needed.
  const auto half_hour = elapsed(begun, {kStart + 1800, 6800, "run-a"});
  CHECK_NEAR(half_hour->seconds, 1800, 1e-9);
  CHECK(half_hour->checked);
  CHECK_NEAR(half_hour->clock_jump_s, 0, 0);
  // The time of day was put forward an hour, then back two.
  const auto forward = elapsed(begun, {kStart + 1800 + 3600, 6800, "run-a"});
  CHECK_NEAR(forward->seconds, 1800, 1e-9);
  CHECK_NEAR(forward->clock_jump_s, 3600, 1e-9);
  const auto back = elapsed(begun, {kStart + 1800 - 7200, 6800, "run-a"});
  CHECK_NEAR(back->seconds, 1800, 1e-9);
  CHECK_NEAR(back->clock_jump_s, -7200, 1e-9);
  // The device was restarted: only the time of day is left, and it is said so.
  const auto restarted = elapsed(begun, {kStart + 3600, 40, "run-b"});
  CHECK_NEAR(restarted->seconds, 3600, 1e-9);
  CHECK_FALSE(restarted->checked);
  CHECK_FALSE(elapsed(begun, {kStart - 60, 40, "run-b"}).has_value());
}
