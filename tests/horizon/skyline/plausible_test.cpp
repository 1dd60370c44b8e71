#include "horizon/skyline/plausible.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "horizon/skyline/mask.h"
#include "tests/near.h"

using namespace horizon;

namespace {

SkylinePoint mark(double azimuth_deg, double elevation_deg, double sigma_deg, int obstacle = 0) {
  SkylinePoint p;
  p.azimuth = TrueAzimuth::degrees(azimuth_deg);
  p.elevation = Elevation::degrees(elevation_deg);
  p.azimuth_sigma_deg = p.elevation_sigma_deg = sigma_deg;
  p.obstacle = obstacle;
  return p;
}

struct Spread {
  double mean = 0, sigma = 0;
};
template <class Get>
Spread spread(const PlausibleLines& lines, Get get) {
  Spread s;
  double squares = 0;
  for (int d = 0; d < lines.draws(); ++d) {
    const double v = get(lines.draw(d));
    s.mean += v / lines.draws();
    squares += v * v / lines.draws();
  }
  s.sigma = std::sqrt(std::max(0.0, squares - s.mean * s.mean));
  return s;
}
double at(const Skyline& skyline, double azimuth_deg) {
  return Mask(skyline).elevation_deg(azimuth_deg);
}

}  // namespace

TEST_CASE(
    "drawn lines pass fine marks, stray between them, and stray most where nobody aimed "
    "[property]") {
  Skyline skyline;
  skyline.obstacles.push_back({Kind::ridge, "ridge"});
  for (int az = 90; az <= 186; az += 8)
    skyline.points.push_back(mark(az, 12 + 3 * std::sin(az * 0.9), 0.05));
  const PlausibleLines lines(skyline, 0, 300, 5);
  const auto sigma_at = [&](double az) {
    return spread(lines, [&](const Skyline& s) { return at(s, az); }).sigma;
  };
  const double on_mark = sigma_at(138), between = sigma_at(142), open = sigma_at(320);
  CHECK(on_mark < 0.2);
  CHECK(between > 2 * on_mark);
  CHECK(open > 3 * between);
  CHECK_NEAR(spread(lines, [&](const Skyline& s) { return at(s, 138); }).mean,
             12 + 3 * std::sin(138 * 0.9), 0.15);
}

TEST_CASE("a rough ridge is drawn rougher between its marks than a straight one [property]") {
  const auto between = [](auto height) {
    Skyline skyline;
    skyline.obstacles.push_back({Kind::ridge, "ridge"});
    for (int az = 0; az < 360; az += 8) skyline.points.push_back(mark(az, height(az), 0.1));
    const PlausibleLines lines(skyline, 0, 100, 1);
    return spread(lines, [](const Skyline& s) { return at(s, 92); }).sigma;
  };
  Gauss gauss(3);
  const double straight = between([](int az) { return 8 + 0.05 * std::abs(az - 180); });
  const double rough = between([&](int) { return 12 + 3 * gauss.next(); });
  CHECK(straight < 0.3);
  CHECK(rough > 4 * straight);
}

TEST_CASE(
    "one shared turn moves all aims, computed marks keep clear of it; a near mark feels the "
    "eye's height [property]") {
  Skyline skyline;
  skyline.obstacles.push_back({Kind::building, "barn", Edge::great_circle});
  skyline.heading_sigma_deg = 5;
  for (int i = 0; i < 3; ++i) {
    SkylinePoint p = mark(180 + 10 * i, 10, 0);
    p.computed = i == 0;
    p.distance_m = i == 1 ? 10.0 : 1e6;
    skyline.points.push_back(p);
  }
  const PlausibleLines lines(skyline, 0.1, 2000, 3);
  CHECK(spread(lines, [](const Skyline& s) { return s.points[0].azimuth.degrees(); }).sigma == 0);
  CHECK_NEAR(spread(lines, [](const Skyline& s) { return s.points[2].azimuth.degrees(); }).sigma, 5,
             0.3);
  for (int d = 0; d < 20; ++d) {
    const Skyline s = lines.draw(d);
    CHECK_NEAR(clockwise_deg(s.points[1].azimuth, s.points[2].azimuth), 10, 1e-9);
  }
  // 0.1 m at 10 m and 10 degrees up: atan's slope, 0.573 degrees x cos^2.
  CHECK_NEAR(spread(lines, [](const Skyline& s) { return s.points[1].elevation.degrees(); }).sigma,
             0.573 * 0.9698, 0.03);
}

TEST_CASE(
    "a near thing without a distance may stand near enough for the eye's height to matter; a "
    "far ridge may not [property]") {
  Skyline skyline;
  skyline.obstacles.push_back({Kind::evergreen, "spruce"});
  skyline.points = {mark(180, 20, 0)};
  const PlausibleLines trees(skyline, 0.1, 500, 3);
  const auto height = [](const Skyline& s) { return s.points[0].elevation.degrees(); };
  CHECK(spread(trees, height).sigma > 0.1);
  CHECK(spread(trees, height).sigma < 0.8);
}

TEST_CASE("no mark at all still gives lines, level from open land to a deep valley [property]") {
  const PlausibleLines lines({}, 0.1, 300, 9);
  std::vector<double> levels;
  for (int d = 0; d < lines.draws(); ++d) levels.push_back(at(lines.draw(d), 180));
  std::sort(levels.begin(), levels.end());
  CHECK(levels[15] < 4);
  CHECK(levels[285] > 20);
  CHECK(levels[285] < 60);
}

TEST_CASE("same seed, same lines; a straight edge of a house stays straight [property]") {
  Skyline skyline;
  skyline.obstacles = {{Kind::ridge, "ridge"}, {Kind::building, "barn", Edge::great_circle}};
  for (int az = 0; az < 360; az += 10)
    if (az < 150 || az > 210) skyline.points.push_back(mark(az, 10, 0.3));
  skyline.points.push_back(mark(160, 20, 0.3, 1));
  skyline.points.push_back(mark(200, 20, 0.3, 1));
  const PlausibleLines a(skyline, 0.1, 20, 4), b(skyline, 0.1, 20, 4);
  for (int d = 0; d < 20; ++d) {
    const Skyline one = a.draw(d), other = b.draw(d);
    REQUIRE(one.points.size() == other.points.size());
    for (size_t i = 0; i < one.points.size(); ++i)
      REQUIRE(one.points[i].elevation.degrees() == other.points[i].elevation.degrees());
    int on_barn = 0;
    for (const SkylinePoint& p : one.points) on_barn += p.obstacle == 1;
    CHECK(on_barn == 2);
  }
}

TEST_CASE("what all elevations share does not average out over many marks [property]") {
  Skyline skyline;
  skyline.obstacles.push_back({Kind::ridge, "ridge"});
  for (int az = 0; az < 360; az += 5) skyline.points.push_back(mark(az, 10, 0.1));
  const auto mean_of = [](const Skyline& s) {
    double all = 0;
    for (int az = 0; az < 360; az += 3) all += at(s, az) / 120;
    return all;
  };
  const double alone = spread(PlausibleLines(skyline, 0, 400, 3), mean_of).sigma;
  for (SkylinePoint& point : skyline.points) point.level_sigma_deg = 0.25;
  const Spread shared = spread(PlausibleLines(skyline, 0, 400, 3), mean_of);
  CHECK(alone < 0.05);
  CHECK_NEAR(shared.sigma, 0.25, 0.03);  // 400 draws: good to 4 % of it
  CHECK_NEAR(shared.mean, 10, 0.05);
  // Where the south was aimed at by hand, the turn's level leaves it alone.
  for (SkylinePoint& point : skyline.points)
    if (point.azimuth.degrees() > 90 && point.azimuth.degrees() < 270) point.level_sigma_deg = 0;
  const auto over = [&](double from, double to) {
    return [=](const Skyline& s) {
      double all = 0;
      for (double az = from; az < to; az += 3) all += at(s, az) * 3 / (to - from);
      return all;
    };
  };
  const PlausibleLines mixed(skyline, 0, 400, 3);
  CHECK(spread(mixed, over(110, 250)).sigma < 0.05);
  CHECK_NEAR(spread(mixed, over(-70, 70)).sigma, 0.25, 0.03);
  for (SkylinePoint& point : skyline.points) point.level_sigma_deg = 0.25;
  // The light of sun and moon and a terrain grid have no part in it.
  const auto south = [](const SkylinePoint& p) {
    return p.azimuth.degrees() > 90 && p.azimuth.degrees() < 270;
  };
  for (SkylinePoint& point : skyline.points) {
    point.computed = south(point);
    point.level_sigma_deg = south(point) ? 0 : 0.25;
  }
  CHECK(spread(PlausibleLines(skyline, 0, 400, 3), over(110, 250)).sigma < 0.05);
  // A grid's error is as large as it says, and moves the land alone.
  for (SkylinePoint& point : skyline.points) point.level_sigma_deg = south(point) ? 0.8 : 0;
  const PlausibleLines land(skyline, 0, 400, 3);
  CHECK_NEAR(spread(land, over(110, 250)).sigma, 0.8, 0.1);
  CHECK(spread(land, over(-70, 70)).sigma < 0.05);
}
