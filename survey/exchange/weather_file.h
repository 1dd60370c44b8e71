// survey/exchange/weather_file.h: a year of hourly weather from the trade's open files.
// Units:  as horizon/light/weather_year.h; the file's lines are kept as they stand
// Layout: EPW (eight header lines from LOCATION to DATA PERIODS, then 35 fields a row) and TMY3 CSV
//         (a line of place, a line of column names with units, then rows)
// Reads   both spellings of the holidays line and headers in any order; what a measured or filled file
//         lacks is made good and said (survey/exchange/weather_rows.h)
// Valid:  a year of hours or several, local standard time, each hour ending at its stamp; a leap day
//         is left out and said. Of several years: survey/exchange/weather_years.h
// Errors: `where` = "line 1234"; the message says what is wrong with it and the cure. Checked: number
//         of hours, units by their size, the clock by the middle of the light against the sun's noon
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "horizon/light/weather_year.h"
#include "horizon/result.h"

namespace survey {

struct WeatherFile {
  enum class Layout { epw, tmy3 };
  Layout layout = Layout::epw;
  horizon::WeatherYear year;
  std::vector<std::string> lines;     // all, header too, without their ends
  std::string line_end = "\n";        // as the file has it
  int first_row = 0;                  // index into lines
  int rows_begin = -1;                // of a part of a longer file: where it begins there
  std::vector<int> line_of_hour;      // index into lines, of each of the 8760 hours; -1: no row
  std::vector<horizon::Error> notes;  // read, but worth a look
};

horizon::Result<WeatherFile> weather_of(std::string_view bytes);

// Does the file speak for this place? Notes past 50 km or 300 m of height; past 500 km it is
// another place, and the first note's code is bad_input.
std::vector<horizon::Error> weather_fits(const WeatherFile& file, const horizon::Place& site);

}  // namespace survey
