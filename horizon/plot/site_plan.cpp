#include "horizon/plot/site_plan.h"

#include <array>
#include <cmath>

namespace horizon {

std::string_view name_of(PlanLineKind kind) {
  constexpr std::array<std::string_view, kPlanLineKindCount> kNames = {
      "boundary", "setback", "access", "watercourse", "service", "building", "other"};
  return kNames[static_cast<std::size_t>(kind)];
}

std::string_view name_of(PlanChoice choice) {
  constexpr std::array<std::string_view, 5> kNames = {"most_sun", "least_digging", "nearest",
                                                      "next_sun", "chosen"};
  return kNames[static_cast<std::size_t>(choice)];
}

Eigen::Vector2d SitePlan::on_grid(const Eigen::Vector2d& spot) const {
  if (!grid) return spot;
  // A true direction's bearing from grid north is smaller by the convergence.
  const double c = std::cos(grid->convergence_deg * kDegree) * grid->scale,
               s = std::sin(grid->convergence_deg * kDegree) * grid->scale;
  return {grid->easting + c * spot.x() - s * spot.y(),
          grid->northing + s * spot.x() + c * spot.y()};
}

std::vector<Eigen::Vector2d> set_back(const std::vector<Eigen::Vector2d>& corners, double by_m) {
  const std::size_t n = corners.size();
  if (n < 3 || by_m <= 0) return {};
  const auto cross = [](const Eigen::Vector2d& a, const Eigen::Vector2d& b) {
    return a.x() * b.y() - a.y() * b.x();
  };
  double doubled = 0;
  for (std::size_t i = 0; i < n; ++i) doubled += cross(corners[i], corners[(i + 1) % n]);
  const double side = doubled > 0 ? 1 : -1;  // inside is on the left of an anticlockwise line
  std::vector<Eigen::Vector2d> out;
  for (std::size_t i = 0; i < n; ++i) {
    const Eigen::Vector2d before = (corners[i] - corners[(i + n - 1) % n]).normalized(),
                          after = (corners[(i + 1) % n] - corners[i]).normalized();
    if (!before.allFinite() || !after.allFinite()) continue;
    const Eigen::Vector2d inward = side * Eigen::Vector2d(-before.y(), before.x()),
                          inward_after = side * Eigen::Vector2d(-after.y(), after.x());
    const double turn = 1 + inward.dot(inward_after);
    if (turn < 0.05) continue;  // a spike
    out.push_back(corners[i] + by_m / turn * (inward + inward_after));
  }
  double left = 0;
  for (std::size_t i = 0; i < out.size(); ++i) left += cross(out[i], out[(i + 1) % out.size()]);
  // Turned inside out: nothing is left.
  if (out.size() < 3 || left * side <= 0 || std::abs(left) >= std::abs(doubled)) return {};
  for (std::size_t i = 0; i < out.size(); ++i) {
    const Eigen::Vector2d edge = out[(i + 1) % out.size()] - out[i];
    const Eigen::Vector2d old = corners[(i + 1) % n] - corners[i];
    if (out.size() == n && edge.dot(old) < 0) return {};
  }
  return out;
}

}  // namespace horizon
