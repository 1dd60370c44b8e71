// horizon/plot/levels.h: how does the ground lie between points whose height is known?
// Units:    metres, degrees
// Frame:    east, north, up of the plot
// Valid:    3 to 80 points that span an area; nothing is said outside their hull
// Accuracy: exact for a plane through the points; between points the ground may do what it likes
// Source:   Delaunay, Sur la sphere vide (1934): no point lies inside a triangle's circle
#pragma once

#include <Eigen/Core>
#include <array>
#include <optional>
#include <vector>

#include "horizon/plot/site_plan.h"

namespace horizon {

class Levels {
 public:
  explicit Levels(std::vector<Eigen::Vector3d> points);  // more than 80: the first 80

  bool known() const { return !triangles_.empty(); }
  const std::vector<std::array<int, 3>>& triangles() const { return triangles_; }  // anticlockwise
  const std::vector<Eigen::Vector3d>& points() const { return points_; }
  std::optional<double> up_at(const Eigen::Vector2d& spot) const;
  // Least squares plane through all points; nothing without an area.
  struct Plane {
    double slope_deg = 0, downhill_true_deg = 0;
  };
  std::optional<Plane> plane() const;
  std::vector<PlanContour> contours(double step_m) const;

 private:
  std::vector<Eigen::Vector3d> points_;
  std::vector<std::array<int, 3>> triangles_;
};

}  // namespace horizon
