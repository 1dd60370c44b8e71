#include <nlohmann/json.hpp>

#include "app/handover/site_plan.h"
#include "survey/assess/light_json.h"

namespace app {
namespace {

using Json = nlohmann::ordered_json;
using survey::rounded;

Json maybe(const std::optional<double>& value, int decimals) {
  return value ? Json(rounded(*value, decimals)) : Json(nullptr);
}

Json json_of(const horizon::PlanPoint& p) {
  return {{"east_m", rounded(p.east_m, 4)},
          {"north_m", rounded(p.north_m, 4)},
          {"up_m", maybe(p.up_m, 4)},
          {"sigma_m", maybe(p.sigma_m, 3)},
          {"up_sigma_m", maybe(p.up_sigma_m, 3)}};
}
Json json_of(const std::optional<horizon::PlanPoint>& p) { return p ? json_of(*p) : Json(nullptr); }
Json json_of(const std::vector<Eigen::Vector2d>& line) {
  Json out = Json::array();
  for (const auto& p : line) out.push_back({rounded(p.x(), 3), rounded(p.y(), 3)});
  return out;
}
Json json_of(const horizon::PlanRange& range) {
  return {{"value", rounded(range.value, 3)},
          {"low", rounded(range.low, 3)},
          {"high", rounded(range.high, 3)}};
}
Json json_of(const std::vector<horizon::PlanLight>& light) {
  Json out = Json::array();
  for (const auto& each : light)
    out.push_back({{"where", each.where},
                   {"above_ground_m", rounded(each.above_ground_m, 2)},
                   {"winter_direct_sun_h_a_day", json_of(each.winter_h_day)},
                   {"shortest_day_direct_sun_h", json_of(each.shortest_day_h)}});
  return out;
}

Json obstacle_json(const horizon::PlanObstacle& thing) {
  constexpr std::string_view kPlacings[] = {"placed", "rough", "direction"};
  Json out{{"label", thing.name},
           {"note", thing.note},
           {"kind", horizon::name_of(thing.kind)},
           {"placing", kPlacings[static_cast<int>(thing.placing)]},
           {"stations", thing.stations},
           {"azimuth_true_deg", rounded(thing.azimuth_deg, 2)}};
  if (thing.placing == horizon::Placing::direction) return out;
  Json tops = Json::array();
  for (const auto& top : thing.tops) tops.push_back(json_of(top));
  out.update({{"tops", tops},
              {"radius_m", maybe(thing.radius_m, 2)},
              {"height_m", rounded(thing.height_m, 2)},
              {"height_sigma_m", rounded(thing.height_sigma_m, 2)},
              {"width_m", rounded(thing.width_m, 2)}});
  if (thing.ellipse)
    out.update({{"ellipse_major_m", rounded(thing.ellipse->major_m, 2)},
                {"ellipse_minor_m", rounded(thing.ellipse->minor_m, 2)},
                {"ellipse_major_azimuth_deg", rounded(thing.ellipse->major_azimuth.degrees(), 1)}});
  return out;
}

Json house_json(const horizon::PlanHouse& house) {
  Json pegs = Json::array();
  for (const auto& peg : house.pegs)
    pegs.push_back({{"name", peg.name},
                    {"at", json_of(peg.at)},
                    {"easting_m", rounded(peg.easting, 4)},
                    {"northing_m", rounded(peg.northing, 4)},
                    {"latitude_deg", rounded(peg.place.latitude_deg, 9)},
                    {"longitude_deg", rounded(peg.place.longitude_deg, 9)},
                    {"from_station_m", rounded(peg.from_station_m, 3)},
                    {"bearing_true_deg", rounded(peg.bearing.true_deg, 4)},
                    {"bearing_grid_deg", maybe(peg.bearing.grid_deg, 4)},
                    {"bearing_compass_deg", maybe(peg.bearing.compass_deg, 3)},
                    {"compass_sigma_deg", maybe(peg.bearing.compass_sigma_deg, 3)}});
  return {{"name", house.name},
          {"choice", horizon::name_of(house.choice)},
          {"east_m", rounded(house.east_m, 3)},
          {"north_m", rounded(house.north_m, 3)},
          {"facing_true_deg", rounded(house.facing_true_deg, 3)},
          {"length_m", house.length_m},
          {"depth_m", house.depth_m},
          {"height_m", house.height_m},
          {"winter_direct_sun_h_a_day", json_of(house.winter_h_day)},
          {"light", json_of(house.light)},
          {"digging_m3", house.digging_m3 ? json_of(*house.digging_m3) : Json(nullptr)},
          {"access_m", maybe(house.access_m, 1)},
          {"water_m", maybe(house.water_m, 1)},
          {"pegs", pegs}};
}

Json things_json(const horizon::SitePlan& plan) {
  Json out;
  out["stations"] = Json::array();
  for (const auto& station : plan.stations)
    out["stations"].push_back({{"name", station.name},
                               {"id", station.id},
                               {"main", station.main},
                               {"ground", json_of(station.ground)},
                               {"eye_height_m", station.eye_height_m},
                               {"winter_direct_sun_h_a_day", maybe(station.winter_sun_h_day, 2)},
                               {"light", json_of(station.light)}});
  out["obstacles"] = Json::array();
  for (const auto& thing : plan.obstacles) out["obstacles"].push_back(obstacle_json(thing));
  out["lines"] = Json::array();
  for (const auto& line : plan.lines) {
    Json points = Json::array();
    for (const auto& p : line.points) points.push_back(json_of(p));
    out["lines"].push_back({{"kind", name_of(line.kind)},
                            {"name", line.name},
                            {"closed", line.closed},
                            {"points", points}});
  }
  out["limits"] = Json::array();
  for (const auto& limit : plan.limits)
    out["limits"].push_back({{"why", limit.why},
                             {"name", limit.name},
                             {"line", json_of(limit.line)},
                             {"distance_m", limit.distance_m}});
  out["hazards"] = Json::array();
  for (const auto& hazard : plan.hazards)
    out["hazards"].push_back({{"kind", hazard.kind},
                              {"text", hazard.text},
                              {"severity", hazard.severity},
                              {"at", json_of(hazard.at)}});
  out["probes"] = Json::array();
  for (const auto& probe : plan.probes)
    out["probes"].push_back({{"name", probe.name},
                             {"what", probe.percolation ? "percolation_test" : "pit"},
                             {"at", json_of(probe.at)},
                             {"depth_m", maybe(probe.depth_m, 2)},
                             {"water_m", maybe(probe.water_m, 2)},
                             {"rock_m", maybe(probe.rock_m, 2)}});
  return out;
}

Json ground_json(const horizon::SitePlan& plan) {
  Json out;
  out["slope"] = nullptr;
  if (plan.slope)
    out["slope"] = {{"slope_deg", rounded(plan.slope->slope_deg, 2)},
                    {"sigma_deg", maybe(plan.slope->sigma_deg, 2)},
                    {"downhill_true_deg", rounded(plan.slope->downhill_true_deg, 1)},
                    {"from", plan.slope->from_levels ? "levels" : "pit"}};
  out["spot_heights"] = Json::array();
  for (const auto& p : plan.levels) out["spot_heights"].push_back(json_of(p));
  out["contour_step_m"] = plan.contours.empty() ? Json(nullptr) : Json(plan.contour_step_m);
  out["contours"] = Json::array();
  for (const auto& contour : plan.contours)
    out["contours"].push_back(
        {{"up_m", rounded(contour.up_m, 3)}, {"line", json_of(contour.line)}});
  return out;
}

}  // namespace

Json plan_json(const horizon::SitePlan& plan) {
  Json out;
  out["frame"] = {{"origin_station", plan.origin_station},
                  {"latitude_deg", rounded(plan.origin.latitude_deg, 9)},
                  {"longitude_deg", rounded(plan.origin.longitude_deg, 9)},
                  {"height_m", rounded(plan.origin.height_m, 3)},
                  {"height_datum", plan.height_datum},
                  {"height_sigma_m", maybe(plan.height_sigma_m, 2)},
                  {"declination_deg", maybe(plan.declination_deg, 4)},
                  {"declination_sigma_deg", maybe(plan.declination_sigma_deg, 3)},
                  {"declination_source", plan.declination_source},
                  {"compass_reads_low_deg", maybe(plan.compass_off_deg, 3)},
                  {"compass_sigma_deg", maybe(plan.compass_sigma_deg, 3)}};
  out["frame"]["grid"] = nullptr;
  if (plan.grid)
    out["frame"]["grid"] = {{"code", plan.grid->code},
                            {"name", plan.grid->name},
                            {"easting_m", rounded(plan.grid->easting, 4)},
                            {"northing_m", rounded(plan.grid->northing, 4)},
                            {"convergence_deg", rounded(plan.grid->convergence_deg, 7)},
                            {"scale", rounded(plan.grid->scale, 9)},
                            {"chosen", plan.grid->chosen}};
  out.update(things_json(plan));
  out["setback_m"] = plan.setback_m > 0 ? Json(plan.setback_m) : Json(nullptr);
  out.update(ground_json(plan));
  out["houses"] = Json::array();
  for (const auto& house : plan.houses) out["houses"].push_back(house_json(house));
  out["suns"] = Json::array();
  for (const auto& sun : plan.suns)
    out["suns"].push_back({{"hour", sun.hour},
                           {"azimuth_true_deg", rounded(sun.azimuth_deg, 3)},
                           {"elevation_deg", rounded(sun.elevation_deg, 3)},
                           {"behind_skyline", sun.behind_skyline}});
  out["shadows"] = Json::array();
  for (const auto& shadow : plan.shadows)
    out["shadows"].push_back({{"hour", shadow.hour},
                              {"obstacle", shadow.obstacle},
                              {"outline", json_of(shadow.outline)}});
  out["photos"] = Json::array();
  for (const auto& photo : plan.photos)
    out["photos"].push_back({{"number", photo.number},
                             {"file", photo.file},
                             {"what", photo.what},
                             {"at", json_of(photo.at)},
                             {"bearing_true_deg", maybe(photo.true_deg, 2)},
                             {"view_deg", photo.view_deg}});
  out["not_known"] = Json::array();
  for (const auto& each : plan.unknown)
    out["not_known"].push_back(
        {{"what", each.key.substr(each.key.rfind('.') + 1)}, {"name", each.filled}});
  return out;
}

}  // namespace app
