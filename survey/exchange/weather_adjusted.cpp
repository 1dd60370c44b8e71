#include "survey/exchange/weather_adjusted.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "horizon/light/sky_view.h"
#include "horizon/light/solar_terms.h"
#include "horizon/light/transposition.h"
#include "horizon/sun/sun_year.h"
#include "survey/book/text.h"

namespace survey {
namespace {

// Fields of an EPW row, from 0 (EnergyPlus weather file data dictionary).
constexpr std::size_t kGlobal = 13, kBeam = 14, kDiffuse = 15, kGlobalLux = 16, kBeamLux = 17,
                      kDiffuseLux = 18;
constexpr double kNoRadiation = 9999, kNoLux = 999900;

std::vector<std::string> fields_of(const std::string& row) {
  std::vector<std::string> out{""};
  for (char c : row) {
    if (c == ',') {
      out.emplace_back();
    } else {
      out.back() += c;
    }
  }
  return out;
}

struct HourOfSun {
  double normal = 1;  // share of the beam on a plane that faces it
  double level = 1;   // share of the beam on level ground
  double zenith_deg = 90;
};

HourOfSun hour_of_sun(const UnderSkyline& under, double from_utc_s) {
  HourOfSun out;
  double up = 0, seen = 0, up_level = 0, seen_level = 0;
  for (int look = 0; look < 6; ++look) {
    const auto sight = horizon::sun_sight(under.path, under.masks, under.input.skyline.obstacles,
                                          from_utc_s + 300 + look * 600);
    if (sight.elevation_deg <= 0) continue;
    const double sine = std::sin(sight.elevation_deg * horizon::kDegree);
    up += 1;
    seen += sight.light;
    up_level += sine;
    seen_level += sine * sight.light;
  }
  if (up == 0) return out;
  out.normal = seen / up;
  out.level = seen_level / up_level;
  out.zenith_deg = 90 - std::asin(std::min(1.0, up_level / up)) / horizon::kDegree;
  return out;
}

void scale(std::string& field, double factor, double missing) {
  const auto value = number_of(field);
  if (!value || *value >= missing) return;
  char text[40];
  std::snprintf(text, sizeof text, "%.1f", *value * factor);
  field = text;
}

}  // namespace

horizon::Result<std::string> adjusted_weather(const WeatherFile& file, const UnderSkyline& under) {
  if (file.layout != WeatherFile::Layout::epw) {
    return horizon::fail(horizon::Code::bad_input, "error.weather_not_epw");
  }
  const bool southern = under.input.place.latitude_deg < 0;
  const auto view = horizon::sky_view(under.masks, under.input.slope,
                                      horizon::Plane{horizon::TrueAzimuth::degrees(0), 0});
  horizon::Foliage foliage;
  for (const auto& obstacle : under.input.skyline.obstacles) {
    if (obstacle.kind == horizon::Kind::leafy) foliage = obstacle.foliage;
  }
  std::vector<std::string> lines = file.lines;
  for (std::size_t i = 0; i < file.year.hours.size(); ++i) {
    const auto& hour = file.year.hours[i];
    if (file.line_of_hour[i] < 0) continue;
    auto& line = lines[static_cast<std::size_t>(file.line_of_hour[i])];
    auto fields = fields_of(line);
    if (fields.size() <= kDiffuseLux) continue;
    const double global = hour.global_horizontal_wm2, diffuse = hour.diffuse_horizontal_wm2;
    if (!(global > 0) || global >= kNoRadiation || diffuse >= kNoRadiation) continue;
    const horizon::Date date{std::chrono::year{under.input.year},
                             std::chrono::month{static_cast<unsigned>(hour.month)},
                             std::chrono::day{static_cast<unsigned>(hour.day)}};
    const double from =
        horizon::start_of_day_utc_s(date, file.year.utc_offset_h) + (hour.hour - 1) * 3600.0;
    const HourOfSun sun = hour_of_sun(under, from);
    const int day = horizon::day_of_year(date);
    double circumsolar = 0;
    if (sun.zenith_deg < 90 && diffuse > 0) {
      circumsolar = std::clamp(
          horizon::perez_sky(hour.beam_normal_wm2, diffuse,
                             horizon::kSolarConstant_wm2 * horizon::distance_factor(day),
                             sun.zenith_deg, horizon::air_mass_kasten_young(sun.zenith_deg))
              .circumsolar,
          0.0, 1.0);
    }
    const double free_sky =
        view.sky + view.behind_leaves * horizon::light_through(foliage, hour.month, southern);
    const double albedo = under.input.albedo[static_cast<std::size_t>(hour.month - 1)];
    const double new_diffuse =
        diffuse * ((1 - circumsolar) * free_sky + circumsolar * sun.level) +
        global * (view.skyline * under.input.skyline_albedo + view.ground * albedo);
    const double new_global = std::max(0.0, global - diffuse) * sun.level + new_diffuse;
    scale(fields[kGlobal], new_global / global, kNoRadiation);
    scale(fields[kGlobalLux], new_global / global, kNoLux);
    scale(fields[kBeam], sun.normal, kNoRadiation);
    scale(fields[kBeamLux], sun.normal, kNoLux);
    if (diffuse > 0) {
      scale(fields[kDiffuse], new_diffuse / diffuse, kNoRadiation);
      scale(fields[kDiffuseLux], new_diffuse / diffuse, kNoLux);
    }
    line.clear();
    for (std::size_t f = 0; f < fields.size(); ++f) line += (f > 0 ? "," : "") + fields[f];
  }
  for (auto& line : lines) {
    if (line.rfind("COMMENTS 2", 0) == 0) {
      line += " -- radiation adjusted to the measured skyline of station " + under.station;
      break;
    }
  }
  std::string out;
  for (const auto& line : lines) out += line + file.line_end;
  return out;
}

}  // namespace survey
