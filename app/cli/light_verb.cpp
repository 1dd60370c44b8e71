#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <memory>
#include <optional>
#include <set>

#include "app/cli/cli.h"
#include "app/cli/light_text.h"
#include "horizon/bearing/declination.h"
#include "horizon/sun/exposure.h"
#include "horizon/sun/sun.h"
#include "survey/assess/assessment.h"
#include "survey/assess/house_input.h"
#include "survey/assess/house_json.h"
#include "survey/assess/light_json.h"
#include "survey/assess/plot_findings.h"
#include "survey/assess/station_contacts.h"
#include "survey/assess/station_input.h"
#include "survey/book/text.h"
#include "survey/exchange/contacts_csv.h"
#include "survey/exchange/grid.h"
#include "survey/exchange/marks_csv.h"
#include "survey/exchange/weather_years.h"

namespace app {
namespace {

struct LightOptions : PlaceOptions {
  std::optional<int> year;
  std::string marks_file, station, date, exposure_date, grid;
  std::optional<double> utc_offset_h, declination_deg, convergence_deg;
  double lowest_sun_deg = 0;
  std::vector<int> winter_months;
  std::string site_file, glazing;
  std::vector<std::string> weather_files;
  std::vector<double> sunshine, mean_c;
  std::optional<double> facing_deg, tilt_deg;
  std::optional<int> draws, winters;
  std::vector<std::string> house_fields;
  bool house = false;
  bool json = false;
};

struct Marks {
  std::vector<survey::MarkRow> rows;
  std::vector<survey::ContactRow> contacts;
  bool any_bad = false;
};

// The marks of the station that was asked for. Bad rows are told; the good ones go on.
Marks read_marks(const LightOptions& options) {
  const std::string bytes = value_or_stop(survey::read_file(options.marks_file));
  const auto lights = survey::contacts_of_csv(bytes, 0);
  survey::MarksTable table;
  if (lights.contacts.empty())
    table = survey::marks_of_csv(bytes);
  else if (!lights.rest.empty())
    table = survey::marks_of_csv(lights.rest);
  if (!lights.contacts.empty() && table.marks.empty()) table.errors.clear();
  table.errors.insert(table.errors.end(), lights.errors.begin(), lights.errors.end());
  for (const horizon::Error& note : table.notes) tell(options.marks_file, note, "note: ");
  for (const horizon::Error& error : table.errors) tell(options.marks_file, error, "");
  Marks marks{{}, {}, !table.errors.empty()};
  std::set<std::string> stations;
  for (const auto& lined : lights.contacts) {
    stations.insert(lined.station);
    if (options.station.empty() || lined.station == options.station)
      marks.contacts.push_back(lined.row);
  }
  for (const survey::MarkRow& row : table.marks) {
    stations.insert(row.station);
    if (options.station.empty() || row.station == options.station) marks.rows.push_back(row);
  }
  std::string names;
  for (const std::string& name : stations) names += (names.empty() ? "" : ", ") + name;
  if (options.station.empty() && stations.size() > 1)
    stop_bad_input({"error.several_stations_named", {names}}, options.marks_file);
  if (marks.rows.empty() && marks.contacts.empty())
    stop_bad_input(
        options.station.empty() || table.marks.empty()
            ? "error.no_usable_sighting"
            : horizon::Sentence("error.no_sighting_of_station", {options.station, names}),
        options.marks_file);
  return marks;
}

// Of the day of the sightings: as entered, else by the model.
std::optional<double> declination_of(const LightOptions& options, const Marks& marks, int year) {
  if (options.declination_deg) return options.declination_deg;
  const bool needed = std::any_of(marks.rows.begin(), marks.rows.end(), [](const auto& row) {
    return row.north == horizon::Reference::magnetic;
  });
  if (!needed) return std::nullopt;
  std::string day = options.date;
  for (const survey::MarkRow& row : marks.rows)
    if (day.empty()) day = row.time_utc;
  if (day.empty()) day = std::to_string(year) + "-07-01";
  const double utc_s = value_or_stop(horizon::parse_utc_s(day));
  auto field = horizon::magnetic_field(options.place, horizon::decimal_year_of(utc_s));
  if (!field) {
    stop({field.error().code,
          {"error.with_option", {field.error().sentence(), "--declination-deg"}},
          field.error().where});
  }
  return field->now.declination_deg;
}

unsigned months_of(const LightOptions& options) {
  unsigned months = 0;
  for (const int month : options.winter_months) {
    if (month < 1 || month > 12) stop_bad_input("error.month_range", "--winter-months");
    months |= 1U << (month - 1);
  }
  return months;
}

int year_of(const LightOptions& options) {
  if (options.year) return *options.year;
  const double utc_s =
      options.date.empty()
          ? std::chrono::duration<double>(std::chrono::system_clock::now().time_since_epoch())
                .count()
          : value_or_stop(horizon::parse_utc_s(options.date));
  return static_cast<int>(horizon::date_of(utc_s).year());
}

double offset_of(const LightOptions& options) {
  const double offset_h =
      options.utc_offset_h.value_or(horizon::solar_zone_h(options.place.longitude_deg));
  if (!(std::abs(offset_h) <= 14)) stop_bad_input("error.clock_range", "--utc-offset-h");
  return offset_h;
}

// One file, or several: a year or more each.
survey::WeatherFile weather_of_files(const std::vector<std::string>& names) {
  std::vector<survey::WeatherFile> files;
  for (const std::string& name : names) {
    auto weather = survey::weather_of(value_or_stop(survey::read_file(name)));
    if (!weather) {
      weather.error().where = name + ": " + weather.error().where;
      stop(weather.error());
    }
    for (const horizon::Error& note : weather->notes) tell(name, note, "note: ");
    files.push_back(std::move(*weather));
  }
  return value_or_stop(survey::joined(std::move(files)));
}

// What the options say of sky, glazing and plane, over what the site file says.
void take_options(horizon::StationInput& input, const LightOptions& options) {
  if (!options.glazing.empty()) {
    const auto glazing = horizon::glazing_named(options.glazing);
    if (!glazing) stop_bad_input("error.glazing_unknown", "--glazing " + options.glazing);
    input.glazing = *glazing;
  }
  if (options.facing_deg || options.tilt_deg) {
    if (!options.facing_deg || !options.tilt_deg)
      stop_bad_input("error.plane_needs_both", "--facing-deg");
    if (!(*options.tilt_deg >= 0 && *options.tilt_deg <= 90))
      stop_bad_input("error.glazing_slope_range", "--tilt-deg");
    input.chosen =
        horizon::Plane{horizon::TrueAzimuth::degrees(*options.facing_deg), *options.tilt_deg};
  }
  if (!options.sunshine.empty()) {
    horizon::MonthlyNormals normals;
    std::copy_n(options.sunshine.begin(), 12, normals.values.begin());
    normals.source = "entered on the command line";
    input.sky.normals = normals;
    input.sky.source = horizon::SkySource::normals;
  }
  if (!options.weather_files.empty()) {
    const auto weather = weather_of_files(options.weather_files);
    const std::string& name = options.weather_files.front();
    horizon::Place here = input.place;
    if (!input.height_known) here.height_m = weather.year.place.height_m;
    for (const horizon::Error& note : survey::weather_fits(weather, here)) {
      if (note.code == horizon::Code::bad_input) stop_bad_input(note, name);
      tell(name, note, "note: ");
    }
    input.sky.weather = std::make_shared<horizon::WeatherYear>(weather.year);
    input.sky.source = horizon::SkySource::weather;
  }
  if (options.draws) input.draws = *options.draws;
  if (const unsigned months = months_of(options)) input.winter_months = months;
  value_or_stop(horizon::check_station(input));
}

struct Asked {
  std::string name;  // of the station; empty for a table of sightings
  horizon::StationInput input;
  survey::SiteSettings settings;
  std::vector<survey::StationSkyline> others;  // the site's other stations
  std::vector<horizon::OtherSpot> spots;       // other places on the plot
};

// --house KEY=VALUE over what the site file says.
void take_house(survey::DesignChoices& choices, const LightOptions& options) {
  for (const std::string& field : options.house_fields) {
    const std::size_t equals = field.find('=');
    if (equals == std::string::npos)
      stop_bad_input("error.house_key_equals", "--house-set " + field);
    if (auto ok = survey::put_house_field(choices.house, field.substr(0, equals),
                                          field.substr(equals + 1));
        !ok) {
      ok.error().where = "--house-set " + ok.error().where;
      stop(ok.error());
    }
  }
}

horizon::HouseFindings house_of_station(const Asked& asked,
                                        const horizon::StationFindings& findings,
                                        const LightOptions& options) {
  survey::SiteSettings settings = asked.settings;
  take_house(settings.choices, options);
  if (!options.mean_c.empty()) {
    if (!settings.climate) settings.climate.emplace();
    std::copy_n(options.mean_c.begin(), 12, settings.climate->mean_c.begin());
  }
  auto input = survey::house_input(settings, asked.input, findings.best_facing.value,
                                   asked.input.sky.weather, asked.others, asked.spots);
  if (!input) stop(input.error());
  if (options.winters) input->winters = *options.winters;
  return value_or_stop(horizon::house_findings(*input));
}

survey::Json report_station(const Asked& asked, const LightOptions& options) {
  const horizon::StationInput& input = asked.input;
  const horizon::Masks masks = horizon::masks_of(input.skyline);
  const auto path = horizon::SunPath::of_year(input.place, input.year, input.utc_offset_h);
  const auto year = horizon::sun_year(path, masks, input.skyline.obstacles, input.winter_months);
  const auto findings = horizon::findings_of(input);
  std::optional<horizon::SunlightExposure> exposure;
  if (!options.exposure_date.empty()) {
    const auto date = value_or_stop(horizon::parse_date(options.exposure_date));
    exposure = value_or_stop(horizon::sunlight_exposure(
        input.place, date, input.utc_offset_h, path.air(), masks.all, options.lowest_sun_deg));
  }
  constexpr const char* kLevels[] = {"below minimum", "minimum", "medium", "high"};
  survey::Json json;
  if (!options.json) {
    if (!asked.name.empty()) std::printf("Station %s\n\n", asked.name.c_str());
    print_sun_year(year, masks.all, input.utc_offset_h);
    if (exposure)
      std::printf("Sunlight exposure (EN 17037) on %s, sun above %g degrees: %.2f h, level %s\n",
                  options.exposure_date.c_str(), options.lowest_sun_deg, exposure->hours,
                  kLevels[static_cast<int>(exposure->level)]);
    print_findings(findings, input);
    if (options.house) print_house(house_of_station(asked, findings, options), input.year);
    return json;
  }
  if (!asked.name.empty()) json["station"] = asked.name;
  json["place"] = survey::json_of(input.place);
  json["year"] = input.year;
  json["utc_offset_h"] = input.utc_offset_h;
  if (input.declination_deg) json["declination_deg"] = *input.declination_deg;
  json["marks"] = input.skyline.points.size();
  survey::add_sun_year(json, year);
  survey::add_mask(json, masks.all);
  if (exposure)
    json["sunlight_exposure"] = {{"date", options.exposure_date},
                                 {"lowest_sun_deg", options.lowest_sun_deg},
                                 {"direct_sun_h", exposure->hours},
                                 {"level", kLevels[static_cast<int>(exposure->level)]}};
  json["findings"] = survey::findings_json(findings, input);
  if (options.house) json["house"] = survey::house_json(house_of_station(asked, findings, options));
  return json;
}

// Of the grid that the bearings are laid to, at the station.
std::optional<double> convergence_of(const LightOptions& options) {
  if (options.grid.empty()) return options.convergence_deg;
  if (options.grid == "utm") return value_or_stop(survey::utm_of(options.place)).convergence_deg;
  const survey::Grid grid = value_or_stop(survey::Grid::open(options.grid));
  return value_or_stop(grid.at(options.place)).convergence_deg;
}

// From a table of sightings. Returns the exit code.
int run_table(const LightOptions& options) {
  check_place(options.place);
  const int calendar_year = year_of(options);
  value_or_stop(horizon::check_sun_year(calendar_year));
  const Marks marks = read_marks(options);
  Asked asked;
  asked.input.place = options.place;
  asked.input.height_known = options.has_height;
  asked.input.year = calendar_year;
  asked.input.utc_offset_h = offset_of(options);
  tell_clock(options.marks_file, asked.input.utc_offset_h, options.place.longitude_deg);
  asked.input.declination_deg = declination_of(options, marks, calendar_year);
  asked.input.convergence_deg = convergence_of(options);
  auto skyline =
      survey::skyline_of(marks.rows, {asked.input.declination_deg, asked.input.convergence_deg});
  if (!skyline) {
    skyline.error().where = options.marks_file + ": " + skyline.error().where;
    stop(skyline.error());
  }
  asked.input.skyline = std::move(*skyline);
  if (!marks.contacts.empty()) {
    std::vector<horizon::ContactEvidence> evidence;
    for (const survey::ContactRow& row : marks.contacts)
      evidence.push_back(survey::evidence_of(row, options.place));
    const horizon::ContactFit fit = horizon::fit_contacts(evidence);
    for (std::size_t i = 0; i < evidence.size(); ++i)
      if (!fit.contacts[i].used())
        tell(options.marks_file,
             {fit.contacts[i].why.code, fit.contacts[i].why.sentence(),
              horizon::format_utc(evidence[i].reading.utc_s)},
             "note: ");
    asked.input.skyline = horizon::with_contacts(asked.input.skyline, fit);
  }
  take_options(asked.input, options);
  const survey::Json json = report_station(asked, options);
  if (options.json) std::printf("%s\n", json.dump(1).c_str());
  return marks.any_bad ? 2 : 0;
}

// From a site file: the station that was asked for, or all.
void run_site(LightOptions options) {
  const auto book = open_site(options.site_file, survey::Access::received_to_read);
  if (options.weather_files.size() < 2) {
    const std::string given = options.weather_files.empty() ? "" : options.weather_files.front();
    const std::string use = weather_to_use(given, book);
    options.weather_files.clear();
    if (!use.empty()) options.weather_files.push_back(use);
  }
  const survey::Assessment site = value_or_stop(survey::assess(book, options.station));
  if (const auto beyond = site.said(); beyond && options.station.empty())
    tell(options.site_file, *beyond, "note: ");
  survey::Json list = survey::Json::array();
  std::vector<horizon::OtherSpot> spots;
  if (options.house)
    if (const auto plot = plot_input(book, {}, &site); plot && !plot->stations.empty())
      if (const auto placed = plot_findings(*plot, survey::Ahead::nothing))
        spots = other_spots(*placed, plot->eye_height_m);
  bool found = false;
  for (const survey::StationSkyline& station : site.stations) {
    if (!options.station.empty() && station.station.name != options.station) continue;
    found = true;
    for (const horizon::Error& note : station.notes) tell(options.site_file, note, "note: ");
    Asked asked{station.station.name,
                survey::station_input(site.settings, station),
                site.settings,
                {},
                spots};
    for (const survey::StationSkyline& other : site.stations)
      if (other.station.id != station.station.id) asked.others.push_back(other);
    if (options.year || !options.date.empty()) asked.input.year = year_of(options);
    if (options.utc_offset_h) asked.input.utc_offset_h = offset_of(options);
    take_options(asked.input, options);
    survey::Json json = report_station(asked, options);
    if (options.json)
      list.push_back(std::move(json));
    else
      std::printf("\n");
  }
  if (!found)
    stop_bad_input(options.station.empty()
                       ? horizon::Sentence("error.holds_no_station")
                       : horizon::Sentence("error.holds_no_such_station", {options.station}),
                   options.site_file);
  if (options.json)
    std::printf("%s\n",
                survey::Json{{"site", site.settings.site.name}, {"stations", std::move(list)}}
                    .dump(1)
                    .c_str());
}

int run_light(const CLI::App& verb, const LightOptions& options) {
  if (options.site_file.empty() == options.marks_file.empty())
    stop_bad_input("error.site_or_marks", "light");
  if (!options.site_file.empty()) {
    for (const char* name : {"--lat", "--lon", "--at", "--height-m", "--grid", "--convergence-deg",
                             "--declination-deg"})
      if (verb.count(name) > 0) stop_bad_input("error.site_has_its_own", name);
    run_site(options);
    return 0;
  }
  return run_table(options);
}

}  // namespace

void add_light(CLI::App& cli) {
  auto options = std::make_shared<LightOptions>();
  CLI::App* verb =
      cli.add_subcommand("light", "Sun hours and light at a station, from its sightings");
  verb->add_option("site", options->site_file, "A site file; or give --marks");
  add_place_options(*verb, *options);
  verb->add_option("--year", options->year,
                   "Calendar year, 1950 to 2100 (default: that of --date, else this year)");
  verb->add_option("--marks", options->marks_file, "Table of sightings (CSV), see docs/formats.md");
  verb->add_option("--station", options->station, "Which station, where the table holds several");
  verb->add_option("--date", options->date, "Day of the sightings, for the declination");
  verb->add_option("--declination-deg", options->declination_deg,
                   "East positive (default: World Magnetic Model)")
      ->check(within(survey::range::kDeclination_deg));
  auto* convergence = verb->add_option("--convergence-deg", options->convergence_deg,
                                       "True azimuth of grid north, for grid bearings")
                          ->check(within(survey::range::kConvergence_deg));
  verb->add_option("--grid", options->grid,
                   "The grid of grid bearings: utm, or a code such as EPSG:2056")
      ->excludes(convergence);
  verb->add_option("--utc-offset-h", options->utc_offset_h,
                   "Local clock minus UTC (default: longitude / 15)")
      ->check(within(survey::Range{-14, 14}));
  verb->add_option("--winter-months", options->winter_months,
                   "Such as 11 12 1 2 (default: November to February, south May to August)");
  verb->add_option("--exposure-date", options->exposure_date,
                   "Day for the sunlight exposure of EN 17037, 1 February to 21 March");
  verb->add_option("--lowest-sun-deg", options->lowest_sun_deg,
                   "Lowest sun that counts for it; a national figure")
      ->check(within(survey::Range{0, 60}));
  verb->add_option("--glazing", options->glazing,
                   "none, single-glass, double-glass, twin-wall, triple-wall");
  verb->add_option("--facing-deg", options->facing_deg, "True azimuth of a glazing of your own")
      ->check(within(survey::Range{-360, 360}));
  verb->add_option("--tilt-deg", options->tilt_deg, "Its slope from the horizontal");
  verb->add_option("--sunshine", options->sunshine,
                   "Twelve sunshine fractions, January first, for a typical sky")
      ->expected(12);
  verb->add_option("--mean-c", options->mean_c,
                   "Twelve monthly mean temperatures, January first, for --house")
      ->expected(12)
      ->check(within(survey::range::kAir_c));
  verb->add_option(
      "--weather", options->weather_files,
      "Hourly weather files (EPW or TMY3 CSV), of a year or several each: ten years and more tell "
      "how winters differ; default: the one kept beside the site; none");
  verb->add_option("--draws", options->draws, "Draws for the ranges (default 200, 0 = none)")
      ->check(CLI::Range(0, 10000));
  auto* house = verb->add_flag("--house", options->house,
                               "An unheated house on this spot: which crops live through winter");
  verb->add_option("--house-set", options->house_fields,
                   "KEY=VALUE of the house, see docs/formats.md; any number of them")
      ->needs(house);
  verb->add_option("--winters", options->winters, "Winters to draw (default 100)")
      ->check(CLI::Range(1, 5000))
      ->needs(house);
  verb->add_flag("--json", options->json, "Machine-readable output");
  verb->callback([options, verb] {
    if (const int code = run_light(*verb, *options)) throw Stop{code, ""};
  });
}

}  // namespace app
