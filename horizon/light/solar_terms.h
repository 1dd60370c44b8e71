// horizon/light/solar_terms.h: the closed-form terms that daily and monthly sums are built on.
// Units:    degrees, W/m2, MJ/m2 a day, minutes, Pa; a day is its number in the year, 1 to 366
// Frame:    declination north positive; hour angle negative before solar noon
// Valid:    all latitudes; polar day and night give 24 and 0 hours
// Accuracy: distance factor 0.0001; declination 0.05 degree (Spencer), 1.2 degree (Cooper).
//           Sun positions come from horizon/sun/sun.h; these only feed methods fitted with them.
// Source:   Spencer 1971 and Cooper 1969 as in Duffie & Beckman, ch. 1; Allen et al. 1998 (FAO
//           Irrigation and Drainage Paper 56), ch. 3; Kasten & Young 1989
#pragma once

namespace horizon {

// World Radiometric Reference value, which FAO-56, ESRA and the correlations here were fitted with.
inline constexpr double kSolarConstant_wm2 = 1367.0;

double distance_factor(int day);         // Spencer: (mean distance / distance)^2
double distance_factor_simple(int day);  // 1 + 0.033 cos(2 pi day / 365)
double declination_spencer_deg(int day);
double declination_cooper_deg(int day);
double equation_of_time_min(int day);  // Spencer; sundial minus clock

double sunset_hour_angle_deg(double latitude_deg, double declination_deg);  // 0 to 180, geometric
double day_length_h(double latitude_deg, double declination_deg);           // geometric

// On a horizontal plane without an atmosphere, over a whole day.
double daily_extraterrestrial_mj(double latitude_deg, double declination_deg,
                                 double normal_irradiance_wm2);
// FAO-56 eq. 21 with its own declination, distance and 0.0820 MJ/m2 a minute.
double fao56_extraterrestrial_mj(double latitude_deg, int day);
// Between two hour angles.
double extraterrestrial_between_mj(double latitude_deg, double declination_deg,
                                   double normal_irradiance_wm2, double from_hour_angle_deg,
                                   double to_hour_angle_deg);

// Relative optical air mass at sea level, from the zenith distance as seen (refracted);
// past 90 degrees the value at 90.
double air_mass_kasten_young(double apparent_zenith_deg);
double air_mass_kasten_1966(double apparent_zenith_deg);
// FAO-56 eq. 7.
double pressure_at_height_pa(double height_m);

// Cosine of the angle between the sun and the normal of a plane; negative behind it.
double cos_incidence(double tilt_deg, double facing_deg, double sun_elevation_deg,
                     double sun_azimuth_deg);

}  // namespace horizon
