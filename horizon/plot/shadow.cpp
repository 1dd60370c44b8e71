#include "horizon/plot/shadow.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace horizon {

using Eigen::Vector2d;

// Andrew, Another efficient algorithm for convex hulls in two dimensions (1979).
std::vector<Vector2d> convex_hull(std::vector<Vector2d> points) {
  std::sort(points.begin(), points.end(), [](const Vector2d& a, const Vector2d& b) {
    return a.x() < b.x() || (a.x() == b.x() && a.y() < b.y());
  });
  if (points.size() < 3) return points;
  std::vector<Vector2d> hull;
  for (int half = 0; half < 2; ++half) {
    const std::size_t base = hull.size();
    for (const auto& p : points) {
      while (hull.size() >= base + 2) {
        const Vector2d a = hull[hull.size() - 2], u = hull.back() - a, v = p - a;
        if (u.x() * v.y() - u.y() * v.x() > 0) break;
        hull.pop_back();
      }
      hull.push_back(p);
    }
    hull.pop_back();
    std::reverse(points.begin(), points.end());
  }
  return hull;
}

std::vector<std::vector<Vector2d>> shadows_of(const PlanObstacle& thing, const GroundPlane& ground,
                                              TrueAzimuth sun_azimuth, Elevation sun_elevation) {
  std::vector<std::vector<Vector2d>> out;
  if (thing.placing == Placing::direction || thing.tops.empty()) return out;
  const double az = sun_azimuth.radians(), el = sun_elevation.radians();
  const Vector2d away(-std::sin(az), -std::cos(az));
  // Metres down for a metre along, against the ground's own fall that way.
  const double drop = std::tan(el) + ground.rise_east * away.x() + ground.rise_north * away.y();
  if (sun_elevation.degrees() <= 0 || drop <= 0.01) return out;
  const auto cast = [&](double east, double north, double up) -> Vector2d {
    const double above = std::max(0.0, up - ground.up_at(east, north));
    return Vector2d(east, north) + above / drop * away;
  };
  const auto up_of = [&](const PlanPoint& p) {
    return p.up_m.value_or(ground.up_at(p.east_m, p.north_m) + thing.height_m);
  };
  if (thing.radius_m) {
    const PlanPoint& top = thing.tops.front();
    const double radius = *thing.radius_m, up = up_of(top);
    std::vector<Vector2d> points{cast(top.east_m, top.north_m, up)};
    const bool cone = thing.kind == Kind::evergreen;
    constexpr int kRound = 32;
    if (cone) {
      for (int i = 0; i < kRound; ++i) {
        const double t = 2 * std::numbers::pi * i / kRound;
        points.push_back(top.flat() + radius * Vector2d(std::cos(t), std::sin(t)));
      }
    } else {
      // The ball's outline against the sun: its circle square to the ray.
      points.clear();
      points.push_back(top.flat());
      const double middle = up - radius;
      const Vector2d across(-away.y(), away.x());
      for (int i = 0; i < kRound; ++i) {
        const double t = 2 * std::numbers::pi * i / kRound;
        const Vector2d flat =
            top.flat() + radius * std::cos(t) * across + radius * std::sin(t) * std::sin(el) * away;
        points.push_back(cast(flat.x(), flat.y(), middle + radius * std::sin(t) * std::cos(el)));
      }
    }
    out.push_back(convex_hull(std::move(points)));
    return out;
  }
  for (std::size_t i = 0; i + 1 < std::max<std::size_t>(2, thing.tops.size()); ++i) {
    const PlanPoint& a = thing.tops[i];
    const PlanPoint& b = thing.tops[std::min(i + 1, thing.tops.size() - 1)];
    auto hull = convex_hull({a.flat(), b.flat(), cast(a.east_m, a.north_m, up_of(a)),
                             cast(b.east_m, b.north_m, up_of(b))});
    if (hull.size() > 2) out.push_back(std::move(hull));
  }
  return out;
}

}  // namespace horizon
