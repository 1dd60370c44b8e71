#include "survey/assess/plot_json.h"

#include <cmath>

#include "horizon/skyline/mask.h"

namespace survey {
namespace {

// A zero keeps its sign, as in every file so far: to the byte the same.
double to_decimals(double value, int decimals) {
  const double scale = std::pow(10, decimals);
  return std::round(value * scale) / scale;
}

Json things_json(const std::vector<PlacedThing>& things) {
  constexpr std::string_view kPlacings[] = {"placed", "rough", "direction"};
  auto out = Json::array();
  for (const auto& thing : things) {
    out.push_back({{"label", thing.name},
                   {"kind", std::string(name_of(thing.kind))},
                   {"placing", std::string(kPlacings[static_cast<int>(thing.placing)])},
                   {"stations", thing.stations}});
    if (thing.placing == horizon::Placing::direction) continue;  // stands nobody knows where
    out.back().update(
        {{"east_m", to_decimals(thing.east_m, 1)},
         {"north_m", to_decimals(thing.north_m, 1)},
         {"ellipse_major_m", to_decimals(thing.ellipse.major_m, 1)},
         {"ellipse_minor_m", to_decimals(thing.ellipse.minor_m, 1)},
         {"ellipse_major_azimuth_deg", to_decimals(thing.ellipse.major_azimuth.degrees(), 1)},
         {"height_m", to_decimals(thing.height_m, 1)},
         {"height_low_m", to_decimals(thing.height_low_m, 1)},
         {"height_high_m", to_decimals(thing.height_high_m, 1)}});
    auto& choices = out.back()["shapes"] = Json::array();
    for (const auto& [shape, weight] : thing.choices)
      choices.push_back({{"form", std::string(name_of(shape.form))},
                         {"weight", to_decimals(weight, 2)},
                         {"east_m", to_decimals(shape.middle.x(), 1)},
                         {"north_m", to_decimals(shape.middle.y(), 1)},
                         {"length_m", to_decimals(shape.length_m, 1)},
                         {"width_m", to_decimals(shape.width_m, 1)},
                         {"long_side_azimuth_deg",
                          to_decimals(horizon::wrap_360(shape.turn_rad / horizon::kDegree), 1)}});
  }
  return out;
}

Json map_json(const horizon::HoursMap& map, int winter_days) {
  const auto& grid = map.grid;
  Json hours = Json::array(), low = Json::array(), high = Json::array(), known = Json::array();
  for (const auto& spot : map.spots) {
    const auto a_day = [&](double h) {
      return spot.occupied ? Json() : Json(to_decimals(h / winter_days, 2));
    };
    hours.push_back(a_day(spot.direct_h));
    low.push_back(a_day(spot.low_h));
    high.push_back(a_day(spot.high_h));
    known.push_back(!spot.unknown && !spot.occupied);
  }
  return {{"west_m", to_decimals(grid.west_m, 2)},
          {"south_m", to_decimals(grid.south_m, 2)},
          {"step_m", to_decimals(grid.step_m, 3)},
          {"columns", grid.columns},
          {"rows", grid.rows},
          {"eye_height_m", grid.eye_height_m},
          {"winter_direct_sun_h_a_day", hours},
          {"winter_direct_sun_low_h_a_day", low},
          {"winter_direct_sun_high_h_a_day", high},
          {"known", known}};
}

Json later_json(const PlotFindings& plot, const PlotFindings::Later& later) {
  Json stations = Json::array(), skyline = Json::array();
  const auto put = [&](Json& row, const std::string& what, const horizon::MeanHours& hours) {
    row[what + "_h_a_day"] = to_decimals(hours.mean_h / plot.winter_days, 2);
    row[what + "_low_h_a_day"] = to_decimals(hours.low_h / plot.winter_days, 2);
    row[what + "_high_h_a_day"] = to_decimals(hours.high_h / plot.winter_days, 2);
  };
  for (std::size_t s = 0; s < later.station_h.size(); ++s) {
    Json row = {{"name", plot.plot.survey.stations[s].name}};
    put(row, "now_winter_direct_sun", plot.station_h[s]);
    put(row, "winter_direct_sun", later.station_h[s]);
    put(row, "winter_direct_sun_change", later.station_change_h[s]);
    stations.push_back(std::move(row));
  }
  const horizon::Mask now(plot.skyline), then(later.skyline);
  for (int az = 0; az < 360; ++az)
    skyline.push_back({{"azimuth_true_deg", az},
                       {"now_elevation_deg", to_decimals(now.elevation_deg(az), 2)},
                       {"elevation_deg", to_decimals(then.elevation_deg(az), 2)}});
  return {{"in_years", later.years},
          {"stations", stations},
          {"skyline", skyline},
          {"obstacles", things_json(later.things)},
          {"map", map_json(later.map, plot.winter_days)}};
}

}  // namespace

Json plot_json(const PlotFindings& plot, const Say& say, const SayVerdict& say_verdict) {
  Json out;
  out["origin"] = {{"station", plot.origin},
                   {"latitude_deg", to_decimals(plot.origin_place.latitude_deg, 7)},
                   {"longitude_deg", to_decimals(plot.origin_place.longitude_deg, 7)},
                   {"height_m", to_decimals(plot.origin_place.height_m, 2)}};
  out["stations"] = Json::array();
  for (const auto& station : plot.plot.survey.stations)
    out["stations"].push_back(
        {{"name", station.name},
         {"east_m", to_decimals(station.eye.x(), 2)},
         {"north_m", to_decimals(station.eye.y(), 2)},
         {"ground_up_m", to_decimals(station.eye.z() - station.eye_height_m, 2)},
         {"horizontal_sigma_m", to_decimals(station.horizontal_sigma_m, 2)}});
  out["obstacles"] = things_json(plot.things);
  out["map"] = map_json(plot.map, plot.winter_days);
  out["later"] = Json::array();
  for (const auto& later : plot.later) out["later"].push_back(later_json(plot, later));
  out["aim_next"] = Json::array();
  for (const auto& advice : plot.aim_next) out["aim_next"].push_back(say(advice));
  out["best_places"] = Json::array();
  for (std::size_t b = 0; b < plot.best.size(); ++b) {
    const auto& best = plot.best[b];
    Json takes = Json::array();
    for (std::size_t o = 0; o < best.shares.size(); ++o) {
      if (best.shares[o].hidden_h < 0.5) continue;
      const auto& what = plot.plot.survey.obstacles[o].what;
      takes.push_back({{"label", what.label},
                       {"kind", std::string(name_of(what.kind))},
                       {"hides_h", to_decimals(best.shares[o].hidden_h, 1)},
                       {"comes_back_without_it_h", to_decimals(best.shares[o].alone_h, 1)}});
    }
    const auto at = horizon::to_place(plot.origin_place, {best.east_m, best.north_m, 0});
    out["best_places"].push_back(
        {{"east_m", to_decimals(best.east_m, 1)},
         {"north_m", to_decimals(best.north_m, 1)},
         {"latitude_deg", to_decimals(at.latitude_deg, 7)},
         {"longitude_deg", to_decimals(at.longitude_deg, 7)},
         {"winter_direct_sun_h_a_day", to_decimals(best.mean_h / plot.winter_days, 2)},
         {"winter_direct_sun_low_h_a_day", to_decimals(best.low_h / plot.winter_days, 2)},
         {"winter_direct_sun_high_h_a_day", to_decimals(best.high_h / plot.winter_days, 2)},
         {"unknown_share", to_decimals(best.unknown_share, 2)},
         {"least_direct_sun_h_a_day", to_decimals(best.least_h / plot.winter_days, 2)},
         {"obstacles", takes}});
    for (const auto& later : plot.later)
      out["best_places"].back()["in_" + std::to_string(later.years) + "_years"] = {
          {"winter_direct_sun_h_a_day", to_decimals(later.best[b].mean_h / plot.winter_days, 2)},
          {"winter_direct_sun_low_h_a_day", to_decimals(later.best[b].low_h / plot.winter_days, 2)},
          {"winter_direct_sun_high_h_a_day",
           to_decimals(later.best[b].high_h / plot.winter_days, 2)}};
  }
  out["verdict"] = Json::array();
  for (const auto& spot : plot.verdicts) {
    Json lines = Json::array();
    for (const auto& line : spot.lines)
      lines.push_back({{"criterion", std::string(name_of(line.criterion))},
                       {"stance", std::string(name_of(line.stance))},
                       {"text", say_verdict(line)},
                       {"evidence", say(line.evidence)},
                       {"weight", line.weight}});
    out["verdict"].push_back(
        {{"spot", spot.best_place ? say("ground.best_place") : spot.name}, {"lines", lines}});
  }
  return out;
}

}  // namespace survey
