// Setback, levels and shadows against figures that are worked out by hand in the test.
#include "horizon/plot/site_plan.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "horizon/plot/levels.h"
#include "horizon/plot/shadow.h"
#include "tests/near.h"

using namespace horizon;
using Eigen::Vector2d;

namespace {

double area(const std::vector<Vector2d>& p) {
  double sum = 0;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const auto& a = p[i];
    const auto& b = p[(i + 1) % p.size()];
    sum += (a.x() * b.y() - a.y() * b.x()) / 2;
  }
  return sum;
}

}  // namespace

TEST_CASE(
    "[property] the setback of a rectangle is the rectangle less twice the setback each way") {
  for (const bool clockwise : {false, true}) {
    std::vector<Vector2d> corners = {{0, 0}, {30, 0}, {30, 20}, {0, 20}};
    if (clockwise) std::reverse(corners.begin(), corners.end());
    const auto inner = set_back(corners, 3);
    REQUIRE(inner.size() == 4);
    CHECK(std::abs(std::abs(area(inner)) - 24 * 14) < 1e-9);
    CHECK(set_back(corners, 10).empty());  // nothing is left
    CHECK(set_back(corners, 15).empty());
  }
  CHECK(set_back({{0, 0}, {1, 0}}, 1).empty());
}

TEST_CASE("[property] levels on a plane give its fall, its way down and straight contours") {
  // 3 m fall in 40 m towards the south-east, as (east - north) / sqrt 2.
  const double fall = 3.0 / 40;
  std::mt19937 random(3);
  std::uniform_real_distribution<double> spot(-30, 30);
  std::vector<Eigen::Vector3d> points;
  for (int i = 0; i < 25; ++i) {
    const double e = spot(random), n = spot(random);
    points.emplace_back(e, n, -fall * (e - n) / std::sqrt(2.0));
  }
  const Levels levels(points);
  REQUIRE(levels.known());
  const auto plane = levels.plane();
  REQUIRE(plane);
  CHECK(std::abs(plane->slope_deg - std::atan(fall) / kDegree) < 1e-9);
  CHECK(std::abs(plane->downhill_true_deg - 135) < 1e-9);
  REQUIRE(levels.up_at({1, 2}));
  CHECK(std::abs(*levels.up_at({1, 2}) - fall / std::sqrt(2.0)) < 1e-9);
  CHECK_FALSE(levels.up_at({300, 0}));  // outside: not known
  for (const auto& contour : levels.contours(0.5))
    for (const auto& p : contour.line)
      CHECK(std::abs(-fall * (p.x() - p.y()) / std::sqrt(2.0) - contour.up_m) < 1e-6);
  // Delaunay: no point inside a triangle's circle; and the triangles fill the hull.
  std::vector<Vector2d> flat;
  for (const auto& p : points) flat.push_back(p.head<2>());
  double filled = 0;
  for (const auto& t : levels.triangles())
    filled += area({flat[static_cast<std::size_t>(t[0])], flat[static_cast<std::size_t>(t[1])],
                    flat[static_cast<std::size_t>(t[2])]});
  CHECK(std::abs(filled - std::abs(area(convex_hull(flat)))) < 1e-6);
  CHECK_FALSE(Levels({{0, 0, 0}, {1, 1, 0}, {2, 2, 0}}).known());  // on a line
}

TEST_CASE("[property] a square grid of levels is filled once, though four lie on each circle") {
  std::vector<Eigen::Vector3d> points;
  for (int e = 0; e < 4; ++e)
    for (int n = 0; n < 4; ++n) points.emplace_back(e * 10, n * 10, e);
  const Levels levels(points);
  CHECK(levels.triangles().size() == 18);
  CHECK(std::abs(*levels.up_at({15, 12}) - 1.5) < 1e-9);
}

TEST_CASE("[property] a pole's shadow is as long as the pole over the tangent of the sun") {
  PlanObstacle pole;
  pole.kind = Kind::pole;
  pole.placing = Placing::placed;
  pole.tops = {{5, 0, 8.0, {}, {}}, {5.1, 0, 8.0, {}, {}}};
  pole.height_m = 8;
  const GroundPlane level;
  const auto cast = shadows_of(pole, level, TrueAzimuth::degrees(180), Elevation::degrees(30));
  REQUIRE(cast.size() == 1);
  double furthest = 0;
  for (const auto& p : cast.front()) furthest = std::max(furthest, p.y());
  CHECK(std::abs(furthest - 8 / std::tan(30 * kDegree)) < 1e-9);  // due north of it
  // On ground that rises to the north by a tenth: 8 = l (tan 30 + 0.1).
  const GroundPlane rising{0, 0, 0.1};
  furthest = 0;
  const auto uphill =
      shadows_of(pole, rising, TrueAzimuth::degrees(180), Elevation::degrees(30)).front();
  for (const auto& p : uphill) furthest = std::max(furthest, p.y());
  CHECK(std::abs(furthest - 8 / (std::tan(30 * kDegree) + 0.1)) < 1e-9);
  // No shadow without sun; none of what stands nobody knows where.
  CHECK(shadows_of(pole, level, TrueAzimuth::degrees(180), Elevation::degrees(-1)).empty());
  pole.placing = Placing::direction;
  CHECK(shadows_of(pole, level, TrueAzimuth::degrees(180), Elevation::degrees(30)).empty());
}

TEST_CASE("[property] a spruce's shadow ends at its top's, a ball of leaves casts an ellipse") {
  PlanObstacle tree;
  tree.placing = Placing::placed;
  tree.tops = {{0, 0, 20.0, {}, {}}};
  tree.height_m = 20;
  tree.radius_m = 3;
  const GroundPlane level;
  const auto reach = [&](Kind kind) {
    tree.kind = kind;
    double furthest = 0;
    const auto outline =
        shadows_of(tree, level, TrueAzimuth::degrees(225), Elevation::degrees(45)).front();
    for (const auto& p : outline) furthest = std::max(furthest, (p.x() + p.y()) / std::sqrt(2.0));
    return furthest;
  };
  CHECK(std::abs(reach(Kind::evergreen) - 20) < 1e-9);
  // The ball's middle is 17 m up; its outline reaches radius / sin 45 beyond the middle's shadow.
  CHECK(std::abs(reach(Kind::leafy) - (17 + 3 / std::sin(45 * kDegree))) < 0.03);
}
