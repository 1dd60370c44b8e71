// horizon/photo/turn_align.h: by what rotation does one frame of a film lie on another?
// Units:    radians for rotation vectors, pixels of a grey picture kAlignWidth wide
// Frame:    of a camera: x right, y up, z forward; `rotation` takes a ray of the first frame into
//           the second
// Method:   direct alignment of grey values at the clearest spots, coarse to fine, with the
//           brightness and contrast of the second frame left free; spots that do not fit (near
//           things that shift, clouds, people) are weighed down
// Valid:    overlap of a third or more; a first guess within some 3 degrees
// Accuracy: `sigma_rad` from the spots' own scatter; parallax and rolling shutter come on top
// Errors:   `good` is false where too few spots agree
// Source:   inverse compositional image alignment: Baker & Matthews, Int. J. Computer Vision 56
//           (2004); iteratively reweighted least squares (Huber 1981)
#pragma once

#include <Eigen/Core>
#include <functional>
#include <vector>

#include "horizon/photo/picture_grid.h"

namespace horizon {

inline constexpr int kAlignWidth = 320, kLevels = 3;

struct GreyLevel {
  int width = 0, height = 0;
  std::vector<float> values;  // row after row
  float at(int x, int y) const { return values[static_cast<std::size_t>(y) * width + x]; }
};
struct GreyPyramid {
  std::vector<GreyLevel> levels;  // each half as wide as the one before
};
GreyPyramid grey_pyramid(const Grid& luma);

// A spot of the first frame that an alignment looks at, in pixels of its level from the middle.
struct AlignSpot {
  float x = 0, y = 0, grey = 0, gx = 0, gy = 0, weight = 1, near = 0;
};
struct AlignReference {
  std::vector<std::vector<AlignSpot>> levels;
};
// weight: 0 to 1, 0 leaves the spot out. near: how far below the skyline, radians: what lies lower is
// nearer and shifts more as the camera is carried round.
struct SpotPlace {
  float weight = 1, near = 0;
};
// place_at: of a spot in parts of width and height.
AlignReference align_reference(const GreyPyramid& frame,
                               const std::function<SpotPlace(float, float)>& place_at);

struct Alignment {
  Eigen::Matrix3d rotation = Eigen::Matrix3d::Identity();
  double sigma_rad = 0;
  double misfit = 0;      // grey levels, robust
  double contrast = 0;    // levels a pixel, of the same spots
  double holds = 0;       // of what its drawing promises, how much worse it fits a pixel aside
  double near_shift = 0;  // to the left, over `near`
  int spots = 0;
  bool good = false;
};
// focal_px: at the finest level, 0. coarsest: where to begin; from 1 if the guess is good to half a
// degree.
Alignment aligned(const AlignReference& first, const GreyPyramid& second, double focal_px,
                  const Eigen::Matrix3d& guess, int finest = 0, int coarsest = kLevels - 1);

Eigen::Matrix3d rotation_by(const Eigen::Vector3d& vector);
Eigen::Vector3d vector_of(const Eigen::Matrix3d& rotation);

}  // namespace horizon
