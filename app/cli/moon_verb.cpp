// adret-cli moon: where the moon stands, how much of it is lit, and when it rises and sets that day.
#include <cmath>
#include <cstdio>
#include <memory>
#include <nlohmann/json.hpp>

#include "app/cli/cli.h"
#include "horizon/sun/moon.h"
#include "horizon/sun/refraction.h"
#include "horizon/sun/sun_frame.h"

namespace app {
namespace {

struct MoonOptions : PlaceOptions {
  std::string utc;
  double utc_offset_h = 0;
  bool json = false;
};

nlohmann::ordered_json times_json(const std::vector<double>& times) {
  nlohmann::ordered_json list = nlohmann::ordered_json::array();
  for (const double t : times) list.push_back(horizon::format_utc(t));
  return list;
}

void run_moon(const MoonOptions& options) {
  check_place(options.place);
  const double utc_s = value_or_stop(horizon::parse_utc_s(options.utc));
  value_or_stop(horizon::check_sun_time(utc_s));
  if (!(std::abs(options.utc_offset_h) <= 14))
    stop_bad_input("error.clock_range", "--utc-offset-h");
  const horizon::MoonPosition moon = horizon::moon_position(utc_s, options.place);
  const horizon::MoonEcliptic ecliptic =
      horizon::moon_ecliptic(utc_s + horizon::tt_minus_utc_s(utc_s));
  const horizon::SunDay day = horizon::moon_day(horizon::date_of(utc_s, options.utc_offset_h),
                                                options.utc_offset_h, options.place);
  const double seen = horizon::apparent_elevation_deg(
      moon.elevation.degrees(), horizon::standard_air(options.place.height_m));
  if (options.json) {
    const nlohmann::ordered_json json = {
        {"utc", horizon::format_utc(utc_s)},
        {"azimuth_true_deg", moon.azimuth.degrees()},
        {"elevation_without_refraction_deg", moon.elevation.degrees()},
        {"elevation_as_seen_deg", seen},
        {"semidiameter_deg", moon.semidiameter_deg},
        {"lit_share", moon.lit_share},
        {"lit_limb_clockwise_from_top_deg", moon.lit_limb_deg},
        {"distance_km", moon.distance_km},
        {"parallax_deg", moon.parallax_deg},
        {"right_ascension_deg", moon.right_ascension_deg},
        {"declination_deg", moon.declination_deg},
        {"ecliptic_longitude_deg", ecliptic.longitude_deg},
        {"ecliptic_longitude_with_nutation_deg", ecliptic.true_longitude_deg},
        {"ecliptic_latitude_deg", ecliptic.latitude_deg},
        {"moonrise_utc", times_json(day.rises_utc_s)},
        {"moonset_utc", times_json(day.sets_utc_s)}};
    std::printf("%s\n", json.dump(2).c_str());
    return;
  }
  std::printf("The moon at %s\n", horizon::format_utc(utc_s).c_str());
  std::printf("  true azimuth          %10.4f deg\n", moon.azimuth.degrees());
  std::printf("  elevation, no air     %10.4f deg\n", moon.elevation.degrees());
  std::printf("  elevation as seen     %10.4f deg\n", seen);
  std::printf("  half the disc         %10.4f deg\n", moon.semidiameter_deg);
  std::printf("  lit                   %10.1f %%\n", 100 * moon.lit_share);
  for (const double t : day.rises_utc_s)
    std::printf("  rises                      %s\n",
                horizon::format_clock(t, options.utc_offset_h).c_str());
  for (const double t : day.sets_utc_s)
    std::printf("  sets                       %s\n",
                horizon::format_clock(t, options.utc_offset_h).c_str());
}

}  // namespace

void add_moon(CLI::App& cli) {
  auto options = std::make_shared<MoonOptions>();
  CLI::App* verb = cli.add_subcommand("moon", "Where the moon stands and how much of it is lit");
  add_place_options(*verb, *options);
  verb->add_option("--utc", options->utc, "Instant, such as 2028-06-08T00:30:00Z")->required();
  verb->add_option("--utc-offset-h", options->utc_offset_h, "The local clock, hours from UTC");
  verb->add_flag("--json", options->json, "Machine-readable output");
  verb->callback([options] { run_moon(*options); });
}

}  // namespace app
