// horizon/skyline/ridge_lines.h: random lines of a far ridge round the compass, through marks with errors.
// Units:    degrees
// Frame:    true azimuths
// Valid:    marks in order of azimuth, up to about a thousand
// Method:   a Gaussian process: a level, the shape of a valley, and a rougher line over it. Level,
//           size, width and roughness are weighed by how well they explain the marks and how
//           likely they keep the bounds; each weighs in with its share of the draws. Within bounds
//           lines are drawn one bound after the other, and picked by their weights
// Accuracy: counted on relief that this knows nothing of, docs/uncertainty.md
// Source:   kriging and conditional simulation: Journel & Huijbregts, Mining Geostatistics (1978);
//           powered exponential over the chord; draws by the spectrum on the circle; bounds by the
//           simulator of Geweke, Hajivassiliou & Keane (Hajivassiliou, McFadden & Ruud, Journal of
//           Econometrics 72 (1996) 85) with resampling; Robert, Statistics and Computing 5 (1995) 121
#pragma once

#include <array>
#include <cmath>
#include <cstdint>
#include <random>
#include <span>
#include <vector>

#include "horizon/angle.h"

namespace horizon {

// Normal deviates, the same on every system (the standard library's are not).
class Gauss {
 public:
  explicit Gauss(std::uint32_t seed) : bits_(seed) {}
  double next();
  double even();  // above 0, up to 1

 private:
  std::mt19937_64 bits_;
  double kept_ = 0;
  bool has_kept_ = false;
};

struct RidgeMark {
  double azimuth_deg = 0, elevation_deg = 0, sigma_deg = 0;
  int tree = -1;  // a row of trees before the ridge, by any number; it stands anywhere over it
};

// Nothing was measured here but that the line lies below one, above the other; below > above.
struct RidgeBound {
  double azimuth_deg = 0, below_deg = 89, above_deg = -30;
};

inline constexpr int kRidgeSteps = 720;  // half a degree
inline constexpr double kRidgeStep_deg = 360.0 / kRidgeSteps;
using RidgeLine = std::array<float, kRidgeSteps>;  // elevations

// Straight between the steps.
template <class Line>
double line_at(const Line& line, double azimuth_deg) {
  const double x = wrap_360(azimuth_deg) / kRidgeStep_deg;
  const int i = static_cast<int>(x) % kRidgeSteps;
  const double t = x - std::floor(x);
  return (1 - t) * line[i] + t * line[(i + 1) % kRidgeSteps];
}

std::vector<RidgeLine> ridge_lines(std::span<const RidgeMark> marks,
                                   std::span<const RidgeBound> bounds, int draws, Gauss& gauss);

}  // namespace horizon
