#include "survey/exchange/weather_file.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "horizon/angle.h"
#include "survey/book/text.h"
#include "survey/exchange/weather_years.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::Error;
using horizon::fail;
using horizon::kDegree;
using horizon::Result;

// The eight header lines, as they begin; both spellings of the fifth are written by known makers.
constexpr const char* kEpwHeader[8] = {"LOCATION",
                                       "DESIGN CONDITIONS",
                                       "TYPICAL/EXTREME PERIODS",
                                       "GROUND TEMPERATURES",
                                       "HOLIDAYS/DAYLIGHT SAVING",
                                       "COMMENTS 1",
                                       "COMMENTS 2",
                                       "DATA PERIODS"};

std::string at_line(int index) { return "line " + std::to_string(index + 1); }

std::string clean(const std::string& raw) {
  const auto read = text_of(raw);
  return read ? read->utf8 : std::string();
}

void split_lines(std::string_view bytes, WeatherFile& file) {
  if (bytes.substr(0, 3) == "\xEF\xBB\xBF") bytes.remove_prefix(3);
  while (!bytes.empty()) {
    const size_t end = bytes.find('\n');
    std::string_view line = bytes.substr(0, end);
    if (!line.empty() && line.back() == '\r') {
      line.remove_suffix(1);
      file.line_end = "\r\n";
    }
    file.lines.emplace_back(line);
    bytes.remove_prefix(end == std::string_view::npos ? bytes.size() : end + 1);
  }
  while (!file.lines.empty() && trimmed(file.lines.back()).empty()) file.lines.pop_back();
}

Result<void> read_place(WeatherFile& file, const std::string& latitude,
                        const std::string& longitude, const std::string& zone,
                        const std::string& height) {
  const auto lat = number_of(latitude), lon = number_of(longitude), tz = number_of(zone),
             z = number_of(height);
  if (!lat || !lon || !tz || std::abs(*lat) > 90 || std::abs(*lon) > 180 || std::abs(*tz) > 14)
    return fail(Code::bad_input, "error.weather_place", at_line(0));
  file.year.place = {*lat, *lon, 0};
  file.year.utc_offset_h = *tz;
  if (z && *z > -500 && *z < 9000)
    file.year.place.height_m = *z;
  else
    file.notes.push_back({Code::bad_input, "error.weather_height_unread", at_line(0)});
  return {};
}

// Headers by their names; what is missing but the first is a note.
Result<void> read_epw(WeatherFile& file) {
  const std::vector<std::string> place = weather_fields(file.lines[0]);
  if (place.size() < 9) return fail(Code::bad_input, "error.weather_location_fields", at_line(0));
  file.year.station = clean(place[1]);
  file.year.source = clean(place[4]);
  if (auto ok = read_place(file, place[6], place[7], place[8], place.size() > 9 ? place[9] : "");
      !ok)
    return ok;
  std::array<int, 8> header;
  header.fill(-1);
  const auto is_row = [&](int i) {
    const std::vector<std::string> fields = weather_fields(file.lines[i]);
    return fields.size() > 6 && number_of(fields[0]) && number_of(fields[1]) &&
           number_of(fields[2]) && number_of(fields[3]);
  };
  int row = 0;
  for (; row < static_cast<int>(file.lines.size()) && !is_row(row); ++row)
    for (int h = 0; h < 8; ++h)
      if (header[h] < 0 && lower_ascii(file.lines[row]).rfind(lower_ascii(kEpwHeader[h]), 0) == 0)
        header[h] = row;
  file.first_row = row;
  for (int h = 0; h < 8; ++h)
    if (header[h] < 0)
      file.notes.push_back({Code::bad_input,
                            {"error.weather_header_missing", {kEpwHeader[h]}},
                            at_line(std::min(h, row))});
  if (header[7] >= 0) {
    const std::vector<std::string> periods = weather_fields(file.lines[header[7]]);
    if (periods.size() > 2 && number_of(periods[2]).value_or(1) != 1)
      return fail(Code::bad_input, "error.weather_one_row_an_hour", at_line(header[7]));
  }
  return read_weather_years(file, WeatherColumns{}, 16);
}

Result<void> read_tmy3(WeatherFile& file) {
  const std::vector<std::string> place = weather_fields(file.lines[0]);
  if (place.size() < 7) return fail(Code::bad_input, "error.weather_first_line", at_line(0));
  file.year.station = clean(place[1]);
  file.year.source = "TMY3 " + clean(place[0]);
  if (auto ok = read_place(file, place[4], place[5], place[3], place[6]); !ok) return ok;
  const std::vector<std::string> names = weather_fields(file.lines[1]);
  const auto column = [&](std::string_view begins) {
    for (size_t i = 0; i < names.size(); ++i)
      if (lower_ascii(names[i]).rfind(std::string(begins), 0) == 0) return static_cast<int>(i);
    return -1;
  };
  WeatherColumns c;
  c.global = column("ghi (w/m^2)");
  c.beam = column("dni (w/m^2)");
  c.diffuse = column("dhi (w/m^2)");
  c.dry_bulb = column("dry-bulb (c)");
  c.humidity = column("rhum (%)");
  c.wind_from = column("wdir (degrees)");
  c.wind_speed = column("wspd (m/s)");
  c.snow = -1;
  c.albedo = column("alb (unitless)");
  c.sky_cover = column("opqcld (tenths)");
  if (c.global < 0 || c.beam < 0 || c.diffuse < 0)
    return fail(Code::bad_input, "error.weather_columns", at_line(1));
  file.first_row = 2;
  return read_weather_years(file, c,
                            static_cast<size_t>(std::max({c.global, c.beam, c.diffuse})) + 1);
}

double distance_km(const horizon::Place& a, const horizon::Place& b) {
  const double f = a.latitude_deg * kDegree, g = b.latitude_deg * kDegree;
  const double s = std::sin((f - g) / 2),
               t = std::sin((a.longitude_deg - b.longitude_deg) * kDegree / 2);
  return 2 * 6371 * std::asin(std::min(1.0, std::sqrt(s * s + std::cos(f) * std::cos(g) * t * t)));
}

}  // namespace

Result<WeatherFile> weather_of(std::string_view bytes) {
  WeatherFile file;
  split_lines(bytes, file);
  if (file.lines.empty()) return fail(Code::bad_input, "error.weather_empty");
  if (lower_ascii(weather_fields(file.lines[0])[0]) == "location") {
    file.layout = WeatherFile::Layout::epw;
    if (auto ok = read_epw(file); !ok) return tl::unexpected(ok.error());
    return file;
  }
  if (file.lines.size() > 1 &&
      lower_ascii(weather_fields(file.lines[1])[0]).rfind("date (", 0) == 0) {
    file.layout = WeatherFile::Layout::tmy3;
    if (auto ok = read_tmy3(file); !ok) return tl::unexpected(ok.error());
    return file;
  }
  return fail(Code::bad_input, "error.weather_kind_unknown", at_line(0));
}

std::vector<Error> weather_fits(const WeatherFile& file, const horizon::Place& site) {
  std::vector<Error> notes;
  const horizon::Place& there = file.year.place;
  const double km = distance_km(there, site), up = there.height_m - site.height_m;
  if (km > 500) {
    notes.push_back({Code::bad_input,
                     {"error.weather_too_far",
                      {horizon::Arg::figure(there.latitude_deg, 3),
                       horizon::Arg::figure(there.longitude_deg, 3), horizon::Arg::figure(km, 0)}},
                     at_line(0)});
  } else if (km > 50) {
    notes.push_back(
        {Code::out_of_range, {"error.weather_far", {horizon::Arg::figure(km, 0)}}, at_line(0)});
  }
  if (std::abs(up) > 300)
    notes.push_back({Code::out_of_range,
                     {up > 0 ? "error.weather_station_higher" : "error.weather_station_lower",
                      {horizon::Arg::figure(std::abs(up), 0)}},
                     at_line(0)});
  return notes;
}

}  // namespace survey
