// terrain: the far skyline from height grids, and how the captured one lies on it.
#include <cmath>
#include <cstdio>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/cli/cli.h"
#include "horizon/skyline/mask.h"
#include "horizon/terrain/terrain.h"
#include "survey/assess/station_skyline.h"
#include "survey/exchange/beside.h"
#include "survey/exchange/terrain_file.h"

namespace app {
namespace {

using nlohmann::ordered_json;

struct TerrainVerb : PlaceOptions {
  std::string site, station;
  std::vector<std::string> grids;
  std::optional<std::string> system;
  double eye_height_m = 1.6, from_m = 100, reach_m = 50000, every_deg = 1;
  bool json = false;
};

double rounded(double value, int decimals) {
  const double scale = std::pow(10, decimals);
  return std::round(value * scale) / scale;
}

struct Eye {
  horizon::Place place;
  double above_ground_m = 1.6;
  std::optional<survey::StationSkyline> captured;
};

Eye eye_of(TerrainVerb& verb) {
  if (verb.site.empty()) {
    check_place({verb.place.latitude_deg, verb.place.longitude_deg, verb.place.height_m});
    return {verb.place, verb.eye_height_m, {}};
  }
  const auto book = value_or_stop(survey::FieldBook::open(verb.site, survey::Access::received));
  if (verb.grids.empty()) verb.grids = survey::terrain_beside(book);
  for (auto& each : value_or_stop(survey::station_skylines(book))) {
    if (!verb.station.empty() && each.station.name != verb.station) continue;
    const double above_m = each.station.eye_height_m;
    return {each.eye, above_m, std::move(each)};
  }
  stop_bad_input("error.no_station_of_name", verb.site + " --station " + verb.station);
}

ordered_json json_of_turn(const Eye& eye, const horizon::TerrainSkyline& sky) {
  ordered_json json;
  const horizon::Skyline& captured = eye.captured->skyline();
  if (const auto turn = horizon::terrain_turn(captured.points, sky)) {
    json["clockwise_deg"] = rounded(turn->clockwise_deg, 2);
    json["sigma_deg"] = rounded(turn->sigma_deg, 2);
    json["points_that_fit"] = turn->fitting;
    json["points_well_above"] = turn->nearer.size();
    json["points_well_below"] = turn->below.size();
  } else {
    tell("terrain", turn.error(), "note: ");
  }
  json["nearer_than_terrain"] = ordered_json::array();
  for (const auto& stretch : horizon::nearer_than_terrain(horizon::Mask(captured), sky))
    json["nearer_than_terrain"].push_back(
        {{"from_azimuth_true_deg", rounded(stretch.from_deg, 1)},
         {"to_azimuth_true_deg", rounded(stretch.to_deg, 1)},
         {"highest_above_deg", rounded(stretch.highest_above_deg, 2)}});
  return json;
}

void run_terrain(TerrainVerb verb) {
  const Eye eye = eye_of(verb);
  if (verb.grids.empty()) stop_bad_input("error.no_kept_height_grid", "--grid");
  std::vector<horizon::TerrainGrid> tiles;
  for (const std::string& path : verb.grids)
    tiles.push_back(value_or_stop(survey::read_terrain(path, verb.system)));
  horizon::TerrainOptions options;
  options.from_m = verb.from_m;
  options.reach_m = verb.reach_m;
  const horizon::TerrainSkyline sky =
      value_or_stop(horizon::terrain_skyline(tiles, eye.place, eye.above_ground_m, options));
  const int points = static_cast<int>(sky.points.size());
  const int step = std::max(1, static_cast<int>(std::lround(verb.every_deg * points / 360)));
  ordered_json json;
  json["grids"] = verb.grids;
  json["latitude_deg"] = eye.place.latitude_deg;
  json["longitude_deg"] = eye.place.longitude_deg;
  json["ground_m"] = rounded(sky.ground_m, 1);
  json["eye_height_m"] = eye.above_ground_m;
  int cut = 0;
  for (int i = 0; i < points; i += step) {
    const horizon::TerrainPoint& p = sky.points[static_cast<std::size_t>(i)];
    cut += p.cut_short;
    json["skyline"].push_back({{"azimuth_true_deg", rounded(p.azimuth.degrees(), 2)},
                               {"elevation_deg", rounded(p.elevation.degrees(), 3)},
                               {"elevation_sigma_deg", rounded(p.sigma_deg, 2)},
                               {"distance_m", rounded(p.distance_m, 0)},
                               {"height_m", rounded(p.height_m, 1)},
                               {"grid_ends_before", p.cut_short}});
  }
  if (eye.captured && !eye.captured->skyline().points.empty())
    json["captured_skyline"] = json_of_turn(eye, sky);
  if (verb.json) {
    std::printf("%s\n", json.dump(1).c_str());
    return;
  }
  std::printf("Far skyline from %.5f %.5f, ground by the grid %.0f m, eye %.1f m above it\n",
              eye.place.latitude_deg, eye.place.longitude_deg, sky.ground_m, eye.above_ground_m);
  std::printf("  azimuth  elevation  (1 sigma)  distance  height\n");
  for (int i = 0; i < points; i += step) {
    const horizon::TerrainPoint& p = sky.points[static_cast<std::size_t>(i)];
    std::printf("  %6.1f%s  %8.2f%s  \u00b1 %4.1f%s  %6.1f km  %5.0f m%s\n", p.azimuth.degrees(),
                "\u00b0", p.elevation.degrees(), "\u00b0", p.sigma_deg, "\u00b0",
                p.distance_m / 1000, p.height_m, p.cut_short ? "  (the grid ends before)" : "");
  }
  if (cut > 0)
    std::fprintf(stderr,
                 "adret-cli: note: in %d of %d directions the grid ends within %.0f km; bring the "
                 "tiles beside it\n",
                 cut, (points + step - 1) / step, verb.reach_m / 1000);
  if (json.contains("captured_skyline"))
    std::printf("%s\n", json["captured_skyline"].dump(1).c_str());
}

}  // namespace

void add_terrain(CLI::App& cli) {
  auto verb = std::make_shared<TerrainVerb>();
  CLI::App* app = cli.add_subcommand("terrain", "The far skyline from height grids");
  app->add_option("site", verb->site, "A site file; or give --lat and --lon");
  add_place_options(*app, *verb);
  app->add_option("--station", verb->station, "Which station of the site; else the main one");
  app->add_option("--grid", verb->grids,
                  "Height grids (.hgt, GeoTIFF, ASCII); default: those kept beside the site");
  app->add_option("--system", verb->system, "Of a grid that does not name its own, as EPSG:32632");
  app->add_option("--eye-height-m", verb->eye_height_m, "Eye above the ground, without a site")
      ->check(CLI::Range(0.0, 100.0));
  app->add_option("--from-m", verb->from_m, "Ground nearer than this is for the eye")
      ->check(CLI::Range(0.0, 100000.0));
  app->add_option("--reach-m", verb->reach_m, "How far to look")
      ->check(CLI::Range(1000.0, 300000.0));
  app->add_option("--every-deg", verb->every_deg, "A line every so many degrees")
      ->check(CLI::Range(0.1, 90.0));
  app->add_flag("--json", verb->json, "Machine-readable output");
  app->callback([verb] { run_terrain(*verb); });
}

}  // namespace app
