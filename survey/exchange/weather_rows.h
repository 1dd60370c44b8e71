// survey/exchange/weather_rows.h: a weather file's rows as the 8760 hours of a year, each in its place.
// Units:  as horizon/light/weather_year.h
// Does    what measured and satellite-filled files need: rows in any order of the year, doubled,
//         cut short or missing (up to a tenth); hours counted from 0; gaps in the light filled from
//         the days around, parts of it split by Erbs; light in the dark taken as none. Each is a
//         note with its count, its first line and what was done
// Errors: what cannot be one year of one place: another clock, unit or length
#pragma once

#include "survey/exchange/weather_file.h"

namespace survey {

// Where each quantity stands in a row, from 0; -1: nowhere.
struct WeatherColumns {
  int beam = 14, global = 13, diffuse = 15, dry_bulb = 6, humidity = 8, wind_from = 20,
      wind_speed = 21, snow = 30, albedo = 32, sky_cover = 23;
};

// Fields between commas; quotes keep commas in.
std::vector<std::string> weather_fields(std::string_view line);

// Fills year.hours, line_of_hour and notes from the rows at first_row and after; the place is known.
horizon::Result<void> read_weather_rows(WeatherFile& file, const WeatherColumns& columns,
                                        std::size_t least_fields);

}  // namespace survey
