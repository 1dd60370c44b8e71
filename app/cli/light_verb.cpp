#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <memory>
#include <optional>
#include <set>

#include "app/cli/cli.h"
#include "app/light_json.h"
#include "horizon/declination.h"
#include "horizon/exposure.h"
#include "horizon/sun.h"
#include "survey/marks_csv.h"
#include "survey/text.h"

namespace app {
namespace {

struct LightOptions {
  horizon::Place place;
  std::optional<int> year;
  std::string marks_file, station, date, exposure_date;
  std::optional<double> utc_offset_h, declination_deg, convergence_deg;
  double lowest_sun_deg = 0;
  std::vector<int> winter_months;
  bool json = false;
};

struct Marks {
  std::vector<survey::MarkRow> rows;
  bool any_bad = false;
};

void tell(const std::string& file, const horizon::Error& error, const char* what) {
  std::fprintf(stderr, "adret-cli: %s: %s%s%s%s\n", file.c_str(), error.where.c_str(),
               error.where.empty() ? "" : ": ", what, error.message.c_str());
}

// The marks of the station that was asked for. Bad rows are told; the good ones go on.
Marks read_marks(const LightOptions& options) {
  const auto table = survey::marks_of_csv(value_or_stop(survey::read_file(options.marks_file)));
  for (const horizon::Error& note : table.notes) tell(options.marks_file, note, "note: ");
  for (const horizon::Error& error : table.errors) tell(options.marks_file, error, "");
  Marks marks{{}, !table.errors.empty()};
  std::set<std::string> stations;
  for (const survey::MarkRow& row : table.marks) {
    stations.insert(row.station);
    if (options.station.empty() || row.station == options.station) marks.rows.push_back(row);
  }
  std::string names;
  for (const std::string& name : stations) names += (names.empty() ? "" : ", ") + name;
  if (options.station.empty() && stations.size() > 1)
    stop_bad_input("holds several stations (" + names + "); choose one with --station",
                   options.marks_file);
  if (marks.rows.empty())
    stop_bad_input(
        options.station.empty() || table.marks.empty()
            ? "no sighting could be used; correct the rows named above"
            : "holds no sighting of station " + options.station + " (it has " + names + ")",
        options.marks_file);
  return marks;
}

// Of the day of the sightings: as entered, else by the model.
std::optional<double> declination_of(const LightOptions& options, const Marks& marks, int year) {
  if (options.declination_deg) return options.declination_deg;
  const bool needed = std::any_of(marks.rows.begin(), marks.rows.end(), [](const auto& row) {
    return row.north == survey::North::magnetic;
  });
  if (!needed) return std::nullopt;
  std::string day = options.date;
  for (const survey::MarkRow& row : marks.rows)
    if (day.empty()) day = row.time_utc;
  if (day.empty()) day = std::to_string(year) + "-07-01";
  const double utc_s = value_or_stop(horizon::parse_utc_s(day));
  auto field = horizon::magnetic_field(options.place, horizon::decimal_year_of(utc_s));
  if (!field) {
    field.error().message += " (--declination-deg)";
    stop(field.error());
  }
  return field->now.declination_deg;
}

unsigned months_of(const LightOptions& options) {
  unsigned months = 0;
  for (const int month : options.winter_months) {
    if (month < 1 || month > 12) stop_bad_input("a month is 1 to 12", "--winter-months");
    months |= 1U << (month - 1);
  }
  return months ? months : horizon::default_winter_months(options.place.latitude_deg < 0);
}

std::string windows_text(const horizon::SunWindows& windows, double offset_h) {
  std::string text;
  for (const horizon::SunWindow& w : windows)
    text += (text.empty() ? "" : ", ") + horizon::format_clock(w.from_utc_s, offset_h) + "-" +
            horizon::format_clock(w.to_utc_s, offset_h);
  return text.empty() ? "none" : text;
}

std::string clock_text(const std::optional<double>& utc_s, double offset_h) {
  return utc_s ? horizon::format_clock(*utc_s, offset_h) : "  -  ";
}

void print_table(const horizon::SunYear& year, const horizon::Mask& mask, double offset_h) {
  constexpr const char* kMonths[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                     "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  std::printf("Direct sun in %d, clear sky (clock: UTC%+g h)\n\n", year.year, offset_h);
  std::printf("        here     flat          a day      on the 21st\n");
  std::printf("month    h        h    share   here h   first    last   windows\n");
  for (int m = 0; m < 12; ++m) {
    const auto& hours = year.months[m];
    int days = 0;
    const horizon::SunYearDay* the_21st = nullptr;
    for (const horizon::SunYearDay& day : year.days) {
      if (static_cast<unsigned>(day.date.month()) != static_cast<unsigned>(m + 1)) continue;
      ++days;
      if (static_cast<unsigned>(day.date.day()) == 21) the_21st = &day;
    }
    std::printf("%s  %7.1f  %7.1f  %4.0f %%  %6.2f    %s   %s   %s\n", kMonths[m], hours.direct_h,
                hours.flat_h, hours.flat_h > 0 ? 100 * hours.direct_h / hours.flat_h : 0,
                hours.direct_h / days,
                clock_text(year.on_the_21st[m].first_utc_s, offset_h).c_str(),
                clock_text(year.on_the_21st[m].last_utc_s, offset_h).c_str(),
                the_21st ? windows_text(the_21st->direct, offset_h).c_str() : "");
  }
  const auto line = [](const char* name, const horizon::SunHoursSum& h) {
    std::printf("%s%7.1f  %7.1f  %4.0f %%", name, h.direct_h, h.flat_h,
                h.flat_h > 0 ? 100 * h.direct_h / h.flat_h : 0);
    if (h.filtered_h > 0.05) std::printf("   and %.1f h filtered by leafy trees", h.filtered_h);
    if (h.open_h > 0.05) std::printf("   (%.1f h of it over open stretches)", h.open_h);
    std::printf("\n");
  };
  std::printf("\n");
  line("winter ", year.winter);
  line("year   ", year.whole);
  for (const horizon::SunlessSpell& spell : year.without_direct_sun)
    std::printf("No direct sun from %s to %s (%d days)\n",
                horizon::format_date(spell.first).c_str(), horizon::format_date(spell.last).c_str(),
                spell.days);
  for (const horizon::OpenStretch& stretch : mask.open_stretches())
    std::printf("Open: %.1f to %.1f degrees, nobody aimed there; its ends were joined\n",
                stretch.from_deg, stretch.to_deg);
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

int run_light(const LightOptions& options) {
  check_place(options.place);
  const int calendar_year = year_of(options);
  value_or_stop(horizon::check_sun_year(calendar_year));
  const double offset_h =
      options.utc_offset_h.value_or(horizon::solar_zone_h(options.place.longitude_deg));
  if (!(std::abs(offset_h) <= 14))
    stop_bad_input("the local clock is within 14 hours of UTC", "--utc-offset-h");
  const unsigned winter_months = months_of(options);
  const Marks marks = read_marks(options);
  const auto declination_deg = declination_of(options, marks, calendar_year);
  auto skyline = survey::skyline_of(marks.rows, {declination_deg, options.convergence_deg});
  if (!skyline) {
    skyline.error().where = options.marks_file + ": " + skyline.error().where;
    stop(skyline.error());
  }
  const horizon::Masks masks = horizon::masks_of(*skyline);
  const auto path = horizon::SunPath::of_year(options.place, calendar_year, offset_h);
  const auto year = horizon::sun_year(path, masks, skyline->obstacles, winter_months);

  std::optional<horizon::SunlightExposure> exposure;
  if (!options.exposure_date.empty()) {
    const auto date = value_or_stop(horizon::parse_date(options.exposure_date));
    exposure = value_or_stop(horizon::sunlight_exposure(options.place, date, offset_h, path.air(),
                                                        masks.all, options.lowest_sun_deg));
  }

  constexpr const char* kLevels[] = {"below minimum", "minimum", "medium", "high"};
  if (options.json) {
    Json json;
    json["place"] = json_of(options.place);
    json["year"] = calendar_year;
    json["utc_offset_h"] = offset_h;
    json["sky"] = "clear";
    if (declination_deg) json["declination_deg"] = *declination_deg;
    json["marks"] = skyline->points.size();
    add_sun_year(json, year);
    add_mask(json, masks.all);
    if (exposure)
      json["sunlight_exposure"] = {{"date", options.exposure_date},
                                   {"lowest_sun_deg", options.lowest_sun_deg},
                                   {"direct_sun_h", exposure->hours},
                                   {"level", kLevels[static_cast<int>(exposure->level)]}};
    std::printf("%s\n", json.dump(1).c_str());
  } else {
    print_table(year, masks.all, offset_h);
    if (exposure)
      std::printf("Sunlight exposure (EN 17037) on %s, sun above %g degrees: %.2f h, level %s\n",
                  options.exposure_date.c_str(), options.lowest_sun_deg, exposure->hours,
                  kLevels[static_cast<int>(exposure->level)]);
  }
  return marks.any_bad ? 2 : 0;
}

}  // namespace

void add_light(CLI::App& cli) {
  auto options = std::make_shared<LightOptions>();
  CLI::App* verb =
      cli.add_subcommand("light", "Sun hours and light at a station, from its sightings");
  add_place_options(*verb, options->place);
  verb->add_option("--year", options->year,
                   "Calendar year, 1950 to 2100 (default: that of --date, else this year)");
  verb->add_option("--marks", options->marks_file, "Table of sightings (CSV), see docs/formats.md")
      ->required();
  verb->add_option("--station", options->station, "Which station, where the table holds several");
  verb->add_option("--date", options->date, "Day of the sightings, for the declination");
  verb->add_option("--declination-deg", options->declination_deg,
                   "East positive (default: World Magnetic Model)");
  verb->add_option("--convergence-deg", options->convergence_deg,
                   "True azimuth of grid north, for grid bearings");
  verb->add_option("--utc-offset-h", options->utc_offset_h,
                   "Local clock minus UTC (default: longitude / 15)");
  verb->add_option("--winter-months", options->winter_months,
                   "Such as 11 12 1 2 (default: November to February, south May to August)");
  verb->add_option("--exposure-date", options->exposure_date,
                   "Day for the sunlight exposure of EN 17037, 1 February to 21 March");
  verb->add_option("--lowest-sun-deg", options->lowest_sun_deg,
                   "Lowest sun that counts for it; a national figure");
  verb->add_flag("--json", options->json, "Machine-readable output");
  verb->callback([options] {
    if (const int code = run_light(*options)) throw Stop{code, ""};
  });
}

}  // namespace app
