// horizon/fast_math.h: sine, cosine and direction, several times faster than the standard library.
// Units:    turns in (1 turn = 360 degrees), degrees out
// Valid:    sin_cos_turns: up to 1e6 turns either way; atan2_degrees: any finite pair, 0 at (0, 0)
// Accuracy: 1e-14 for sine and cosine of one turn; 5e-11 degree for the direction
// Source:   Taylor series to the 15th order over an eighth of a turn; atan(z)/z by a polynomial of
//           degree 7 in z^2 through Chebyshev points of [0, tan^2(22.5 degrees)]
#pragma once

#include <bit>
#include <cmath>
#include <cstdint>
#include <numbers>

namespace horizon {

// 1.5 * 2^52: adding it rounds to whole numbers, taking it away again leaves them.
inline constexpr double kToWhole = 6755399441055744.0;

struct SinCos {
  double sin, cos;
};

inline SinCos sin_cos_turns(double turns) {
  const double shifted = turns * 4 + kToWhole, quarter = shifted - kToWhole;
  const double x = (turns - quarter / 4) * (2 * std::numbers::pi), x2 = x * x, x4 = x2 * x2;
  const double low_s = 1 - x2 / 6 + x4 * (1.0 / 120 - x2 / 5040);
  const double high_s = 1.0 / 362880 - x2 / 39916800 + x4 * (1.0 / 6227020800 - x2 / 1307674368000);
  const double low_c = 1 - x2 / 2 + x4 * (1.0 / 24 - x2 / 720);
  const double high_c = 1.0 / 40320 - x2 / 3628800 + x4 * (1.0 / 479001600 - x2 / 87178291200);
  const double s = x * (low_s + x4 * x4 * high_s), c = low_c + x4 * x4 * high_c;
  const auto which = std::bit_cast<std::uint64_t>(shifted);  // its last two bits: the quarter
  const double a = which & 1 ? c : s, b = which & 1 ? s : c;
  return {which & 2 ? -a : a, (which + 1) & 2 ? -b : b};
}

// From the x axis towards the y axis, -180 to 180.
inline double atan2_degrees(double y, double x) {
  const double ax = std::abs(x), ay = std::abs(y);
  const bool steep = ay > ax;
  const double low = steep ? ax : ay, high = steep ? ay : ax;
  // Past 22.5 degrees, measured back from 45.
  const bool far = low > 0.41421356237309503 * high;
  const double z = (far ? low - high : low) / ((far ? low + high : high) + 1e-300);
  const double w = z * z, w2 = w * w;
  const double p = (0.99999999999924449 - 0.33333333276916066 * w) +
                   w2 * (0.19999993053110954 - 0.14285386540040962 * w) +
                   w2 * w2 *
                       ((0.11103456693779999 - 0.089925511211191647 * w) +
                        w2 * (0.069741902318458546 - 0.037654982631026769 * w));
  double angle = z * p * (180.0 / std::numbers::pi) + (far ? 45.0 : 0.0);
  if (steep) angle = 90.0 - angle;
  if (x < 0) angle = 180.0 - angle;
  return std::copysign(angle, y);
}

}  // namespace horizon
