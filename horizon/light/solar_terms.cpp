#include "horizon/light/solar_terms.h"

#include <algorithm>
#include <cmath>

#include "horizon/angle.h"

namespace horizon {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kDay_s = 86400;

double day_angle(int day) { return 2 * kPi * (day - 1) / 365; }

// Integral of the sine of the sun's height over the day, in radians of hour angle, from noon to
// the sunset hour angle, twice.
double daily_integral(double latitude, double declination, double sunset) {
  return 2 * (sunset * std::sin(latitude) * std::sin(declination) +
              std::cos(latitude) * std::cos(declination) * std::sin(sunset));
}

}  // namespace

double distance_factor(int day) {
  const double b = day_angle(day);
  return 1.00011 + 0.034221 * std::cos(b) + 0.00128 * std::sin(b) + 0.000719 * std::cos(2 * b) +
         0.000077 * std::sin(2 * b);
}

double distance_factor_simple(int day) { return 1 + 0.033 * std::cos(2 * kPi * day / 365); }

double declination_spencer_deg(int day) {
  const double b = day_angle(day);
  return (0.006918 - 0.399912 * std::cos(b) + 0.070257 * std::sin(b) - 0.006758 * std::cos(2 * b) +
          0.000907 * std::sin(2 * b) - 0.002697 * std::cos(3 * b) + 0.00148 * std::sin(3 * b)) /
         kDegree;
}

double declination_cooper_deg(int day) { return 23.45 * std::sin(2 * kPi * (284 + day) / 365); }

double equation_of_time_min(int day) {
  const double b = day_angle(day);
  return 1440 / (2 * kPi) *
         (0.0000075 + 0.001868 * std::cos(b) - 0.032077 * std::sin(b) - 0.014615 * std::cos(2 * b) -
          0.040849 * std::sin(2 * b));
}

double sunset_hour_angle_deg(double latitude_deg, double declination_deg) {
  const double c = -std::tan(latitude_deg * kDegree) * std::tan(declination_deg * kDegree);
  return std::acos(std::clamp(c, -1.0, 1.0)) / kDegree;
}

double day_length_h(double latitude_deg, double declination_deg) {
  return sunset_hour_angle_deg(latitude_deg, declination_deg) / 7.5;
}

double daily_extraterrestrial_mj(double latitude_deg, double declination_deg,
                                 double normal_irradiance_wm2) {
  const double sunset = sunset_hour_angle_deg(latitude_deg, declination_deg) * kDegree;
  return normal_irradiance_wm2 * kDay_s / (2 * kPi) *
         daily_integral(latitude_deg * kDegree, declination_deg * kDegree, sunset) * 1e-6;
}

double fao56_extraterrestrial_mj(double latitude_deg, int day) {
  constexpr double kMegajoulePerMinute = 0.0820;
  const double declination = 0.409 * std::sin(2 * kPi * day / 365 - 1.39);
  const double latitude = latitude_deg * kDegree;
  const double sunset = sunset_hour_angle_deg(latitude_deg, declination / kDegree) * kDegree;
  return 24 * 60 / (2 * kPi) * kMegajoulePerMinute * distance_factor_simple(day) *
         daily_integral(latitude, declination, sunset);
}

double extraterrestrial_between_mj(double latitude_deg, double declination_deg,
                                   double normal_irradiance_wm2, double from_hour_angle_deg,
                                   double to_hour_angle_deg) {
  const double sunset = sunset_hour_angle_deg(latitude_deg, declination_deg);
  const double from = std::clamp(from_hour_angle_deg, -sunset, sunset) * kDegree;
  const double to = std::clamp(to_hour_angle_deg, -sunset, sunset) * kDegree;
  const double latitude = latitude_deg * kDegree, declination = declination_deg * kDegree;
  return normal_irradiance_wm2 * kDay_s / (2 * kPi) * 1e-6 *
         (std::cos(latitude) * std::cos(declination) * (std::sin(to) - std::sin(from)) +
          (to - from) * std::sin(latitude) * std::sin(declination));
}

double air_mass_kasten_young(double apparent_zenith_deg) {
  const double z = std::min(apparent_zenith_deg, 90.0);
  return 1 / (std::cos(z * kDegree) + 0.50572 * std::pow(6.07995 + 90 - z, -1.6364));
}

double air_mass_kasten_1966(double apparent_zenith_deg) {
  const double z = std::min(apparent_zenith_deg, 90.0);
  return 1 / (std::cos(z * kDegree) + 0.15 * std::pow(93.885 - z, -1.253));
}

double pressure_at_height_pa(double height_m) {
  return 101300 * std::pow((293 - 0.0065 * height_m) / 293, 5.26);
}

double cos_incidence(double tilt_deg, double facing_deg, double sun_elevation_deg,
                     double sun_azimuth_deg) {
  const double tilt = tilt_deg * kDegree, el = sun_elevation_deg * kDegree;
  return std::cos(tilt) * std::sin(el) +
         std::sin(tilt) * std::cos(el) * std::cos((sun_azimuth_deg - facing_deg) * kDegree);
}

}  // namespace horizon
