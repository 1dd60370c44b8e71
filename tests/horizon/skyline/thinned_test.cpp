#include "horizon/skyline/thinned.h"

#include <doctest/doctest.h>

#include <cmath>

#include "horizon/skyline/mask.h"

using namespace horizon;

namespace {

void add(Skyline& skyline, int obstacle, double az, double el) {
  SkylinePoint p;
  p.azimuth = TrueAzimuth::degrees(az);
  p.elevation = Elevation::degrees(el);
  p.obstacle = obstacle;
  skyline.points.push_back(p);
}

}  // namespace

TEST_CASE("an ordinary skyline comes back as it is [property]") {
  Skyline skyline;
  skyline.obstacles = {{Kind::ridge, "ridge"}, {Kind::pole, "mast"}};
  for (int i = 0; i < 360; ++i) add(skyline, 0, i, 10 + i % 7);
  add(skyline, 1, 12, 30);
  const Thinned same = thinned(skyline);
  CHECK_FALSE(same.any);
  CHECK(same.skyline.points.size() == 361);
  CHECK(same.skyline.obstacles.size() == 2);
}

TEST_CASE("of too many the highest stay, and no line sinks by more than a step's rise [property]") {
  Skyline skyline;
  skyline.obstacles = {{Kind::ridge, "ridge"}};
  const auto ridge = [](double az) { return 11 + 5 * std::sin(az * kDegree); };
  for (int i = 0; i < 60000; ++i) add(skyline, 0, i * 0.006, ridge(i * 0.006));
  for (int k = 0; k < 500; ++k) {
    skyline.obstacles.push_back({Kind::evergreen, "tree " + std::to_string(k)});
    add(skyline, k + 1, k * 0.7, 20 + k * 0.01);
  }
  const Thinned few = thinned(skyline, {1500, 1500, 40});
  REQUIRE(few.any);
  CHECK(few.points == 60500);
  CHECK(few.things == 501);
  CHECK(few.skyline.points.size() <= 1500);
  REQUIRE(few.skyline.obstacles.size() == 41);
  CHECK(few.skyline.obstacles.back().label == "tree 499");  // the highest
  CHECK(few.skyline.obstacles[1].label == "tree 460");
  Skyline bare = few.skyline;
  std::erase_if(bare.points, [](const auto& p) { return p.obstacle != 0; });
  const Mask mask(bare);
  for (double az = 0; az < 360; az += 0.37)
    CHECK(std::abs(mask.elevation_deg(az) - ridge(az)) < 0.1);
  // Ridges beyond the limit are one without a name: their marks still count.
  Skyline ridges;
  for (int k = 0; k < 300; ++k) {
    ridges.obstacles.push_back({Kind::ridge, "peak " + std::to_string(k)});
    add(ridges, k, k * 1.2, 5 + k * 0.01);
  }
  const Thinned named = thinned(ridges, {4000, 800, 100});
  CHECK(named.skyline.points.size() == 300);
  CHECK(named.skyline.obstacles.size() == 101);
}

TEST_CASE("thousands of poles: at each azimuth the highest counts [property]") {
  Skyline skyline;
  skyline.obstacles = {{Kind::ridge, "ridge"}, {Kind::pole, ""}};
  skyline.obstacles[1].width_deg = 0.5;
  for (int i = 0; i < 36; ++i) add(skyline, 0, i * 10, 10);
  for (int k = 0; k < 3000; ++k)
    add(skyline, 1, std::fmod(k * 137.50776, 360), 5 + std::fmod(k * 0.618, 1) * 20);
  const Mask mask(skyline);
  for (double az = 0.05; az < 360; az += 0.731) {
    double highest = 10;
    for (const auto& p : skyline.points)
      if (p.obstacle == 1 && std::abs(wrap_180(p.azimuth.degrees() - az)) < 0.25)
        highest = std::max(highest, p.elevation.degrees());
    CHECK(std::abs(mask.elevation_deg(az) - highest) < 1e-9);
  }
}
