// horizon/light/weather_year.h: a typical or real year of hourly weather, as values.
// Units:    W/m2 as the mean of the hour that ends at `hour`; degrees Celsius; m/s; cm
// Frame:    local standard time, hour 1 to 24; 8760 hours from 1 January 01:00, no leap day
// Source:   read by survey/exchange/weather_file.h
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "horizon/place.h"

namespace horizon {

struct WeatherHour {
  int year = 0, month = 1, day = 1, hour = 1;  // the year may change from month to month
  double global_horizontal_wm2 = 0;
  double beam_normal_wm2 = 0;
  double diffuse_horizontal_wm2 = 0;
  std::optional<double> dry_bulb_c;
  std::optional<double> relative_humidity_percent;
  std::optional<double> wind_speed_ms;
  std::optional<double> wind_from_deg;  // true
  std::optional<double> snow_depth_cm;
  std::optional<double> albedo;
  std::optional<double> sky_cover;  // 0 to 1, opaque clouds where the file tells them apart
};

struct WeatherYear {
  std::string station;  // as the file names it
  std::string source;
  Place place;
  double utc_offset_h = 0;
  std::vector<WeatherHour> hours;  // 8760
  // Of a file that holds several years: each, 8760 hours long; `hours` is a typical one out of them.
  std::vector<std::vector<WeatherHour>> years;
};

}  // namespace horizon
