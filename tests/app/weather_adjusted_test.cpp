#include "survey/exchange/weather_adjusted.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "app/words/sentence.h"
#include "survey/exchange/weather_file.h"
#include "tests/app/handover_tools.h"
#include "tests/near.h"

using namespace app;
using namespace handover_tools;

namespace {

// Header and field order: EnergyPlus Auxiliary Programs, weather file data dictionary.
const char* const kHeader =
    "LOCATION,Upper Larkholm,-,XX,INVENTED,000000,46.62,10.35,1.0,1490.0\r\n"
    "DESIGN CONDITIONS,0\r\nTYPICAL/EXTREME PERIODS,0\r\n"
    "GROUND TEMPERATURES,1,.5,,,,-1.2,-2.0,0.3,3.1,8.8,12.6,14.9,14.6,12.0,8.2,3.7,0.6\r\n"
    "HOLIDAYS/DAYLIGHT SAVING,No,0,0,0\r\nCOMMENTS 1,made for a test\r\nCOMMENTS 2,no comment\r\n"
    "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\r\n";

// An invented year: each third day is overcast, the rest have a beam that grows with the sun.
std::string epw_of(const StationReport& station) {
  std::string out = kHeader;
  const auto& path = *station.path;
  for (int day = 0; day < path.days(); ++day) {
    const auto date = horizon::date_of(path.day_start_utc_s(day) + 43200, path.utc_offset_h());
    for (int hour = 1; hour <= 24; ++hour) {
      double sine = 0;
      int up = 0;
      for (int look = 0; look < 6; ++look) {
        const double s = std::sin(horizon::kDegree * path.at(path.day_start_utc_s(day) +
                                                             (hour - 1) * 3600 + 300 + look * 600)
                                                         .elevation_deg);
        if (s <= 0) continue;
        sine += s / 6;
        ++up;
      }
      const double beam = day % 3 == 0 ? 0 : 900 * (1 - std::exp(-4 * sine)) * up / 6;
      const double diffuse = (day % 3 == 0 ? 250 : 120) * sine;
      char row[300];
      std::snprintf(row, sizeof row,
                    "2005,%u,%u,%d,60,?9?9?9?9E0?9?9,-3.5,-6.0,81,84500,0,0,250,%.0f,%.0f,%.0f,"
                    "%.0f,999900,%.0f,9999,225,2.5,5,4,30.0,77777,9,999999999,8,0.1000,12,30,0.620,"
                    "0.0,0.0\r\n",
                    static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()), hour,
                    beam * sine + diffuse, beam, diffuse, 110 * (beam * sine + diffuse),
                    120 * diffuse);
      out += row;
    }
  }
  return out;
}

survey::UnderSkyline under(const StationReport& station) {
  return {station.name(), station.input, station.masks, *station.path};
}

std::vector<std::string> fields_of(const std::string& line) {
  std::vector<std::string> out;
  std::istringstream in(line);
  for (std::string field; std::getline(in, field, ',');) out.push_back(field);
  return out;
}

struct Case {
  Folder folder{"weather"};
  survey::FieldBook book = larkholm::book(folder / "site.gpkg", {.stations = 2, .photos = 0});
  survey::WeatherFile file;
  SiteReport report;

  Case() {
    auto before = site_report(book, 0, {}, {});
    REQUIRE(before);
    auto read = survey::weather_of(epw_of(before->stations.front()));
    if (!read) FAIL(app::in_words(read.error()));
    file = std::move(*read);
    auto after = site_report(book, 0, {}, {}, std::make_shared<horizon::WeatherYear>(file.year));
    REQUIRE(after);
    report = std::move(*after);
  }
};

double sum_kwh_m2(const survey::WeatherFile& file, int month) {
  double sum = 0;
  for (const auto& hour : file.year.hours) {
    if (month == 0 || hour.month == month) sum += hour.global_horizontal_wm2 / 1000;
  }
  return sum;
}

}  // namespace

TEST_CASE(
    "The adjusted weather file is read again and sums to what the light engine finds on level "
    "ground under the same skyline, within 1 % [property]") {
  const Case c;
  for (const auto& station : c.report.stations) {
    CAPTURE(station.name());
    const auto text = survey::adjusted_weather(c.file, under(station));
    REQUIRE(text);
    const auto again = survey::weather_of(*text);
    if (!again) FAIL(app::in_words(again.error()));
    CHECK(again->notes.size() <= c.file.notes.size());
    double engine = 0;
    for (const auto& month : station.findings.months) {
      CAPTURE(month.month);
      engine += month.site_flat_kwh_m2;
      CHECK(std::abs(sum_kwh_m2(*again, month.month) - month.site_flat_kwh_m2) <
            0.015 * month.site_flat_kwh_m2 + 0.1);
    }
    const double sum = sum_kwh_m2(*again, 0);
    MESSAGE("station " << station.name() << ": file " << sum << ", engine " << engine
                       << ", as given " << sum_kwh_m2(c.file, 0) << " kWh/m2");
    CHECK(std::abs(sum - engine) < 0.01 * engine);
    CHECK(sum < 0.97 * sum_kwh_m2(c.file, 0));  // a valley takes some
  }
}

TEST_CASE("Headers, line ends and every field but radiation stay as they were [property]") {
  const Case c;
  const auto text = survey::adjusted_weather(c.file, under(c.report.stations.front()));
  REQUIRE(text);
  const auto again = survey::weather_of(*text);
  REQUIRE(again);
  CHECK(again->line_end == "\r\n");
  REQUIRE(again->lines.size() == c.file.lines.size());
  int header = 0, changed = 0;
  for (std::size_t i = 0; i < again->lines.size(); ++i) {
    if (static_cast<int>(i) < c.file.first_row) {
      ++header;
      const bool comment = c.file.lines[i].rfind("COMMENTS 2", 0) == 0;
      CHECK(again->lines[i].rfind(c.file.lines[i], 0) == 0);
      if (!comment) CHECK(again->lines[i] == c.file.lines[i]);
      continue;
    }
    const auto before = fields_of(c.file.lines[i]), after = fields_of(again->lines[i]);
    REQUIRE(before.size() == 35);
    REQUIRE(after.size() == 35);
    for (std::size_t f = 0; f < 35; ++f) {
      if (before[f] == after[f]) continue;
      ++changed;
      CAPTURE(c.file.lines[i]);
      // Global, beam, diffuse radiation and global, diffuse illuminance; a missing one stays so.
      CHECK((f == 13 || f == 14 || f == 15 || f == 16 || f == 18));
    }
  }
  CHECK(header == 8);
  CHECK(changed > 4000);
}

TEST_CASE("Under a flat horizon the weather file keeps its values [property]") {
  const Case c;
  StationReport flat;
  flat.derived.station.name = "flat";
  flat.input = c.report.stations.front().input;
  flat.input.skyline = {};
  flat.input.slope = {};
  flat.masks = horizon::Masks{};
  flat.path = c.report.stations.front().path;
  const auto text = survey::adjusted_weather(c.file, under(flat));
  REQUIRE(text);
  const auto again = survey::weather_of(*text);
  REQUIRE(again);
  for (std::size_t i = 0; i < c.file.year.hours.size(); ++i) {
    const auto &was = c.file.year.hours[i], &is = again->year.hours[i];
    CAPTURE(i);
    // Written to a tenth.
    CHECK_NEAR(is.global_horizontal_wm2, was.global_horizontal_wm2, 0.06);
    CHECK_NEAR(is.beam_normal_wm2, was.beam_normal_wm2, 0.06);
    CHECK_NEAR(is.diffuse_horizontal_wm2, was.diffuse_horizontal_wm2, 0.06);
  }
}

TEST_CASE("A handover with a weather file follows it in its findings too [property]") {
  const Case c;
  std::string bytes;
  for (const auto& line : c.file.lines) bytes += line + c.file.line_end;
  std::ofstream(c.folder / "given.epw", std::ios::binary) << bytes;
  auto options = options_for(c.folder / "out");
  options.draws = 0;
  options.weather_path = c.folder / "given.epw";
  const Handover done = made(c.book, options);
  const auto json = nlohmann::json::parse(bytes_of(done.unpacked_path + "/site.json"));
  CHECK(json["stations"][0]["light"]["sky"] == "weather file");
  CHECK(fs::exists(done.unpacked_path + "/station-1-b/weather_adjusted.epw"));

  // A file of another part of the world is refused, and nothing is written.
  bytes.replace(bytes.find("46.62,10.35,1.0"), 15, "46.62,40.35,3.0");
  std::ofstream(c.folder / "far.epw", std::ios::binary) << bytes;
  options.weather_path = c.folder / "far.epw";
  options.out_folder = c.folder / "none";
  const auto refused = make_handover(c.book, options, {}, {});
  REQUIRE_FALSE(refused);
  CHECK(refused.error().where.find("far.epw") != std::string::npos);
  CHECK_FALSE(fs::exists(c.folder / "none"));
}
