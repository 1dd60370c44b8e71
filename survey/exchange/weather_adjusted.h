// survey/exchange/weather_adjusted.h: the user's hourly weather file as it is under the skyline.
// Units:    those of the EPW layout: Wh/m2 in the hour that ends; illuminance in lux follows its
//           radiation
// Method:   the beam by the share of the hour's sun that the skyline leaves (six looks an hour),
//           the circumsolar part of the diffuse light (Perez 1990) with it, the rest by the sky
//           that is free; what hides the sky reflects. Fields without a value stay so; all other
//           fields, headers and line ends stay as they are, one comment is added
// Errors:   a layout other than EPW
#pragma once

#include <string>

#include "horizon/light/findings.h"
#include "horizon/sun/sun_path.h"
#include "survey/exchange/weather_file.h"

namespace survey {

// Where the file is to hold.
struct UnderSkyline {
  const std::string& station;  // its name, for the comment
  const horizon::StationInput& input;
  const horizon::Masks& masks;
  const horizon::SunPath& path;  // of the input's year, local clock
};
horizon::Result<std::string> adjusted_weather(const WeatherFile& file, const UnderSkyline& under);

}  // namespace survey
