// app/cli/compare_verb.cpp: all sites of a programme side by side, as text, table and report.
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>

#include "app/cli/cli.h"
#include "app/handover/programme_report.h"
#include "app/words/words.h"
#include "survey/book/durable.h"
#include "survey/exchange/terrain_file.h"

namespace app {
namespace {

namespace fs = std::filesystem;

struct CompareVerb {
  std::string programme, csv, report, language = "en", units = "metric", paper = "a4",
                                      sort = "hours", name;
  std::vector<std::string> terrain;
  int most_pages = 100;
  bool json = false;
};

nlohmann::ordered_json json_of(const std::vector<survey::ProgrammeState>& sites,
                               const std::vector<Ranked>& order) {
  auto list = nlohmann::ordered_json::array();
  for (const Ranked& rank : order) {
    const auto& site = sites[rank.site].site;
    auto like = nlohmann::ordered_json::array();
    for (const std::size_t other : rank.like) like.push_back(sites[other].site.name);
    nlohmann::ordered_json row{
        {"site_id", site.site_id},     {"name", site.name},
        {"rank_first", rank.first},    {"rank_last", rank.last},
        {"not_told_apart_from", like}, {"not_told_apart_count", rank.like_count}};
    const auto figure = [&](const char* key, const survey::Figure& of) {
      if (of.value) row[key] = {{"value", *of.value}, {"low", *of.low}, {"high", *of.high}};
    };
    figure("winter_sun_h_per_day", site.winter_sun_h);
    figure("shortest_day_sun_h", site.shortest_day_h);
    figure("gain_kwh_m2_per_day", site.gain_kwh_m2);
    figure("coldest_inside_c", site.coldest_inside_c);
    figure("crops_living", site.crops_living);
    if (site.water_distance_m) row["water_distance_m"] = *site.water_distance_m;
    if (site.access_distance_m) row["access_distance_m"] = *site.access_distance_m;
    row["questions"] = site.questions;
    list.push_back(std::move(row));
  }
  return list;
}

void print_table(const std::vector<survey::ProgrammeState>& sites, const std::vector<Ranked>& order,
                 SortBy by, Units units) {
  std::printf("%s\n",
              tr("programme.ranking_about", {number(static_cast<double>(sites.size())),
                                             tr("programme.by." + std::string(name_of(by)))})
                  .c_str());
  for (const std::string& doubt : doubts_of(sites, by)) std::printf("! %s\n", doubt.c_str());
  for (const Ranked& rank : order) {
    const auto& site = sites[rank.site].site;
    std::printf("%7s  %s: %s", rank_words(rank).c_str(), site.name.c_str(),
                figure_words(site, by == SortBy::name ? SortBy::hours : by, units).c_str());
    for (const SortBy other :
         {SortBy::hours, SortBy::cold, SortBy::crops, SortBy::water, SortBy::access})
      if (other != by && !(by == SortBy::name && other == SortBy::hours))
        std::printf(" · %s %s", tr("programme.by." + std::string(name_of(other))).c_str(),
                    figure_words(site, other, units).c_str());
    std::printf("\n");
    if (const std::string like = like_words(sites, rank); !like.empty())
      std::printf("         %s\n", like.c_str());
  }
}

void run_compare(const CompareVerb& verb) {
  set_language(verb.language);
  const Units units = *units_named(verb.units);
  const SortBy by = *sort_named(verb.sort);
  const auto programme =
      value_or_stop(survey::Programme::open(verb.programme, survey::Programme::Open::read));
  auto sites = value_or_stop(programme.sites(!verb.report.empty()));
  if (sites.empty()) stop_bad_input("error.programme_empty", verb.programme);
  const auto order = ranked(sites, by);
  if (!verb.csv.empty()) value_or_stop(survey::write_file(verb.csv, programme_csv(sites, order)));
  if (!verb.report.empty()) {
    ReportOptions options;
    options.language = verb.language;
    options.paper = verb.paper == "letter" ? Paper::letter : Paper::a4;
    options.units = units;
    options.software_version = "Adret " ADRET_VERSION;
    options.time_utc_s =
        std::chrono::duration<double>(std::chrono::system_clock::now().time_since_epoch()).count();
    const std::string name = !verb.name.empty()      ? verb.name
                             : programme.is_server() ? tr("programme.many_sites")
                                                     : fs::path(verb.programme).stem().string();
    const auto thumbnail = [&](const std::string& sha256) {
      return programme.thumbnail(sha256).value_or(std::string());
    };
    std::vector<horizon::TerrainGrid> ground;
    for (const std::string& file : verb.terrain) {
      auto grid = survey::read_terrain(file);
      if (!grid) grid.error().where = file + ", " + grid.error().where;
      ground.push_back(value_or_stop(std::move(grid)));
    }
    value_or_stop(survey::write_file(
        verb.report, value_or_stop(programme_report(name, sites, by, options, thumbnail,
                                                    verb.most_pages, ground))));
  }
  if (verb.json)
    std::printf("%s\n",
                nlohmann::ordered_json{{"sorted_by", verb.sort}, {"sites", json_of(sites, order)}}
                    .dump(1, ' ', false, nlohmann::json::error_handler_t::replace)
                    .c_str());
  else
    print_table(sites, order, by, units);
}

}  // namespace

void add_compare(CLI::App& cli) {
  auto verb = std::make_shared<CompareVerb>();
  CLI::App* app = cli.add_subcommand(
      "compare",
      "All sites of a programme side by side: a ranking that says what it cannot tell apart");
  app->add_option("programme", verb->programme,
                  "programme.gpkg, or postgresql://user@host/database")
      ->required();
  app->add_option("--sort", verb->sort,
                  "hours, shortest_day, gain, cold, crops, water, access or name")
      ->check(CLI::IsMember(
          {"hours", "shortest_day", "gain", "cold", "crops", "water", "access", "name"}));
  app->add_option("--csv", verb->csv, "Write all columns as a table");
  app->add_option("--report", verb->report, "Write ranking, map and a page for each site as a PDF");
  app->add_option("--terrain", verb->terrain,
                  "Height grids (GeoTIFF, HGT, ASCII) to shade the report's map with");
  app->add_option("--most-pages", verb->most_pages,
                  "Sites that get a page of their own, best first")
      ->check(CLI::Range(0, 100000));
  app->add_option("--name", verb->name, "Name of the programme on the report; else the file's");
  app->add_option("--lang", verb->language, "Language")->check(CLI::IsMember(languages()));
  app->add_option("--units", verb->units, "metric or imperial")
      ->check(CLI::IsMember({"metric", "imperial"}));
  app->add_option("--paper", verb->paper, "a4 or letter")->check(CLI::IsMember({"a4", "letter"}));
  app->add_flag("--json", verb->json, "Machine-readable output");
  app->callback([verb] { run_compare(*verb); });
}

}  // namespace app
