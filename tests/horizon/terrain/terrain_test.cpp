#include "horizon/terrain/terrain.h"

#include <doctest/doctest.h>

#include <cmath>
#include <ctime>

#include "horizon/geodesy.h"
#include "horizon/skyline/mask.h"
#include "tests/csv_rows.h"
#include "tests/horizon/terrain/jacksboro.h"

using namespace horizon;

namespace {

// A wide plain of one height with one round hill of a Gaussian shape.
TerrainGrid plain_with_hill(double hill_lat, double hill_lon, double hill_m) {
  std::vector<float> heights;
  const double step = 1.0 / 3600;
  for (int r = 0; r < 800; ++r)
    for (int c = 0; c < 800; ++c) {
      const double lat = 46.9 - r * step, lon = 10.0 + c * step;
      const double north = (lat - hill_lat) * 111000, east = (lon - hill_lon) * 76000;
      heights.push_back(static_cast<float>(
          500 + hill_m * std::exp(-(north * north + east * east) / (2 * 300.0 * 300.0))));
    }
  return geographic_grid(800, 800, std::move(heights), 46.9, 10.0, step, step);
}

}  // namespace

TEST_CASE("[published] the far skyline of the Jacksboro grid is that of another program") {
  const auto grid = jacksboro();
  if (!grid) {
    MESSAGE("python-matplotlib-data or unzip not installed, left out");
    return;
  }
  TerrainOptions options;
  options.from_m = 90;
  options.reach_m = 30000;
  options.step_m = 15;
  const auto skyline = terrain_skyline(*grid, kObserver, 1.6, options);
  REQUIRE(skyline.has_value());
  CHECK(std::abs(skyline->ground_m - 481.08) < 0.05);
  int rows = 0;
  double worst = 0;
  for (const CsvRow& row : csv_rows("jacksboro_horizon.csv")) {
    const double az = row["true_az_deg"], el = row["horizon_el_deg"];
    const double ours = skyline->elevation_deg(az);
    worst = std::max(worst, std::abs(ours - el));
    CHECK_MESSAGE(std::abs(ours - el) < 0.05, az);
    ++rows;
  }
  CHECK(rows >= 36);
  MESSAGE("largest difference over " << rows << " azimuths: " << worst << " degree");

  // From crossing to crossing instead of every 15 m: no lower anywhere but where the near bank
  // begins, and nowhere half a degree off.
  options.step_m = 0;
  const auto exact = terrain_skyline(*grid, kObserver, 1.6, options);
  REQUIRE(exact.has_value());
  for (int az = 0; az < 360; az += 10) {
    const double above = exact->elevation_deg(az) - skyline->elevation_deg(az);
    CHECK(above > -0.02);
    CHECK(above < 0.5);
  }
}

TEST_CASE("[property] a lone hill stands where geodesy says, as high as geodesy says") {
  const TerrainGrid grid = plain_with_hill(46.80, 10.12, 900);
  const Place station{46.75, 10.05, 0};
  const auto skyline = terrain_skyline(grid, station, 1.6);
  REQUIRE(skyline.has_value());
  const Sight top = sight({46.75, 10.05, 501.6}, {46.80, 10.12, 1400});
  double highest = -90;
  TrueAzimuth at;
  for (const TerrainPoint& p : skyline->points)
    if (p.elevation.degrees() > highest) {
      highest = p.elevation.degrees();
      at = p.azimuth;
    }
  CHECK(std::abs(clockwise_deg(top.azimuth, at)) < 0.3);
  // A smooth hill is seen a little before its top, which lies lower in the sky.
  CHECK(highest > top.apparent.degrees() - 0.02);
  CHECK(highest < top.apparent.degrees() + 0.6);
}

TEST_CASE("[property] cells without height are skipped, a station without one is told") {
  TerrainGrid grid = plain_with_hill(46.80, 10.12, 900);
  const Place station{46.75, 10.05, 0};
  const auto whole = terrain_skyline(grid, station, 1.6).value();
  for (int i = 0; i < 2000; ++i) grid.heights_m[i * 31] = NAN;
  const auto holes = terrain_skyline(grid, station, 1.6).value();
  CHECK(std::abs(whole.elevation_deg(43) - holes.elevation_deg(43)) < 0.5);
  CHECK_FALSE(terrain_skyline(grid, {0, 0, 0}, 1.6).has_value());
  CHECK_FALSE(terrain_skyline(TerrainGrid{}, station, 1.6).has_value());
  CHECK(whole.points[1800].cut_short);
}

TEST_CASE("[property] skipping blocks changes nothing: a fine march finds the same line") {
  const auto grid = jacksboro();
  if (!grid) return;
  TerrainOptions options;
  options.azimuth_step_deg = 7;
  options.step_m = 20;
  const auto skyline = terrain_skyline(*grid, kObserver, 1.6, options).value();
  for (const TerrainPoint& p : skyline.points) {
    double best = -90;
    for (double d = options.from_m; d < options.reach_m; d += options.step_m) {
      const Place at = destination(kObserver, p.azimuth, d);
      const auto [c, r] = grid->cell_of(at.latitude_deg, at.longitude_deg);
      const int c0 = static_cast<int>(std::floor(c)), r0 = static_cast<int>(std::floor(r));
      if (c0 < 0 || r0 < 0 || c0 + 1 >= grid->columns || r0 + 1 >= grid->rows) break;
      const double u = c - c0, v = r - r0;
      const double h = (1 - v) * ((1 - u) * grid->at(c0, r0) + u * grid->at(c0 + 1, r0)) +
                       v * ((1 - u) * grid->at(c0, r0 + 1) + u * grid->at(c0 + 1, r0 + 1));
      Place top = at;
      top.height_m = h;
      Place eye = kObserver;
      eye.height_m = skyline.ground_m + 1.6;
      best = std::max(best, sight(eye, top).apparent.degrees());
    }
    CHECK(std::abs(p.elevation.degrees() - best) < 0.01);
  }
}

TEST_CASE("[property] open stretches are filled only there, and marked as computed") {
  const TerrainGrid grid = plain_with_hill(46.80, 10.12, 900);
  const auto terrain = terrain_skyline(grid, {46.75, 10.05, 0}, 1.6).value();
  Skyline skyline;
  skyline.obstacles.push_back({Kind::ridge, "ridge"});
  for (int az = 100; az <= 340; az += 10) {
    SkylinePoint p;
    p.azimuth = TrueAzimuth::degrees(az);
    p.elevation = Elevation::degrees(5);
    skyline.points.push_back(p);
  }
  const Skyline filled = filled_from_terrain(skyline, terrain);
  const Mask mask(filled);
  CHECK(mask.open_stretches().empty());
  CHECK(std::abs(mask.elevation_deg(43) - terrain.elevation_deg(43)) < 0.2);
  CHECK(mask.elevation_deg(200) == 5);
  for (const SkylinePoint& p : filled.points) {
    const bool inside = p.azimuth.degrees() < 100 || p.azimuth.degrees() > 340;
    CHECK(p.computed == inside);
  }
}

// The lone cell is a pyramid whose edges lie on the rows and columns through it.
TEST_CASE("[property] a needle of one cell is met at its tip, on whatever ray") {
  TerrainGrid grid = plain_with_hill(46.80, 10.12, 0);
  grid.heights_m[500 * 800 + 610] = 1700;
  const Place station{46.75, 10.05, 0};
  const Place tip{46.9 - 500 / 3600.0, 10.0 + 610 / 3600.0, 1700};
  TerrainOptions options;
  options.azimuth_step_deg = 0.02;
  const auto skyline = terrain_skyline(grid, station, 1.6, options).value();
  const Sight line = sight({46.75, 10.05, 501.6}, tip);
  double highest = -90;
  for (const TerrainPoint& p : skyline.points) highest = std::max(highest, p.elevation.degrees());
  // The nearest ray passes the tip by at most half a step: 1.6 m of a slope of 1200 m in 21 m.
  CHECK(highest > line.apparent.degrees() - 0.6);
  CHECK(highest < line.apparent.degrees() + 0.001);
}

TEST_CASE("[property] where tiles of two cell sizes overlap the finer one tells the ground") {
  const Place station{46.6, 10.3, 0};
  const auto grid = [&](int half, double step_deg, auto height) {
    std::vector<float> heights;
    for (int r = -half; r <= half; ++r)
      for (int c = -half; c <= half; ++c) heights.push_back(height(r, c));
    return geographic_grid(2 * half + 1, 2 * half + 1, std::move(heights),
                           station.latitude_deg + half * step_deg,
                           station.longitude_deg - half * step_deg, step_deg, step_deg);
  };
  // Coarse: a hill of 100 m on the station, which the fine one knows is flat; ridges 300 m high far
  // to the north, beyond the fine one's edge.
  const auto fine = grid(60, 1 / 1200.0, [](int, int) { return 1000.F; });
  const auto coarse = grid(40, 1 / 120.0, [](int r, int c) {
    return r == 0 && c == 0 ? 1100.F : r < -20 ? 1300.F : 1000.F;
  });
  TerrainOptions options;
  options.reach_m = 30000;
  options.azimuth_step_deg = 1;
  for (const auto& tiles : {std::vector{fine, coarse}, std::vector{coarse, fine}}) {
    const auto line = terrain_skyline(std::span(tiles), station, 1.6, options).value();
    CHECK(line.ground_m == 1000);
    CHECK(line.elevation_deg(180) < 0);
    CHECK(line.elevation_deg(0) > 0.5);  // 300 m at 19 km
  }
}

TEST_CASE("[property] tiles give what the whole gives, and rays that leave them say so") {
  const TerrainGrid whole = plain_with_hill(46.80, 10.12, 900);
  const auto part = [&](int from, int to) {
    std::vector<float> heights;
    for (int r = 0; r < 800; ++r)
      for (int c = from; c <= to; ++c) heights.push_back(whole.at(c, r));
    const double step = 1.0 / 3600;
    return geographic_grid(to - from + 1, 800, std::move(heights), 46.9, 10.0 + from * step, step,
                           step);
  };
  const std::vector<TerrainGrid> tiles = {part(0, 300), part(300, 799)};
  const Place station{46.75, 10.05, 0};
  TerrainOptions options;
  options.azimuth_step_deg = 1;
  const auto one = terrain_skyline(whole, station, 1.6, options).value();
  const auto two = terrain_skyline(std::span(tiles), station, 1.6, options).value();
  for (size_t i = 0; i < one.points.size(); ++i)
    CHECK(std::abs(one.points[i].elevation.degrees() - two.points[i].elevation.degrees()) < 1e-4);
  CHECK(one.points[40].cut_short);
  options.reach_m = 2000;
  CHECK_FALSE(terrain_skyline(whole, station, 1.6, options)->points[40].cut_short);
  options.from_m = 0;
  CHECK_FALSE(terrain_skyline(whole, station, 1.6, options).has_value());
}
