#include "survey/exchange/weather_years.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdio>
#include <numbers>
#include <string>

#include "tests/near.h"
#include "tests/said.h"

using namespace survey;

namespace {

constexpr int kDays[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
const char* const kHeader =
    "LOCATION,Larkholm,-,XX,INVENTED,000000,46.62,10.35,1.0,1482.0\n"
    "DESIGN CONDITIONS,0\nTYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\n"
    "HOLIDAYS/DAYLIGHT SAVING,No,0,0,0\nCOMMENTS 1,made for a test\nCOMMENTS 2,\n"
    "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n";

// Rows of a year whose light is `bright` of a clear one's, in the field order of the published EPW
// data dictionary.
std::string rows_of(int year, double bright, int hours = 8760) {
  std::string out;
  int day_of_year = 0;
  for (int m = 0; m < 12; ++m)
    for (int d = 1; d <= kDays[m]; ++d) {
      ++day_of_year;
      const double decl = 0.409 * std::sin(2 * std::numbers::pi * day_of_year / 365 - 1.39);
      for (int h = 1; h <= 24 && hours-- > 0; ++h) {
        const double up = std::max(0.0, std::sin(0.8134) * std::sin(decl) +
                                            std::cos(0.8134) * std::cos(decl) *
                                                std::cos((h - 12.5) * std::numbers::pi / 12));
        char row[300];
        std::snprintf(row, sizeof row,
                      "%d,%d,%d,%d,60,?9,%.1f,-6.0,81,84500,0,0,250,%.2f,%.2f,%.2f,0,0,0,0,"
                      "225,2.5,5,4,30.0,77777,9,999999999,8,0.1000,12,30,0.620,0.0,0.0\n",
                      year, m + 1, d, h, bright * 10, bright * 900 * up, 0.0, bright * 900 * up);
        out += row;
      }
    }
  return out;
}

}  // namespace

TEST_CASE("a file of several years: each whole one, and a typical one of their months [property]") {
  std::string file = kHeader;
  const double bright[] = {0.5, 0.9, 0.72, 0.8, 0.7};
  for (int y = 0; y < 5; ++y) file += rows_of(2011 + y, bright[y]);
  file += rows_of(2016, 1.0, 3000);  // begun only
  const auto read = weather_of(file);
  REQUIRE(read);
  const auto& year = read->year;
  REQUIRE(year.years.size() == 5);
  CHECK(year.hours.size() == 8760);
  // Light's mean 0.724: the third year is nearest in every month.
  for (size_t h = 0; h < 8760; h += 500) CHECK(year.hours[h].year == 2013);
  for (size_t y = 0; y < 5; ++y)
    CHECK_NEAR(year.years[y][4000].global_horizontal_wm2 / bright[y],
               year.years[0][4000].global_horizontal_wm2 / bright[0], 0.05);
  bool typical = false, left = false;
  for (const auto& note : read->notes) {
    typical = typical || note.key == "error.weather_years_typical";
    left = left || note.key == "error.weather_years_left_out";
  }
  CHECK(typical);
  CHECK(left);
  // What is written out again is one year, its rows in order.
  CHECK(read->lines.size() == 8 + 8760);
  CHECK(read->lines[8].rfind("2013,1,1,1,", 0) == 0);
  CHECK(read->line_of_hour.back() == 8 + 8759);
}

TEST_CASE("an error in the third year names its line in the file [property]") {
  std::string file = kHeader;
  // Radiation in another unit.
  for (int y = 0; y < 3; ++y) file += rows_of(2011 + y, y == 2 ? 60 : 0.6);
  const auto read = weather_of(file);
  REQUIRE_FALSE(read);
  const int line = std::atoi(read.error().where.c_str() + 5);
  CHECK(line > 8 + 2 * 8760);
  CHECK(line < 8 + 2 * 8760 + 24);
}

TEST_CASE("files of one year each are joined; of another place they are refused [property]") {
  std::vector<WeatherFile> files;
  for (int y = 0; y < 3; ++y)
    files.push_back(*weather_of(kHeader + rows_of(2011 + y, 0.5 + 0.1 * y)));
  const auto three = joined(files);
  REQUIRE(three);
  CHECK(three->year.years.size() == 3);
  CHECK(three->year.hours[4000].year == 2012);
  files[1].year.place.longitude_deg += 1;
  CHECK(joined(files).error().key == "error.weather_years_elsewhere");
  CHECK(joined({files[0]})->year.years.empty());
}

TEST_CASE("the same year given again is no second winter, and is told [property]") {
  const WeatherFile a = *weather_of(kHeader + rows_of(2011, 0.5)),
                    b = *weather_of(kHeader + rows_of(2012, 0.7));
  const auto told = [](const WeatherFile& f) {
    for (const auto& note : f.notes)
      if (note.key == "error.weather_year_again") return true;
    return false;
  };
  const auto two = joined({a, b, a, a});
  REQUIRE(two);
  CHECK(two->year.years.size() == 2);
  CHECK(told(*two));
  const auto one = joined({a, a});
  REQUIRE(one);
  CHECK(one->year.years.empty());
  CHECK(one->year.hours.size() == 8760);
  CHECK(told(*one));
  CHECK_FALSE(told(*joined({a, b})));
}
