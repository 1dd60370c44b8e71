#include "survey/exchange/weather_years.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "horizon/angle.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::fail;
using horizon::Result;
using horizon::WeatherHour;

constexpr std::size_t kLeastRows = 8760 - 876, kMostYears = 40;
constexpr std::size_t kHours = 8760;
constexpr double kSameKm = 5;

// Of the stamp: "2011,1,1,..." or "01/01/2011,...".
std::optional<int> year_of_row(std::string_view line, WeatherFile::Layout layout) {
  if (layout == WeatherFile::Layout::tmy3) {
    const auto slash = line.rfind('/', line.find(','));
    if (slash == std::string_view::npos) return std::nullopt;
    line.remove_prefix(slash + 1);
  }
  int year = 0;
  const auto read = std::from_chars(line.data(), line.data() + line.size(), year);
  if (read.ec != std::errc() || read.ptr == line.data() + line.size() || *read.ptr != ',')
    return std::nullopt;
  return year;
}

int month_of(std::size_t slot) {
  constexpr std::size_t kBegins[] = {0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365};
  int month = 0;
  while (slot / 24 >= kBegins[month + 1]) ++month;
  return month;
}

struct MonthMeans {
  double light = 0, warmth = 0;
};
std::array<MonthMeans, 12> means_of(const std::vector<WeatherHour>& hours) {
  std::array<MonthMeans, 12> out{};
  std::array<int, 12> lit{}, warm{};
  for (std::size_t h = 0; h < hours.size(); ++h) {
    const auto m = static_cast<std::size_t>(month_of(h));
    out[m].light += hours[h].global_horizontal_wm2;
    ++lit[m];
    if (!hours[h].dry_bulb_c) continue;
    out[m].warmth += *hours[h].dry_bulb_c;
    ++warm[m];
  }
  for (std::size_t m = 0; m < 12; ++m) {
    out[m].light /= std::max(1, lit[m]);
    out[m].warmth /= std::max(1, warm[m]);
  }
  return out;
}

double away(const std::vector<double>& values, std::size_t at) {
  double mean = 0, square = 0;
  const double n = static_cast<double>(values.size());
  for (const double v : values) mean += v / n;
  for (const double v : values) square += (v - mean) * (v - mean) / n;
  return square > 0 ? std::abs(values[at] - mean) / std::sqrt(square) : 0;
}

// Which year each month is taken of.
std::array<std::size_t, 12> typical_months(const std::vector<std::vector<WeatherHour>>& years) {
  std::vector<std::array<MonthMeans, 12>> means;
  for (const auto& year : years) means.push_back(means_of(year));
  std::array<std::size_t, 12> out{};
  for (std::size_t m = 0; m < 12; ++m) {
    std::vector<double> light, warmth;
    for (const auto& year : means) {
      light.push_back(year[m].light);
      warmth.push_back(year[m].warmth);
    }
    double best = 1e9;
    for (std::size_t y = 0; y < years.size(); ++y) {
      const double off = away(light, y) + away(warmth, y) / 2;
      if (off < best) best = off, out[m] = y;
    }
  }
  return out;
}

// One file out of years of hours with the rows they came from.
WeatherFile with_typical(WeatherFile file, const std::vector<WeatherFile>& each) {
  file.lines.resize(static_cast<std::size_t>(file.first_row));
  file.year.years.clear();
  for (const WeatherFile& one : each) file.year.years.push_back(one.year.hours);
  const auto from = typical_months(file.year.years);
  file.year.hours.resize(kHours);
  file.line_of_hour.assign(kHours, -1);
  for (std::size_t h = 0; h < kHours; ++h) {
    const WeatherFile& one = each[from[static_cast<std::size_t>(month_of(h))]];
    file.year.hours[h] = one.year.hours[h];
    if (one.line_of_hour[h] < 0) continue;
    file.line_of_hour[h] = static_cast<int>(file.lines.size());
    file.lines.push_back(one.lines[static_cast<std::size_t>(one.line_of_hour[h])]);
  }
  std::set<int> stamps;
  std::set<std::string> told;
  for (const WeatherFile& one : each) {
    stamps.insert(one.year.hours.front().year);
    for (const horizon::Error& note : one.notes)
      if (note.key != "error.weather_one_year" && told.insert(note.key).second)
        file.notes.push_back(note);
  }
  file.notes.push_back({Code::bad_input,
                        {"error.weather_years_typical",
                         {static_cast<int>(each.size()), *stamps.begin(), *stamps.rbegin()}},
                        "line " + std::to_string(file.first_row + 1)});
  return file;
}

}  // namespace

Result<void> read_weather_years(WeatherFile& file, const WeatherColumns& columns,
                                std::size_t least_fields) {
  std::map<int, std::vector<int>> rows;
  for (int i = file.first_row; i < static_cast<int>(file.lines.size()); ++i)
    if (const auto year = year_of_row(file.lines[static_cast<std::size_t>(i)], file.layout))
      rows[*year].push_back(i);
  std::size_t left_out = 0;
  int left_at = file.first_row;
  std::map<int, std::vector<int>> whole;
  for (auto year = rows.rbegin(); year != rows.rend(); ++year) {
    if (year->second.size() >= kLeastRows && whole.size() < kMostYears) {
      whole.insert(*year);
    } else {
      left_out += year->second.size();
      left_at = year->second.front();
    }
  }
  if (whole.size() < 2) return read_weather_rows(file, columns, least_fields);
  std::vector<WeatherFile> each;
  for (const auto& [year, lines] : whole) {
    WeatherFile one;
    one.layout = file.layout;
    one.year = file.year;
    one.first_row = file.first_row;
    one.rows_begin = lines.front();
    one.lines.assign(file.lines.begin(), file.lines.begin() + file.first_row);
    for (const int line : lines) one.lines.push_back(file.lines[static_cast<std::size_t>(line)]);
    if (auto ok = read_weather_rows(one, columns, least_fields); !ok) return ok;
    each.push_back(std::move(one));
  }
  if (left_out > 0)
    file.notes.push_back({Code::bad_input,
                          {"error.weather_years_left_out", {static_cast<int>(left_out)}},
                          "line " + std::to_string(left_at + 1)});
  file = with_typical(std::move(file), each);
  return {};
}

Result<WeatherFile> joined(std::vector<WeatherFile> files) {
  if (files.size() == 1) return std::move(files.front());
  const horizon::Place there = files.front().year.place;
  const double offset_h = files.front().year.utc_offset_h;
  const std::string station = files.front().year.station;
  WeatherFile out;
  out.layout = files.front().layout;
  std::vector<WeatherFile> each;
  std::vector<horizon::Error> notes;
  for (WeatherFile& file : files) {
    const double north_km = (file.year.place.latitude_deg - there.latitude_deg) * 111.2;
    const double east_km = (file.year.place.longitude_deg - there.longitude_deg) * 111.2 *
                           std::cos(there.latitude_deg * horizon::kDegree);
    if (std::hypot(north_km, east_km) > kSameKm || file.year.utc_offset_h != offset_h)
      return fail(Code::bad_input, "error.weather_years_elsewhere", file.year.station);
    if (file.year.years.empty()) {
      each.push_back(std::move(file));
      continue;
    }
    const auto years = std::exchange(file.year.years, {});
    for (const auto& year : years) {
      WeatherFile one;
      one.year = file.year;
      one.year.hours = year;
      one.line_of_hour.assign(kHours, -1);
      each.push_back(std::move(one));
    }
    notes.insert(notes.end(), file.notes.begin(), file.notes.end());
  }
  // The same year again would make winters look alike.
  std::set<std::vector<std::pair<double, std::optional<double>>>> known;
  const std::size_t again = std::erase_if(each, [&](const WeatherFile& one) {
    std::vector<std::pair<double, std::optional<double>>> hours;
    for (const WeatherHour& hour : one.year.hours)
      hours.emplace_back(hour.global_horizontal_wm2, hour.dry_bulb_c);
    return !known.insert(std::move(hours)).second;
  });
  if (again > 0)
    notes.push_back(
        {Code::bad_input, {"error.weather_year_again", {static_cast<int>(again)}}, station});
  if (each.size() == 1) {
    each.front().notes.insert(each.front().notes.end(), notes.begin(), notes.end());
    return std::move(each.front());
  }
  out.year = each.front().year;
  out.year.place = there;
  out.notes = std::move(notes);
  return with_typical(std::move(out), each);
}

}  // namespace survey
