// horizon/terrain/horizon_sweep.h: the horizon seen from every cell of a height grid at once.
// Units:    metres; azimuths in degrees; the horizon as the tangent of its elevation (-inf: nothing
//           in view, NaN: the cell has no height)
// Frame:    azimuths clockwise from the grid's north; heights row by row, the northern row first
// Valid:    grids whose cells are rectangles in metres (a projected system)
// Accuracy: on real relief against the exact ray of horizon/terrain/terrain.h: median 0.01 degree, 99 %
//           below 0.3. Near cells are met where the ray crosses rows and columns; farther ones
//           between two neighbouring lines of sight, half a cell beside at most
// Cost:     some 10 million cells and directions a second and thread, the same at any size
// Source:   the upper convex hull of what lies along a line of sight, kept while walking it (after
//           Stewart, IEEE TVCG 4(1) 1998; Dozier et al., Computers & Geosciences 7 1981); curvature
//           and refraction as in horizon/geodesy.h, by lowering heights by the parabola along the line
#pragma once

#include <functional>
#include <limits>
#include <span>
#include <vector>

#include "horizon/geodesy.h"

namespace horizon {

struct MetricGrid {
  int columns = 0, rows = 0;
  double column_m = 30, row_m = 30;  // between the middles of neighbouring cells
  std::vector<float> heights_m;      // NaN = no height
  size_t index(int column, int row) const {
    return static_cast<size_t>(row) * static_cast<size_t>(columns) + static_cast<size_t>(column);
  }
};

struct SweepOptions {
  double eye_height_m = 1.6;
  double from_m = 0;  // nearer ground does not count
  double reach_m = std::numeric_limits<double>::infinity();
  double refraction_k = kTerrestrialRefraction;
  int threads = 2;
};

// Called with each azimuth, in an order that suits the work, and the tangents of all cells as
// heights_m lies; they are gone after the call. False stops the sweep.
using EachDirection = std::function<bool(double azimuth_deg, std::span<const float> tangents)>;
// Returns false where it was stopped. At least 2 by 2 cells.
bool horizon_sweep(const MetricGrid& grid, std::span<const double> azimuths_deg,
                   const SweepOptions& options, const EachDirection& each);

}  // namespace horizon
