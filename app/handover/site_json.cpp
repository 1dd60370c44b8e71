#include <nlohmann/json.hpp>

#include "app/handover/site_plan.h"
#include "app/handover/tables.h"
#include "app/words/sentence.h"
#include "horizon/geodesy.h"
#include "survey/assess/ground_json.h"
#include "survey/assess/house_json.h"
#include "survey/assess/light_json.h"

namespace app {
using survey::Json;
using survey::rounded;
namespace {

using nlohmann::ordered_json;

// Where no distance was measured, marks are drawn on a circle of this radius.
constexpr double kDrawnAt_m = 1000;

ordered_json place_json(const horizon::Place& place) {
  return {{"latitude_deg", rounded(place.latitude_deg, 7)},
          {"longitude_deg", rounded(place.longitude_deg, 7)},
          {"height_m", rounded(place.height_m, 2)}};
}

ordered_json station_json(const StationReport& station) {
  const auto& derived = station.derived;
  ordered_json out;
  out["id"] = derived.station.id;
  out["name"] = derived.station.name;
  out["eye"] = place_json(derived.eye);
  out["eye_height_m"] = derived.station.eye_height_m;
  out["utc_offset_h"] = station.input.utc_offset_h;
  out["declination_deg"] = derived.declination_deg
                               ? ordered_json(rounded(*derived.declination_deg, 4))
                               : ordered_json(nullptr);
  out["declination_source"] = derived.declination_source;
  out["convergence_deg"] = derived.convergence_deg
                               ? ordered_json(rounded(*derived.convergence_deg, 5))
                               : ordered_json(nullptr);
  out["horizon_sighted_fraction"] = rounded(station.findings.closed_fraction, 5);
  auto skyline = ordered_json::array();
  for (const auto& piece : station.masks.all.pieces()) {
    const bool open = piece.open || piece.obstacle < 0;
    const auto* obstacle =
        piece.obstacle < 0 ? nullptr : &station.skyline().obstacles[piece.obstacle];
    skyline.push_back(
        {{"from_true_deg", rounded(piece.from_deg, 6)},
         {"to_true_deg", rounded(piece.to_deg, 6)},
         {"from_elevation_deg", rounded(piece.from_el_deg, 6)},
         {"to_elevation_deg", rounded(piece.to_el_deg, 6)},
         {"edge", piece.edge == horizon::Edge::great_circle ? "great_circle" : "straight"},
         {"kind", open ? "open" : horizon::name_of(obstacle->kind)},
         {"label", obstacle ? obstacle->label : ""}});
  }
  out["horizon_mask"] = skyline;
  out["light"] = survey::findings_json(station.findings, station.input);
  out["house"] = nullptr;
  if (station.house)
    out["house"] = survey::house_json(*station.house);
  else
    out["house_missing"] = station.house_missing;
  return out;
}

ordered_json optional_json(const std::optional<double>& value, int decimals) {
  return value ? ordered_json(rounded(*value, decimals)) : ordered_json(nullptr);
}

ordered_json ground_json(const SiteReport& site) {
  auto pits = ordered_json::array();
  for (const auto& one : site.pits) {
    auto layers = ordered_json::array();
    for (const auto& layer : one.layers) {
      layers.push_back({{"top_m", layer.top_m},
                        {"bottom_m", layer.bottom_m},
                        {"texture", layer.texture},
                        {"sand_percent", optional_json(layer.sand_percent, 1)},
                        {"silt_percent", optional_json(layer.silt_percent, 1)},
                        {"clay_percent", optional_json(layer.clay_percent, 1)},
                        {"coarse_percent", optional_json(layer.coarse_percent, 1)}});
    }
    pits.push_back({{"name", one.pit.name},
                    {"depth_m", optional_json(one.pit.depth_m, 3)},
                    {"water_m", optional_json(one.pit.water_m, 3)},
                    {"rock_m", optional_json(one.pit.rock_m, 3)},
                    {"slope_deg", optional_json(one.pit.slope_deg, 2)},
                    {"layers", layers}});
  }
  auto tests = ordered_json::array();
  for (const auto& one : site.percolation) {
    auto readings = ordered_json::array();
    for (const auto& reading : one.readings) {
      readings.push_back({{"utc", horizon::format_utc(reading.time.utc_s)},
                          {"water_depth_mm", reading.water_depth_mm},
                          {"refilled", reading.refilled}});
    }
    tests.push_back(
        {{"name", one.test.name}, {"hole_depth_m", one.test.hole_depth_m}, {"readings", readings}});
  }
  const auto say = [](const horizon::Sentence& what) { return words_of(what); };
  return {
      {"pits", pits}, {"percolation", tests}, {"findings", ground_findings_json(site.ground, say)}};
}

}  // namespace

std::string site_json(const SiteReport& site, const PackageFacts& facts) {
  ordered_json out;
  out["format"] = "adret-site";
  out["format_version"] = 2;
  out["made_utc"] = facts.made_utc;
  out["software"] = facts.software;
  out["site"] = {{"id", site.site().id},
                 {"name", site.site().name},
                 {"latitude_deg", site.site().position.latitude_deg},
                 {"longitude_deg", site.site().position.longitude_deg},
                 {"note", site.site().note}};
  auto stations = ordered_json::array();
  for (const auto& station : site.stations) stations.push_back(station_json(station));
  out["stations"] = stations;
  out["ground"] = ground_json(site);
  auto hazards = ordered_json::array();
  for (const auto& hazard : site.hazards) {
    hazards.push_back(
        {{"kind", name_of(hazard.kind)}, {"severity", hazard.severity}, {"text", hazard.text}});
  }
  out["hazards"] = hazards;
  out["people"] = ordered_json::array();
  for (const auto& person : site.people)
    out["people"].push_back({{"role", name_of(person.role)},
                             {"name", person.name},
                             {"telephone", person.telephone},
                             {"mail", person.mail},
                             {"consent", person.consent}});
  out["plan"] = site.plan ? plan_json(*site.plan) : ordered_json(nullptr);
  auto photos = ordered_json::array();
  for (std::size_t i = 0; i < site.photos.size(); ++i) {
    const auto& photo = site.photos[i];
    photos.push_back({{"file", photo_file_name(site, i)},
                      {"sha256", photo.sha256},
                      {"station_id", photo.station_id},
                      {"utc", horizon::format_utc(photo.time.utc_s)},
                      {"bearing_deg", optional_json(photo.bearing_deg, 2)},
                      {"bearing_reference", horizon::name_of(photo.reference)},
                      {"elevation_deg", optional_json(photo.elevation_deg, 2)},
                      {"label", photo.label}});
  }
  out["photos"] = photos;
  return out.dump(2, ' ', false, ordered_json::error_handler_t::replace) + "\n";
}

std::string skyline_geojson(const SiteReport& site) {
  auto features = ordered_json::array();
  const auto coordinates = [](const horizon::Place& p) {
    return ordered_json{rounded(p.longitude_deg, 7), rounded(p.latitude_deg, 7)};
  };
  for (const auto& station : site.stations) {
    const auto& eye = station.derived.eye;
    features.push_back({{"type", "Feature"},
                        {"geometry", {{"type", "Point"}, {"coordinates", coordinates(eye)}}},
                        {"properties",
                         {{"what", "station"},
                          {"station", station.name()},
                          {"height_m", rounded(eye.height_m, 2)}}}});
    for (const auto& point : station.skyline().points) {
      const double distance = point.distance_m.value_or(kDrawnAt_m);
      const auto& obstacle = station.skyline().obstacles[point.obstacle];
      features.push_back({{"type", "Feature"},
                          {"geometry",
                           {{"type", "LineString"},
                            {"coordinates",
                             {coordinates(eye),
                              coordinates(horizon::destination(eye, point.azimuth, distance))}}}},
                          {"properties",
                           {{"what", "mark"},
                            {"station", station.name()},
                            {"azimuth_true_deg", rounded(point.azimuth.degrees(), 4)},
                            {"elevation_deg", rounded(point.elevation.degrees(), 4)},
                            {"azimuth_sigma_deg", rounded(point.azimuth_sigma_deg, 4)},
                            {"elevation_sigma_deg", rounded(point.elevation_sigma_deg, 4)},
                            {"kind", horizon::name_of(obstacle.kind)},
                            {"label", obstacle.label},
                            {"layer", point.layer},
                            {"distance_m", optional_json(point.distance_m, 2)},
                            {"drawn_at_m", distance}}}});
    }
  }
  ordered_json out{{"type", "FeatureCollection"}, {"features", features}};
  return out.dump(1, ' ', false, ordered_json::error_handler_t::replace) + "\n";
}

}  // namespace app
