#include "horizon/light/decomposition.h"

#include <algorithm>
#include <cmath>

#include "horizon/angle.h"

namespace horizon {

double erbs_hourly_diffuse_fraction(double k) {
  if (k <= 0.22) return 1 - 0.09 * k;
  if (k > 0.80) return 0.165;
  return 0.9511 + k * (-0.1604 + k * (4.388 + k * (-16.638 + k * 12.336)));
}

Irradiance erbs_split(double global_horizontal_wm2, double zenith_deg,
                      double extraterrestrial_normal_wm2) {
  Irradiance result;
  result.global_horizontal_wm2 = std::max(0.0, global_horizontal_wm2);
  const double cos_zenith = std::cos(zenith_deg * kDegree);
  const double outside = extraterrestrial_normal_wm2 * std::max(cos_zenith, 0.065);
  const double k = std::clamp(result.global_horizontal_wm2 / outside, 0.0, 1.0);
  if (zenith_deg > 87) {  // the quotient below says nothing any more
    result.diffuse_horizontal_wm2 = result.global_horizontal_wm2;
    return result;
  }
  result.diffuse_horizontal_wm2 = result.global_horizontal_wm2 * erbs_hourly_diffuse_fraction(k);
  result.beam_normal_wm2 =
      (result.global_horizontal_wm2 - result.diffuse_horizontal_wm2) / cos_zenith;
  return result;
}

double erbs_daily_diffuse_fraction(double k, double sunset_hour_angle_deg) {
  if (sunset_hour_angle_deg <= 81.4)
    return k < 0.715 ? 1 + k * (-0.2727 + k * (2.4495 + k * (-11.9514 + k * 9.3879))) : 0.143;
  return k < 0.722 ? 1 + k * (0.2832 + k * (-2.5557 + k * 0.8448)) : 0.175;
}

double erbs_monthly_diffuse_fraction(double clearness, double sunset_hour_angle_deg) {
  const double k = std::min(clearness, 0.8);  // fitted from 0.3 to 0.8
  const double fraction = sunset_hour_angle_deg <= 81.4
                              ? 1.391 + k * (-3.560 + k * (4.189 - k * 2.137))
                              : 1.311 + k * (-3.022 + k * (3.427 - k * 1.821));
  return std::min(fraction, 1.0);
}

double liu_jordan_diffuse(double hour_angle_deg, double sunset_hour_angle_deg) {
  if (std::abs(hour_angle_deg) >= sunset_hour_angle_deg) return 0;
  const double ws = sunset_hour_angle_deg * kDegree;
  return std::numbers::pi / 24 * (std::cos(hour_angle_deg * kDegree) - std::cos(ws)) /
         (std::sin(ws) - ws * std::cos(ws));
}

double collares_pereira_rabl(double hour_angle_deg, double sunset_hour_angle_deg) {
  const double from_60 = (sunset_hour_angle_deg - 60) * kDegree;
  const double a = 0.409 + 0.5016 * std::sin(from_60);
  const double b = 0.6609 - 0.4767 * std::sin(from_60);
  return liu_jordan_diffuse(hour_angle_deg, sunset_hour_angle_deg) *
         (a + b * std::cos(hour_angle_deg * kDegree));
}

}  // namespace horizon
