#include <unistd.h>

#include <array>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <thread>

#include "app/cli/cli.h"
#include "app/cli/visit_list.h"
#include "app/handover/valley_page.h"
#include "app/words/quantity.h"
#include "app/words/words.h"
#include "horizon/angle.h"
#include "horizon/skyline/mask.h"
#include "horizon/sun/sun_path.h"
#include "horizon/terrain/terrain.h"
#include "horizon/time.h"
#include "survey/book/durable.h"
#include "survey/exchange/valley_files.h"

namespace app {
namespace {

namespace fs = std::filesystem;

constexpr double kRidgesWithin_m = 10000;  // of valley walls; farther ones stand low
using survey::ValleyGrid;
using survey::ValleyWindow;

struct ValleyVerb {
  std::vector<std::string> grids;
  std::string out, name, tile = "1/1", access, language = "en", units = "metric", paper = "a4";
  double cell_m = 0, halo_km = 30;
  int year = 2026, threads = 2, exact = 20, visits = 12;
  std::vector<unsigned> months;
  survey::TerraceRule rule;
  bool json = false, again = false;
};

struct LayerOf {
  const char *name, *unit, *words;
  std::vector<float> horizon::ValleySun::*values;
};
constexpr std::array<LayerOf, 10> kLayers = {{
    {"winter_sun", "h", "direct sun, mean hours a winter day", &horizon::ValleySun::winter_h},
    {"shortest_day_sun", "h", "direct sun on the shortest day, hours",
     &horizon::ValleySun::shortest_day_h},
    {"gain", "kWh/m2", "clear sky on glass facing its best, mean winter day",
     &horizon::ValleySun::gain_kwh_m2},
    {"best_facing", "degree", "true azimuth that such glass faces",
     &horizon::ValleySun::best_facing_deg},
    {"sky_view", "1", "share of the sky in view", &horizon::ValleySun::sky_view},
    {"days_without", "d", "days in a row without direct sun", &horizon::ValleySun::days_without},
    {"first_day_without", "d", "day of the year from which there is none",
     &horizon::ValleySun::first_without},
    {"last_day_without", "d", "day of the year until which there is none",
     &horizon::ValleySun::last_without},
    {"slope", "degree", "slope of the ground", &horizon::ValleySun::slope_deg},
    {"downhill", "degree", "true azimuth in which the ground falls",
     &horizon::ValleySun::downhill_deg},
}};

std::pair<int, int> tile_named(const std::string& text) {
  int index = 0, count = 0;
  char rest = 0;
  if (std::sscanf(text.c_str(), "%d/%d%c", &index, &count, &rest) != 2 || count < 1 ||
      count > 100000 || index < 1 || index > count)
    stop_bad_input("error.tile_name", "--tile " + text);
  return {index, count};
}

std::string layer_path(const ValleyVerb& verb, const std::string& name, int index, int count) {
  if (count == 1) return (fs::path(verb.out) / (name + ".tif")).string();
  return (fs::path(verb.out) /
          (name + "." + std::to_string(index) + "of" + std::to_string(count) + ".tif"))
      .string();
}

void said(const char* what, double part) {
  static const bool watched = isatty(STDERR_FILENO);
  static int last = -1;
  if (!watched) return;
  const int now = static_cast<int>(part * 100);
  if (now != last) std::fprintf(stderr, "\r%s %3d %%", what, last = now);
  if (now >= 100) std::fputc('\n', stderr);
}

// The tile with what its sun must clear around it; only the tile itself is kept.
horizon::ValleySun sun_of(const ValleyVerb& verb, const ValleyGrid& valley,
                          const ValleyWindow& tile) {
  const int halo = static_cast<int>(std::ceil(verb.halo_km * 1000 / valley.cell_m()));
  const int left = std::max(0, tile.column - halo), top = std::max(0, tile.row - halo);
  const ValleyWindow wide{left, top,
                          std::min(valley.columns(), tile.column + tile.columns + halo) - left,
                          std::min(valley.rows(), tile.row + tile.rows + halo) - top};
  const horizon::MetricGrid grid = value_or_stop(valley.read(wide));
  horizon::ValleyOptions options;
  options.year = verb.year;
  options.sweep.threads = verb.threads;
  options.sweep.reach_m = verb.halo_km * 1000;
  if (!verb.months.empty()) options.winter_months = 0;
  for (const unsigned month : verb.months) options.winter_months |= 1U << (month - 1);
  const auto spot = [&](double column, double row) {
    return valley.spot(column + left, row + top);
  };
  horizon::ValleySun all = value_or_stop(horizon::valley_sun(grid, spot, options, [](double done) {
    said("the sun over the valley", done);
    return true;
  }));
  horizon::ValleySun own;
  own.columns = tile.columns;
  own.rows = tile.rows;
  for (const LayerOf& layer : kLayers) {
    const std::vector<float>& from = all.*layer.values;
    std::vector<float>& to = own.*layer.values;
    for (int r = 0; r < tile.rows; ++r) {
      const auto first =
          from.begin() + static_cast<long>(grid.index(tile.column - left, tile.row - top + r));
      to.insert(to.end(), first, first + tile.columns);
    }
  }
  return own;
}

// Winter hours by the whole hour, for the eye.
survey::Layer classes_of(const std::vector<float>& winter_h) {
  survey::Layer layer{"winter_sun_classes",
                      "class",
                      "whole hours of winter sun a day, one more; 0 = not known",
                      {},
                      {},
                      true};
  layer.colours.assign(kSunClasses.begin(), kSunClasses.end());
  for (const float h : winter_h)
    layer.values.push_back(std::isnan(h) ? h : static_cast<float>(sun_class(h)));
  return layer;
}

void work_tile(const ValleyVerb& verb, const ValleyGrid& valley, int index, int count) {
  const std::string last = layer_path(verb, "winter_sun_classes", index, count);
  if (!verb.again && fs::exists(last)) {
    std::fprintf(stderr, "adret-cli: tile %d of %d is there already; --again works it out anew\n",
                 index, count);
    return;
  }
  const ValleyWindow tile = survey::tile_of(valley, index, count);
  const horizon::ValleySun sun = sun_of(verb, valley, tile);
  for (const LayerOf& layer : kLayers)
    value_or_stop(survey::write_layer(
        valley, tile, {layer.name, layer.unit, layer.words, sun.*layer.values, {}, true},
        layer_path(verb, layer.name, index, count)));
  // Written last: it says that the tile is whole.
  value_or_stop(survey::write_layer(valley, tile, classes_of(sun.winter_h), last));
}

std::vector<int> missing_tiles(const ValleyVerb& verb, int count) {
  std::vector<int> missing;
  for (int i = 1; i <= count; ++i)
    if (!fs::exists(layer_path(verb, "winter_sun_classes", i, count))) missing.push_back(i);
  return missing;
}

std::string whole_path(const ValleyVerb& verb, const std::string& name, int count) {
  if (count == 1) return layer_path(verb, name, 1, 1);
  return (fs::path(verb.out) / (name + ".vrt")).string();
}

horizon::ValleySun joined(const ValleyVerb& verb, const ValleyGrid& valley, int count) {
  horizon::ValleySun sun;
  sun.columns = valley.columns();
  sun.rows = valley.rows();
  const auto join = [&](const std::string& name) {
    if (count == 1) return;
    std::vector<std::string> tiles;
    for (int i = 1; i <= count; ++i) tiles.push_back(layer_path(verb, name, i, count));
    value_or_stop(survey::join_layers(tiles, whole_path(verb, name, count)));
  };
  for (const LayerOf& layer : kLayers) {
    join(layer.name);
    sun.*layer.values =
        value_or_stop(survey::read_layer(valley, whole_path(verb, layer.name, count)));
  }
  join("winter_sun_classes");
  return sun;
}

// By the exact ray all round and the exact windows of the sun.
Visit exact_visit(const ValleyVerb& verb, const ValleyGrid& valley,
                  const survey::Terrace& terrace) {
  Visit exact{
      terrace,
      value_or_stop(survey::land_skyline(valley, terrace.place, verb.halo_km * 1000)),
  };
  horizon::Place eye = terrace.place;
  eye.height_m = exact.land.ground_m;
  horizon::Skyline skyline;
  skyline.obstacles.push_back({horizon::Kind::ridge, "ground"});
  for (const horizon::TerrainPoint& p : exact.land.points) {
    horizon::SkylinePoint point;
    point.azimuth = p.azimuth;
    point.elevation = horizon::Elevation::degrees(std::max(0.0, p.elevation.degrees()));
    point.obstacle = 0;
    skyline.points.push_back(point);
  }
  const horizon::SunPath path = horizon::SunPath::of_year(eye, verb.year);
  const auto hours =
      horizon::hours_by_day(path, horizon::windows_above(path, horizon::Mask(skyline)));
  unsigned months = horizon::ValleyOptions().winter_months;
  if (!verb.months.empty()) months = 0;
  for (const unsigned month : verb.months) months |= 1U << (month - 1);
  int days = 0;
  for (int d = 0; d < path.days(); ++d) {
    const unsigned month = static_cast<unsigned>(path.date(d).month()) - 1;
    if (months >> month & 1) exact.winter_h += hours[static_cast<size_t>(d)], ++days;
  }
  exact.winter_h /= std::max(1, days);
  exact.shortest_day_h = hours[eye.latitude_deg < 0 ? 171 : 354];
  return exact;
}

nlohmann::ordered_json json_of(const survey::Terrace& t) {
  nlohmann::ordered_json json{{"rank", t.id},
                              {"latitude_deg", t.place.latitude_deg},
                              {"longitude_deg", t.place.longitude_deg},
                              {"area_m2", t.area_m2},
                              {"winter_sun_h_per_day", t.winter_h},
                              {"shortest_day_sun_h", t.shortest_day_h},
                              {"clear_sky_gain_kwh_m2_per_day", t.gain_kwh_m2},
                              {"best_facing_true_deg", t.best_facing_deg},
                              {"slope_deg", t.slope_deg},
                              {"days_without_sun", t.days_without},
                              {"grid_ends_m", t.grid_ends_m},
                              {"score", t.score}};
  if (t.access_m) json["access_m"] = *t.access_m;
  return json;
}

double now_utc_s() {
  return std::chrono::duration<double>(std::chrono::system_clock::now().time_since_epoch()).count();
}

// The map for people, as PDF and as PNG.
void write_page(const ValleyVerb& verb, const ValleyGrid& valley, const horizon::ValleySun& sun,
                const survey::Terraces& terraces,
                const std::vector<std::optional<double>>& exact_winter_h) {
  ValleyPage page{sun, valley.cell_m(), terraces.best_first, exact_winter_h, {}, verb.rule};
  for (const std::string& grid : verb.grids)
    page.sources.push_back(fs::path(grid).filename().string());
  page.year = verb.year;
  page.paper = verb.paper == "letter" ? Paper::letter : Paper::a4;
  page.units = *units_named(verb.units);
  page.language = verb.language;
  page.software = "Adret " ADRET_VERSION;
  page.time_utc_s = now_utc_s();
  value_or_stop(survey::write_file((fs::path(verb.out) / "valley.pdf").string(),
                                   value_or_stop(valley_page_pdf(page))));
  value_or_stop(survey::write_file((fs::path(verb.out) / "valley.png").string(),
                                   value_or_stop(valley_page_png(page))));
}

void write_visits(const ValleyVerb& verb, const ValleyGrid& valley,
                  const std::vector<Visit>& visits) {
  VisitListOptions options;
  options.name =
      verb.name.empty() ? fs::absolute(verb.out).lexically_normal().filename().string() : verb.name;
  options.language = verb.language;
  options.cut.grids = verb.grids;
  options.cut.reach_m = verb.halo_km * 1000;
  options.time_utc_s = now_utc_s();
  const auto cut = value_or_stop(
      write_visit_list((fs::path(verb.out) / "visits.zip").string(), valley, visits, options));
  std::fprintf(
      stderr,
      "adret-cli: visits.zip holds %zu sites to walk to and their heights (%.1f MB%s); "
      "skylines out of it are off by %.2f degrees at most, %.3f in the median. Bring it into the app.\n",
      visits.size(), double(cut.bytes) / 1e6,
      cut.far_cell_m > 0 ? (", far cells " + number(cut.far_cell_m) + " m").c_str() : "",
      cut.largest_error_deg, cut.typical_error_deg);
}

void candidates(const ValleyVerb& verb, const ValleyGrid& valley, int count) {
  const horizon::ValleySun sun = joined(verb, valley, count);
  std::function<std::optional<double>(double, double)> access;
  if (!verb.access.empty()) access = value_or_stop(survey::access_lines(valley, verb.access));
  const survey::Terraces terraces = survey::terraces_of(valley, sun, verb.rule, access);
  value_or_stop(survey::write_terraces(valley, terraces, verb.rule,
                                       (fs::path(verb.out) / "terraces.gpkg").string()));
  nlohmann::ordered_json list = nlohmann::ordered_json::array();
  int cut = 0;
  std::vector<std::optional<double>> exact_winter_h;
  std::vector<Visit> visits;
  if (!verb.json)
    std::printf(
        "%zu candidate terraces, best first (ground alone: a grid of heights has no trees and no houses)\n"
        " rank  latitude  longitude   area m2  winter h  shortest h  slope  score\n",
        terraces.best_first.size());
  for (const survey::Terrace& t : terraces.best_first) {
    nlohmann::ordered_json json = json_of(t);
    if (t.id <= std::max(verb.exact, verb.visits)) {
      Visit exact = exact_visit(verb, valley, t);
      exact_winter_h.emplace_back(exact.winter_h);
      json["exact_winter_sun_h_per_day"] = exact.winter_h;
      json["exact_shortest_day_sun_h"] = exact.shortest_day_h;
      said("the exact hours", double(t.id) / std::min<double>(std::max(verb.exact, verb.visits),
                                                              double(terraces.best_first.size())));
      if (t.id <= verb.visits) visits.push_back(std::move(exact));
    }
    if (!verb.json)
      std::printf("%5d %9.5f %10.5f %9.0f %9.2f %11.2f %6.1f %6.2f\n", t.id, t.place.latitude_deg,
                  t.place.longitude_deg, t.area_m2, t.winter_h, t.shortest_day_h, t.slope_deg,
                  t.score);
    list.push_back(std::move(json));
    cut += t.grid_ends_m < kRidgesWithin_m;
  }
  write_page(verb, valley, sun, terraces, exact_winter_h);
  if (!visits.empty()) write_visits(verb, valley, visits);
  if (cut > 0)
    std::fprintf(
        stderr,
        "adret-cli: %d of them lie within %.0f km of the grids' edge, where ridges beyond it may take sun; "
        "bring the neighbouring grids (column grid_ends_m)\n",
        cut, kRidgesWithin_m / 1000);
  if (verb.json)
    std::printf("%s\n", nlohmann::ordered_json{{"cell_m", valley.cell_m()},
                                               {"system", valley.system()},
                                               {"terraces", std::move(list)}}
                            .dump(1)
                            .c_str());
}

void run_valley(const ValleyVerb& verb) {
  const auto [index, count] = tile_named(verb.tile);
  for (const unsigned month : verb.months)
    if (month < 1 || month > 12) stop_bad_input("error.months_are_numbers", "--months");
  if (!(verb.halo_km > 0 && verb.halo_km <= 200)) stop_bad_input("error.halo_range", "--halo-km");
  const ValleyGrid valley = value_or_stop(ValleyGrid::open(verb.grids, verb.cell_m));
  std::error_code error;
  fs::create_directories(verb.out, error);
  if (error) stop_bad_input({"error.folder_not_made", {error.message()}}, verb.out);
  work_tile(verb, valley, index, count);
  const std::vector<int> missing = missing_tiles(verb, count);
  if (missing.empty()) return candidates(verb, valley, count);
  std::string list;
  for (size_t i = 0; i < missing.size() && i < 12; ++i)
    list += (i ? ", " : "") + std::to_string(missing[i]);
  std::printf("tile %d of %d is done; still to do: %s%s\n", index, count, list.c_str(),
              missing.size() > 12 ? ", ..." : "");
}

}  // namespace

void add_valley(CLI::App& cli) {
  auto verb = std::make_shared<ValleyVerb>();
  verb->threads = std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
  CLI::App* app = cli.add_subcommand(
      "valley", "Winter sun over a whole valley from grids of heights, and its terraces");
  app->add_option("grids", verb->grids, "Grids of heights: GeoTIFF, HGT tiles, ASCII; any system")
      ->required();
  app->add_option("--out", verb->out, "Folder for the maps")->required();
  app->add_option("--cell-m", verb->cell_m, "Size of a cell; otherwise the finest grid's own")
      ->check(CLI::Range(0.1, 1000.0));
  app->add_option("--year", verb->year, "Year of the sun")->check(CLI::Range(1951, 2099));
  app->add_option("--months", verb->months,
                  "Months of winter, 1 to 12; otherwise November to February");
  app->add_option("--halo-km", verb->halo_km, "How far around a tile ridges are looked at");
  app->add_option("--tile", verb->tile,
                  "One tile of several, such as 3/16; run all, on as many machines as there are");
  app->add_flag("--again", verb->again, "Work out a tile anew that is there");
  app->add_option("--access", verb->access, "File of lines (roads, tracks) to measure access to");
  app->add_option("--most-slope-deg", verb->rule.most_slope_deg, "Steepest ground of a terrace");
  app->add_option("--least-winter-h", verb->rule.least_winter_h, "Least direct sun a winter day");
  app->add_option("--least-area-m2", verb->rule.least_area_m2, "Least area of a terrace");
  app->add_option("--lang", verb->language, "Language of the page")
      ->check(CLI::IsMember(languages()));
  app->add_option("--units", verb->units, "Of the page: metric or imperial")
      ->check(CLI::IsMember({"metric", "imperial"}));
  app->add_option("--paper", verb->paper, "Of the page: a4 or letter")
      ->check(CLI::IsMember({"a4", "letter"}));
  app->add_option("--exact", verb->exact, "How many terraces get exact hours too")
      ->check(CLI::Range(0, 1000));
  app->add_option("--visits", verb->visits,
                  "How many of the best go into visits.zip, the sites to walk to; 0 = none")
      ->check(CLI::Range(0, 100));
  app->add_option("--name", verb->name,
                  "Of the valley, for the sites to walk to; else the folder's");
  app->add_option("--threads", verb->threads, "Threads")->check(CLI::Range(1, 256));
  app->add_flag("--json", verb->json, "Machine-readable output");
  app->callback([verb] { run_valley(*verb); });
}

}  // namespace app
