#include "survey/assess/climate_rows.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "horizon/ground/cold.h"

namespace survey {
namespace {

using Normals = ClimateNormals;
constexpr double kColdest_c = -60, kHottest_c = 50;
constexpr double kDays[] = {31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

double days_in(int month) { return kDays[std::clamp(month, 1, 12) - 1]; }

}  // namespace

std::span<const ClimateRow> climate_rows() {
  using As = ClimateRow::As;
  static constexpr ClimateRow kRows[] = {
      {"ground.months_mean", &Normals::mean_c, Measure::temperature_c, kColdest_c, kHottest_c,
       As::is},
      {"ground.months_low", &Normals::min_c, Measure::temperature_c, kColdest_c, kHottest_c,
       As::is},
      {"ground.months_high", &Normals::max_c, Measure::temperature_c, kColdest_c, kHottest_c,
       As::is},
      {"ground.months_coldest", &Normals::coldest_c, Measure::temperature_c, kColdest_c, kHottest_c,
       As::is},
      {"ground.months_sun_hours", &Normals::sunshine_fraction, Measure::hours, 0, 744,
       As::sun_hours},
      {"ground.months_sun_share", &Normals::sunshine_fraction, Measure::part_percent, 0, 100,
       As::share},
      {"ground.months_snow_days", &Normals::snow_cover_fraction, Measure::days, 0, 31, As::days},
      {"ground.months_albedo", &Normals::albedo, Measure::part_percent, 5, 95, As::share},
  };
  return kRows;
}

double possible_sunshine_h(int month, double latitude_deg) {
  // The middle of the month, as the day of the year.
  const double day = 30.42 * (month - 0.5);
  const double declination = 0.409 * std::sin(2 * std::numbers::pi * day / 365 - 1.39);
  const double x = -std::tan(latitude_deg * std::numbers::pi / 180) * std::tan(declination);
  return 24 / std::numbers::pi * std::acos(std::clamp(x, -1.0, 1.0));
}

std::optional<double> measured(const ClimateRow& row, double kept, int month, double latitude_deg) {
  switch (row.as) {
    case ClimateRow::As::is:
      return kept;
    case ClimateRow::As::share:
      return kept * 100;
    case ClimateRow::As::days:
      return kept * days_in(month);
    case ClimateRow::As::sun_hours:
      return kept * possible_sunshine_h(month, latitude_deg) * days_in(month);
  }
  return kept;
}

std::optional<double> to_keep(const ClimateRow& row, double si, int month, double latitude_deg) {
  switch (row.as) {
    case ClimateRow::As::is:
      return si;
    case ClimateRow::As::share:
      return si / 100;
    case ClimateRow::As::days:
      return std::min(1.0, si / days_in(month));
    case ClimateRow::As::sun_hours: {
      const double possible = possible_sunshine_h(month, latitude_deg) * days_in(month);
      if (possible <= 0 || si > 1.02 * possible) return std::nullopt;
      return std::min(1.0, si / possible);
    }
  }
  return si;
}

Normals climate_of(const horizon::WeatherYear& weather) {
  Normals climate;
  climate.name = weather.station;
  climate.source = weather.source;
  struct Month {
    double low = 0, high = 0, mean = 0, coldest = 1e9, global_wh = 0;
    int days = 0, hours = 0, snow_hours = 0, snow_known = 0;
  };
  std::array<Month, 12> months;
  for (const auto& day : horizon::days_of(weather)) {
    Month& m = months[static_cast<unsigned>(day.date.month()) - 1];
    m.low += day.low_c;
    m.high += day.high_c;
    m.mean += day.mean_c;
    m.coldest = std::min(m.coldest, day.low_c);
    ++m.days;
  }
  for (const auto& hour : weather.hours) {
    if (hour.month < 1 || hour.month > 12) continue;
    Month& m = months[static_cast<std::size_t>(hour.month - 1)];
    m.global_wh += hour.global_horizontal_wm2;
    ++m.hours;
    if (!hour.snow_depth_cm) continue;
    ++m.snow_known;
    m.snow_hours += *hour.snow_depth_cm >= 1;
  }
  for (std::size_t i = 0; i < 12; ++i) {
    const Month& m = months[i];
    if (m.days > 0) {
      climate.mean_c[i] = m.mean / m.days;
      climate.min_c[i] = m.low / m.days;
      climate.max_c[i] = m.high / m.days;
      climate.coldest_c[i] = m.coldest;
    }
    if (m.hours > 0) climate.global_kwh_m2_day[i] = m.global_wh / m.hours * 24 / 1000;
    if (m.snow_known > m.hours / 2)
      climate.snow_cover_fraction[i] = static_cast<double>(m.snow_hours) / m.snow_known;
  }
  return climate;
}

std::string_view sky_of(const Normals& climate) {
  const auto whole = [](const MonthValues& row) {
    return std::all_of(row.begin(), row.end(), [](const auto& m) { return m.has_value(); });
  };
  return whole(climate.sunshine_fraction)   ? "ground.sky_sunshine"
         : whole(climate.global_kwh_m2_day) ? "ground.sky_global"
                                            : "ground.sky_clear";
}

}  // namespace survey
