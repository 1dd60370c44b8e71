#include "survey/exchange/weather_file.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "horizon/angle.h"
#include "horizon/light/decomposition.h"
#include "horizon/light/solar_terms.h"
#include "survey/book/text.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::Error;
using horizon::fail;
using horizon::kDegree;
using horizon::Result;
using horizon::WeatherHour;

constexpr std::array<int, 12> kMonthDays = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
constexpr int kHours = 8760;
constexpr double kMostRadiation_wm2 = 1500;  // above any hour's mean, clouds' edges included
constexpr double kDarkSun_deg = -8;          // of a whole hour: no light by then
constexpr const char* kEpwHeader[8] = {"LOCATION",
                                       "DESIGN CONDITIONS",
                                       "TYPICAL/EXTREME PERIODS",
                                       "GROUND TEMPERATURES",
                                       "HOLIDAYS/DAYLIGHT SAVING",
                                       "COMMENTS 1",
                                       "COMMENTS 2",
                                       "DATA PERIODS"};

std::string at_line(int index) { return "line " + std::to_string(index + 1); }

template <class... Values>
std::string text(const char* format, Values... values) {
  char buffer[320];
  std::snprintf(buffer, sizeof buffer, format, values...);
  return buffer;
}

// Fields between commas; quotes keep commas in.
std::vector<std::string> fields_of(std::string_view line) {
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (char c : line) {
    if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      fields.emplace_back();
    } else {
      fields.back() += c;
    }
  }
  for (std::string& field : fields) field = std::string(trimmed(field));
  return fields;
}

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
  if (!lat || !lon || !tz || !z || std::abs(*lat) > 90 || std::abs(*lon) > 180 ||
      std::abs(*tz) > 14)
    return fail(Code::bad_input,
                "the file's place is not readable: latitude, longitude (east positive), time zone "
                "in hours and height in metres are needed",
                at_line(0));
  // A zone is within three hours of the sun, politics included.
  if (std::abs(horizon::wrap_180(*lon - 15 * *tz)) > 50)
    return fail(Code::bad_input,
                text("longitude %.2f and time zone %+.1f h are far apart; west is negative in both",
                     *lon, *tz),
                at_line(0));
  file.year.place = {*lat, *lon, *z};
  file.year.utc_offset_h = *tz;
  return {};
}

struct Columns {
  int beam = 14, global = 13, diffuse = 15, dry_bulb = 6, humidity = 8, pressure = 9,
      wind_from = 20, wind_speed = 21, snow = 30, albedo = 32;
};

// A field, unless it is absent or holds the layout's mark for a missing value.
std::optional<double> value_at(const std::vector<std::string>& fields, int column, double missing) {
  if (column < 0 || column >= static_cast<int>(fields.size())) return std::nullopt;
  const auto value = number_of(fields[column]);
  if (!value || *value >= missing || *value <= -9900) return std::nullopt;
  return value;
}

// Mean height of the sun over the hour that ends at `hour`, by its middle.
double sun_elevation(const horizon::WeatherYear& year, int day_of_year, int hour) {
  const double declination = horizon::declination_spencer_deg(day_of_year) * kDegree;
  const double solar_h = hour - 0.5 + (year.place.longitude_deg - 15 * year.utc_offset_h) / 15 +
                         horizon::equation_of_time_min(day_of_year) / 60;
  const double phi = year.place.latitude_deg * kDegree, w = (solar_h - 12) * 15 * kDegree;
  return std::asin(std::sin(phi) * std::sin(declination) +
                   std::cos(phi) * std::cos(declination) * std::cos(w)) /
         kDegree;
}

Result<void> read_light(const std::vector<std::string>& fields, const Columns& columns,
                        const horizon::WeatherYear& year, int day_of_year, WeatherHour& hour,
                        bool& filled_in) {
  const auto global = value_at(fields, columns.global, 9999);
  const auto beam = value_at(fields, columns.beam, 9999);
  const auto diffuse = value_at(fields, columns.diffuse, 9999);
  const double elevation = sun_elevation(year, day_of_year, hour.hour);
  if (!global && elevation > 0)
    return fail(Code::bad_input,
                "global radiation is missing while the sun is up; use a file without gaps");
  for (const auto& value : {global, beam, diffuse}) {
    if (value && *value > kMostRadiation_wm2)
      return fail(Code::bad_input,
                  text("%.0f is more radiation than the sun gives in an hour; the unit must be "
                       "Wh/m2 (W/m2): divide kJ/m2 by 3.6",
                       *value));
    if (value && *value < 0)
      return fail(Code::bad_input, text("radiation of %.0f is below zero", *value));
    if (value && *value > 30 && elevation < kDarkSun_deg)
      return fail(Code::bad_input,
                  text("%.0f W/m2 with the sun %.0f degrees below the horizon: place, time zone or "
                       "clock (standard time, hour ending) of the file are wrong",
                       *value, -elevation));
  }
  hour.global_horizontal_wm2 = global.value_or(0);
  if (beam && diffuse) {
    hour.beam_normal_wm2 = *beam;
    hour.diffuse_horizontal_wm2 = *diffuse;
  } else {
    filled_in = filled_in || global.value_or(0) > 0;
    const horizon::Irradiance split =
        horizon::erbs_split(global.value_or(0), 90 - elevation,
                            horizon::kSolarConstant_wm2 * horizon::distance_factor(day_of_year));
    hour.beam_normal_wm2 = split.beam_normal_wm2;
    hour.diffuse_horizontal_wm2 = split.diffuse_horizontal_wm2;
  }
  return {};
}

struct Stamp {
  int year = 0, month = 0, day = 0, hour = 0;
};

std::optional<Stamp> epw_stamp(const std::vector<std::string>& fields) {
  double v[4];
  for (int i = 0; i < 4; ++i) {
    const auto value = number_of(fields[i]);
    if (!value || *value != std::floor(*value)) return std::nullopt;
    v[i] = *value;
  }
  return Stamp{static_cast<int>(v[0]), static_cast<int>(v[1]), static_cast<int>(v[2]),
               static_cast<int>(v[3])};
}

// "01/31/1999" and "24:00".
std::optional<Stamp> tmy3_stamp(const std::vector<std::string>& fields) {
  Stamp s;
  int minute = 0;
  if (std::sscanf(fields[0].c_str(), "%d/%d/%d", &s.month, &s.day, &s.year) != 3 ||
      std::sscanf(fields[1].c_str(), "%d:%d", &s.hour, &minute) != 2 || minute != 0)
    return std::nullopt;
  return s;
}

Result<void> read_rows(WeatherFile& file, const Columns& columns, size_t least_fields) {
  const bool epw = file.layout == WeatherFile::Layout::epw;
  int month = 1, day = 1, hour = 1, day_of_year = 1, leap_line = -1, filled_line = -1;
  int mixed_line = -1, cold_high = 0;
  std::array<int, 12> years{};
  for (int i = file.first_row; i < static_cast<int>(file.lines.size()); ++i) {
    const auto bad = [&](std::string message) {
      return fail(Code::bad_input, std::move(message), at_line(i));
    };
    const std::vector<std::string> fields = fields_of(file.lines[i]);
    if (fields.size() < least_fields)
      return bad(text("%d fields where %d are needed; the row is cut short",
                      static_cast<int>(fields.size()), static_cast<int>(least_fields)));
    const auto stamp = epw ? epw_stamp(fields) : tmy3_stamp(fields);
    if (!stamp) return bad("the date or hour is not readable");
    if (stamp->month == 2 && stamp->day == 29) {
      if (leap_line < 0) leap_line = i;
      continue;
    }
    if (month > 12)
      return bad("a row after 31 December 24 h; the file must hold one year of 8760 hours");
    if (stamp->month != month || stamp->day != day || stamp->hour != hour)
      return bad(
          text("expected month %d day %d hour %d, found month %d day %d hour %d: hours are "
               "missing, doubled or out of order; hours run from 1 to 24, one a row",
               month, day, hour, stamp->month, stamp->day, stamp->hour));
    int& year = years[month - 1];
    if (year == 0) year = stamp->year;
    if (year != stamp->year && mixed_line < 0) mixed_line = i;

    WeatherHour h;
    h.year = stamp->year;
    h.month = month;
    h.day = day;
    h.hour = hour;
    bool filled_in = false;
    if (auto ok = read_light(fields, columns, file.year, day_of_year, h, filled_in); !ok)
      return bad(ok.error().message);
    if (filled_in && filled_line < 0) filled_line = i;
    h.dry_bulb_c = value_at(fields, columns.dry_bulb, 99.9);
    if (h.dry_bulb_c && *h.dry_bulb_c < -90)
      return bad(text("a dry bulb of %.1f is colder than any place; the unit is degrees Celsius",
                      *h.dry_bulb_c));
    if (h.dry_bulb_c && *h.dry_bulb_c > 60)
      return bad(
          text("a dry bulb of %.1f is hotter than any place; the unit must be degrees "
               "Celsius, this looks like Fahrenheit",
               *h.dry_bulb_c));
    const auto pressure = value_at(fields, columns.pressure, 999999);
    if (epw && pressure && *pressure > 0 && *pressure < 10000)
      return bad(
          text("a pressure of %.0f is not in pascal; multiply hPa or mbar by 100", *pressure));
    if (h.dry_bulb_c && *h.dry_bulb_c > 50) ++cold_high;
    h.relative_humidity_percent = value_at(fields, columns.humidity, 999);
    h.wind_from_deg = value_at(fields, columns.wind_from, 999);
    h.wind_speed_ms = value_at(fields, columns.wind_speed, 999);
    h.snow_depth_cm = value_at(fields, columns.snow, 999);
    h.albedo = value_at(fields, columns.albedo, 0.999);
    if (h.albedo && *h.albedo <= 0) h.albedo.reset();
    file.year.hours.push_back(h);
    file.line_of_hour.push_back(i);
    if (++hour > 24) {
      hour = 1;
      ++day_of_year;
      if (++day > kMonthDays[month - 1]) {
        day = 1;
        ++month;
      }
    }
  }
  if (static_cast<int>(file.year.hours.size()) != kHours)
    return fail(
        Code::bad_input,
        text("the file ends after %d hours, before month %d day %d hour %d; 8760 are needed",
             static_cast<int>(file.year.hours.size()), month, day, hour),
        at_line(static_cast<int>(file.lines.size()) - 1));
  const auto note = [&](int line, std::string message) {
    file.notes.push_back({Code::bad_input, std::move(message), at_line(line)});
  };
  if (cold_high > 200)
    note(file.first_row,
         text("%d hours above 50 degrees Celsius; are the temperatures Fahrenheit?", cold_high));
  if (leap_line >= 0)
    note(leap_line, "29 February is left out: the year is worked out in 365 days");
  if (mixed_line >= 0)
    note(mixed_line, "the year changes inside a month; a typical year is made of whole months");
  if (filled_line >= 0)
    note(filled_line,
         "direct or diffuse radiation is missing here and perhaps below; split from the global by "
         "Erbs");
  if (std::all_of(years.begin(), years.end(), [&](int y) { return y == years[0]; }))
    note(file.first_row,
         text("all rows are of %d: if that is one real year, know that years differ by a "
              "tenth and more",
              years[0]));
  double global = 0;
  for (const WeatherHour& h : file.year.hours) global += h.global_horizontal_wm2 / 1000;
  if (global < 300)
    return fail(
        Code::bad_input,
        text("only %.0f kWh/m2 of global radiation in the year; no place has under 300: the "
             "columns hold no radiation or another unit",
             global),
        at_line(file.first_row));
  return {};
}

Result<void> read_epw(WeatherFile& file) {
  for (int i = 0; i < 8; ++i) {
    const std::string name =
        i < static_cast<int>(file.lines.size()) ? fields_of(file.lines[i])[0] : "";
    if (lower_ascii(name) != lower_ascii(kEpwHeader[i]))
      return fail(
          Code::bad_input,
          text("expected the header line %s; an EPW file has eight, in fixed order", kEpwHeader[i]),
          at_line(i));
  }
  const std::vector<std::string> place = fields_of(file.lines[0]);
  if (place.size() < 10)
    return fail(Code::bad_input, "LOCATION needs ten fields, up to time zone and height",
                at_line(0));
  file.year.station = clean(place[1]);
  file.year.source = clean(place[4]);
  if (auto ok = read_place(file, place[6], place[7], place[8], place[9]); !ok) return ok;
  const std::vector<std::string> periods = fields_of(file.lines[7]);
  if (periods.size() > 2 && number_of(periods[2]).value_or(1) != 1)
    return fail(Code::bad_input, "one row an hour is needed; the file says otherwise", at_line(7));
  file.first_row = 8;
  return read_rows(file, Columns{}, 22);
}

Result<void> read_tmy3(WeatherFile& file) {
  const std::vector<std::string> place = fields_of(file.lines[0]);
  if (place.size() < 7)
    return fail(Code::bad_input,
                "the first line needs seven fields: number, name, state, time zone, latitude, "
                "longitude, height",
                at_line(0));
  file.year.station = clean(place[1]);
  file.year.source = "TMY3 " + clean(place[0]);
  if (auto ok = read_place(file, place[4], place[5], place[3], place[6]); !ok) return ok;
  const std::vector<std::string> names = fields_of(file.lines[1]);
  const auto column = [&](std::string_view begins) {
    for (size_t i = 0; i < names.size(); ++i)
      if (lower_ascii(names[i]).rfind(std::string(begins), 0) == 0) return static_cast<int>(i);
    return -1;
  };
  Columns c;
  c.global = column("ghi (w/m^2)");
  c.beam = column("dni (w/m^2)");
  c.diffuse = column("dhi (w/m^2)");
  c.dry_bulb = column("dry-bulb (c)");
  c.humidity = column("rhum (%)");
  c.pressure = -1;
  c.wind_from = column("wdir (degrees)");
  c.wind_speed = column("wspd (m/s)");
  c.snow = -1;
  c.albedo = column("alb (unitless)");
  if (c.global < 0 || c.beam < 0 || c.diffuse < 0)
    return fail(Code::bad_input,
                "the columns GHI, DNI and DHI in W/m^2 are needed; the names or units differ",
                at_line(1));
  file.first_row = 2;
  return read_rows(file, c, static_cast<size_t>(std::max({c.global, c.beam, c.diffuse})) + 1);
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
  if (file.lines.empty()) return fail(Code::bad_input, "the weather file is empty");
  if (lower_ascii(fields_of(file.lines[0])[0]) == "location") {
    file.layout = WeatherFile::Layout::epw;
    if (auto ok = read_epw(file); !ok) return tl::unexpected(ok.error());
    return file;
  }
  if (file.lines.size() > 1 && lower_ascii(fields_of(file.lines[1])[0]).rfind("date (", 0) == 0) {
    file.layout = WeatherFile::Layout::tmy3;
    if (auto ok = read_tmy3(file); !ok) return tl::unexpected(ok.error());
    return file;
  }
  return fail(Code::bad_input,
              "neither EPW (begins with LOCATION) nor TMY3 CSV (second line begins with Date); "
              "choose one of these",
              at_line(0));
}

std::vector<Error> weather_fits(const WeatherFile& file, const horizon::Place& site) {
  std::vector<Error> notes;
  const horizon::Place& there = file.year.place;
  const double km = distance_km(there, site), up = there.height_m - site.height_m;
  if (km > 500) {
    notes.push_back({Code::bad_input,
                     text("the file is of %.3f, %.3f, %.0f km from the site: another climate; take "
                          "a nearer one",
                          there.latitude_deg, there.longitude_deg, km),
                     at_line(0)});
  } else if (km > 50) {
    notes.push_back({Code::out_of_range,
                     text("the file's station is %.0f km from the site; check that its weather is "
                          "like the site's",
                          km),
                     at_line(0)});
  }
  if (std::abs(up) > 300)
    notes.push_back({Code::out_of_range,
                     text("the file's station lies %.0f m %s than the site: fog, snow and cold "
                          "differ",
                          std::abs(up), up > 0 ? "higher" : "lower"),
                     at_line(0)});
  return notes;
}

}  // namespace survey
