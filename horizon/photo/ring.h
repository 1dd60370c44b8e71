// horizon/photo/ring.h: overlapping photographs joined into a full turn.
// Units:    degrees
// Frame:    true azimuths, clockwise positive turns
// Method:   neighbours are turned until their skylines agree where they overlap; then all bearings
// are
//           adjusted by weighted least squares so that the turns add up to 360 degrees and the
//           photographs with marks of their own keep near them
// Errors:   too little overlap, a skyline too flat to match, a ring that does not close within its
//           own errors: each named with the photograph
// Source:   adjustment of a closed traverse, any surveying handbook (Ghilani, Adjustment
// Computations)
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "horizon/photo/camera.h"
#include "horizon/result.h"

namespace horizon {

struct Turn {
  double clockwise_deg = 0;  // turn the second skyline by this to lay it on the first
  double lift_deg = 0;       // and raise it by this
  double sigma_deg = 0;      // of the turn
  double overlap_deg = 0;
  double spread_deg = 0;  // of the elevations that remain, standard deviation
};

// Both skylines from left to right, each in the azimuths of its own photograph's first guess.
// reach_deg: how wrong the guesses may be.
Result<Turn> turn_between(std::span<const Direction> first, std::span<const Direction> second,
                          double reach_deg = 15);

struct RingPhoto {
  double bearing_deg = 0;           // first guess, true azimuth of the axis
  std::optional<double> sigma_deg;  // where its own marks fix it; nothing for a guess only
};
struct RingStep {
  int from = 0, to = 1;      // photographs
  double clockwise_deg = 0;  // from the one axis to the other
  double sigma_deg = 0.1;
};
struct Ring {
  std::vector<double> bearing_deg, sigma_deg;
  double misclosure_deg = 0;  // of the steps round the turn before adjustment; 0 if none closes
};
// The steps that lead round once must lie the same way (clockwise) and may be in any order.
Result<Ring> closed_ring(std::span<const RingPhoto> photos, std::span<const RingStep> steps);

}  // namespace horizon
