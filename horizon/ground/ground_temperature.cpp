#include "horizon/ground/ground_temperature.h"

#include <cmath>
#include <numbers>

namespace horizon {
namespace {
constexpr double kTurn = 2 * std::numbers::pi;
constexpr double kYear_d = 365;
constexpr std::array<double, 12> kMiddle = {16,  45.5, 75,    105.5, 136,   166.5,
                                            197, 228,  258.5, 289,   319.5, 350};
}  // namespace

TemperatureWave wave_of(const MonthlyMeans& means) {
  double mean = 0, c = 0, s = 0;
  for (int m = 0; m < 12; ++m) {
    mean += means[m] / 12;
    c += means[m] * std::cos(kTurn * kMiddle[m] / kYear_d) / 6;
    s += means[m] * std::sin(kTurn * kMiddle[m] / kYear_d) / 6;
  }
  double coldest = std::atan2(-s, -c) / kTurn * kYear_d;
  if (coldest < 0) coldest += kYear_d;
  return {mean, std::hypot(c, s), coldest};
}

double damping_depth_m(double diffusivity_m2_s, double period_d) {
  return std::sqrt(2 * diffusivity_m2_s / (kTurn / (period_d * 86400)));
}

double ground_temperature_c(const TemperatureWave& surface, double depth_m, double day,
                            double diffusivity_m2_s) {
  const double z = depth_m / damping_depth_m(diffusivity_m2_s, kYear_d);
  return surface.mean_c - surface.amplitude_c * std::exp(-z) *
                              std::cos(kTurn * (day - surface.coldest_day) / kYear_d - z);
}

double lag_d(double depth_m, double diffusivity_m2_s) {
  return depth_m / damping_depth_m(diffusivity_m2_s, kYear_d) * kYear_d / kTurn;
}

}  // namespace horizon
