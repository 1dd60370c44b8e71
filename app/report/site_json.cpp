#include <cmath>
#include <nlohmann/json.hpp>

#include "app/report/tables.h"
#include "horizon/geodesy.h"

namespace app {
namespace {

using nlohmann::ordered_json;

// Where no distance was measured, marks are drawn on a circle of this radius.
constexpr double kDrawnAt_m = 1000;

double rounded(double value, int decimals) {
  const double scale = std::pow(10, decimals);
  const double out = std::round(value * scale) / scale;
  return out == 0 ? 0 : out;
}

ordered_json ranged(const horizon::Ranged& value, int decimals) {
  return {{"value", rounded(value.value, decimals)},
          {"low_5_percent", rounded(value.low, decimals)},
          {"high_95_percent", rounded(value.high, decimals)}};
}

ordered_json place_json(const horizon::Place& place) {
  return {{"latitude_deg", rounded(place.latitude_deg, 7)},
          {"longitude_deg", rounded(place.longitude_deg, 7)},
          {"height_m", rounded(place.height_m, 2)}};
}

ordered_json plane_json(const horizon::PlaneGain& gain) {
  return {{"facing_true_deg", rounded(gain.plane.facing.degrees(), 2)},
          {"tilt_deg", rounded(gain.plane.tilt_deg, 2)},
          {"gain_kwh_m2", rounded(gain.kwh_m2, 2)},
          {"loss_fraction", rounded(gain.loss, 4)}};
}

ordered_json months_json(const StationReport& station) {
  auto list = ordered_json::array();
  for (const auto& month : station.findings.months) {
    list.push_back({{"month", month.month},
                    {"days", month.days},
                    {"direct_sun_h", ranged(month.direct_sun_h, 3)},
                    {"flat_sun_h", rounded(month.flat_sun_h, 3)},
                    {"open_flat_kwh_m2", rounded(month.open_flat_kwh_m2, 3)},
                    {"site_flat_kwh_m2", rounded(month.site_flat_kwh_m2, 3)},
                    {"on_plane_kwh_m2", rounded(month.on_plane_kwh_m2, 3)},
                    {"through_glazing_kwh_m2", rounded(month.through_kwh_m2, 3)},
                    {"inside_mol_m2_day", rounded(month.inside_mol_m2_day, 3)}});
  }
  return list;
}

ordered_json light_json(const StationReport& station) {
  const auto& f = station.findings;
  ordered_json out;
  out["year"] = station.input.year;
  out["sky"] = horizon::name_of(f.sky);
  out["sky_source"] = f.sky_source;
  out["shortest_day"] = {{"date", horizon::format_date(f.hours.shortest_day)},
                         {"direct_sun_h", ranged(f.hours.shortest_day_h, 3)},
                         {"flat_sun_h", rounded(f.hours.shortest_day_flat_h, 3)}};
  auto windows = ordered_json::array();
  for (const auto& w : f.hours.shortest_day_windows) {
    windows.push_back({horizon::format_utc(w.from_utc_s), horizon::format_utc(w.to_utc_s)});
  }
  out["shortest_day"]["windows_utc"] = windows;
  out["winter"] = {{"direct_sun_h", ranged(f.hours.winter_h, 3)},
                   {"direct_sun_h_a_day", ranged(f.hours.winter_h_a_day, 4)},
                   {"flat_sun_h", rounded(f.hours.winter_flat_h, 3)},
                   {"share_of_flat", rounded(f.hours.winter_share, 5)}};
  out["year_direct_sun_h"] = ranged(f.hours.year_h, 3);
  out["year_flat_sun_h"] = rounded(f.hours.year_flat_h, 3);
  auto spells = ordered_json::array();
  for (const auto& spell : f.hours.without_direct_sun) {
    spells.push_back({{"first", horizon::format_date(spell.first)},
                      {"last", horizon::format_date(spell.last)},
                      {"days", spell.days}});
  }
  out["without_direct_sun"] = spells;
  out["months"] = months_json(station);
  const auto& facing = f.facing();
  out["facing"] = {{"best", plane_json(facing.best)},
                   {"best_facing_low_true_deg", rounded(f.best_facing.low.degrees(), 2)},
                   {"best_facing_high_true_deg", rounded(f.best_facing.high.degrees(), 2)},
                   {"within_2_percent_from_true_deg", rounded(facing.within_2.from.degrees(), 2)},
                   {"within_2_percent_to_true_deg", rounded(facing.within_2.to.degrees(), 2)},
                   {"tilt_within_2_percent_from_deg", rounded(facing.tilt_within_2.from_deg, 2)},
                   {"tilt_within_2_percent_to_deg", rounded(facing.tilt_within_2.to_deg, 2)},
                   {"solar_south", plane_json(facing.solar_south)},
                   {"tilt_30", plane_json(facing.tilt_30)},
                   {"best_from_30", plane_json(facing.best_from_30)}};
  if (facing.chosen) out["facing"]["chosen"] = plane_json(*facing.chosen);
  auto crops = ordered_json::array();
  for (const auto& crop : f.growing.crops) {
    auto days = ordered_json::array();
    for (const auto& spell : crop.spells) days.push_back({spell.from_day, spell.to_day});
    crops.push_back({{"crop", crop.need.crop},
                     {"need_mol_m2_day", crop.need.mol_m2_day},
                     {"days", crop.days},
                     {"spells_day_of_year", days}});
  }
  out["crops"] = crops;
  auto ledger = ordered_json::array();
  for (const auto& row : f.ledger) {
    ledger.push_back({{"label", row.label},
                      {"kind", row.obstacle < 0 ? "open" : horizon::name_of(row.kind)},
                      {"from_true_deg", rounded(row.from_deg, 3)},
                      {"to_true_deg", rounded(row.to_deg, 3)},
                      {"takes_h", rounded(row.takes_h, 3)},
                      {"would_come_back_h", rounded(row.returns_h, 3)},
                      {"takes_kwh_m2", rounded(row.takes_kwh_m2, 3)}});
  }
  out["winter_ledger"] = ledger;
  return out;
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
        {{"from_true_deg", piece.from_deg},
         {"to_true_deg", piece.to_deg},
         {"from_elevation_deg", piece.from_el_deg},
         {"to_elevation_deg", piece.to_el_deg},
         {"edge", piece.edge == horizon::Edge::great_circle ? "great_circle" : "straight"},
         {"kind", open ? "open" : horizon::name_of(obstacle->kind)},
         {"label", obstacle ? obstacle->label : ""}});
  }
  out["horizon_mask"] = skyline;
  out["light"] = light_json(station);
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
  return {{"pits", pits}, {"percolation", tests}};
}

}  // namespace

std::string site_json(const SiteReport& site, const PackageFacts& facts) {
  ordered_json out;
  out["format"] = "adret-site";
  out["format_version"] = 1;
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
  auto photos = ordered_json::array();
  for (const auto& photo : site.photos) {
    photos.push_back({{"sha256", photo.sha256},
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
