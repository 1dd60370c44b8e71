#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <memory>

#include "app/cli/cli.h"
#include "app/words/form_words.h"
#include "app/words/ground_facts.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/assess/plot_json.h"
#include "survey/book/text.h"
#include "survey/exchange/weather_file.h"

namespace app {
namespace {

struct Options {
  std::string site, weather;
  std::vector<std::string> fell, build;
  bool json = false, imperial = false, no_map = false;
};

std::string plain(std::string_view name) { return std::string(name); }

void print_soil(const survey::GroundFindings& findings, Units units) {
  const auto deep = [&](double m) { return depth(m, units); };
  for (const survey::PitFinding& pit : findings.pits) {
    std::printf("%s (%s)\n", pit.name.c_str(), words_of(pit.from).c_str());
    for (const survey::LayerFinding& layer : pit.layers)
      std::printf("  %s to %s  %s, water for plants %.0f %%, lets through %.1f mm/h\n",
                  deep(layer.top_m).c_str(), deep(layer.bottom_m).c_str(),
                  plain(name_of(layer.texture)).c_str(), layer.water.available_percent(),
                  layer.water.conductivity_mm_h);
    if (pit.layers.empty()) continue;
    std::printf("  Water for plants in the top %s: %.0f mm\n",
                deep(std::min(1.0, pit.described_m)).c_str(), pit.available_water_mm);
    if (pit.hydrologic_group)
      std::printf("  Hydrologic soil group %s\n", plain(name_of(*pit.hydrologic_group)).c_str());
    if (pit.frost_group)
      std::printf("  Frost group %s to %s\n", plain(name_of(pit.frost_group->least)).c_str(),
                  plain(name_of(pit.frost_group->most)).c_str());
    if (pit.frost_depth)
      std::printf("  Frost depth %s to %s\n", deep(pit.frost_depth->shallow_m).c_str(),
                  deep(pit.frost_depth->deep_m).c_str());
    if (pit.edge_insulation && pit.edge_insulation->common_practice_m)
      std::printf("  Edge insulation by common practice %s, %s the computed range\n",
                  deep(*pit.edge_insulation->common_practice_m).c_str(),
                  pit.edge_insulation->agree ? "within" : "outside");
    if (pit.bearing)
      std::printf("  Presumptive bearing %.0f kPa (%s; %s)\n  %s\n",
                  horizon::presumptive_bearing(*pit.bearing).vertical_kpa(),
                  plain(name_of(*pit.bearing)).c_str(), plain(horizon::kBearingTable).c_str(),
                  plain(horizon::kBearingCaution).c_str());
  }
  for (const survey::PercolationFinding& test : findings.percolation) {
    if (!test.result) continue;
    const horizon::PercolationResult& result = *test.result;
    std::printf("%s: falls %.0f \u00b1 %.0f mm/h%s\n  %s\n  %s\n", words_of(test.from).c_str(),
                result.fall_mm_h, 2 * result.fall_sigma_mm_h,
                result.steady ? "" : " (not yet steady)",
                tr_of("planting", name_of(result.planting)).c_str(),
                tr_of("trench", name_of(result.trench)).c_str());
  }
}

void print_weather(const survey::GroundFindings& findings, Units units) {
  const auto shows = [&](Measure measure, double si) { return shown_text(measure, si, units); };
  if (findings.frost)
    std::printf("Freezing index %s (%s%s)\n",
                shows(Measure::degree_days_cd, findings.frost->air.value.index_cd).c_str(),
                words_of(findings.frost->air.from).c_str(),
                findings.frost->average_winter ? ", an average winter" : "");
  for (const auto& one : findings.temperatures)
    std::printf("  Ground at %s: %s to %s\n", depth(one.depth_m, units).c_str(),
                shows(Measure::temperature_c, one.coldest_c).c_str(),
                shows(Measure::temperature_c, one.warmest_c).c_str());
  const survey::ColdFinding& cold = findings.cold;
  if (cold.design_low_c)
    std::printf("Design low %s (%s)\n",
                shows(Measure::temperature_c, cold.design_low_c->value).c_str(),
                words_of(cold.design_low_c->from).c_str());
  for (const auto& nights : cold.nights)
    std::printf("  Nights under %s: %.0f a year\n",
                shows(Measure::temperature_c, nights.limit_c).c_str(), nights.nights);
  if (cold.heating_degree_days)
    std::printf("Heating degree-days %s, growing degree-days %s (%s)\n",
                shows(Measure::degree_days_cd, cold.heating_degree_days->value).c_str(),
                cold.growing_degree_days
                    ? shows(Measure::degree_days_cd, cold.growing_degree_days->value).c_str()
                    : "not known",
                words_of(cold.heating_degree_days->from).c_str());
  if (cold.cold_air)
    std::printf("Cold air gathering here: %s (%s)\n", plain(name_of(cold.cold_air->value)).c_str(),
                words_of(cold.cold_air->from).c_str());
  const auto from = [](const std::optional<horizon::Evidence<int>>& sector) {
    return sector ? plain(horizon::sector_name(sector->value)) : std::string("not known");
  };
  std::printf("Wind mostly from %s, storms from %s\n", from(findings.wind.prevailing).c_str(),
              from(findings.wind.storm).c_str());
  if (findings.wind.breeze)
    std::printf("  Cross breeze %.0f\u00b0 off the long axis: %s (%s)\n",
                findings.wind.breeze->value.angle_deg,
                findings.wind.breeze->value.through ? "vents in the ends serve"
                                                    : "put vents in the long walls",
                words_of(findings.wind.breeze->from).c_str());
  if (const auto& snow = findings.snow)
    std::printf("Snow on the ground %s (%s), on a slope of %.0f\u00b0 %s%s\n",
                shows(Measure::load_kn_m2, snow->ground_kn_m2.value).c_str(),
                words_of(snow->ground_kn_m2.from).c_str(), snow->tilt_deg,
                shows(Measure::load_kn_m2, snow->roof_kn_m2).c_str(),
                snow->assumed.empty()
                    ? ""
                    : ("\n  " + tr("ground.assumed", {words_of(snow->assumed)})).c_str());
}

void print_plot(const survey::PlotFindings& plot, Units units) {
  for (const auto& best : plot.best)
    std::printf(
        "Place for %s by %s: %.0f m east, %.0f m north of station %s, %.1f h of sun a day "
        "(%.1f to %.1f)\n",
        distance(plot.footprint.length_m, units).c_str(),
        distance(plot.footprint.depth_m, units).c_str(), best.east_m, best.north_m,
        plot.origin.c_str(), best.mean_h / plot.winter_days, best.low_h / plot.winter_days,
        best.high_h / plot.winter_days);
  const FactGroup later = later_facts(plot);
  for (const auto& row : later.rows) std::printf("%s: %s\n", row.name.c_str(), row.value.c_str());
  for (const auto& spot : plot.verdicts) {
    std::printf("Spot %s\n", spot_name(spot).c_str());
    for (const auto& line : spot.lines)
      std::printf("  %-8s %-9s %s%s\n", plain(name_of(line.criterion)).c_str(),
                  plain(name_of(line.stance)).c_str(), verdict_words(line, units).c_str(),
                  line.evidence.empty() ? "" : (" [" + words_of(line.evidence) + "]").c_str());
  }
}

// What is felled and built, over what the site file says of it.
void take_time(survey::PlotInput& input, const Options& given) {
  const auto parted = [](const std::string& text, const char* key, const char* option) {
    const std::size_t equals = text.rfind('=');
    if (equals == std::string::npos || equals == 0)
      stop_bad_input(key, std::string(option) + " " + text);
    return std::pair(text.substr(0, equals), text.substr(equals + 1));
  };
  for (const std::string& text : given.fell) {
    const auto [name, years] = parted(text, "error.fell_form", "--fell");
    std::string known;
    bool found = false;
    for (const auto& obstacle : input.survey.obstacles) {
      if (obstacle.what.label.empty() || obstacle.what.kind == horizon::Kind::ridge) continue;
      known += (known.empty() ? "" : ", ") + obstacle.what.label;
      found = found || obstacle.what.label == name;
    }
    if (!found) stop_bad_input({"error.fell_unknown", {known}}, "--fell " + name);
    const auto number = survey::number_of(years);
    if (!number || !(*number >= 0 && *number <= 50))
      stop_bad_input("error.fell_form", "--fell " + text);
    input.gone_in_years[name] = static_cast<int>(std::ceil(*number));
  }
  for (const std::string& text : given.build) {
    auto [name, rest] = parted(text, "error.build_form", "--build");
    std::array<double, 6> numbers;
    numbers.fill(std::nan(""));
    std::size_t count = 0;
    for (std::size_t from = 0; from <= rest.size() && count < 7; ++count) {
      const std::size_t comma = std::min(rest.find(',', from), rest.size());
      const auto number = survey::number_of(rest.substr(from, comma - from));
      if (number && count < 6) numbers[count] = *number;
      from = comma + 1;
    }
    if (count != 6) stop_bad_input("error.build_form", "--build " + text);
    if (input.survey.stations.empty()) continue;
    input.to_build.push_back(value_or_stop(survey::to_build(name, numbers, input.survey.stations)));
  }
}

void run(const Options& given) {
  const auto book = open_site(given.site, survey::Access::read);
  survey::GroundOptions options;
  std::optional<survey::WeatherFile> weather;
  if (const std::string file = weather_to_use(given.weather, book); !file.empty()) {
    auto read = survey::weather_of(value_or_stop(survey::read_file(file)));
    if (!read) read.error().where = file + ", " + read.error().where;
    weather = value_or_stop(std::move(read));
    options.weather = &weather->year;
  }
  const auto site = value_or_stop(survey::assess(book));
  options.site = &site;
  // As the report has them.
  if (const auto plane = survey::shown_plane(
          site, weather ? std::make_shared<const horizon::WeatherYear>(weather->year) : nullptr)) {
    options.facing = plane->facing;
    options.tilt_deg = plane->tilt_deg;
  }
  if (const auto beyond = site.said()) tell(given.site, *beyond, "note: ");
  auto findings = value_or_stop(ground_findings(book, options));
  std::optional<survey::PlotFindings> plot;
  if (!given.no_map) {
    auto read = value_or_stop(plot_input(book, findings, &site));
    if (read.said) tell(given.site, *read.said, "note: ");
    take_time(read, given);
    if (!read.survey.stations.empty()) plot = value_or_stop(plot_findings(read));
  }
  if (given.json) {
    const survey::Say say = [](const horizon::Sentence& what) { return words_of(what); };
    auto json = ground_findings_json(findings, say);
    if (plot)
      json["plot"] = plot_json(*plot, say, [](const horizon::VerdictLine& line) {
        return verdict_words(line, Units::metric);
      });
    std::printf("%s\n", json.dump(2).c_str());
    return;
  }
  const Units units = given.imperial ? Units::imperial : Units::metric;
  print_soil(findings, units);
  print_weather(findings, units);
  if (plot) print_plot(*plot, units);
  for (const auto& gap : findings.missing) std::printf("Missing: %s\n", words_of(gap).c_str());
}

}  // namespace

void add_ground(CLI::App& cli) {
  const auto options = std::make_shared<Options>();
  CLI::App* verb = cli.add_subcommand("ground",
                                      "Soil, water, frost, cold, wind, snow and the plot's sun map "
                                      "from a site file, with what each "
                                      "rests on");
  verb->add_option("site", options->site, "the site file (.gpkg)")->required();
  verb->add_option(
      "--weather", options->weather,
      "hourly weather of the place, EPW or TMY3; default: the one kept beside the site");
  verb->add_flag("--imperial", options->imperial, "feet, Fahrenheit and pounds in the text");
  verb->add_flag("--no-map", options->no_map, "leave out the plot's sun map and the verdict");
  verb->add_option("--fell", options->fell,
                   "NAME=YEARS: a thing on the skyline that is felled or pulled down by then");
  verb->add_option(
      "--build", options->build,
      "NAME=BEARING_DEG,DISTANCE_M,LENGTH_M,WIDTH_M,HEIGHT_M,YEARS: what will be built, "
      "from the main station to its middle, its long side across the true bearing");
  verb->add_flag("--json", options->json, "print JSON");
  verb->callback([options] { run(*options); });
}

}  // namespace app
