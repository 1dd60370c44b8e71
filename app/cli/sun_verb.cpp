#include <cmath>
#include <cstdio>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/cli/cli.h"
#include "horizon/sun/refraction.h"
#include "horizon/sun/sun.h"

namespace app {
namespace {

struct SunOptions : PlaceOptions {
  std::string utc;
  std::optional<double> pressure_hpa, temperature_c, utc_offset_h;
  bool json = false;
};

horizon::Air air_of(const SunOptions& options) {
  horizon::Air air = horizon::standard_air(options.place.height_m);
  if (options.pressure_hpa) air.pressure_hpa = *options.pressure_hpa;
  if (options.temperature_c) air.temperature_c = *options.temperature_c;
  if (!(air.pressure_hpa >= 0 && air.pressure_hpa <= 1100))
    stop_bad_input("error.pressure_range", "--pressure-hpa");
  if (!(air.temperature_c >= -90 && air.temperature_c <= 60))
    stop_bad_input("error.temperature_range", "--temperature-c");
  return air;
}

nlohmann::ordered_json times_json(const std::vector<double>& times) {
  auto list = nlohmann::ordered_json::array();
  for (double t : times) list.push_back(horizon::format_utc(t));
  return list;
}

void run_sun(const SunOptions& options) {
  check_place(options.place);
  const horizon::Air air = air_of(options);
  auto parsed = horizon::parse_utc_s(options.utc);
  if (!parsed) {
    parsed.error().where = "--utc " + options.utc;
    stop(parsed.error());
  }
  const double utc_s = *parsed;
  value_or_stop(horizon::check_sun_time(utc_s));
  const double zone_h =
      options.utc_offset_h.value_or(horizon::solar_zone_h(options.place.longitude_deg));
  if (!(std::abs(zone_h) <= 14)) stop_bad_input("error.clock_range", "--utc-offset-h");

  const horizon::SunPosition sun = horizon::sun_position(utc_s, options.place);
  const double elevation = sun.elevation.degrees();
  const double apparent = horizon::apparent_elevation_deg(elevation, air);
  const horizon::Date date = horizon::date_of(utc_s, zone_h);
  const horizon::SunDay day = horizon::sun_day(date, zone_h, options.place);

  if (options.json) {
    nlohmann::ordered_json json;
    json["utc"] = horizon::format_utc(utc_s, 3);
    json["latitude_deg"] = options.place.latitude_deg;
    json["longitude_deg"] = options.place.longitude_deg;
    json["height_m"] = options.place.height_m;
    json["azimuth_true_deg"] = sun.azimuth.degrees();
    json["elevation_deg"] = elevation;
    json["elevation_refracted_deg"] = apparent;
    json["refraction_deg"] = apparent - elevation;
    json["pressure_hpa"] = air.pressure_hpa;
    json["temperature_c"] = air.temperature_c;
    json["semidiameter_deg"] = sun.semidiameter_deg;
    json["distance_au"] = sun.distance_au;
    json["right_ascension_deg"] = sun.right_ascension_deg;
    json["declination_deg"] = sun.declination_deg;
    json["hour_angle_deg"] = sun.hour_angle_deg;
    json["equation_of_time_min"] = sun.equation_of_time_min;
    json["local_date"] = horizon::format_date(date);
    json["utc_offset_h"] = zone_h;
    json["sunrise_utc"] = times_json(day.rises_utc_s);
    json["sunset_utc"] = times_json(day.sets_utc_s);
    json["transit_utc"] = day.transit_utc_s
                              ? nlohmann::ordered_json(horizon::format_utc(*day.transit_utc_s))
                              : nlohmann::ordered_json(nullptr);
    json["day_length_h"] = day.up_h;
    std::printf("%s\n", json.dump(2).c_str());
    return;
  }
  std::printf("The sun at %s\n", horizon::format_utc(utc_s).c_str());
  std::printf("  true azimuth          %10.4f deg\n", sun.azimuth.degrees());
  std::printf("  elevation, no air     %10.4f deg\n", elevation);
  std::printf("  elevation as seen     %10.4f deg  (%.1f hPa, %.1f C)\n", apparent,
              air.pressure_hpa, air.temperature_c);
  std::printf("  half the disc         %10.4f deg\n", sun.semidiameter_deg);
  std::printf("  declination           %10.4f deg\n", sun.declination_deg);
  std::printf("  equation of time      %10.2f min\n", sun.equation_of_time_min);
  std::printf("On a flat horizon on %s (UTC%+g h), upper limb:\n",
              horizon::format_date(date).c_str(), zone_h);
  for (double t : day.rises_utc_s)
    std::printf("  rises                      %s\n", horizon::format_clock(t, zone_h).c_str());
  if (day.transit_utc_s)
    std::printf("  crosses the meridian       %s\n",
                horizon::format_clock(*day.transit_utc_s, zone_h).c_str());
  for (double t : day.sets_utc_s)
    std::printf("  sets                       %s\n", horizon::format_clock(t, zone_h).c_str());
  if (day.always_up) std::printf("  the sun does not set\n");
  if (day.always_down) std::printf("  the sun does not rise\n");
  std::printf("  day length            %10.2f h\n", day.up_h);
  std::printf("Never look at the sun, and never aim a lens at it.\n");
}

}  // namespace

void add_sun(CLI::App& cli) {
  auto options = std::make_shared<SunOptions>();
  CLI::App* verb = cli.add_subcommand("sun", "Where the sun stands at an instant");
  add_place_options(*verb, *options);
  verb->add_option("--utc", options->utc, "Instant, such as 2026-12-21T09:41:00Z")->required();
  verb->add_option("--pressure-hpa", options->pressure_hpa,
                   "Air pressure at the station (default: standard air at the height)");
  verb->add_option("--temperature-c", options->temperature_c,
                   "Air temperature (default: standard air at the height)");
  verb->add_option("--utc-offset-h", options->utc_offset_h,
                   "Local clock minus UTC, for the day's rise and set (default: longitude / 15)");
  verb->add_flag("--json", options->json, "Machine-readable output");
  verb->callback([options] { run_sun(*options); });
}

}  // namespace app
