// horizon/plot/spot_draws.h: the hours of direct sun at a spot in each drawn world of a plot.
// Units:    metres; hours in the months of the samples
// Frame:    the plot's east, north; eyes above the ground plane of each draw
// Valid:    spots between the two corners given; what was placed as shapes, and ridges
// Accuracy: the ridge is put straight between five by five places: 0.1 h a day at most, mostly 0.002
// Cost:     some 50 microseconds for 40 draws of a few things
#pragma once

#include <memory>

#include "horizon/plot/hours_map.h"

namespace horizon {

// What is given must outlive it.
class SpotDraws {
 public:
  SpotDraws(const PlacedPlot& plot, const RidgeLifts& lifts, const SunSamples& sun,
            double eye_height_m, Eigen::Vector2d low, Eigen::Vector2d high);
  ~SpotDraws();
  std::vector<float> at(double east, double north) const;  // 0 in a draw where a thing stands there
  // Over PlacedShape::ends, the ridge as sighted; without any, or without draws, no less than all.
  float least_at_ends(double east, double north) const;

 private:
  struct Inner;
  std::unique_ptr<Inner> in_;
};

}  // namespace horizon
