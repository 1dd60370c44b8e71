#include "survey/assess/plot_findings.h"

#include <algorithm>
#include <cmath>

#include "horizon/skyline/mask.h"
#include "horizon/sun/sun_year.h"
#include "survey/book/forms.h"
#include "survey/book/text.h"

namespace survey {
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

std::optional<Evidence<double>> in_form(const GroundFindings& ground, Topic topic,
                                        std::string_view key) {
  const auto* note = ground.form(topic);
  const auto text = note ? answer_to(*note, key) : std::nullopt;
  const auto value = text ? text->number() : std::nullopt;
  if (!value) return std::nullopt;
  return Evidence<double>{
      *value, {"ground.from.topic", {horizon::Sentence("topic." + std::string(name_of(topic)))}}};
}

void ground_evidence(const PlotInput& input, const horizon::Enu& spot,
                     horizon::CandidateSpot& out) {
  const GroundFindings& ground = input.ground;
  double away = 0;
  const auto at = [&](const horizon::Sentence& from) {
    return away < 1
               ? from
               : horizon::Sentence("ground.from.away", {from, horizon::Arg::figure(away, 0),
                                                        horizon::Arg::figure(away / 0.3048, 0)});
  };
  if (const auto* pit = nearest(ground.pits, input.origin, spot, &away)) {
    if (pit->frost_group) out.frost_group = {{pit->frost_group->most, at(pit->from)}};
    if (pit->frost_depth) out.frost_depth_m = {{pit->frost_depth->deep_m, at(pit->from)}};
    if (pit->water_m) out.water_table_m = {{*pit->water_m, at(pit->from)}};
  }
  if (const auto* test = nearest(ground.percolation, input.origin, spot, &away))
    if (test->result) out.percolation = {{*test->result, at(test->from)}};
  out.cold_air = ground.cold.cold_air;
  out.access_m = in_form(ground, Topic::access, "access_distance_m");
  out.access_slope_percent = in_form(ground, Topic::access, "access_slope_percent");
  out.water_supply_m = in_form(ground, Topic::water, "distance_m");
}

void light_evidence(const horizon::StationInput& station, const horizon::Skyline& skyline,
                    int winter_days, const horizon::Sentence& from, horizon::CandidateSpot& out) {
  const auto live = horizon::LiveStation(station).update(skyline);
  out.winter_sun_h_day = {{live.winter_h / winter_days, from}};
  out.winter_sun_sigma_h_day = live.winter_sigma_h / winter_days;
  out.flat_sun_h_day = {{live.winter_flat_h / winter_days, "ground.from.flat"}};
}

// What would make the map surer: things seen from one side, and buildings that nobody aimed at.
void add_advice(const PlotInput& input, PlotFindings& out) {
  constexpr double kAside_deg = 40, kSame_m = 10, kMatters_m = 60;
  const auto& stations = out.plot.survey.stations;
  for (const auto& shape : out.plot.shapes) {
    const auto& what = out.plot.survey.obstacles[static_cast<std::size_t>(shape.obstacle)].what;
    const horizon::Arg name =
        what.label.empty()
            ? horizon::Arg(horizon::Sentence("kind." + std::string(name_of(what.kind))))
            : horizon::Arg(what.label);
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
      out.aim_next.push_back({"ground.aim_second", {name}});
    else if (widest < kAside_deg && what.kind != horizon::Kind::pole)
      out.aim_next.push_back({"ground.aim_aside", {name}});
    if (most < 2 && what.kind == horizon::Kind::building)
      out.aim_next.push_back({"ground.aim_corners", {name}});
  }
  for (const auto& drawn : input.drawn_buildings) {
    const bool aimed = std::any_of(out.things.begin(), out.things.end(), [&](const auto& thing) {
      return (Eigen::Vector2d(thing.east_m, thing.north_m) - drawn).norm() < kSame_m;
    });
    if (aimed || drawn.norm() > kMatters_m) continue;
    const double azimuth = horizon::wrap_360(std::atan2(drawn.x(), drawn.y()) / horizon::kDegree);
    out.aim_next.push_back(
        {"ground.aim_drawn",
         {horizon::Arg::figure(drawn.norm(), 0), horizon::Arg::figure(azimuth, 0), out.origin}});
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
                      const horizon::Sentence& from, horizon::CandidateSpot& out) {
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
    const horizon::Sentence from{"ground.from.aims", {station.name, aims}};
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
    spot.best_place = true;
    horizon::StationInput there = main;
    there.place = horizon::to_place(input.origin, eye);
    const horizon::Sentence from{"ground.from.predicted", {input.survey.stations.size()}};
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

}  // namespace survey
