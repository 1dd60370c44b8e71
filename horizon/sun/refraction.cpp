#include "horizon/sun/refraction.h"

#include <algorithm>
#include <cmath>

#include "horizon/angle.h"
#include "horizon/fast_math.h"

namespace horizon {
namespace {

// Where d(h + 10.3 / (h + 5.11)) / dh = 0: further down the formula falls again and then breaks.
const double kLowest_deg = std::sqrt(10.3) - 5.11;

double scale_of(const Air& air) {
  return air.pressure_hpa / 1010.0 * 283.0 / (273.0 + air.temperature_c);
}

SinCos formula_angle(double h) { return sin_cos_turns((h + 10.3 / (h + 5.11)) / 360); }

double formula_deg(double h) {
  const SinCos angle = formula_angle(h);
  return 1.02 / 60.0 * angle.cos / angle.sin;
}

const double kLargest_deg = formula_deg(kLowest_deg);

}  // namespace

double standard_temperature_c(double height_m) { return 15.0 - 0.0065 * height_m; }

double standard_pressure_hpa(double height_m) {
  return 1013.25 * std::pow(1.0 - 0.0065 * height_m / 288.15, 5.255876);
}

Air standard_air(double height_m) {
  return {standard_pressure_hpa(height_m), standard_temperature_c(height_m)};
}

double refraction_deg(double h, const Air& air) {
  if (h < kLowest_deg)
    return scale_of(air) * kLargest_deg * std::max(0.0, (h + 90.0) / (kLowest_deg + 90.0));
  return scale_of(air) * std::max(0.0, formula_deg(h));
}

double refraction_slope(double h, const Air& air) {
  if (h < kLowest_deg) return scale_of(air) * kLargest_deg / (kLowest_deg + 90.0);
  const double sine = formula_angle(h).sin;
  const double inner = 1.0 - 10.3 / ((h + 5.11) * (h + 5.11));
  return -scale_of(air) * 1.02 / 60.0 * kDegree * inner / (sine * sine);
}

double apparent_elevation_deg(double h, const Air& air) { return h + refraction_deg(h, air); }

double true_elevation_deg(double apparent_deg, const Air& air) {
  double h = apparent_deg - refraction_deg(apparent_deg, air);
  for (int i = 0; i < 20; ++i) {
    const double miss = apparent_elevation_deg(h, air) - apparent_deg;
    h -= miss / (1.0 + refraction_slope(h, air));
    if (std::abs(miss) < 1e-12) break;
  }
  return h;
}

}  // namespace horizon
