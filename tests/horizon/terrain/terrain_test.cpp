#include "horizon/terrain/terrain.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <optional>
#include <random>
#include <sstream>

#include "horizon/geodesy.h"
#include "horizon/mask.h"

using namespace horizon;

namespace {

// The grid of Debian's python-matplotlib-data: 344 x 403 heights of 3 arc seconds, an .npy file
// inside a zip. unzip writes it out; the array begins after a header whose length stands in it.
std::optional<TerrainGrid> jacksboro() {
  const char* file = "/usr/share/matplotlib/mpl-data/sample_data/jacksboro_fault_dem.npz";
  if (!std::ifstream(file)) return std::nullopt;
  FILE* pipe = popen((std::string("unzip -p ") + file + " elevation.npy").c_str(), "r");
  std::string bytes;
  char buffer[65536];
  for (size_t n; (n = fread(buffer, 1, sizeof buffer, pipe)) > 0;) bytes.append(buffer, n);
  pclose(pipe);
  constexpr int kRows = 344, kColumns = 403;
  const size_t body = static_cast<size_t>(kRows) * kColumns * 2;
  if (bytes.size() < body) return std::nullopt;
  std::vector<float> heights;
  for (size_t i = bytes.size() - body; i < bytes.size(); i += 2) {
    std::int16_t h;
    std::memcpy(&h, &bytes[i], 2);
    heights.push_back(h);
  }
  const double step = 1.0 / 1200;
  return geographic_grid(kColumns, kRows, std::move(heights), 36.732916666666667 - step / 2,
                         -84.41375 + step / 2, step, step);
}

const Place kObserver{36.53583, -84.27667, 0};

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
  std::ifstream in(ADRET_TEST_DATA "/jacksboro_horizon.csv");
  int rows = 0;
  double worst = 0;
  for (std::string row; std::getline(in, row);) {
    double az, el, distance, height;
    char comma;
    if (!(std::istringstream(row) >> az >> comma >> el >> comma >> distance >> comma >> height))
      continue;
    const double ours = skyline->elevation_deg(az);
    worst = std::max(worst, std::abs(ours - el));
    CHECK_MESSAGE(std::abs(ours - el) < 0.05, az);
    ++rows;
  }
  CHECK(rows >= 36);
  MESSAGE("largest difference over " << rows << " azimuths: " << worst << " degree");
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
  CHECK_FALSE(terrain_skyline({}, station, 1.6).has_value());
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

TEST_CASE(
    "[property] a captured skyline turned by 1 to 20 degrees, one point in ten a tree, is turned "
    "back") {
  const auto grid = jacksboro();
  if (!grid) return;
  const auto terrain = terrain_skyline(*grid, kObserver, 1.6).value();
  std::mt19937 random(21);
  std::normal_distribution<double> noise(0, 0.2);
  for (const double turned : {-20.0, -13.0, -8.0, -1.0, 2.0, 6.0, 20.0}) {
    std::vector<SkylinePoint> captured;
    for (int i = 0; i < 60; ++i) {
      SkylinePoint p;
      const double az = i * 6 + noise(random);
      p.azimuth = TrueAzimuth::degrees(az - turned);
      const bool tree = i % 10 == 3;
      p.elevation = Elevation::degrees(terrain.elevation_deg(az) + noise(random) + (tree ? 8 : 0));
      captured.push_back(p);
    }
    const auto turn = terrain_turn(captured, terrain);
    REQUIRE(turn.has_value());
    CHECK_MESSAGE(std::abs(turn->clockwise_deg - turned) < 0.2,
                  turned << " " << turn->clockwise_deg);
    CHECK(turn->sigma_deg < 0.2);
    for (const int i : turn->nearer) CHECK(i % 10 == 3);
    CHECK(turn->nearer.size() == 6);
  }
  CHECK_FALSE(terrain_turn({}, terrain).has_value());
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
