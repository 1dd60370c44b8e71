#include "horizon/terrain/horizon_sweep.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <map>
#include <random>
#include <sstream>
#include <string>

#include "tests/horizon/terrain/metric_reliefs.h"

using namespace horizon;

namespace {

struct Off {
  double median_deg = 0, p99_deg = 0;
  int count = 0;
};

// Random cells and directions against the exact ray of horizon/terrain/terrain.h.
Off against_exact_rays(const MetricGrid& grid, int cells) {
  const TerrainGrid terrain = as_terrain(grid);
  std::mt19937 random(7);
  std::vector<std::pair<int, int>> at;
  for (int i = 0; i < cells; ++i)
    at.emplace_back(2 + random() % (grid.columns - 4), 2 + random() % (grid.rows - 4));
  std::vector<double> azimuths;
  for (int i = 0; i < 24; ++i) azimuths.push_back(i * 15.0);
  SweepOptions options;
  options.from_m = 1;
  TerrainOptions exact;
  exact.from_m = 1;
  exact.reach_m = 60000;
  exact.azimuth_step_deg = 15;
  std::vector<TerrainSkyline> truth;
  for (const auto& [c, r] : at)
    truth.push_back(terrain_skyline(terrain, cell_place(grid, c, r), 1.6, exact).value());
  std::vector<double> off;
  horizon_sweep(grid, azimuths, options, [&](double azimuth, std::span<const float> tangents) {
    for (size_t i = 0; i < at.size(); ++i) {
      const auto& ray = truth[i].points[static_cast<size_t>(std::lround(azimuth / 15))];
      const double ours = std::atan(tangents[grid.index(at[i].first, at[i].second)]) / kDegree;
      if (ray.distance_m > 0) off.push_back(std::abs(ours - ray.elevation.degrees()));
    }
    return true;
  });
  std::sort(off.begin(), off.end());
  return {off[off.size() / 2], off[off.size() * 99 / 100], static_cast<int>(off.size())};
}

// The relief of topocalc's test data (tests/data/SOURCES.md, lakes).
const std::string kLakes = std::string(ADRET_TEST_DATA) + "/lakes/";
MetricGrid lakes() {
  MetricGrid grid;
  grid.columns = 156;
  grid.rows = 168;
  grid.column_m = grid.row_m = 50;
  std::ifstream heights(kLakes + "heights.csv");
  for (std::string line; std::getline(heights, line);) {
    std::istringstream cells(line);
    for (std::string cell; std::getline(cells, cell, ',');)
      grid.heights_m.push_back(static_cast<float>(2384 + std::stod(cell) * (3581 - 2384) / 65535));
  }
  REQUIRE(grid.heights_m.size() == 156 * 168);
  return grid;
}

}  // namespace

TEST_CASE("[published] on the real Jacksboro grid the sweep is the exact ray's horizon") {
  const auto grid = jacksboro_metric();
  if (!grid) return;
  const Off off = against_exact_rays(*grid, 250);
  MESSAGE(off.count << " rays: median " << off.median_deg << ", 99 % " << off.p99_deg);
  CHECK(off.median_deg < 0.03);
  CHECK(off.p99_deg < 0.3);
}

TEST_CASE(
    "[published] on the real lakes of the Sierra Nevada the sweep is the exact ray's horizon") {
  const Off off = against_exact_rays(lakes(), 250);
  MESSAGE(off.count << " rays: median " << off.median_deg << ", 99 % " << off.p99_deg);
  CHECK(off.median_deg < 0.03);
  CHECK(off.p99_deg < 0.3);
}

TEST_CASE("[property] on rough made relief the sweep is the exact ray's horizon") {
  const MetricGrid grid = rough_relief(400, 0.55);
  const Off off = against_exact_rays(grid, 150);
  MESSAGE(off.count << " rays: median " << off.median_deg << ", 99 % " << off.p99_deg);
  CHECK(off.median_deg < 0.03);
  CHECK(off.p99_deg < 0.3);
}

// Seen from its foot's plain, a cone's outline in the direction of its axis is its tip: the angle
// atan((height - eye) / distance), less the curve of the Earth less refraction.
TEST_CASE("[property] the tip of a cone stands where plane geometry puts it") {
  MetricGrid grid;
  grid.columns = grid.rows = 401;
  grid.column_m = 30;
  grid.row_m = 20;  // cells need not be squares
  grid.heights_m.assign(401 * 401, 500);
  for (int r = 0; r < 401; ++r)
    for (int c = 0; c < 401; ++c) {
      const double m = std::hypot((c - 200) * 30.0, (r - 200) * 20.0);
      grid.heights_m[grid.index(c, r)] = static_cast<float>(500 + std::max(0.0, 800 - m));
    }
  for (const auto& [c, r] :
       {std::pair(200, 390), {10, 200}, {390, 200}, {200, 10}, {20, 30}, {380, 40}}) {
    const double east = (200 - c) * 30.0, north = (r - 200) * 20.0, d = std::hypot(east, north);
    const double azimuth = wrap_360(std::atan2(east, north) / kDegree);
    horizon_sweep(grid, std::vector{azimuth}, {}, [&](double, std::span<const float> tangents) {
      const double expected = (800 - 1.6) / d - (1 - 0.13) / (2 * kEarthRadius_m) * d;
      // Half a cell beside the tip the cone is up to 15 m lower: 0.1 degree from here.
      CHECK(std::abs(tangents[grid.index(c, r)] - expected) <
            (c == 200 || r == 200 ? 2e-4 : 1.5e-3));
      return true;
    });
  }
}

TEST_CASE(
    "[property] cells without height are skipped and have no horizon; the sweep can be stopped") {
  MetricGrid grid = rough_relief(100, 0.5);
  grid.heights_m[grid.index(50, 50)] = NAN;
  int calls = 0;
  const std::vector<double> azimuths{10, 100, 190, 280};
  CHECK(horizon_sweep(grid, azimuths, {}, [&](double, std::span<const float> tangents) {
    ++calls;
    CHECK(std::isnan(tangents[grid.index(50, 50)]));
    CHECK(std::count_if(tangents.begin(), tangents.end(), [](float t) { return std::isnan(t); }) ==
          1);
    return true;
  }));
  CHECK(calls == 4);
  CHECK_FALSE(
      horizon_sweep(grid, azimuths, {}, [](double, std::span<const float>) { return false; }));
}

TEST_CASE("[property] the number of threads changes nothing") {
  const MetricGrid grid = rough_relief(150, 0.5);
  std::vector<float> one, three;
  for (auto& [threads, to] : {std::pair{1, &one}, std::pair{3, &three}}) {
    SweepOptions options;
    options.threads = threads;
    horizon_sweep(grid, std::vector{33.0, 200.0}, options, [&](double, std::span<const float> t) {
      to->insert(to->end(), t.begin(), t.end());
      return true;
    });
  }
  CHECK(one == three);
}

// The gold horizons of topocalc's test data (tests/data/SOURCES.md, lakes): flat Earth, eye on the
// ground, the neighbouring cell left out, and never above the true horizon.
TEST_CASE(
    "[published] topocalc's gold horizons: the median is theirs, none stands above the sweep's") {
  const MetricGrid grid = lakes();
  struct Gold {
    int column = 0, row = 0;
    double elevation_deg = 0;
  };
  std::map<int, std::vector<Gold>> gold;
  std::ifstream horizons(kLakes + "horizons.csv");
  std::string line;
  std::getline(horizons, line);  // names
  while (std::getline(horizons, line)) {
    int azimuth = 0, column = 0, row = 0, sine = 0;
    REQUIRE(std::sscanf(line.c_str(), "%d,%d,%d,%d", &azimuth, &column, &row, &sine) == 4);
    gold[azimuth].push_back({column, row, std::asin(sine / 65535.0) / kDegree});
  }
  std::vector<double> azimuths;
  for (const auto& [azimuth, rows] : gold) azimuths.push_back(azimuth);
  REQUIRE(azimuths.size() == 24);
  SweepOptions options;
  options.eye_height_m = 0;
  options.from_m = 99;
  options.refraction_k = 1;  // as strong as the Earth's curve: flat
  std::vector<double> straight, sheared;
  double above = 0;
  horizon_sweep(grid, azimuths, options, [&](double azimuth, std::span<const float> tangents) {
    const bool along = std::lround(azimuth) % 90 == 0;
    for (const Gold& each : gold[static_cast<int>(std::lround(azimuth))]) {
      const double ours =
          std::max(0.0, std::atan(tangents[grid.index(each.column, each.row)]) / kDegree);
      (along ? straight : sheared).push_back(std::abs(ours - each.elevation_deg));
      if (along) above = std::max(above, each.elevation_deg - ours);
    }
    return true;
  });
  for (auto* off : {&straight, &sheared}) std::sort(off->begin(), off->end());
  const auto part = [](const std::vector<double>& off, int percent) {
    return off[off.size() * static_cast<size_t>(percent) / 100];
  };
  MESSAGE("along rows and columns: median " << part(straight, 50) << ", 85 % " << part(straight, 85)
                                            << ", 99 % " << part(straight, 99) << ", above "
                                            << above << "; sheared: median " << part(sheared, 50)
                                            << ", 90 % " << part(sheared, 90));
  CHECK(part(straight, 50) < 0.03);
  CHECK(part(straight, 85) < 0.3);  // the rest are ridges that the older program overlooked
  CHECK(above < 0.03);
  CHECK(part(sheared, 50) < 0.5);
}
