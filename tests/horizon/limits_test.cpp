// Thresholds and factors that a person could question, each pinned from both sides: a value just
// inside and one just outside. `tests/mutate.sh` asks whether a change of any would be noticed.
#include <array>
#include <cmath>

#include "horizon/bearing/correction.h"
#include "horizon/ground/cold.h"
#include "horizon/ground/percolation.h"
#include "horizon/skyline/mask.h"
#include "horizon/terrain/terrain.h"
#include "tests/near.h"

using namespace horizon;

// Iglewicz & Hoaglin, How to Detect and Handle Outliers (1993): a modified z-score above 3.5. By
// hand: of 99, 99, 100, 101, 101, x the median is 100.5 and the median deviation 1, times 1.4826.
TEST_CASE("[published] an aim of a group stands apart from a modified z-score of 3.5") {
  const auto outliers = [](double x) {
    std::vector<RawSighting> raw;
    for (const double bearing : {99.0, 99.0, 100.0, 101.0, 101.0, x}) {
      RawSighting aim;
      aim.bearing_deg = bearing;
      aim.reference = Reference::true_north;
      aim.elevation_deg = 10;
      aim.group = "g";
      raw.push_back(aim);
    }
    return corrected_skyline(raw, {}).outliers.size();
  };
  CHECK(outliers(100.5 + 3.4 * 1.4826) == 0);
  CHECK(outliers(100.5 + 3.6 * 1.4826) == 1);
}

// The trade's "within 10 %" of a falling-head test. [common practice, no source]
TEST_CASE("[common practice] a percolation is steady within 10 % of its common rate") {
  const auto steady = [](double last_mm) {
    const double drops[] = {100, 100, last_mm};
    std::vector<WaterReading> readings{{1795000000, 300, 300.0}};
    for (int i = 0; i < 3; ++i)
      readings.push_back({1795000000 + 3600.0 * (i + 1), 300 - drops[i], 300.0});
    PercolationHole hole;
    hole.reading_sigma_mm = 0.01;
    return percolation(hole, readings).value().steady;
  };
  CHECK(steady(115));        // 10.0 of 105 apart
  CHECK_FALSE(steady(117));  // 11.3 of 105.7
  CHECK(steady(87));
  CHECK_FALSE(steady(85));
}

// What a reading may differ by and still be one: four of its own standard deviations.
TEST_CASE("[property] a percolation's errors count where they are said to") {
  const auto run = [](double sigma_mm, std::array<double, 3> drops) {
    std::vector<WaterReading> readings{{1795000000, 300, 300.0}};
    for (int i = 0; i < 3; ++i)
      readings.push_back({1795000000 + 3600.0 * (i + 1), 300 - drops[i], 300.0});
    PercolationHole hole;
    hole.reading_sigma_mm = sigma_mm;
    return percolation(hole, readings);
  };
  // Steady within two errors of an interval's own, 5 mm x sqrt 2 each.
  CHECK(run(5, {100, 100, 120}).value().steady);        // 13.3 apart
  CHECK_FALSE(run(5, {100, 100, 124}).value().steady);  // 16
  // A rise by less than 4 x 1.5 mm is an error of reading.
  CHECK(run(1.5, {0, 0, -5.9}).has_value());
  CHECK_FALSE(run(1.5, {0, 0, -6.5}).has_value());
  // Sure where two sigmas reach no other verdict: 25.4 and 76.2 mm/h bound "good".
  const auto sure = [&](double rate, double sigma) {
    return run(sigma * 3 / std::sqrt(2.0), {rate, rate, rate}).value().planting_sure;
  };
  CHECK(sure(30, 2.0));
  CHECK_FALSE(sure(30, 2.6));
  CHECK(sure(70, 2.5));
  CHECK_FALSE(sure(70, 3.5));
  const auto trench_sure = [&](double rate, double sigma) {
    const auto found = run(sigma * 3 / std::sqrt(2.0), {rate, rate, rate}).value();
    return std::pair{found.trench_sure, found.infiltration_mm_h / found.fall_mm_h};
  };
  const double through = trench_sure(50, 0.1).second, good = 12.7 / through;
  CHECK(trench_sure(good + 5, 2.2).first);
  CHECK_FALSE(trench_sure(good + 5, 3.2).first);
  // Refilled to less than was read, by more than four errors.
  const auto refilled = [](double to_mm) {
    const WaterReading readings[] = {
        {1795000000, 300, {}}, {1795003600, 200, to_mm}, {1795007200, 100, {}}};
    PercolationHole hole;
    hole.reading_sigma_mm = 1.5;
    return percolation(hole, readings).has_value();
  };
  CHECK(refilled(194.1));
  CHECK_FALSE(refilled(193.5));
  // Two clocks of a device drift by less than two seconds in a test.
  const auto jump = [](double by_s) {
    return elapsed({1000, 500, "a"}, {1100 + by_s, 600, "a"}).value().clock_jump_s;
  };
  CHECK(jump(1.9) == 0);
  CHECK_NEAR(jump(2.5), 2.5, 1e-9);
  CHECK_NEAR(jump(-2.5), -2.5, 1e-9);
}

// Horticultural advice: under half an inch an hour too slow, to 1 slow, to 3 good, to 4 fast. A trench
// whose only way out is the ground: 0.2 and 0.5 in/h. [common practice]
TEST_CASE("[common practice] what a rate of percolation means, at each bound") {
  CHECK(planting_verdict(12.6) == DrainsFor::too_slow);
  CHECK(planting_verdict(12.8) == DrainsFor::slow);
  CHECK(planting_verdict(25.3) == DrainsFor::slow);
  CHECK(planting_verdict(25.5) == DrainsFor::good);
  CHECK(planting_verdict(76.1) == DrainsFor::good);
  CHECK(planting_verdict(76.3) == DrainsFor::fast);
  CHECK(planting_verdict(101.5) == DrainsFor::fast);
  CHECK(planting_verdict(101.7) == DrainsFor::too_fast);
  CHECK(trench_verdict(5.0) == DrainsFor::too_slow);
  CHECK(trench_verdict(5.2) == DrainsFor::slow);
  CHECK(trench_verdict(12.6) == DrainsFor::slow);
  CHECK(trench_verdict(12.8) == DrainsFor::good);
}

// Chow, Maidment & Mays, Applied Hydrology (1988), 12.3: K_T of Gumbel's distribution, 2.189 standard
// deviations at 30 years (1.866 at 20, 2.044 at 25, 2.592 at 50).
TEST_CASE("[published] the coldest night in 30 years by Gumbel's factor") {
  std::vector<DayTemperature> days;
  const double lows[] = {-21, -24.5, -19, -30, -26, -22, -23.5, -28, -20.5, -25, -24, -27};
  double mean = 0, square = 0;
  for (int y = 0; y < 12; ++y) {
    mean += lows[y] / 12;
    for (int d = 1; d <= days_in_year(2001 + y); ++d) {
      const double low = d == 20 ? lows[y] : 0;
      days.push_back({date_of_day(2001 + y, d), low, low + 5, low + 2});
    }
  }
  for (const double low : lows) square += (low - mean) * (low - mean);
  const auto cold = cold_summary(days).value();
  CHECK_NEAR(cold.mean_yearly_low_c, mean, 1e-9);
  CHECK_NEAR(cold.low_1_in_30_c.value(), mean - 2.189 * std::sqrt(square / 11), 0.01);
  // Nine years give none.
  days.erase(
      std::remove_if(days.begin(), days.end(),
                     [](const auto& day) { return day.date.year() > std::chrono::year(2009); }),
      days.end());
  CHECK_FALSE(cold_summary(days).value().low_1_in_30_c.has_value());
}

// Poles are as wide as a telegraph pole, 0.3 m; without a distance half a degree. [common practice]
TEST_CASE("[common practice] the width of a pole that nobody measured") {
  const auto covered = [](std::optional<double> distance_m) {
    Skyline skyline;
    skyline.max_gap_deg = 130;
    skyline.obstacles = {{Kind::ridge, "ridge"}, {Kind::pole, "mast"}};
    for (const double az : {0.0, 120.0, 240.0}) {
      SkylinePoint p;
      p.azimuth = TrueAzimuth::degrees(az);
      p.elevation = Elevation::degrees(5);
      skyline.points.push_back(p);
    }
    SkylinePoint pole;
    pole.azimuth = TrueAzimuth::degrees(180);
    pole.elevation = Elevation::degrees(40);
    pole.obstacle = 1;
    pole.distance_m = distance_m;
    skyline.points.push_back(pole);
    const Mask mask(skyline);
    double width = 0;
    for (int i = 0; i < 4000; ++i) width += mask.elevation_deg(178 + i / 1000.0) > 30 ? 0.001 : 0;
    return width;
  };
  CHECK_NEAR(covered({}), 0.5, 0.003);
  CHECK_NEAR(covered(10), 2 * std::atan(0.15 / 10) / kDegree, 0.003);
  CHECK_NEAR(covered(30), 2 * std::atan(0.15 / 30) / kDegree, 0.003);
}

// A 30 m grid misses crags and trees: half a degree at the distances that make a skyline.
// [common practice, no source]
TEST_CASE("[common practice] a stretch filled from a height grid carries half a degree") {
  std::vector<float> heights(100 * 100, 500);
  const TerrainGrid grid = geographic_grid(100, 100, heights, 46.8, 10.0, 1 / 3600.0, 1 / 3600.0);
  const auto terrain = terrain_skyline(grid, {46.79, 10.014, 0}, 1.6).value();
  const Skyline filled = filled_from_terrain({}, terrain);
  REQUIRE(!filled.points.empty());
  for (const SkylinePoint& p : filled.points) {
    CHECK(p.elevation_sigma_deg == 0.5);
    CHECK(p.azimuth_sigma_deg == 0.1);
  }
}
