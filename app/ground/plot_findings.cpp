#include "app/ground/plot_findings.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "app/ground/forms.h"
#include "app/words/words.h"
#include "horizon/skyline/mask.h"
#include "horizon/sun/sun_year.h"
#include "survey/book/text.h"

namespace app {
namespace {

using horizon::Placing;
using horizon::Result;

constexpr double kMargin_m = 20;     // of the map round the outermost stations
constexpr int kMapColumns = 40;      // along its longer side
constexpr double kSpeaksFor_m = 30;  // a pit or test speaks for spots so near

horizon::MapGrid grid_of(const PlotInput& input, const std::vector<PlacedThing>& things) {
  double west = 1e9, east = -1e9, south = 1e9, north = -1e9;
  const auto hold = [&](double e, double n) {
    west = std::min(west, e);
    east = std::max(east, e);
    south = std::min(south, n);
    north = std::max(north, n);
  };
  if (input.boundary.empty()) {
    for (const auto& station : input.survey.stations) {
      hold(station.eye.x() - kMargin_m, station.eye.y() - kMargin_m);
      hold(station.eye.x() + kMargin_m, station.eye.y() + kMargin_m);
    }
  } else {
    for (const auto& corner : input.boundary) hold(corner.x(), corner.y());
  }
  // What stands close by is worth seeing on the map.
  const double e0 = west - kMargin_m, e1 = east + kMargin_m, n0 = south - kMargin_m,
               n1 = north + kMargin_m;
  for (const auto& thing : things)
    if (thing.placing != horizon::Placing::direction && thing.east_m > e0 && thing.east_m < e1 &&
        thing.north_m > n0 && thing.north_m < n1)
      hold(thing.east_m, thing.north_m - 3), hold(thing.east_m, thing.north_m + 3);
  horizon::MapGrid grid;
  grid.step_m = std::max(0.5, std::max(east - west, north - south) / kMapColumns);
  grid.columns = 1 + static_cast<int>((east - west) / grid.step_m);
  grid.rows = 1 + static_cast<int>((north - south) / grid.step_m);
  grid.west_m = (west + east - (grid.columns - 1) * grid.step_m) / 2;
  grid.south_m = (south + north - (grid.rows - 1) * grid.step_m) / 2;
  grid.eye_height_m = input.eye_height_m;
  return grid;
}

std::vector<PlacedThing> things_of(const horizon::PlacedPlot& plot) {
  std::vector<PlacedThing> things;
  for (const auto& shape : plot.shapes) {
    const auto& what = plot.survey.obstacles[static_cast<std::size_t>(shape.obstacle)].what;
    PlacedThing thing;
    thing.name = what.label;
    thing.kind = what.kind;
    thing.east_m = shape.middle.x();
    thing.north_m = shape.middle.y();
    thing.height_m = shape.height_m;
    thing.height_low_m = shape.height_low_m;
    thing.height_high_m = shape.height_high_m;
    thing.ellipse = shape.ellipse;
    thing.choices = shape.choices;
    thing.placing = shape.placing;
    thing.stations = shape.stations;
    if (const auto& likely = shape.choices.front().shape; likely.form == horizon::ShapeForm::round)
      thing.radius_m = likely.length_m / 2;
    things.push_back(thing);
  }
  return things;
}

// The nearest row that has a place within reach; where none has a place, a lone one speaks for all.
template <class Row>
const Row* nearest(const std::vector<Row>& rows, const horizon::Place& origin,
                   const horizon::Enu& spot, double* away_m) {
  const Row* found = nullptr;
  for (const Row& row : rows) {
    if (!row.position) continue;
    const auto at = horizon::to_enu(
        origin, {row.position->latitude_deg, row.position->longitude_deg, origin.height_m});
    const double away = (at - spot).template head<2>().norm();
    if (away <= kSpeaksFor_m && (!found || away < *away_m)) {
      found = &row;
      *away_m = away;
    }
  }
  return found;
}

std::optional<Evidence<double>> in_form(const GroundFindings& ground, survey::Topic topic,
                                        std::string_view key) {
  const auto* note = ground.form(topic);
  const auto text = note ? answer_to(*note, key) : std::nullopt;
  const auto value = text ? text->number() : std::nullopt;
  if (!value) return std::nullopt;
  return Evidence<double>{*value,
                          tr("ground.from.topic", {tr("topic." + std::string(name_of(topic)))})};
}

void ground_evidence(const PlotInput& input, const horizon::Enu& spot,
                     horizon::CandidateSpot& out) {
  const GroundFindings& ground = input.ground;
  double away = 0;
  const auto at = [&](const std::string& from) {
    return away < 1 ? from : tr("ground.from.away", {from, number(away), number(away / 0.3048)});
  };
  if (const auto* pit = nearest(ground.pits, input.origin, spot, &away)) {
    if (pit->frost_group) out.frost_group = {{pit->frost_group->most, at(pit->from)}};
    if (pit->frost_depth) out.frost_depth_m = {{pit->frost_depth->deep_m, at(pit->from)}};
    if (pit->water_m) out.water_table_m = {{*pit->water_m, at(pit->from)}};
  }
  if (const auto* test = nearest(ground.percolation, input.origin, spot, &away))
    if (test->result) out.percolation = {{*test->result, at(test->from)}};
  out.cold_air = ground.cold.cold_air;
  out.access_m = in_form(ground, survey::Topic::access, "access_distance_m");
  out.access_slope_percent = in_form(ground, survey::Topic::access, "access_slope_percent");
  out.water_supply_m = in_form(ground, survey::Topic::water, "distance_m");
}

void light_evidence(const horizon::StationInput& station, const horizon::Skyline& skyline,
                    int winter_days, const std::string& from, horizon::CandidateSpot& out) {
  const auto live = horizon::LiveStation(station).update(skyline);
  out.winter_sun_h_day = {{live.winter_h / winter_days, from}};
  out.winter_sun_sigma_h_day = live.winter_sigma_h / winter_days;
  out.flat_sun_h_day = {{live.winter_flat_h / winter_days, tr("ground.from.flat")}};
}

// What would make the map surer: things seen from one side, and buildings that nobody aimed at.
void add_advice(const PlotInput& input, PlotFindings& out) {
  constexpr double kAside_deg = 40, kSame_m = 10, kMatters_m = 60;
  const auto& stations = out.plot.survey.stations;
  for (const auto& shape : out.plot.shapes) {
    const auto& what = out.plot.survey.obstacles[static_cast<std::size_t>(shape.obstacle)].what;
    const std::string name =
        what.label.empty() ? tr("kind." + std::string(name_of(what.kind))) : what.label;
    double widest = 0;
    std::size_t most = 0;
    for (const auto& a : out.plot.survey.outlines) {
      if (a.obstacle != shape.obstacle) continue;
      most = std::max(most, a.marks.size());
      for (const auto& b : out.plot.survey.outlines) {
        if (b.obstacle != shape.obstacle) continue;
        const auto bearing = [&](int station) {
          const Eigen::Vector2d off =
              stations[static_cast<std::size_t>(station)].eye.head<2>() - shape.middle;
          return std::atan2(off.x(), off.y()) / horizon::kDegree;
        };
        widest =
            std::max(widest, std::abs(horizon::wrap_180(bearing(a.station) - bearing(b.station))));
      }
    }
    const bool near = shape.middle.norm() < kMatters_m || shape.placing != Placing::placed;
    if (!near) continue;
    if (shape.placing == Placing::direction)
      out.aim_next.push_back(tr("ground.aim_second", {name}));
    else if (widest < kAside_deg && what.kind != horizon::Kind::pole)
      out.aim_next.push_back(tr("ground.aim_aside", {name}));
    if (most < 2 && what.kind == horizon::Kind::building)
      out.aim_next.push_back(tr("ground.aim_corners", {name}));
  }
  for (const auto& drawn : input.drawn_buildings) {
    const bool aimed = std::any_of(out.things.begin(), out.things.end(), [&](const auto& thing) {
      return (Eigen::Vector2d(thing.east_m, thing.north_m) - drawn).norm() < kSame_m;
    });
    if (aimed || drawn.norm() > kMatters_m) continue;
    const double azimuth = horizon::wrap_360(std::atan2(drawn.x(), drawn.y()) / horizon::kDegree);
    out.aim_next.push_back(
        tr("ground.aim_drawn", {number(drawn.norm()), degrees(azimuth), out.origin}));
  }
}

// Skyline, the hours of each best place, and a map where wanted, in ten and in twenty years.
void add_later(const PlotInput& input, const horizon::RidgeLifts& lifts,
               const horizon::SunSamples& sun, bool maps, PlotFindings& out) {
  const bool changes = std::any_of(out.things.begin(), out.things.end(), [](const auto& thing) {
    return thing.kind == horizon::Kind::evergreen || thing.kind == horizon::Kind::leafy;
  });
  if (!changes && input.gone_in_years.empty() && input.to_build.empty()) return;
  const auto& stations = out.plot.survey.stations;
  const auto at_eyes = [&](const horizon::PlacedPlot& plot) {
    std::vector<horizon::MeanHours> hours;
    for (const auto& station : stations)
      hours.push_back(
          horizon::hours_at(plot, lifts, station.eye.head<2>(), station.eye_height_m, sun));
    return hours;
  };
  out.station_h = at_eyes(out.plot);
  out.skyline = horizon::predicted_skyline(out.plot, stations.front().eye);
  for (const int years : {10, 20}) {
    std::vector<int> gone;
    for (std::size_t o = 0; o < out.plot.survey.obstacles.size(); ++o) {
      const auto& what = out.plot.survey.obstacles[o].what;
      const auto found = input.gone_in_years.find(what.label);
      if (!what.label.empty() && found != input.gone_in_years.end() && found->second <= years)
        gone.push_back(static_cast<int>(o));
    }
    const auto then = horizon::in_years(out.plot, years, input.growth, gone, input.to_build);
    PlotFindings::Later later;
    later.years = years;
    if (maps) {
      auto map = horizon::hours_map(then, out.map.grid, sun, lifts);
      if (!map) return;
      later.map = std::move(*map);
    }
    later.things = things_of(then);
    later.station_h = at_eyes(then);
    for (const auto& station : stations)
      later.station_change_h.push_back(horizon::change_at(
          out.plot, then, lifts, station.eye.head<2>(), station.eye_height_m, sun));
    later.skyline = horizon::predicted_skyline(then, stations.front().eye);
    for (const auto& place : out.best) {
      const auto hours = horizon::mean_hours(place, then, lifts, out.map, input.footprint, sun);
      if (!hours) return;
      later.best.push_back(*hours);
    }
    out.later.push_back(std::move(later));
  }
}

void shelter_evidence(const PlotInput& input, const horizon::Skyline& skyline,
                      const std::string& from, horizon::CandidateSpot& out) {
  if (!input.ground.wind.storm) return;
  const auto shelter = horizon::shelter_of(horizon::Mask(skyline), skyline);
  out.storm_shelter = {
      {shelter[static_cast<std::size_t>(input.ground.wind.storm->value)].shelter, from}};
}

int days_of(const horizon::SunPath& path, unsigned months) {
  int days = 0;
  for (int day = 0; day < path.days(); ++day)
    days += months >> (static_cast<unsigned>(path.date(day).month()) - 1) & 1;
  return days;
}

std::vector<horizon::CandidateSpot> station_spots(const PlotInput& input, int winter_days) {
  std::vector<horizon::CandidateSpot> spots;
  for (std::size_t s = 0; s < input.stations.size(); ++s) {
    horizon::CandidateSpot spot;
    const auto& station = input.survey.stations[s];
    spot.name = station.name;
    const auto aims =
        std::count_if(input.survey.aims.begin(), input.survey.aims.end(),
                      [&](const auto& a) { return a.station == static_cast<int>(s); });
    const std::string from =
        tr("ground.from.aims", {station.name, number(static_cast<double>(aims))});
    light_evidence(input.stations[s], input.stations[s].skyline, winter_days, from, spot);
    shelter_evidence(input, input.stations[s].skyline, from, spot);
    ground_evidence(input, station.eye, spot);
    spots.push_back(std::move(spot));
  }
  return spots;
}

}  // namespace

Result<std::vector<horizon::SpotVerdict>> station_verdicts(const PlotInput& input) {
  if (input.stations.empty())
    return horizon::fail(horizon::Code::not_found, "ground.missing.stations");
  const auto& main = input.stations.front();
  const unsigned winter = main.winter_months
                              ? main.winter_months
                              : horizon::default_winter_months(input.origin.latitude_deg < 0);
  const auto path = horizon::SunPath::of_year(main.place, main.year, main.utc_offset_h);
  return horizon::verdicts(station_spots(input, days_of(path, winter)), input.weights);
}

Result<PlotFindings> plot_findings(const PlotInput& input, Ahead ahead) {
  if (input.stations.empty())
    return horizon::fail(horizon::Code::not_found, "ground.missing.stations");
  auto placed = horizon::place_marks(input.survey);
  if (!placed) return tl::unexpected(placed.error());
  PlotFindings out;
  out.plot = std::move(*placed);
  out.origin = input.survey.stations.front().name;
  out.origin_place = input.origin;
  out.footprint = input.footprint;
  out.boundary = input.boundary;
  out.things = things_of(out.plot);
  const auto& main = input.stations.front();
  const bool southern = input.origin.latitude_deg < 0;
  const unsigned winter =
      main.winter_months ? main.winter_months : horizon::default_winter_months(southern);
  const auto path = horizon::SunPath::of_year(main.place, main.year, main.utc_offset_h);
  out.winter_days = days_of(path, winter);
  horizon::SunSamples samples(path, winter);
  auto ridge = horizon::ridge_lifts(out.plot, samples);
  out.sun = std::make_shared<const PlotFindings::Sun>(std::move(samples), std::move(ridge));
  const auto& [sun, lifts] = *out.sun;
  auto map = horizon::hours_map(out.plot, grid_of(input, out.things), sun, lifts);
  if (!map) return tl::unexpected(map.error());
  out.map = std::move(*map);
  out.setback_m = input.setback_m;
  out.best = horizon::best_places(out.map, input.footprint, input.boundary, 3, input.setback_m,
                                  input.keep_off());
  for (const auto& station : out.plot.survey.stations)
    out.at_stations.push_back(
        horizon::place_at(out.map, input.footprint, station.eye.x(), station.eye.y()));
  for (auto& place : out.best)
    horizon::complete(place, out.plot, lifts, out.map, input.footprint, sun);
  for (auto& place : out.at_stations)
    if (place) horizon::complete(*place, out.plot, lifts, out.map, input.footprint, sun);
  if (ahead != Ahead::nothing) add_later(input, lifts, sun, ahead == Ahead::maps, out);
  add_advice(input, out);
  out.candidates = station_spots(input, out.winter_days);
  if (!out.best.empty()) {
    const auto& best = out.best.front();
    const auto plane = horizon::ground_plane(out.plot.survey.stations);
    const horizon::Enu eye(best.east_m, best.north_m,
                           plane.up_at(best.east_m, best.north_m) + input.eye_height_m);
    const auto skyline = horizon::predicted_skyline(out.plot, eye);
    horizon::CandidateSpot spot;
    spot.name = tr("ground.best_place");
    horizon::StationInput there = main;
    there.place = horizon::to_place(input.origin, eye);
    const std::string from =
        tr_count("ground.from.predicted", static_cast<long>(input.survey.stations.size()));
    light_evidence(there, skyline, out.winter_days, from, spot);
    // As the map has it: over where and how tall things may be.
    spot.winter_sun_h_day->value = best.mean_h / out.winter_days;
    spot.winter_sun_sigma_h_day = std::max(
        spot.winter_sun_sigma_h_day, (best.high_h - best.low_h) / 2 / 1.645 / out.winter_days);
    shelter_evidence(input, skyline, from, spot);
    ground_evidence(input, eye, spot);
    out.candidates.push_back(std::move(spot));
  }
  auto verdicts = horizon::verdicts(out.candidates, input.weights);
  if (!verdicts) return tl::unexpected(verdicts.error());
  out.verdicts = std::move(*verdicts);
  return out;
}

std::vector<horizon::OtherSpot> other_spots(const PlotFindings& plot, double eye_height_m) {
  constexpr double kSamePlace_m = 5;
  if (plot.best.empty()) return {};
  const auto& best = plot.best.front();
  const auto& stations = plot.plot.survey.stations;
  if (std::hypot(best.east_m - stations.front().eye.x(), best.north_m - stations.front().eye.y()) <
      kSamePlace_m)
    return {};
  const auto plane = horizon::ground_plane(stations);
  const horizon::Enu eye(best.east_m, best.north_m,
                         plane.up_at(best.east_m, best.north_m) + eye_height_m);
  return {
      {"", horizon::to_place(plot.origin_place, eye), horizon::predicted_skyline(plot.plot, eye)}};
}

namespace {

double rounded(double value, int decimals) {
  const double scale = std::pow(10, decimals);
  return std::round(value * scale) / scale;
}

nlohmann::ordered_json things_json(const std::vector<PlacedThing>& things) {
  constexpr std::string_view kPlacings[] = {"placed", "rough", "direction"};
  auto out = nlohmann::ordered_json::array();
  for (const auto& thing : things) {
    out.push_back({{"label", thing.name},
                   {"kind", std::string(name_of(thing.kind))},
                   {"placing", std::string(kPlacings[static_cast<int>(thing.placing)])},
                   {"stations", thing.stations}});
    if (thing.placing == horizon::Placing::direction) continue;  // stands nobody knows where
    out.back().update(
        {{"east_m", rounded(thing.east_m, 1)},
         {"north_m", rounded(thing.north_m, 1)},
         {"ellipse_major_m", rounded(thing.ellipse.major_m, 1)},
         {"ellipse_minor_m", rounded(thing.ellipse.minor_m, 1)},
         {"ellipse_major_azimuth_deg", rounded(thing.ellipse.major_azimuth.degrees(), 1)},
         {"height_m", rounded(thing.height_m, 1)},
         {"height_low_m", rounded(thing.height_low_m, 1)},
         {"height_high_m", rounded(thing.height_high_m, 1)}});
    auto& choices = out.back()["shapes"] = nlohmann::ordered_json::array();
    for (const auto& [shape, weight] : thing.choices)
      choices.push_back({{"form", std::string(name_of(shape.form))},
                         {"weight", rounded(weight, 2)},
                         {"east_m", rounded(shape.middle.x(), 1)},
                         {"north_m", rounded(shape.middle.y(), 1)},
                         {"length_m", rounded(shape.length_m, 1)},
                         {"width_m", rounded(shape.width_m, 1)},
                         {"long_side_azimuth_deg",
                          rounded(horizon::wrap_360(shape.turn_rad / horizon::kDegree), 1)}});
  }
  return out;
}

nlohmann::ordered_json map_json(const horizon::HoursMap& map, int winter_days) {
  using Json = nlohmann::ordered_json;
  const auto& grid = map.grid;
  Json hours = Json::array(), low = Json::array(), high = Json::array(), known = Json::array();
  for (const auto& spot : map.spots) {
    const auto a_day = [&](double h) {
      return spot.occupied ? Json() : Json(rounded(h / winter_days, 2));
    };
    hours.push_back(a_day(spot.direct_h));
    low.push_back(a_day(spot.low_h));
    high.push_back(a_day(spot.high_h));
    known.push_back(!spot.unknown && !spot.occupied);
  }
  return {{"west_m", rounded(grid.west_m, 2)},
          {"south_m", rounded(grid.south_m, 2)},
          {"step_m", rounded(grid.step_m, 3)},
          {"columns", grid.columns},
          {"rows", grid.rows},
          {"eye_height_m", grid.eye_height_m},
          {"winter_direct_sun_h_a_day", hours},
          {"winter_direct_sun_low_h_a_day", low},
          {"winter_direct_sun_high_h_a_day", high},
          {"known", known}};
}

nlohmann::ordered_json later_json(const PlotFindings& plot, const PlotFindings::Later& later) {
  using Json = nlohmann::ordered_json;
  Json stations = Json::array(), skyline = Json::array();
  const auto put = [&](Json& row, const std::string& what, const horizon::MeanHours& hours) {
    row[what + "_h_a_day"] = rounded(hours.mean_h / plot.winter_days, 2);
    row[what + "_low_h_a_day"] = rounded(hours.low_h / plot.winter_days, 2);
    row[what + "_high_h_a_day"] = rounded(hours.high_h / plot.winter_days, 2);
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
                       {"now_elevation_deg", rounded(now.elevation_deg(az), 2)},
                       {"elevation_deg", rounded(then.elevation_deg(az), 2)}});
  return {{"in_years", later.years},
          {"stations", stations},
          {"skyline", skyline},
          {"obstacles", things_json(later.things)},
          {"map", map_json(later.map, plot.winter_days)}};
}

}  // namespace

nlohmann::ordered_json plot_json(const PlotFindings& plot) {
  using Json = nlohmann::ordered_json;
  Json out;
  out["origin"] = {{"station", plot.origin},
                   {"latitude_deg", rounded(plot.origin_place.latitude_deg, 7)},
                   {"longitude_deg", rounded(plot.origin_place.longitude_deg, 7)},
                   {"height_m", rounded(plot.origin_place.height_m, 2)}};
  out["stations"] = Json::array();
  for (const auto& station : plot.plot.survey.stations)
    out["stations"].push_back({{"name", station.name},
                               {"east_m", rounded(station.eye.x(), 2)},
                               {"north_m", rounded(station.eye.y(), 2)},
                               {"ground_up_m", rounded(station.eye.z() - station.eye_height_m, 2)},
                               {"horizontal_sigma_m", rounded(station.horizontal_sigma_m, 2)}});
  out["obstacles"] = things_json(plot.things);
  out["map"] = map_json(plot.map, plot.winter_days);
  out["later"] = Json::array();
  for (const auto& later : plot.later) out["later"].push_back(later_json(plot, later));
  out["aim_next"] = plot.aim_next;
  out["best_places"] = Json::array();
  for (std::size_t b = 0; b < plot.best.size(); ++b) {
    const auto& best = plot.best[b];
    Json takes = Json::array();
    for (std::size_t o = 0; o < best.shares.size(); ++o) {
      if (best.shares[o].hidden_h < 0.5) continue;
      const auto& what = plot.plot.survey.obstacles[o].what;
      takes.push_back({{"label", what.label},
                       {"kind", std::string(name_of(what.kind))},
                       {"hides_h", rounded(best.shares[o].hidden_h, 1)},
                       {"comes_back_without_it_h", rounded(best.shares[o].alone_h, 1)}});
    }
    const auto at = horizon::to_place(plot.origin_place, {best.east_m, best.north_m, 0});
    out["best_places"].push_back(
        {{"east_m", rounded(best.east_m, 1)},
         {"north_m", rounded(best.north_m, 1)},
         {"latitude_deg", rounded(at.latitude_deg, 7)},
         {"longitude_deg", rounded(at.longitude_deg, 7)},
         {"winter_direct_sun_h_a_day", rounded(best.mean_h / plot.winter_days, 2)},
         {"winter_direct_sun_low_h_a_day", rounded(best.low_h / plot.winter_days, 2)},
         {"winter_direct_sun_high_h_a_day", rounded(best.high_h / plot.winter_days, 2)},
         {"unknown_share", rounded(best.unknown_share, 2)},
         {"least_direct_sun_h_a_day", rounded(best.least_h / plot.winter_days, 2)},
         {"obstacles", takes}});
    for (const auto& later : plot.later)
      out["best_places"].back()["in_" + std::to_string(later.years) + "_years"] = {
          {"winter_direct_sun_h_a_day", rounded(later.best[b].mean_h / plot.winter_days, 2)},
          {"winter_direct_sun_low_h_a_day", rounded(later.best[b].low_h / plot.winter_days, 2)},
          {"winter_direct_sun_high_h_a_day", rounded(later.best[b].high_h / plot.winter_days, 2)}};
  }
  out["verdict"] = Json::array();
  for (const auto& spot : plot.verdicts) {
    Json lines = Json::array();
    for (const auto& line : spot.lines)
      lines.push_back({{"criterion", std::string(name_of(line.criterion))},
                       {"stance", std::string(name_of(line.stance))},
                       {"text", line.text},
                       {"evidence", line.evidence},
                       {"weight", line.weight}});
    out["verdict"].push_back({{"spot", spot.name}, {"lines", lines}});
  }
  return out;
}

}  // namespace app
