#include "horizon/sun/disc.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace horizon {
namespace {

// The unit circle's area above the line y = y0 + slope (x - x0), over [from, to] within [-1, 1].
double area_above(double x0, double y0, double slope, double from, double to) {
  // Where the line meets the circle.
  const double c = y0 - slope * x0, a = 1 + slope * slope;
  const double inner = slope * slope * c * c - a * (c * c - 1);
  double cuts[4] = {from, from, to, to};
  if (inner > 0) {
    const double root = std::sqrt(inner);
    cuts[1] = std::clamp((-slope * c - root) / a, from, to);
    cuts[2] = std::clamp((-slope * c + root) / a, from, to);
  }
  const auto half_circle = [](double x) {  // the integral of sqrt(1 - x^2)
    const double within = std::clamp(x, -1.0, 1.0);
    return 0.5 * (within * std::sqrt(1 - within * within) + std::asin(within));
  };
  double area = 0;
  for (int i = 0; i < 3; ++i) {
    const double left = cuts[i], right = cuts[i + 1], middle = (left + right) / 2;
    if (right <= left) continue;
    const double line = slope * middle + c, top = std::sqrt(std::max(0.0, 1 - middle * middle));
    const double arc = half_circle(right) - half_circle(left);
    if (line <= -top)
      area += 2 * arc;
    else if (line < top)
      area += arc - (line * (right - left));
  }
  return area;
}

}  // namespace

double disc_fraction_above(const Mask& mask, double azimuth_deg, double elevation_deg,
                           double semidiameter_deg) {
  if (elevation_deg - semidiameter_deg > mask.highest_deg()) return 1;
  const double squeeze = std::cos(elevation_deg * kDegree);
  const double half_width = semidiameter_deg / std::max(squeeze, 1e-6);
  if (half_width >= 180)  // the disc holds the zenith
    return elevation_deg > mask.elevation_deg(azimuth_deg) ? 1 : 0;

  double area = 0;
  const double start = azimuth_deg - half_width, end = azimuth_deg + half_width;
  double at = start;
  double turn = 360 * std::floor(start / 360);
  int i = mask.piece_index_at(start);
  const auto pieces = mask.pieces();
  while (at < end) {
    const MaskPiece& piece = pieces[i];
    const double to = std::min(end, piece.to_deg + turn);
    // A great circle is taken straight over a tenth of the disc's width.
    const int parts = piece.edge == Edge::great_circle ? 10 : 1;
    for (int k = 0; k < parts; ++k) {
      const double left = at + (to - at) * k / parts, right = at + (to - at) * (k + 1) / parts;
      if (right <= left) continue;
      const double x0 = (left - azimuth_deg) / half_width;
      const double x1 = (right - azimuth_deg) / half_width;
      const double y0 = (piece.elevation_deg(left - turn) - elevation_deg) / semidiameter_deg;
      const double y1 = (piece.elevation_deg(right - turn) - elevation_deg) / semidiameter_deg;
      area += area_above(x0, y0, (y1 - y0) / (x1 - x0), std::max(x0, -1.0), std::min(x1, 1.0));
    }
    at = std::max(at, to);
    if (++i == static_cast<int>(pieces.size())) {
      i = 0;
      turn += 360;
    }
  }
  return std::clamp(area / std::numbers::pi, 0.0, 1.0);
}

}  // namespace horizon
