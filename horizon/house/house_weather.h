// horizon/house/house_weather.h: the hours of weather that a house lives through, brought to its site.
// Units:    degrees Celsius, W/m2 as the hour's mean, m/s, mm of water, Pa
// Frame:    hours of local standard time, from 0; an hour's temperature holds at its end
// Valid:    files within 2,000 m of the site's height and of the same half of the year
// Accuracy: 0.0065 K a metre is the year's mean; valleys with cold lakes of air do the opposite on
//           still winter nights: a thermometer on the spot for a month says more
// Errors:   bad_input names what is missing and the cure; what was corrected is in `said`
// Source:   standard atmosphere for lapse rate and pressure; vapour kept as relative humidity
#pragma once

#include <string>
#include <vector>

#include "horizon/house/plane_hours.h"
#include "horizon/light/weather_year.h"
#include "horizon/result.h"

namespace horizon {

struct HouseHour {
  float air_c = 0, dew_c = -5, wind_ms = 2, cloud = 0.5;
  // Of the open sky, as horizon/light/sky_steps.h.
  float sun_normal = 0, isotropic = 0, band = 0, global = 0;
  float snowfall_mm = 0;
};

struct HouseWeather {
  std::vector<HouseHour> hours;
  int first_hour = 0;  // of the year
  double pressure_pa = 95000;
  std::string source;
  std::vector<Error> said;  // what was corrected or filled in
};

inline constexpr double kLapse_k_m = 0.0065;
// The sun of an hour as it spreads light: the same in all years, so worked out once.
struct HourSun {
  double up = 0, sunlit = 0;  // as SiteSun::Hour
  double zenith_deg = 90, air_mass = 1, outside_wm2 = 0;
};
HourSun hour_sun(double up, double sunlit, int day_of_year);
// Splits an hour's beam and diffuse light by direction.
void set_light(HouseHour& hour, double beam_normal_wm2, double diffuse_wm2, const HourSun& sun);

// 8760 hours of a file, at the site.
Result<HouseWeather> house_weather(const WeatherYear& file, const SiteSun& sun);

}  // namespace horizon
