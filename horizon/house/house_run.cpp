#include "horizon/house/house_run.h"

#include <algorithm>
#include <cmath>

#include "horizon/house/air.h"
#include "horizon/house/sky_temperature.h"
#include "horizon/house/ventilation.h"
#include "horizon/parallel.h"

namespace horizon {
namespace {

using E = HouseElements;
constexpr double kWetShare = 0.3, kVapour_j_kgk = 461.5;
constexpr double kSoilShare = 0.55, kWallShare = 0.28,
                 kRoofShare = 0.02;  // the rest goes out again
constexpr double kGroundFilm = 25;
// Where the months' albedo says snow: 10 cm of settled snow at 0.2 W/(m K) beside the walls.
constexpr double kGroundSnow_m2kw = 0.5, kBareAlbedo = 0.2, kSnowAlbedo = 0.6;

double absolute_kg_m3(double vapour_pa, double air_c) {
  return vapour_pa / (kVapour_j_kgk * (air_c + kKelvin));
}

struct Light {
  double through = 0, outer = 0, inner = 0, bed = 0;
};

Light light_of(const HouseSun& sun, const HouseHour& w, int h, int month) {
  const auto part = [&](const PlaneHours& p, float PlaneShares::*what, double ground) {
    return w.sun_normal * p.sun[h].*what + w.isotropic * p.sky[month].*what +
           w.band * p.band.*what + sun.skyline_albedo * w.global * p.skyline[month].*what +
           ground * p.ground.*what;
  };
  const double level = part(sun.level, &PlaneShares::incident, 0);
  const double ground = sun.albedo[month] * level;
  const auto some = [&](float PlaneShares::*what) {
    return std::max(0.0, static_cast<double>(part(sun.cover, what, ground)));
  };
  return {some(&PlaneShares::through), some(&PlaneShares::outer), some(&PlaneShares::inner),
          std::max(0.0, static_cast<double>(part(sun.bed, &PlaneShares::through, 0)))};
}

// Is the cover on in this hour? Where the sun never comes, by the clock.
bool covered(const House& house, const HouseSun& sun, int h) {
  if (!(house.night_m2kw > 0)) return false;
  bool by_clock = house.night == NightCover::by_clock;
  if (!by_clock) {
    bool any = false;
    const int day = h / 24 * 24;
    for (int k = day; k < day + 24 && !any; ++k) any = sun.cover.sun[k].incident > 0.02f;
    if (any) return !(sun.cover.sun[h].incident > 0.02f);
    by_clock = true;
  }
  const double at = h % 24 + 0.5;
  return house.night_from_h > house.night_to_h ? at >= house.night_from_h || at < house.night_to_h
                                               : at >= house.night_from_h && at < house.night_to_h;
}

double ground_film_of(double albedo) {
  const double snow = std::clamp((albedo - kBareAlbedo) / (kSnowAlbedo - kBareAlbedo), 0.0, 1.0);
  return 1 / (1 / kGroundFilm + snow * kGroundSnow_m2kw);
}

// Snow on the glazing, mm of water.
struct Snow {
  double lies_mm = 0;
  double passes() const { return std::exp(-0.35 * std::min(lies_mm, 20.0)); }
  double m2kw() const { return lies_mm / 100 / 0.08; }  // fresh, 100 kg/m3
  void after_hour(const HouseHour& w, double outer_face_c, double tilt_deg, bool swept) {
    if (w.air_c < 1) lies_mm += w.snowfall_mm * std::max(0.0, std::cos(tilt_deg * kDegree));
    if (outer_face_c > 0 && lies_mm > 0)
      lies_mm = tilt_deg >= 25 ? 0 : std::max(0.0, lies_mm - 0.5);  // slides, or melts slowly
    if (tilt_deg >= 45 || swept) lies_mm = 0;                       // steep panes shed dry snow too
    lies_mm = std::min(lies_mm, 60.0);
  }
};

// Damp of the inside air over an hour, and what its coming and going does to warmth.
struct Damp {
  double kg_m3 = 0.005;
  double floor_w = 0, cover_w = 0;  // for the next hour: taken from the floor, given to the cover
  bool condenses = false;
  void hour(double floor_c, double cover_c, const HouseHour& w, const HouseShape& shape,
            double cover_m2, double changed_m3_s, double air_heat) {
    // Lewis: vapour goes as heat does, by the film over the air's heat.
    const double evaporates = kWetShare * shape.floor_m2 * 2.5 / air_heat;
    const double settles = cover_m2 * 3.0 / air_heat;
    const double soil = absolute_kg_m3(saturation_pa(floor_c), floor_c);
    const double glass = absolute_kg_m3(saturation_pa(cover_c), cover_c);
    const double out = absolute_kg_m3(saturation_pa(w.dew_c), w.air_c);
    const double held = shape.volume_m3 / 3600;
    const auto settled = [&](bool wet) {
      const double down = wet ? settles : 0;
      return (held * kg_m3 + evaporates * soil + changed_m3_s * out + down * glass) /
             (held + evaporates + changed_m3_s + down);
    };
    double next = settled(false);
    condenses = next > glass;
    if (condenses) next = std::max(glass, settled(true));
    kg_m3 = next;
    floor_w = kVaporisation_j_kg * evaporates * (soil - next);
    cover_w = condenses ? kVaporisation_j_kg * settles * (next - glass) : 0;
  }
};

void load_house(std::span<HeatLoad> loads, const House& house, const HouseShape& shape,
                const HouseHour& w, const Light& light, const Damp& damp, const Snow& snow,
                bool closed, double ground_film) {
  const double film = 4 + 4 * w.wind_ms;  // ISO 6946
  const double dimmed = snow.passes() * (closed ? 0.0 : 1.0);
  const double inside_w = light.through * house.light_left * house.glazing_m2 * dimmed;
  HeatLoad& cover = loads[E::cover];
  cover.outside_film_w_m2k = 1 / (1 / film + snow.m2kw());
  cover.outside_w_m2 = light.outer * (closed ? 1 : dimmed);
  cover.inside_w_m2 = light.inner * dimmed + damp.cover_w / house.glazing_m2;
  cover.added_m2kw = closed ? house.night_m2kw : 0;
  const bool water = house.water_l > 0;
  const double water_area = house.water_l / 200 * 1.6;
  const double to_water = water ? std::min(0.7, 0.5 * water_area / shape.wall_m2) * kWallShare : 0;
  loads[E::wall] = {(kWallShare - to_water) * inside_w / std::max(shape.wall_m2, 0.01), 0, film};
  loads[E::roof] = {kRoofShare * inside_w / std::max(shape.roof_m2, 0.01), 0, film};
  for (int s = 0; s < E::floor_strips; ++s)
    loads[E::floor + s] = {(kSoilShare * inside_w - damp.floor_w) / shape.floor_m2, 0, ground_film};
  if (water) loads[E::water].inside_w_m2 = to_water * inside_w / water_area;
}

template <class Real>
std::vector<std::vector<double>> nodes_of(const HeatZones<Real>& zone, int lane) {
  std::vector<std::vector<double>> out(zone.loads.size());
  for (size_t e = 0; e < out.size(); ++e)
    for (int c = 0; c < zone.cells(static_cast<int>(e)); ++c)
      out[e].push_back(lane_of(zone.node_c(static_cast<int>(e), c), lane));
  return out;
}

HeatZone room_of(const HouseJob& job) {
  const RunSettings& settings = job.settings;
  HeatZone room = zone_of(*job.house, job.sun->sky, job.weather->pressure_pa, settings.start_c);
  if (!settings.start) return room;
  const auto& start = *settings.start;
  for (size_t e = 0; e < start.size() && e < room.loads.size(); ++e) {
    const int element = static_cast<int>(e);
    const int cells = std::min(room.cells(element), static_cast<int>(start[e].size()));
    for (int c = 0; c < cells; ++c) room.set_node_c(element, c, start[e][c]);
  }
  return room;
}

// One house's hours but for its warmth.
class Household {
 public:
  Household(const HouseJob& job, double stored_j)
      : house_(*job.house),
        weather_(*job.weather),
        settings_(job.settings),
        sun_(*job.sun),
        shape_(shape_of(house_)),
        before_j_(stored_j),
        outside_c(weather_.hours[0].air_c + settings_.warmer_k) {
    const size_t n = weather_.hours.size();
    run.first_hour = (weather_.first_hour + settings_.run_in_h) % 8760;
    const size_t told = n - std::min<size_t>(n, settings_.run_in_h);
    for (auto* v :
         {&run.inside_c, &run.low_c, &run.soil_c, &run.outside_c, &run.bed_wm2, &run.vent_m3_s})
      v->reserve(told);
    run.condenses.reserve(told);
  }

  template <class Real>
  void begin_hour(size_t i, HeatZones<Real>& zone, int lane) {
    const HouseHour& w = weather_.hours[i];
    const int h = static_cast<int>((weather_.first_hour + i) % 8760), month = month_of_hour(h);
    light_ = w.global > 0 ? light_of(sun_, w, h, month) : Light{};
    now_c = w.air_c + settings_.warmer_k;
    air_heat_ = air_density_kg_m3(now_c, weather_.pressure_pa) * kAirHeat_j_kgk;
    loads_.assign(zone.loads.size(), {});
    load_house(loads_, house_, shape_, w, light_, damp_, snow_, covered(house_, sun_, h),
               ground_film_of(sun_.albedo[month]));
    for (size_t e = 0; e < loads_.size(); ++e) set_lane(zone.loads[e], lane, loads_[e]);
    auto& hour = zone.hour;
    set_lane(hour.sky_c, lane,
             sky_temperature_c(now_c, w.dew_c + settings_.warmer_k, w.cloud,
                               sun_.site->hours()[h].sky_term, weather_.pressure_pa));
    exchange_w_k_ = house_.air_changes_h * shape_.volume_m3 / 3600 * air_heat_;
    set_lane(hour.exchange_w_k, lane, exchange_w_k_);
    const bool vents = house_.vent_m2 > 0;
    set_lane(hour.vent_above_c, lane, vents || settings_.any_vents ? house_.vent_above_c : 1e9);
    if (vents)
      set_lane(
          hour.vent_most_w_k, lane,
          air_heat_ * vent_flow_m3_s(house_.vent_m2, 0.7 * house_.ridge_m,
                                     std::max(lane_of(zone.air_c(), lane), house_.vent_above_c),
                                     now_c, w.wind_ms, false));
    if (settings_.any_vents) set_lane(hour.vent_most_w_k, lane, 1e6);
  }

  template <class Real>
  void end_hour(size_t i, const HeatZones<Real>& zone, int lane, double mean_c, double low_c) {
    const HouseHour& w = weather_.hours[i];
    const int h = static_cast<int>((weather_.first_hour + i) % 8760);
    const double vent_w_k = lane_of(zone.vent_w_k(), lane);
    outside_c = now_c;
    damp_.hour(lane_of(zone.inside_face_c(E::floor), lane),
               lane_of(zone.inside_face_c(E::cover), lane), w, shape_, house_.glazing_m2,
               (exchange_w_k_ + vent_w_k) / air_heat_, air_heat_);
    snow_.after_hour(w, lane_of(zone.outside_face_c(E::cover), lane), house_.glazing.tilt_deg,
                     house_.snow_swept && h % 24 == 8);
    if (static_cast<int>(i) == settings_.keep_nodes_at) run.nodes_c = nodes_of(zone, lane);
    if (i < static_cast<size_t>(settings_.run_in_h)) return;
    constexpr int kSoil = E::floor + E::floor_strips - 1;
    run.inside_c.push_back(static_cast<float>(mean_c));
    run.low_c.push_back(static_cast<float>(low_c));
    run.soil_c.push_back(static_cast<float>(lane_of(zone.node_c(kSoil, 1), lane)));
    run.outside_c.push_back(static_cast<float>(now_c));
    run.bed_wm2.push_back(static_cast<float>(light_.bed * house_.light_left * snow_.passes()));
    run.vent_m3_s.push_back(static_cast<float>(vent_w_k / air_heat_));
    run.condenses.push_back(damp_.condenses);
  }

  template <class Real>
  void end(const HeatZones<Real>& zone, int lane) {
    run.stored_j = lane_of(zone.stored_j(), lane) - before_j_;
    run.received_j = lane_of(zone.received_j(), lane);
    run.moved_j = lane_of(zone.moved_j(), lane);
    if (settings_.keep_nodes_at < 0) run.nodes_c = nodes_of(zone, lane);
  }

 private:
  const House& house_;
  const HouseWeather& weather_;
  const RunSettings& settings_;
  const HouseSun& sun_;
  HouseShape shape_;
  Light light_;
  Damp damp_;
  Snow snow_;
  std::vector<HeatLoad> loads_;
  double before_j_, air_heat_ = 0, exchange_w_k_ = 0;

 public:
  double outside_c, now_c = 0;  // an hour ago, and now
  HouseRun run;
};

template <class Real>
void live(std::span<Household> houses, HeatZones<Real>& zone, size_t hours, int steps) {
  constexpr int kCount = kLanesOf<Real>;
  for (size_t i = 0; i < hours; ++i) {
    Real outside, now, sum = 0, low = 1e9;
    for (int lane = 0; lane < kCount; ++lane) {
      houses[lane].begin_hour(i, zone, lane);
      set_lane(outside, lane, houses[lane].outside_c);
      set_lane(now, lane, houses[lane].now_c);
    }
    zone.begin_hour(3600.0 / steps);
    for (int s = 1; s <= steps; ++s) {
      zone.step(outside + (now - outside) * s / steps);
      const Real air = zone.air_c();
      sum += air;
      low = pick(air < low, air, low);
    }
    for (int lane = 0; lane < kCount; ++lane)
      houses[lane].end_hour(i, zone, lane, lane_of(sum, lane) / steps, lane_of(low, lane));
  }
  for (int lane = 0; lane < kCount; ++lane) houses[lane].end(zone, lane);
}

// Can they be reckoned in the lanes of one zone?
bool alike(const HouseJob& a, const HouseJob& b) {
  return a.weather->hours.size() == b.weather->hours.size() &&
         a.settings.steps_an_hour == b.settings.steps_an_hour &&
         (a.house->water_l > 0) == (b.house->water_l > 0) &&
         (a.house->clay_kg_m2 > 0) == (b.house->clay_kg_m2 > 0) &&
         (a.house->glazing.tilt_deg < 60) == (b.house->glazing.tilt_deg < 60);
}

}  // namespace

HouseSun house_sun(std::shared_ptr<const SiteSun> site, const House& house, const Masks& masks,
                   const GroundSlope& slope, const Monthly& albedo, double skyline_albedo) {
  HouseSun sun;
  sun.cover = site->plane(house.glazing, PaneAngles(house.pane));
  sun.bed = site->bed(house.glazing, PaneAngles(house.pane));
  sun.level = site->plane({TrueAzimuth(), 0}, PaneAngles::opaque());
  sun.sky.cover = sky_view(masks, slope, house.glazing).sky;
  sun.sky.roof = sky_view(masks, slope, {TrueAzimuth(), 0}).sky;
  sun.sky.wall = sky_view(masks, slope, {house.glazing.facing.turned_by(180), 90}).sky;
  sun.albedo = albedo;
  sun.skyline_albedo = skyline_albedo;
  sun.utc_offset_h = site->steps().utc_offset_h;
  sun.site = std::move(site);
  return sun;
}

namespace {

using Together = std::vector<size_t>;  // indices of jobs

// In the lanes of one zone; what has no house of its own lives the last one's life again.
void run_together(std::span<const HouseJob> jobs, const Together& which, std::span<HouseRun> out) {
  const size_t lanes = which.size() == 1 ? 1 : Lanes::kCount;
  std::vector<HeatZone> rooms;
  std::vector<Household> houses;
  houses.reserve(lanes);
  for (size_t lane = 0; lane < lanes; ++lane) {
    const HouseJob& job = jobs[which[std::min(lane, which.size() - 1)]];
    rooms.push_back(room_of(job));
    houses.emplace_back(job, rooms.back().stored_j());
  }
  const HouseJob& first = jobs[which[0]];
  const size_t hours = first.weather->hours.size();
  if (lanes == 1) {
    live<double>(houses, rooms[0], hours, first.settings.steps_an_hour);
  } else {
    HeatZones<Lanes> zone{std::span<const HeatZone>(rooms)};
    live<Lanes>(houses, zone, hours, first.settings.steps_an_hour);
  }
  for (size_t lane = 0; lane < which.size(); ++lane) out[which[lane]] = std::move(houses[lane].run);
}

}  // namespace

std::vector<HouseRun> run_houses(std::span<const HouseJob> jobs) {
  std::vector<Together> groups;
  for (size_t i = 0; i < jobs.size(); ++i) {
    const auto group = std::find_if(groups.begin(), groups.end(), [&](const Together& g) {
      return g.size() < Lanes::kCount && alike(jobs[g[0]], jobs[i]);
    });
    if (group == groups.end())
      groups.push_back({i});
    else
      group->push_back(i);
  }
  std::vector<HouseRun> out(jobs.size());
  in_parallel(static_cast<int>(groups.size()),
              [&](int g) { run_together(jobs, groups[static_cast<size_t>(g)], out); });
  return out;
}

HouseRun run_house(const House& house, const HouseSun& sun, const HouseWeather& weather,
                   const RunSettings& settings) {
  const HouseJob job{&house, &sun, &weather, settings};
  return std::move(run_houses({&job, 1}).front());
}

}  // namespace horizon
