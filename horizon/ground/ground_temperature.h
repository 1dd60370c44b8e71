// horizon/ground/ground_temperature.h: how warm the ground is at a depth through the year.
// Units:    degrees Celsius, m, m2/s; days of the year, 1 to 366
// Valid:    undisturbed, even ground without frost or moving water; snow and freezing make the
//           real winter wave smaller, so the answer errs on the cold side
// Accuracy: 1 to 2 degrees where the surface's wave is known; under a snow cover the year's mean is
//           1 to 3 degrees warmer than the air's
// Source:   conduction into a half space below a surface with one yearly sine wave
#pragma once

#include "horizon/ground/frost.h"

namespace horizon {

struct TemperatureWave {
  double mean_c = 0;
  double amplitude_c = 0;   // half of the swing
  double coldest_day = 15;  // of the year, at the surface
};
// The first harmonic through the months' middles.
TemperatureWave wave_of(const MonthlyMeans& means);

inline constexpr double kSoilDiffusivity_m2_s = 0.6e-6;  // moist mineral soil: 0.4 to 1.0e-6
// Of a wave with this period: the yearly one, or 1 day.
double damping_depth_m(double diffusivity_m2_s, double period_d = 365.25);
double ground_temperature_c(const TemperatureWave& surface, double depth_m, double day,
                            double diffusivity_m2_s = kSoilDiffusivity_m2_s);
double lag_d(double depth_m, double diffusivity_m2_s = kSoilDiffusivity_m2_s);

}  // namespace horizon
