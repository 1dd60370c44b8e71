#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "horizon/geodesy.h"
#include "horizon/terrain/terrain.h"
#include "tests/horizon/terrain/jacksboro.h"
#include "tests/near.h"
#include "tests/said.h"

using namespace horizon;

namespace {

// A grid of 3 arc seconds round a place, its heights by a function of east and north in metres.
template <class Height>
TerrainGrid made_grid(const Place& middle, int half, double step_deg, Height height) {
  const int n = 2 * half + 1;
  std::vector<float> heights;
  heights.reserve(static_cast<size_t>(n) * static_cast<size_t>(n));
  const double metre = kEarthRadius_m * kDegree * step_deg;
  const double metre_east = metre * std::cos(middle.latitude_deg * kDegree);
  for (int r = 0; r < n; ++r)
    for (int c = 0; c < n; ++c)
      heights.push_back(static_cast<float>(height((c - half) * metre_east, (half - r) * metre)));
  return geographic_grid(n, n, std::move(heights), middle.latitude_deg + half * step_deg,
                         middle.longitude_deg - half * step_deg, step_deg, step_deg);
}

// The captured skyline of the terrain: turned, with aiming noise and some points on trees.
std::vector<SkylinePoint> captured_points(const TerrainSkyline& terrain, double turned_deg,
                                          double noise_deg, std::mt19937& random) {
  std::normal_distribution<double> normal(0, 1);
  std::uniform_real_distribution<double> unit(0, 1);
  std::vector<SkylinePoint> points;
  for (int i = 0; i < 60; ++i) {
    const double azimuth = 6.0 * i + 5 * unit(random);
    SkylinePoint p;
    p.azimuth_sigma_deg = noise_deg;
    p.elevation_sigma_deg = noise_deg;
    p.azimuth = TrueAzimuth::degrees(azimuth - turned_deg + noise_deg * normal(random));
    p.elevation = Elevation::degrees(terrain.elevation_deg(azimuth) + noise_deg * normal(random));
    if (i % 10 == 3) p.elevation = Elevation::degrees(p.elevation.degrees() + 3 + 9 * unit(random));
    points.push_back(p);
  }
  return points;
}

}  // namespace

// The grid is real (python-matplotlib-data); 60 points all round, six of them on trees 3 to 12
// degrees over the ridge.
TEST_CASE(
    "[property] a skyline turned by 1 to 20 degrees, one point in ten a tree, is turned back") {
  const auto grid = jacksboro();
  if (!grid) {
    MESSAGE("skipped: install python-matplotlib-data and unzip for the Jacksboro grid");
    return;
  }
  const auto terrain = terrain_skyline(*grid, kObserver, 1.6);
  REQUIRE(terrain.has_value());
  std::mt19937 random(41);
  // A steady tripod, a hand-held clinometer.
  for (const double noise : {0.0, 0.15, 0.4}) {
    double squares = 0, normed = 0;
    int runs = 0;
    for (const double turned : {1.0, -2.0, 3.5, -5.0, 8.0, -11.0, 14.0, 17.0, -20.0, 20.0})
      for (int i = 0; i < 5; ++i, ++runs) {
        const auto turn = terrain_turn(captured_points(*terrain, turned, noise, random), *terrain);
        INFO((turn ? std::string() : said(turn.error())));
        REQUIRE(turn.has_value());
        const double off = turn->clockwise_deg - turned;
        if (noise < 0.2) CHECK(std::abs(off) < (noise == 0 ? 0.05 : 0.45));
        squares += off * off;
        normed += off * off / (turn->sigma_deg * turn->sigma_deg);
        CHECK(turn->nearer.size() >= 4);
        CHECK(turn->fitting >= 45);
      }
    MESSAGE("noise " << noise << ": turn found within " << std::sqrt(squares / runs)
                     << " degree rms");
    CHECK(std::sqrt(squares / runs) < (noise < 0.2 ? 0.2 : 0.5));
    CHECK(normed / runs < 1.7);  // the stated sigma is not too small
  }
  const HeadingCheck check =
      terrain_check(*terrain_turn(captured_points(*terrain, 8, 0.15, random), *terrain));
  CHECK_NEAR(heading_correction(std::span(&check, 1)).offset_deg, 8, 0.5);
}

TEST_CASE(
    "[property] clinometer noise of 0.2 degree and trees 8 degrees high: each turn within 0.2 "
    "degree") {
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
    CHECK(turn->sigma_deg < 0.25);
    for (const int i : turn->nearer) CHECK(i % 10 == 3);
    CHECK(turn->nearer.size() == 6);
  }
  CHECK_FALSE(terrain_turn({}, terrain).has_value());
}

TEST_CASE(
    "[property] an even skyline, a threefold one, another valley and few points give no turn") {
  const Place eye{46.6213, 10.3478, 0};
  const TerrainGrid bowl = made_grid(
      eye, 200, 1 / 1200.0, [](double e, double n) { return 1000 + 0.1 * std::hypot(e, n); });
  TerrainOptions options;
  options.azimuth_step_deg = 1;
  options.reach_m = 12000;
  const auto even = terrain_skyline(bowl, eye, 1.6, options);
  REQUIRE(even.has_value());
  std::mt19937 random(43);
  CHECK_FALSE(terrain_turn(captured_points(*even, 0, 0.3, random), *even).has_value());
  const TerrainGrid ridges = made_grid(eye, 200, 1 / 1200.0, [](double e, double n) {
    return 1000 + (std::hypot(e, n) > 4000 ? 900 * std::sin(3 * std::atan2(e, n)) : 0);
  });
  const auto threefold = terrain_skyline(ridges, eye, 1.6, options);
  REQUIRE(threefold.has_value());
  auto points = captured_points(*threefold, 5, 0.3, random);
  CHECK_NEAR(terrain_turn(points, *threefold)->clockwise_deg, 5, 0.5);
  const auto ambiguous = terrain_turn(points, *threefold, 180);
  REQUIRE_FALSE(ambiguous.has_value());
  CHECK(said(ambiguous.error()).find("error.two_turns_fit") != std::string::npos);
  CHECK_FALSE(terrain_turn(std::span(points).first(7), *threefold).has_value());
  for (SkylinePoint& p : points) p.elevation = Elevation::degrees(40);
  CHECK_FALSE(terrain_turn(points, *threefold).has_value());
  CHECK_FALSE(terrain_turn({}, *threefold).has_value());
}

TEST_CASE("[property] what stands before the terrain is found") {
  TerrainSkyline terrain;
  for (int i = 0; i < 720; ++i)
    terrain.points.push_back({TrueAzimuth::degrees(i * 0.5), Elevation::degrees(10), 3000, 1500});
  Skyline skyline;
  skyline.obstacles = {{.kind = Kind::ridge, .label = "ridge"},
                       {.kind = Kind::evergreen, .label = "spruces"}};
  for (int az = 40; az <= 340; az += 10) {
    SkylinePoint p;
    p.azimuth = TrueAzimuth::degrees(az);
    const bool tree = az >= 100 && az <= 130;
    p.elevation = Elevation::degrees(tree ? 18 : 10.2);
    p.obstacle = tree ? 1 : 0;
    skyline.points.push_back(p);
  }
  const auto stretches = nearer_than_terrain(Mask(skyline), terrain);
  REQUIRE(stretches.size() == 1);
  CHECK_NEAR(stretches[0].highest_above_deg, 8, 1e-6);
  CHECK(stretches[0].from_deg >= 90);
  CHECK(stretches[0].from_deg <= 100);
  CHECK(stretches[0].to_deg >= 130);
  CHECK(stretches[0].to_deg <= 140.5);
}
