#include "survey/exchange/weather_file.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <functional>
#include <numbers>
#include <string>
#include <vector>

#include "tests/near.h"
#include "tests/said.h"

using namespace survey;

namespace {

constexpr int kDays[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

struct Hour {
  int year, month, day, hour;
  double global, beam, diffuse;
};

// A year of plausible light at 46.6 N in its own zone. Header and field order as the published EPW
// data dictionary has them: 8 lines, 35 fields.
std::vector<Hour> a_year() {
  std::vector<Hour> hours;
  int day_of_year = 0;
  for (int m = 0; m < 12; ++m)
    for (int d = 1; d <= kDays[m]; ++d) {
      ++day_of_year;
      const double decl = 0.409 * std::sin(2 * std::numbers::pi * day_of_year / 365 - 1.39);
      for (int h = 1; h <= 24; ++h) {
        const double s =
            std::sin(0.8134) * std::sin(decl) +
            std::cos(0.8134) * std::cos(decl) * std::cos((h - 0.5 - 12) * std::numbers::pi / 12);
        const double up = s > 0.05 ? s : 0;
        hours.push_back({2005 + m % 4, m + 1, d, h, 900 * up, up > 0 ? 800.0 : 0, 100 * up});
      }
    }
  return hours;
}

const char* const kHeader =
    "LOCATION,Larkholm,-,XX,INVENTED,000000,46.62,10.35,1.0,1482.0\n"
    "DESIGN CONDITIONS,0\nTYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\n"
    "HOLIDAYS/DAYLIGHT SAVING,No,0,0,0\nCOMMENTS 1,made for a test\nCOMMENTS 2,\n"
    "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n";

std::string row_of(const Hour& h) {
  char row[400];
  std::snprintf(row, sizeof row,
                "%d,%d,%d,%d,60,?9?9?9?9E0?9?9,-3.5,-6.0,81,84500,0,0,250,%.0f,%.0f,%.0f,0,0,0,0,"
                "225,2.5,5,4,30.0,77777,9,999999999,8,0.1000,12,30,0.620,0.0,0.0\n",
                h.year, h.month, h.day, h.hour, h.global, h.beam, h.diffuse);
  return row;
}

std::string epw(
    const std::function<void(std::vector<Hour>&)>& change = [](auto&) {},
    std::string header = kHeader) {
  std::vector<Hour> hours = a_year();
  change(hours);
  for (const Hour& h : hours) header += row_of(h);
  return header;
}

std::string replaced(std::string text, const std::string& what, const std::string& with) {
  const size_t at = text.find(what);
  REQUIRE(at != std::string::npos);
  return text.replace(at, what.size(), with);
}

void check_refused(const std::string& bytes, const std::string& where, const std::string& word) {
  const auto file = weather_of(bytes);
  REQUIRE(!file);
  INFO(file.error().where << ": " << said(file.error()));
  CHECK(file.error().where == where);
  CHECK(said(file.error()).find(word) != std::string::npos);
}

std::string first_light_line() {
  const std::vector<Hour> hours = a_year();
  const auto it = std::find_if(hours.begin(), hours.end(), [](auto& h) { return h.beam > 0; });
  return "line " + std::to_string(it - hours.begin() + 9);
}

bool noted(const std::vector<horizon::Error>& notes, const std::string& where,
           const std::string& word) {
  return std::any_of(notes.begin(), notes.end(), [&](const horizon::Error& e) {
    return e.where == where && said(e).find(word) != std::string::npos;
  });
}

}  // namespace

TEST_CASE("EPW: fields by the published order, lines kept as they stand [published]") {
  // EPW data dictionary: 14 global horizontal, 15 direct normal, 16 diffuse horizontal (counting
  // from 1), hours 1 to 24 ending at the hour, local standard time.
  const std::string bytes = epw();
  const auto file = weather_of(bytes);
  REQUIRE(file);
  CHECK(file->year.station == "Larkholm");
  CHECK_NEAR(file->year.place.latitude_deg, 46.62, 1e-9);
  CHECK_NEAR(file->year.utc_offset_h, 1, 1e-9);
  REQUIRE(file->year.hours.size() == 8760);
  const horizon::WeatherHour& noon =
      file->year.hours[(31 + 28 + 20) * 24 + 11];  // 21 March, hour 12
  CHECK(noon.month == 3);
  CHECK(noon.day == 21);
  CHECK(noon.hour == 12);
  CHECK_NEAR(noon.beam_normal_wm2, 800, 1e-9);
  CHECK(noon.global_horizontal_wm2 > noon.diffuse_horizontal_wm2);
  CHECK_NEAR(*noon.dry_bulb_c, -3.5, 1e-9);
  CHECK_NEAR(*noon.wind_speed_ms, 2.5, 1e-9);
  CHECK_NEAR(*noon.wind_from_deg, 225, 1e-9);
  CHECK_NEAR(*noon.snow_depth_cm, 12, 1e-9);
  CHECK_NEAR(*noon.albedo, 0.62, 1e-9);
  std::string again;
  for (const std::string& line : file->lines) again += line + file->line_end;
  CHECK(again == bytes);
  CHECK(file->lines[file->line_of_hour[0]].rfind("2005,1,1,1,", 0) == 0);
}

TEST_CASE("CR LF ends are kept [property]") {
  std::string bytes;
  for (char c : epw()) bytes += c == '\n' ? std::string("\r\n") : std::string(1, c);
  const auto file = weather_of(bytes);
  REQUIRE(file);
  CHECK(file->line_end == "\r\n");
}

TEST_CASE("single hours missing, doubled or out of order are made good and said [property]") {
  const auto gap = weather_of(epw([](auto& h) { h.erase(h.begin() + 100); }));
  REQUIRE(gap);
  CHECK(gap->year.hours.size() == 8760);
  CHECK(gap->line_of_hour[100] == -1);
  CHECK(gap->line_of_hour[101] == 8 + 100);
  CHECK(noted(gap->notes, "line 9", "weather_hours_absent 1 5 1 5"));
  CHECK(gap->year.hours[100].hour == 5);
  const auto twice = weather_of(epw([](auto& h) { h.insert(h.begin() + 100, h[100]); }));
  REQUIRE(twice);
  CHECK(noted(twice->notes, "line 110", "weather_hours_twice"));
  const auto from_july =
      weather_of(epw([](auto& h) { std::rotate(h.begin(), h.begin() + 181 * 24, h.end()); }));
  REQUIRE(from_july);
  CHECK(noted(from_july->notes, "line 4425", "weather_out_of_order"));
  CHECK(from_july->line_of_hour[0] == 8 + 184 * 24);
  // A light gap at noon is filled with what the days around had.
  const auto noon = weather_of(epw([](auto& h) { h.erase(h.begin() + 107); }));
  REQUIRE(noon);
  const auto& hours = noon->year.hours;
  CHECK_NEAR(hours[107].global_horizontal_wm2,
             (hours[83].global_horizontal_wm2 + hours[131].global_horizontal_wm2) / 2, 1e-9);
}

TEST_CASE("less than a year, or several, is refused [property]") {
  check_refused(epw([](auto& h) { h.resize(24 * 200); }), "line 4808", "weather_few_hours 4800");
  check_refused(epw([](auto& h) {
                  const auto once = h;
                  h.insert(h.end(), once.begin(), once.end());
                }),
                "line 8769", "weather_hours_doubled 8760");
}

TEST_CASE("hours from 0 to 23 are taken as the hours that begin then, and said [property]") {
  const auto file = weather_of(epw([](auto& h) {
    for (Hour& x : h) --x.hour;
  }));
  REQUIRE(file);
  CHECK(noted(file->notes, "line 9", "weather_hours_from_0"));
  CHECK(file->line_of_hour[0] == 8);
}

TEST_CASE("EPW: the holidays line in both spellings; a missing header is said [published]") {
  // Data dictionary: HOLIDAYS/DAYLIGHT SAVING; converters and most files in use write SAVINGS.
  for (const char* line : {"HOLIDAYS/DAYLIGHT SAVINGS", "Holidays/Daylight Saving"}) {
    const auto file = weather_of(replaced(epw(), "HOLIDAYS/DAYLIGHT SAVING", line));
    REQUIRE(file);
    CHECK(!noted(file->notes, "line 5", ""));
  }
  const auto file = weather_of(replaced(epw(), "COMMENTS 2,\n", ""));
  REQUIRE(file);
  CHECK(noted(file->notes, "line 7", "weather_header_missing COMMENTS 2"));
}

TEST_CASE("a leap day is left out and said [property]") {
  const auto file = weather_of(epw([](auto& h) {
    std::vector<Hour> day(h.begin() + 58 * 24, h.begin() + 59 * 24);
    for (Hour& x : day) x.day = 29;
    h.insert(h.begin() + 59 * 24, day.begin(), day.end());
  }));
  REQUIRE(file);
  CHECK(file->year.hours.size() == 8760);
  CHECK(noted(file->notes, "line 1425", "weather_leap_day_left_out"));
  CHECK(file->line_of_hour[59 * 24] == 8 + 60 * 24);
}

TEST_CASE("one real year, or a year that changes inside a month, is said [property]") {
  const auto one = weather_of(epw([](auto& h) {
    for (Hour& x : h) x.year = 2012;
  }));
  REQUIRE(one);
  CHECK(noted(one->notes, "line 9", "2012"));
  const auto mixed = weather_of(epw([](auto& h) { h[50].year = 1988; }));
  REQUIRE(mixed);
  CHECK(noted(mixed->notes, "line 59", "weather_year_changes"));
}

TEST_CASE("units that are not the layout's are named, single spikes left out [property]") {
  check_refused(epw([](auto& h) {
                  for (Hour& x : h) x.global *= 3.6, x.beam *= 3.6, x.diffuse *= 3.6;
                }),
                first_light_line(), "weather_radiation_unit");
  std::string hot = epw();
  for (std::size_t at; (at = hot.find(",-3.5,-6.0,")) != std::string::npos;)
    hot.replace(at, 11, ",88.2,-6.0,");
  check_refused(hot, "line 9", "weather_too_hot");
  const auto spike = weather_of(replaced(epw([](auto& h) { h[11].beam = 4000; }),
                                         ",-3.5,-6.0,81,84500,", ",68.0,-6.0,81,84500,"));
  REQUIRE(spike);
  CHECK(noted(spike->notes, "line 9", "weather_hot 1"));
  CHECK(!spike->year.hours[0].dry_bulb_c);
  CHECK(noted(spike->notes, "line 20", "weather_overbright 1"));
  CHECK(spike->year.hours[11].beam_normal_wm2 < 1500);
}

TEST_CASE("light in the dark is taken as none and said; a clock hours off is refused [property]") {
  // As in files whose direct beam was filled by holding the evening's value through the night.
  const auto file = weather_of(epw([](auto& h) { h[1].beam = 200; }));
  REQUIRE(file);
  CHECK(noted(file->notes, "line 10", "weather_dark 1"));
  CHECK(file->year.hours[1].beam_normal_wm2 == 0);
  // West and east taken for each other.
  check_refused(epw([](auto&) {}, replaced(kHeader, "10.35,1.0", "-110.35,1.0")), "line 1",
                "weather_noon_");
  // World time at a far longitude is consistent and read: the zone says so.
  const auto utc = weather_of(epw([](auto&) {}, replaced(kHeader, "10.35,1.0", "-4.65,0.0")));
  CHECK(utc);
  // An hour late, as where stamps mean the hour that begins: read, and said.
  const auto late = weather_of(epw([](auto& h) {
    for (std::size_t i = h.size() - 1; i > 0; --i)
      h[i].global = h[i - 1].global, h[i].beam = h[i - 1].beam, h[i].diffuse = h[i - 1].diffuse;
  }));
  REQUIRE(late);
  CHECK(noted(late->notes, "line 1", "weather_noon_late_doubtful"));
}

TEST_CASE("gaps by day are filled from the days around, parts split, sums added up [property]") {
  const auto gap = weather_of(epw([](auto& h) { h[35].global = 9999; }));
  REQUIRE(gap);
  CHECK(noted(gap->notes, "line 44", "weather_summed"));
  CHECK_NEAR(gap->year.hours[35].global_horizontal_wm2, gap->year.hours[11].global_horizontal_wm2,
             80);
  const auto all = weather_of(
      epw([](auto& h) { h[35].global = 9999, h[35].beam = 9999, h[35].diffuse = 9999; }));
  REQUIRE(all);
  CHECK(noted(all->notes, "line 44", "weather_filled"));
  CHECK_NEAR(
      all->year.hours[35].global_horizontal_wm2,
      (all->year.hours[11].global_horizontal_wm2 + all->year.hours[59].global_horizontal_wm2) / 2,
      1e-9);
  const auto file = weather_of(epw([](auto& h) { h[11].beam = 9999; }));
  REQUIRE(file);
  CHECK(noted(file->notes, "line 20", "weather_split"));
  CHECK(file->year.hours[11].diffuse_horizontal_wm2 <= file->year.hours[11].global_horizontal_wm2);
  check_refused(epw([](auto& h) {
                  for (std::size_t i = 0; i < h.size(); ++i)
                    if (h[i].month < 4) h[i].global = h[i].beam = h[i].diffuse = 9999;
                }),
                "line 17", "weather_radiation_missing");
}

TEST_CASE("a height that is not readable is taken as sea level and said [property]") {
  const auto file = weather_of(replaced(epw(), "1.0,1482.0", "1.0,"));
  REQUIRE(file);
  CHECK(noted(file->notes, "line 1", "weather_height_unread"));
}

TEST_CASE("no weather file at all [property]") {
  check_refused("", "", "weather_empty");
  check_refused("bearing_deg,elevation_deg\n1,2\n", "line 1", "weather_kind_unknown");
  check_refused(std::string(kHeader).substr(0, 80), "line 2", "weather_few_hours 0");
  check_refused(std::string(kHeader), "line 8", "weather_few_hours 0");
  check_refused(replaced(epw(), "10.35,1.0,1482.0", "10.35,,1482.0"), "line 1", "weather_place");
}

TEST_CASE("TMY3 CSV: columns by their names [published]") {
  // Users' manual for TMY3 data sets, NREL/TP-581-43156: line 1 place, line 2 names with units.
  std::string bytes =
      "000000,\"LARKHOLM, SCHOOL\",XX,1.0,46.620,10.350,1482\n"
      "Date (MM/DD/YYYY),Time (HH:MM),ETR (W/m^2),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2),"
      "Dry-bulb (C),Wspd (m/s),Alb (unitless)\n";
  for (const Hour& h : a_year()) {
    char row[200];
    std::snprintf(row, sizeof row, "%02d/%02d/%d,%02d:00,0,%.0f,%.0f,%.0f,4.5,1.5,-9900\n", h.month,
                  h.day, h.year, h.hour, h.global, h.beam, h.diffuse);
    bytes += row;
  }
  const auto file = weather_of(bytes);
  REQUIRE(file);
  CHECK(file->layout == WeatherFile::Layout::tmy3);
  CHECK(file->year.station == "LARKHOLM, SCHOOL");
  CHECK_NEAR(*file->year.hours[0].dry_bulb_c, 4.5, 1e-9);
  CHECK(!file->year.hours[0].albedo);
  CHECK_NEAR(file->year.hours[11].beam_normal_wm2, 800, 1e-9);
  check_refused(replaced(bytes, "GHI (W/m^2)", "GHI (kJ/m^2)"), "line 2", "weather_columns");
}

TEST_CASE("a file of another place is said [property]") {
  const auto file = weather_of(epw());
  REQUIRE(file);
  CHECK(weather_fits(*file, {46.6213, 10.3478, 1482}).empty());
  const auto far = weather_fits(*file, {48.0, 10.35, 1482});
  REQUIRE(far.size() == 1);
  CHECK(far[0].code == horizon::Code::out_of_range);
  const auto other = weather_fits(*file, {60.0, 10.35, 100});
  REQUIRE(other.size() == 2);
  CHECK(other[0].code == horizon::Code::bad_input);
  CHECK(noted(other, "line 1", "weather_station_higher"));
}
