#include "app/drawing/charts/relief.h"

#include <doctest/doctest.h>

#include <cmath>

#include "app/handover/programme_map.h"
#include "tests/near.h"

using namespace app;

namespace {

// A plane that rises `east` and `north` metres a metre, about 46 N 10 E.
horizon::TerrainGrid plane(double east, double north, double step_deg = 0.001) {
  constexpr int kCells = 41;
  std::vector<float> heights;
  const double lat_m = 111200, lon_m = 111320 * std::cos(46 * M_PI / 180);
  for (int r = 0; r < kCells; ++r)
    for (int c = 0; c < kCells; ++c)
      heights.push_back(
          static_cast<float>(1000 + c * step_deg * lon_m * east - r * step_deg * lat_m * north));
  return horizon::geographic_grid(kCells, kCells, heights, 46.02, 9.98, step_deg, step_deg);
}
constexpr GeoWindow kWindow{45.995, 9.995, 46.005, 10.005};

int red(const Image& image, int x, int y) {
  return image.rgba[4 * static_cast<std::size_t>(y * image.width + x)];
}

}  // namespace

TEST_CASE("[property] slopes are shaded by Lambert's cosine with light from the north-west") {
  const auto flat = plane(0, 0), away = plane(-0.3, 0.3), towards = plane(0.2, -0.2);
  // Level: the paper's tone, 238. Down to the south-east: cos of the angle to the light is
  // (0.7071 - 0.3) / sqrt(1.18) = 0.3748, so 238 (1 + 0.9 (0.3748 - 0.7071)) = 166.8. Down to the
  // north-west: (0.7071 + 0.2) / sqrt(1.08) = 0.8729, brighter than the paper.
  CHECK(red(shaded_ground({&flat, 1}, kWindow, 20, 20), 10, 10) == 238);
  CHECK(std::abs(red(shaded_ground({&away, 1}, kWindow, 20, 20), 10, 10) - 167) <= 1);
  CHECK(red(shaded_ground({&towards, 1}, kWindow, 20, 20), 10, 10) == 255);
}

TEST_CASE(
    "[property] ground that no grid knows stays clear, and a finer grid counts before a coarse one") {
  const auto flat = plane(0, 0);
  CHECK(shaded_ground({&flat, 1}, {50, 20, 51, 21}, 10, 10).width == 0);
  CHECK(shaded_ground({}, kWindow, 10, 10).width == 0);
  const Image half = shaded_ground({&flat, 1}, {45.99, 10.0, 46.01, 10.04}, 20, 10);
  REQUIRE(half.width == 20);
  CHECK(half.rgba[4 * (5 * 20 + 2) + 3] == 255);
  CHECK(half.rgba[4 * (5 * 20 + 18) + 3] == 0);
  const horizon::TerrainGrid tiles[] = {plane(0, 0, 0.001), plane(-0.3, 0.3, 0.0005)};
  const GeoWindow both{46.005, 9.985, 46.015, 9.995};
  CHECK(std::abs(red(shaded_ground(tiles, both, 20, 20), 10, 10) - 167) <= 1);
}

TEST_CASE("[property] the map's window holds every site, and is as wide as the box in metres") {
  std::vector<survey::ProgrammeState> sites(2);
  sites[0].site.latitude_deg = 46.0, sites[0].site.longitude_deg = 10.0;
  sites[1].site.latitude_deg = 46.1, sites[1].site.longitude_deg = 10.02;
  const auto window = programme_window(sites, {0, 0, 500, 500});
  REQUIRE(window.has_value());
  CHECK(window->south_deg < 46.0);
  CHECK(window->north_deg > 46.1);
  const double tall_m = (window->north_deg - window->south_deg) * 111200,
               wide_m =
                   (window->east_deg - window->west_deg) * 111320 * std::cos(46.05 * M_PI / 180);
  CHECK(std::abs(tall_m / wide_m - 1) < 0.01);
  CHECK_FALSE(programme_window({}, {0, 0, 500, 500}).has_value());
}
