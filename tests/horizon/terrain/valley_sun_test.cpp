#include "horizon/terrain/valley_sun.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "horizon/skyline/mask.h"
#include "horizon/sun/sun_path.h"
#include "tests/horizon/terrain/metric_reliefs.h"

using namespace horizon;

namespace {

constexpr double kLatitude = 46.62, kLongitude = 10.35;

// As if the plane lay there: true north is up, and the sun is that of one place.
GridSpot one_place(double, double) { return {{kLatitude, kLongitude, 0}, 0}; }

Mask exact_mask(const TerrainGrid& terrain, const MetricGrid& grid, int c, int r) {
  TerrainOptions options;
  options.from_m = 1;
  options.reach_m = 60000;
  options.azimuth_step_deg = 0.25;
  const TerrainSkyline line =
      terrain_skyline(terrain, cell_place(grid, c, r), 1.6, options).value();
  Skyline skyline;
  skyline.obstacles.push_back({Kind::ridge, "ground"});
  for (const TerrainPoint& p : line.points) {
    SkylinePoint point;
    point.azimuth = p.azimuth;
    point.elevation = Elevation::degrees(std::max(0.0, p.elevation.degrees()));
    point.obstacle = 0;
    skyline.points.push_back(point);
  }
  return Mask(skyline);
}

bool is_winter(Date date) {
  const unsigned month = static_cast<unsigned>(date.month());
  return month >= 11 || month <= 2;
}

}  // namespace

TEST_CASE("[property] winter hours, shortest day and sunless spell agree with the exact findings") {
  const MetricGrid grid = rough_relief(300, 0.5);
  const ValleySun sun = valley_sun(grid, one_place, {}).value();
  const TerrainGrid terrain = as_terrain(grid);
  std::mt19937 random(11);
  std::vector<double> winter_min, shortest_min;
  int spells = 0, spells_off = 0;
  for (int n = 0; n < 60; ++n) {
    const int c = 5 + int(random() % 290), r = 5 + int(random() % 290);
    const size_t i = grid.index(c, r);
    const SunPath path = SunPath::of_year({kLatitude, kLongitude, grid.heights_m[i]}, 2026);
    const Mask mask = exact_mask(terrain, grid, c, r);
    const auto hours = hours_by_day(path, windows_above(path, mask));
    double winter = 0, days = 0;
    for (int d = 0; d < path.days(); ++d)
      if (is_winter(path.date(d))) winter += hours[static_cast<size_t>(d)], ++days;
    winter_min.push_back(std::abs(sun.winter_h[i] - winter / days) * 60);
    shortest_min.push_back(std::abs(sun.shortest_day_h[i] - hours[354]) * 60);
    // The days about the solstice that have none.
    int without = 0;
    for (int d = 354; d >= 0 && hours[static_cast<size_t>(d)] == 0; --d) ++without;
    for (int d = 355; d < 365 + 180 && without > 0 && hours[static_cast<size_t>(d % 365)] == 0; ++d)
      ++without;
    spells += without > 0;
    spells_off += std::abs(sun.days_without[i] - without) > 3;
  }
  std::sort(winter_min.begin(), winter_min.end());
  std::sort(shortest_min.begin(), shortest_min.end());
  MESSAGE("winter: median " << winter_min[30] << " min, 95 % " << winter_min[56]
                            << "; shortest day: median " << shortest_min[30] << ", 95 % "
                            << shortest_min[56] << "; spells " << spells
                            << ", off by more than 3 days " << spells_off);
  CHECK(winter_min[56] < 2);
  CHECK(shortest_min[56] < 6);
  CHECK(spells_off <= 3);
}

TEST_CASE(
    "[property] on a plain the hours are those of the flat horizon and the whole sky is seen") {
  MetricGrid grid;
  grid.columns = grid.rows = 60;
  grid.heights_m.assign(3600, 400);
  const ValleySun sun = valley_sun(grid, one_place, {}).value();
  const SunPath path = SunPath::of_year({kLatitude, kLongitude, 400}, 2026);
  const auto hours = hours_by_day(path, windows_above(path, Mask()));
  const size_t middle = grid.index(30, 30);
  CHECK(std::abs(sun.shortest_day_h[middle] - hours[354]) < 0.02);
  CHECK(sun.sky_view[middle] > 0.9999);
  CHECK(sun.days_without[middle] == 0);
  CHECK(std::isnan(sun.first_without[middle]));
  CHECK(sun.best_facing_deg[middle] == 180);
  CHECK(sun.slope_deg[middle] == 0);
}

// A ridge to the south, steeper than the December noon sun: 19.95 degrees at 46.62 north.
TEST_CASE("[property] behind a ridge the sun stays away about the solstice, in both hemispheres") {
  MetricGrid grid;
  grid.columns = 400;
  grid.rows = 60;
  grid.heights_m.assign(24000, 400);
  for (int c = 0; c < 400; ++c) grid.heights_m[grid.index(c, 40)] = 400 + 1.6F + 300 * 0.45F;
  const size_t behind = grid.index(200, 30);
  const ValleySun sun = valley_sun(grid, one_place, {}).value();
  CHECK(sun.shortest_day_h[behind] == 0);
  CHECK(sun.days_without[behind] > 60);
  CHECK(sun.first_without[behind] > 300);
  CHECK(sun.last_without[behind] < 60);
  // Turned upside down it hides the June sun of the south.
  MetricGrid turned = grid;
  std::reverse(turned.heights_m.begin(), turned.heights_m.end());
  ValleyOptions options;
  options.winter_months = 1U << 4 | 1U << 5 | 1U << 6 | 1U << 7;
  const ValleySun south = valley_sun(
                              turned,
                              [](double, double) {
                                return GridSpot{{-kLatitude, kLongitude, 0}, 0};
                              },
                              options)
                              .value();
  const size_t its = turned.index(199, 29);
  CHECK(south.shortest_day_h[its] == 0);
  CHECK(std::abs(south.days_without[its] - sun.days_without[behind]) < 8);
  CHECK(south.best_facing_deg[its] <= 45);
}

TEST_CASE("[property] a slope's steepness and fall; grids that cannot serve are told") {
  MetricGrid grid;
  grid.columns = grid.rows = 5;
  grid.column_m = 10;
  grid.row_m = 20;
  for (int r = 0; r < 5; ++r)
    for (int c = 0; c < 5; ++c) grid.heights_m.push_back(float(c) * 10);  // rises to the east
  const CellSlope slope = cell_slope(grid, 2, 2);
  CHECK(std::abs(slope.slope_deg - 45) < 1e-4);
  CHECK(std::abs(slope.downhill_deg - 270) < 1e-4);
  MetricGrid empty = grid;
  std::fill(empty.heights_m.begin(), empty.heights_m.end(), NAN);
  CHECK_FALSE(valley_sun(empty, one_place, {}));
  CHECK_FALSE(valley_sun({2, 2, 10, 10, {1, 1, 1, 1}}, one_place, {}));
  CHECK_FALSE(valley_sun(grid, [](double, double) { return GridSpot{{80, 0, 0}, 0}; }, {}));
  CHECK_FALSE(valley_sun(grid, one_place, {}, [](double) { return false; }));
}
