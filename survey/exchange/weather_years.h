// survey/exchange/weather_years.h: a weather file that holds several years of hours: each of them, and a typical one.
// Does    years with nine tenths of their hours or more count, at most the newest 40; rows of others
//         are left out and said. Where there is one year, or a typical one put together of months of
//         several, it is read as it stands (weather_rows.h)
// Source  the typical year is made of real months, each the one whose light and warmth lie nearest
//         to the mean of all its like, in their own spreads: the idea of ISO 15927-4, with means
//         for its distributions
#pragma once

#include "survey/exchange/weather_rows.h"

namespace survey {

// Of several years: year.years holds each; year.hours, lines and line_of_hour are the typical one's.
horizon::Result<void> read_weather_years(WeatherFile& file, const WeatherColumns& columns,
                                         std::size_t least_fields);
// Several files, each a year or more of one place: the first one's place and name.
horizon::Result<WeatherFile> joined(std::vector<WeatherFile> files);

}  // namespace survey
