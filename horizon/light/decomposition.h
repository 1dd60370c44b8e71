// horizon/light/decomposition.h: how much of the global radiation is diffuse, and how a day's sum
// spreads over its hours.
// Units:    degrees, W/m2; fractions 0 to 1
// Accuracy: of the correlations: hourly diffuse fraction about 0.1, monthly 0.05
// Source:   Erbs, Klein & Duffie 1982; Collares-Pereira & Rabl 1979; Liu & Jordan 1960, all as in
//           Duffie & Beckman, ch. 2
#pragma once

#include "horizon/light/clear_sky.h"

namespace horizon {

double erbs_hourly_diffuse_fraction(double clearness);
// The beam is what is left, over cos(zenith), which is held at 0.065 or more; at 87 degrees from
// the zenith and beyond it is 0.
Irradiance erbs_split(double global_horizontal_wm2, double zenith_deg,
                      double extraterrestrial_normal_wm2);
double erbs_daily_diffuse_fraction(double clearness, double sunset_hour_angle_deg);
double erbs_monthly_diffuse_fraction(double clearness, double sunset_hour_angle_deg);

// Hour's share of the day's global (rt) and diffuse (rd) radiation, per hour, at an hour angle.
double collares_pereira_rabl(double hour_angle_deg, double sunset_hour_angle_deg);
double liu_jordan_diffuse(double hour_angle_deg, double sunset_hour_angle_deg);

}  // namespace horizon
