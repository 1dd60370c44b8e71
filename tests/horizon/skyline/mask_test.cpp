#include "horizon/skyline/mask.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace horizon;

namespace {

Skyline ridge_of(std::vector<std::pair<double, double>> az_el) {
  Skyline skyline;
  skyline.obstacles.push_back({Kind::ridge, "ridge"});
  for (auto [az, el] : az_el) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(az);
    point.elevation = Elevation::degrees(el);
    skyline.points.push_back(point);
  }
  return skyline;
}

void add(Skyline& skyline, Kind kind, const char* label, int layer,
         std::vector<std::pair<double, double>> az_el, Edge edge = Edge::straight) {
  Obstacle obstacle{kind, label};
  obstacle.edge = edge;
  skyline.obstacles.push_back(obstacle);
  for (auto [az, el] : az_el) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(az);
    point.elevation = Elevation::degrees(el);
    point.obstacle = static_cast<int>(skyline.obstacles.size()) - 1;
    point.layer = layer;
    skyline.points.push_back(point);
  }
}

void check_covers_the_turn(const Mask& mask) {
  double at = 0;
  for (const MaskPiece& p : mask.pieces()) {
    CHECK(p.from_deg == at);
    CHECK(p.to_deg > p.from_deg);
    at = p.to_deg;
  }
  CHECK(at == 360);
}

}  // namespace

TEST_CASE("[property] no sighting leaves one open stretch all round, never a closed flat skyline") {
  const Mask mask;
  CHECK(mask.elevation_deg(123) == 0);
  REQUIRE(mask.open_stretches().size() == 1);
  CHECK(mask.open_stretches()[0].width_deg() == 360);
  CHECK(mask.closed_fraction() == 0);
}

TEST_CASE("[property] one sighting alone leaves all the rest open, at whatever bearing it stands") {
  for (double azimuth = 0.05; azimuth < 360; azimuth += 7.3) {
    CAPTURE(azimuth);
    const Mask mask(ridge_of({{azimuth, 20}}));
    REQUIRE(mask.open_stretches().size() == 1);
    CHECK(mask.open_stretches()[0].width_deg() > 359.999);
    CHECK(mask.closed_fraction() < 1e-6);
  }
}

TEST_CASE("[property] the line is straight between neighbours, over north too") {
  const Mask mask(ridge_of({{350, 10}, {10, 20}, {100, 5}, {200, 8}}));
  check_covers_the_turn(mask);
  CHECK(std::abs(mask.elevation_deg(0) - 15) < 1e-12);
  CHECK(std::abs(mask.elevation_deg(360) - 15) < 1e-12);
  CHECK(std::abs(mask.elevation_deg(355) - 12.5) < 1e-12);
  CHECK(std::abs(mask.elevation_deg(-5) - 12.5) < 1e-12);
  CHECK(std::abs(mask.elevation_deg(55) - 12.5) < 1e-12);
  CHECK(mask.highest_deg() == 20);
}

TEST_CASE("[property] every point is on the line, and a fine look-up equals a plain search") {
  Skyline skyline = ridge_of({});
  for (int i = 0; i < 777; ++i) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(i * 360.0 / 777);
    point.elevation = Elevation::degrees(10 + 9 * std::sin(i * 1.7));
    skyline.points.push_back(point);
  }
  const Mask mask(skyline);
  check_covers_the_turn(mask);
  for (const SkylinePoint& p : skyline.points)
    CHECK(std::abs(mask.elevation_deg(p.azimuth.degrees()) - p.elevation.degrees()) < 1e-9);
  for (double az = 0; az < 360; az += 0.013) {
    const MaskPiece* found = nullptr;
    for (const MaskPiece& p : mask.pieces())
      if (p.from_deg <= az && az < p.to_deg) found = &p;
    CHECK(found == &mask.piece_at(az));
  }
}

TEST_CASE(
    "[property] two points at one azimuth make a vertical step, in whatever order they come") {
  const Mask mask(ridge_of({{170, 30}, {170, 10}, {160, 10}, {175, 30}, {175, 12}, {190, 12}}));
  check_covers_the_turn(mask);
  CHECK(std::abs(mask.elevation_deg(169.999) - 10) < 1e-3);
  CHECK(std::abs(mask.elevation_deg(170) - 30) < 1e-12);
  CHECK(std::abs(mask.elevation_deg(174.999) - 30) < 1e-12);
  CHECK(std::abs(mask.elevation_deg(175) - 12) < 1e-12);
  // Four marks are enough to tell which way a step goes.
  const Mask four(ridge_of({{160, 10}, {170, 30}, {170, 10}, {180, 30}}));
  CHECK(std::abs(four.elevation_deg(169.999) - 10) < 1e-3);
  CHECK(std::abs(four.elevation_deg(175) - 30) < 1e-12);
}

TEST_CASE("[property] a gap wider than the limit is open, and a straight edge is not a gap") {
  Skyline skyline = ridge_of({{0, 5}, {10, 5}, {30, 5}, {40, 5}});
  for (int az = 50; az < 360; az += 10) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(az);
    point.elevation = Elevation::degrees(5);
    skyline.points.push_back(point);
  }
  const Mask mask(skyline);
  REQUIRE(mask.open_stretches().size() == 1);
  CHECK(mask.open_stretches()[0].from_deg == 10);
  CHECK(mask.open_stretches()[0].to_deg == 30);
  CHECK(mask.piece_at(20).open);
  skyline.obstacles[0].edge = Edge::great_circle;
  CHECK(Mask(skyline).open_stretches().empty());
}

TEST_CASE("[property] an open stretch over north is one stretch") {
  const Mask mask(ridge_of({{10, 5}, {20, 5}, {340, 5}}));
  REQUIRE(mask.open_stretches().size() == 2);
  CHECK(mask.open_stretches()[0].from_deg == 20);
  CHECK(mask.open_stretches()[0].to_deg == 340);
  CHECK(mask.open_stretches()[1].from_deg == 340);
  CHECK(mask.open_stretches()[1].to_deg == 10);
  CHECK(mask.open_stretches()[1].width_deg() == 30);
}

// Geometry: a horizontal edge at height h over the eye, at horizontal distance d square to the
// wall, is seen at atan(h cos(x) / d) at the angle x from square.
TEST_CASE("[published] a straight edge is a great circle: elementary projective geometry") {
  const auto wall = [](double x) { return std::atan(4.0 * std::cos(x * kDegree) / 10) / kDegree; };
  Skyline skyline = ridge_of({});
  skyline.obstacles[0].edge = Edge::great_circle;
  for (double x : {-60.0, 45.0}) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(180 + x);
    point.elevation = Elevation::degrees(wall(x));
    skyline.points.push_back(point);
  }
  const Mask mask(skyline);
  for (double x = -60; x < 45; x += 0.7)
    CHECK(std::abs(mask.elevation_deg(180 + x) - wall(x)) < 1e-10);
  CHECK(std::abs(mask.highest_deg() - wall(0)) < 1e-10);
}

TEST_CASE("[property] a layer behind shows where it is higher, and when the front is felled") {
  Skyline skyline = ridge_of({{0, 5}, {10, 5}, {100, 5}, {110, 5}, {130, 5}, {140, 5}, {250, 5}});
  add(skyline, Kind::evergreen, "spruces", 0, {{112, 20}, {128, 20}});
  add(skyline, Kind::ridge, "far ridge", 1, {{110, 12}, {120, 14}, {130, 12}});
  const Mask mask(skyline);
  check_covers_the_turn(mask);
  CHECK(std::abs(mask.elevation_deg(120) - 20) < 1e-12);
  CHECK(mask.piece_at(120).obstacle == 1);
  CHECK(mask.piece_at(110.5).obstacle == 2);  // far ridge over the foot of the trees
  CHECK(mask.piece_at(105).obstacle == 0);
  const int felled[] = {1};
  const Mask after(skyline, felled);
  CHECK(std::abs(after.elevation_deg(120) - 14) < 1e-12);
  CHECK(after.piece_at(120).obstacle == 2);
  check_covers_the_turn(after);
}

TEST_CASE("[property] a pole is as wide as it is and does not pull the line up beside it") {
  Skyline skyline = ridge_of({{0, 10}, {120, 10}, {240, 10}});
  skyline.max_gap_deg = 130;
  add(skyline, Kind::pole, "mast", 0, {{0, 30}});
  skyline.obstacles[1].width_deg = 1.0;
  const Mask mask(skyline);
  check_covers_the_turn(mask);
  CHECK(mask.elevation_deg(0) == 30);
  CHECK(mask.elevation_deg(359.6) == 30);
  CHECK(mask.elevation_deg(0.6) == 10);
  CHECK(mask.elevation_deg(359.4) == 10);
  CHECK(mask.open_stretches().empty());
}

TEST_CASE("[property] leafy trees are in `all` and not in `solid`") {
  Skyline skyline = ridge_of({{0, 5}, {90, 5}, {180, 5}, {270, 5}});
  add(skyline, Kind::leafy, "ash", 0, {{100, 30}, {110, 30}});
  const Masks masks = masks_of(skyline);
  CHECK(masks.has_leafy);
  CHECK(masks.all.elevation_deg(105) == 30);
  CHECK(masks.solid.elevation_deg(105) == 5);
}

TEST_CASE("[common practice] broadleaf trees are in leaf in summer, by hemisphere") {
  const Foliage foliage;
  CHECK(light_through(foliage, 7, false) < light_through(foliage, 1, false));
  CHECK(light_through(foliage, 7, true) > light_through(foliage, 1, true));
}
