#include <cmath>
#include <cstdio>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/cli/cli.h"
#include "horizon/bearing/declination.h"
#include "horizon/time.h"

namespace app {
namespace {

struct DeclinationOptions : PlaceOptions {
  std::string date, utc;
  std::optional<double> decimal_year;
  bool json = false;
};

double decimal_year_of(const DeclinationOptions& options) {
  if (options.decimal_year) return *options.decimal_year;
  if (!options.utc.empty()) {
    auto utc_s = horizon::parse_utc_s(options.utc);
    if (!utc_s) utc_s.error().where = "--utc " + options.utc;
    return horizon::decimal_year_of(value_or_stop(utc_s));
  }
  auto date = horizon::parse_date(options.date);
  if (!date) date.error().where = "--date " + options.date;
  return horizon::decimal_year_of(horizon::start_of_day_utc_s(value_or_stop(date)));
}

std::string side_of(double degrees) { return degrees < 0 ? "west" : "east"; }

void run_declination(const DeclinationOptions& options) {
  // The field's model reaches higher than any building plot, so only latitude and longitude are
  // checked as everywhere.
  check_place({options.place.latitude_deg, options.place.longitude_deg, 0});
  const double year = decimal_year_of(options);
  const horizon::MagneticField field = value_or_stop(horizon::magnetic_field(options.place, year));
  const horizon::FieldElements& now = field.now;
  const horizon::FieldElements& rate = field.per_year;

  if (options.json) {
    nlohmann::ordered_json json;
    json["model"] = "WMM2025";
    json["decimal_year"] = year;
    json["latitude_deg"] = options.place.latitude_deg;
    json["longitude_deg"] = options.place.longitude_deg;
    json["height_m"] = options.place.height_m;
    json["declination_deg"] = now.declination_deg;
    json["declination_uncertainty_deg"] = field.sigma.declination_deg;
    json["inclination_deg"] = now.inclination_deg;
    json["inclination_uncertainty_deg"] = field.sigma.inclination_deg;
    json["field_nt"] = now.total_nt;
    json["field_uncertainty_nt"] = field.sigma.total_nt;
    json["horizontal_nt"] = now.horizontal_nt;
    json["x_nt"] = now.x_nt;
    json["y_nt"] = now.y_nt;
    json["z_nt"] = now.z_nt;
    json["declination_deg_per_year"] = rate.declination_deg;
    json["inclination_deg_per_year"] = rate.inclination_deg;
    json["field_nt_per_year"] = rate.total_nt;
    json["horizontal_nt_per_year"] = rate.horizontal_nt;
    json["x_nt_per_year"] = rate.x_nt;
    json["y_nt_per_year"] = rate.y_nt;
    json["z_nt_per_year"] = rate.z_nt;
    json["compass_zone"] = std::string(name_of(field.zone));
    std::printf("%s\n", json.dump(2).c_str());
    return;
  }
  std::printf("The Earth's field at %.2f (World Magnetic Model 2025)\n", year);
  std::printf("  declination      %9.2f deg %s  +- %.2f (one standard deviation)\n",
              std::abs(now.declination_deg), side_of(now.declination_deg).c_str(),
              field.sigma.declination_deg);
  std::printf("    moves          %9.2f deg a year to the %s\n", std::abs(rate.declination_deg),
              side_of(rate.declination_deg).c_str());
  std::printf("  inclination      %9.2f deg %s\n", std::abs(now.inclination_deg),
              now.inclination_deg < 0 ? "up" : "down");
  std::printf("  total field      %9.0f nT\n", now.total_nt);
  std::printf("  horizontal field %9.0f nT\n", now.horizontal_nt);
  if (field.zone != horizon::CompassZone::blackout)
    std::printf("True azimuth = compass bearing %c %.2f deg.\n",
                now.declination_deg < 0 ? '-' : '+', std::abs(now.declination_deg));
  if (field.zone == horizon::CompassZone::caution)
    std::printf("Caution: the horizontal field is weak here; check every compass bearing.\n");
  if (field.zone == horizon::CompassZone::blackout)
    std::printf(
        "Do not use a compass here: the horizontal field is too weak. Take true bearings "
        "from the sun's shadow or from landmarks.\n");
  std::printf("Iron near by and magnetic rock are not in the model; check the compass on site.\n");
}

}  // namespace

void add_declination(CLI::App& cli) {
  auto options = std::make_shared<DeclinationOptions>();
  CLI::App* verb =
      cli.add_subcommand("declination", "How far a compass needle points from true north");
  add_place_options(*verb, *options);
  CLI::Option_group* when = verb->add_option_group("when");
  when->add_option("--date", options->date, "Date, such as 2026-12-21");
  when->add_option("--utc", options->utc, "Instant, such as 2026-12-21T09:41:00Z");
  when->add_option("--decimal-year", options->decimal_year, "Such as 2026.97");
  when->require_option(1);
  verb->add_flag("--json", options->json, "Machine-readable output");
  verb->callback([options] { run_declination(*options); });
}

}  // namespace app
