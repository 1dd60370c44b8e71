#include "app/words/quantity.h"

#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "app/words/words.h"
#include "horizon/angle.h"

namespace app {
namespace {

constexpr const char* kThin = "\u202F";   // between thousands, and where a sign is set apart
constexpr const char* kSpace = "\u00A0";  // between number and unit: never broken
constexpr const char* kMinus = "\u2212";

std::string with_unit(double value, int decimals, const char* unit) {
  return number(value, decimals) + kSpace + unit;
}

// A count of drawn winters is no certainty: neither all of them nor none.
enum class Edge { none, under, over };
Edge edge_of(double share) {
  return share >= 0.95 ? Edge::over : share < 0.05 ? Edge::under : Edge::none;
}

}  // namespace

std::string of_ten(double share) {
  const Edge edge = edge_of(share);
  return edge == Edge::none ? number(std::round(share * 10))
                            : tr(edge == Edge::over ? "house.over_nine" : "house.under_one");
}

std::string of_ten_short(double share) {
  const Edge edge = edge_of(share);
  return edge == Edge::none ? number(std::round(share * 10)) : edge == Edge::over ? ">9" : "<1";
}

std::optional<Units> units_named(std::string_view name) {
  if (name == "metric") return Units::metric;
  if (name == "imperial") return Units::imperial;
  return std::nullopt;
}

std::string spot_number(std::size_t index) {
  constexpr std::array<std::string_view, 10> kRoman{"I",  "II",  "III",  "IV", "V",
                                                    "VI", "VII", "VIII", "IX", "X"};
  return index < kRoman.size() ? std::string(kRoman[index]) : std::to_string(index + 1);
}

std::string number(double value, int decimals) {
  if (!std::isfinite(value)) return "–";
  char digits[400];
  std::snprintf(digits, sizeof digits, "%.*f", decimals, std::abs(value));
  std::string text = digits;
  const bool zero = text.find_first_not_of("0.") == std::string::npos;
  std::size_t point = text.find('.');
  std::string whole = text.substr(0, point);
  for (int at = static_cast<int>(whole.size()) - 3; at > 0 && whole.size() > 3; at -= 3) {
    whole.insert(static_cast<std::size_t>(at), kThin);
  }
  if (point != std::string::npos) whole += tr("language.decimal_mark") + text.substr(point + 1);
  return (value < 0 && !zero ? kMinus : "") + whole;
}

std::string with_sign(double value, int decimals) {
  const std::string plain = number(std::fabs(value), decimals);
  if (plain == number(0, decimals)) return plain;
  return (value < 0 ? "−" : "+") + plain;
}

std::string hours_minutes(double hours) {
  if (!std::isfinite(hours)) return "–";
  const long minutes = std::lround(std::abs(hours) * 60);
  std::string text = hours < 0 && minutes > 0 ? kMinus : "";
  const std::string min = std::string(kSpace) + tr("unit.min");
  if (minutes < 60) return text + std::to_string(minutes) + min;
  text += std::to_string(minutes / 60) + kSpace + tr("unit.h");
  if (minutes % 60) text += kSpace + std::to_string(minutes % 60) + min;
  return text;
}

std::string hours_decimal(double hours) { return number(hours, 1) + kSpace + tr("unit.h"); }

std::string percent(double part) { return number(part * 100) + kSpace + "%"; }

std::string degrees(double value, int decimals) { return number(value, decimals) + "°"; }

std::string degree_range(double from, double to) { return degrees(from) + "–" + degrees(to); }

std::string height(double m, Units units) {
  return units == Units::metric ? with_unit(m, 0, "m") : with_unit(m / 0.3048, 0, "ft");
}

std::string distance(double m, Units units) {
  if (units == Units::metric) {
    if (m >= 1000) return with_unit(m / 1000, m < 10000 ? 1 : 0, "km");
    return with_unit(m, m < 10 ? 1 : 0, "m");
  }
  const double feet = m / 0.3048;
  if (feet >= 5280) return with_unit(feet / 5280, feet < 52800 ? 1 : 0, "mi");
  return with_unit(feet, 0, "ft");
}

std::string depth(double m, Units units) {
  return units == Units::metric ? with_unit(m * 100, 0, "cm") : with_unit(m / 0.0254, 0, "in");
}

std::string temperature(double celsius, Units units) {
  return units == Units::metric ? with_unit(celsius, 0, "°C")
                                : with_unit(celsius * 1.8 + 32, 0, "°F");
}

std::string wind_speed(double ms, Units units) {
  return units == Units::metric ? with_unit(ms, ms < 10 ? 1 : 0, "m/s")
                                : with_unit(ms / 0.44704, 0, "mph");
}

std::string snow_load(double kpa, Units units) {
  return units == Units::metric ? with_unit(kpa, 1, "kN/m²")
                                : with_unit(kpa / 0.04788026, 0, "lb/ft²");
}

std::string energy(double kwh_m2, Units units) {
  if (units == Units::metric) return with_unit(kwh_m2, kwh_m2 < 10 ? 2 : 0, "kWh/m²");
  const double btu_ft2 = kwh_m2 * 3.6e6 / 11356.53;
  return btu_ft2 < 9999.5 ? with_unit(btu_ft2, 0, "Btu/ft²")
                          : with_unit(btu_ft2 / 1000, 0, "kBtu/ft²");
}

std::string area(double m2, Units units) {
  return units == Units::metric ? with_unit(m2, m2 < 10 ? 1 : 0, "m²")
                                : with_unit(m2 / (0.3048 * 0.3048), 0, "ft²");
}

std::string month_name(int month) { return tr("month." + std::to_string(month)); }
std::string month_short(int month) { return tr("month.short." + std::to_string(month)); }

std::string day_month(horizon::Date date) {
  return tr("date.day_month", {std::to_string(static_cast<unsigned>(date.day())),
                               month_short(static_cast<int>(static_cast<unsigned>(date.month())))});
}

std::string full_date(horizon::Date date) {
  return tr("date.full", {std::to_string(static_cast<unsigned>(date.day())),
                          month_name(static_cast<int>(static_cast<unsigned>(date.month()))),
                          std::to_string(static_cast<int>(date.year()))});
}

std::string compass_point(double azimuth_deg) {
  const int point = static_cast<int>(std::floor(horizon::wrap_360(azimuth_deg) / 22.5 + 0.5)) % 16;
  return tr("compass." + std::to_string(point));
}

std::string position(double latitude_deg, double longitude_deg) {
  const auto one = [](double value, const char* positive, const char* negative) {
    return number(std::abs(value), 4) + "°" + kSpace + tr(value < 0 ? negative : positive);
  };
  return one(latitude_deg, "compass.0", "compass.8") + " " +
         one(longitude_deg, "compass.4", "compass.12");
}

}  // namespace app
