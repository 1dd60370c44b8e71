// horizon/plot/shape.h: what a thing that stands near looks like from a spot, by its shape.
// Units:    metres, degrees; tangents of elevations where the name says so
// Frame:    the plot's east, north, up; azimuths clockwise from north
// Valid:    eyes outside the thing; it reaches down to the ground and hides all that is behind
// Accuracy: exact for the shape; what a true crown or roof has besides is part of the fit's errors
// Source:   plane geometry; a straight edge in space is a great circle from any spot
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

#include "horizon/plot/plot.h"

namespace horizon {

struct Shape {
  ShapeForm form = ShapeForm::round;
  Eigen::Vector2d middle = Eigen::Vector2d::Zero();
  double turn_rad = 0;                 // azimuth of its long side
  double length_m = 1, width_m = 1;    // a round thing's are both its diameter
  double top_up_m = 0, eave_up_m = 0;  // a gable's ridge and eaves; else the same

  bool covers(double east_m, double north_m) const;  // its footprint
};
std::string_view name_of(ShapeForm form);  // "round", "row", "flat", "gable", "wall"

// An upper edge between two corners; of a round thing its one "edge" is the crown.
struct ShapeCorners {
  std::array<Enu, 6> at;  // the eaves' corners in turn, then a gable's ridge ends
  int count = 0;
  std::array<std::array<int, 2>, 7> edges;
  int edge_count = 0;
};
ShapeCorners corners_of(const Shape& shape);  // not of a round one

// A round crown from an eye: its widest part lies one radius below its top and hides what is below.
struct CrownSeen {
  double azimuth_rad = 0, half_width_rad = 0;
  double top_tan = 0, wide_tan = 0;
};
CrownSeen crown_seen(const Shape& shape, const Enu& eye);

}  // namespace horizon
