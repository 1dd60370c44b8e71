#include "horizon/plot/shape.h"

#include <algorithm>
#include <cmath>

namespace horizon {

std::string_view name_of(ShapeForm form) {
  constexpr std::string_view names[] = {"round", "row", "flat", "gable", "wall"};
  return names[static_cast<int>(form)];
}

bool Shape::covers(double east_m, double north_m) const {
  const Eigen::Vector2d off = Eigen::Vector2d(east_m, north_m) - middle;
  if (form == ShapeForm::round) return off.norm() <= length_m / 2;
  const Eigen::Vector2d along(std::sin(turn_rad), std::cos(turn_rad));
  const Eigen::Vector2d across(along.y(), -along.x());
  return std::abs(off.dot(along)) <= length_m / 2 && std::abs(off.dot(across)) <= width_m / 2;
}

ShapeCorners corners_of(const Shape& shape) {
  const Eigen::Vector2d along =
      Eigen::Vector2d(std::sin(shape.turn_rad), std::cos(shape.turn_rad)) * shape.length_m / 2;
  const Eigen::Vector2d across =
      Eigen::Vector2d(std::cos(shape.turn_rad), -std::sin(shape.turn_rad)) * shape.width_m / 2;
  ShapeCorners out;
  // The tops of a row of trees stand over its axis.
  const bool gable = shape.form == ShapeForm::gable || shape.form == ShapeForm::row;
  const double eave = gable ? shape.eave_up_m : shape.top_up_m;
  constexpr int kSigns[4][2] = {{-1, -1}, {1, -1}, {1, 1}, {-1, 1}};
  for (const auto& sign : kSigns) {
    const Eigen::Vector2d p = shape.middle + sign[0] * along + sign[1] * across;
    out.at[static_cast<size_t>(out.count++)] = {p.x(), p.y(), eave};
  }
  if (!gable) {
    out.edges = {{{0, 1}, {1, 2}, {2, 3}, {3, 0}}};
    out.edge_count = 4;
    return out;
  }
  for (const int sign : {-1, 1}) {
    const Eigen::Vector2d p = shape.middle + sign * along;
    out.at[static_cast<size_t>(out.count++)] = {p.x(), p.y(), shape.top_up_m};
  }
  out.edges = {{{0, 1}, {2, 3}, {0, 4}, {3, 4}, {1, 5}, {2, 5}, {4, 5}}};
  out.edge_count = 7;
  return out;
}

CrownSeen crown_seen(const Shape& shape, const Enu& eye) {
  const Eigen::Vector2d off = shape.middle - eye.head<2>();
  const double away = std::max(0.01, off.norm()), radius = shape.length_m / 2;
  CrownSeen seen;
  seen.azimuth_rad = std::atan2(off.x(), off.y());
  seen.half_width_rad = std::asin(std::min(0.999, radius / away));
  seen.top_tan = (shape.top_up_m - eye.z()) / away;
  seen.wide_tan = (shape.top_up_m - radius - eye.z()) / away;
  return seen;
}

}  // namespace horizon
