#include "horizon/house/house_run.h"

#include <algorithm>
#include <cmath>

#include "horizon/house/air.h"
#include "horizon/house/sky_temperature.h"
#include "horizon/house/ventilation.h"

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
  void hour(const HeatZone& zone, const HouseHour& w, const HouseShape& shape, double cover_m2,
            double changed_m3_s, double air_heat) {
    const double floor_c = zone.inside_face_c(E::floor), cover_c = zone.inside_face_c(E::cover);
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

void load_house(HeatZone& zone, const House& house, const HouseShape& shape, const HouseHour& w,
                const Light& light, const Damp& damp, const Snow& snow, bool closed,
                double ground_film) {
  const double film = 4 + 4 * w.wind_ms;  // ISO 6946
  const double dimmed = snow.passes() * (closed ? 0.0 : 1.0);
  const double inside_w = light.through * house.light_left * house.glazing_m2 * dimmed;
  HeatLoad& cover = zone.loads[E::cover];
  cover.outside_film_w_m2k = 1 / (1 / film + snow.m2kw());
  cover.outside_w_m2 = light.outer * (closed ? 1 : dimmed);
  cover.inside_w_m2 = light.inner * dimmed + damp.cover_w / house.glazing_m2;
  cover.added_m2kw = closed ? house.night_m2kw : 0;
  const bool water = house.water_l > 0;
  const double water_area = house.water_l / 200 * 1.6;
  const double to_water = water ? std::min(0.7, 0.5 * water_area / shape.wall_m2) * kWallShare : 0;
  zone.loads[E::wall] = {(kWallShare - to_water) * inside_w / std::max(shape.wall_m2, 0.01), 0,
                         film};
  zone.loads[E::roof] = {kRoofShare * inside_w / std::max(shape.roof_m2, 0.01), 0, film};
  for (int s = 0; s < E::floor_strips; ++s)
    zone.loads[E::floor + s] = {(kSoilShare * inside_w - damp.floor_w) / shape.floor_m2, 0,
                                ground_film};
  if (water) zone.loads[E::water].inside_w_m2 = to_water * inside_w / water_area;
}

std::vector<std::vector<double>> nodes_of(const HeatZone& zone) {
  std::vector<std::vector<double>> out(zone.loads.size());
  for (size_t e = 0; e < out.size(); ++e)
    for (int c = 0; c < zone.cells(static_cast<int>(e)); ++c)
      out[e].push_back(zone.node_c(static_cast<int>(e), c));
  return out;
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

HouseRun run_house(const House& house, const HouseSun& sun, const HouseWeather& weather,
                   const RunSettings& settings) {
  const HouseShape shape = shape_of(house);
  HeatZone zone = zone_of(house, sun.sky, weather.pressure_pa, settings.start_c);
  if (settings.start)
    for (size_t e = 0; e < settings.start->size() && e < zone.loads.size(); ++e)
      for (int c = 0;
           c < zone.cells(static_cast<int>(e)) && c < static_cast<int>((*settings.start)[e].size());
           ++c)
        zone.set_node_c(static_cast<int>(e), c, (*settings.start)[e][c]);
  const int steps = settings.steps_an_hour;
  const size_t n = weather.hours.size();
  HouseRun run;
  run.first_hour = (weather.first_hour + settings.run_in_h) % 8760;
  const size_t told = n - std::min<size_t>(n, settings.run_in_h);
  for (auto* v :
       {&run.inside_c, &run.low_c, &run.soil_c, &run.outside_c, &run.bed_wm2, &run.vent_m3_s})
    v->reserve(told);
  run.condenses.reserve(told);
  const double before_j = zone.stored_j();
  const int soil = E::floor + E::floor_strips - 1;
  Damp damp;
  Snow snow;
  double outside = weather.hours[0].air_c + settings.warmer_k;
  for (size_t i = 0; i < n; ++i) {
    const HouseHour& w = weather.hours[i];
    const int h = static_cast<int>((weather.first_hour + i) % 8760);
    const Light light = w.global > 0 ? light_of(sun, w, h, month_of_hour(h)) : Light{};
    const double now = w.air_c + settings.warmer_k;
    const double air_heat = air_density_kg_m3(now, weather.pressure_pa) * kAirHeat_j_kgk;
    load_house(zone, house, shape, w, light, damp, snow, covered(house, sun, h),
               ground_film_of(sun.albedo[month_of_hour(h)]));
    zone.hour.sky_c = sky_temperature_c(now, w.dew_c + settings.warmer_k, w.cloud,
                                        sun.site->hours()[h].solar_hour, weather.pressure_pa);
    zone.hour.exchange_w_k = house.air_changes_h * shape.volume_m3 / 3600 * air_heat;
    zone.hour.vent_above_c = house.vent_m2 > 0 || settings.any_vents ? house.vent_above_c : 1e9;
    if (house.vent_m2 > 0)
      zone.hour.vent_most_w_k =
          air_heat * vent_flow_m3_s(house.vent_m2, 0.7 * house.ridge_m,
                                    std::max(zone.air_c(), house.vent_above_c), now, w.wind_ms,
                                    false);
    if (settings.any_vents) zone.hour.vent_most_w_k = 1e6;
    zone.begin_hour(3600.0 / steps);
    double sum = 0, low = 1e9;
    for (int s = 1; s <= steps; ++s) {
      zone.step(outside + (now - outside) * s / steps);
      sum += zone.air_c();
      low = std::min(low, zone.air_c());
    }
    outside = now;
    damp.hour(zone, w, shape, house.glazing_m2,
              (zone.hour.exchange_w_k + zone.vent_w_k()) / air_heat, air_heat);
    snow.after_hour(w, zone.outside_face_c(E::cover), house.glazing.tilt_deg,
                    house.snow_swept && h % 24 == 8);
    if (static_cast<int>(i) == settings.keep_nodes_at) run.nodes_c = nodes_of(zone);
    if (i < static_cast<size_t>(settings.run_in_h)) continue;
    run.inside_c.push_back(static_cast<float>(sum / steps));
    run.low_c.push_back(static_cast<float>(low));
    run.soil_c.push_back(static_cast<float>(zone.node_c(soil, 1)));
    run.outside_c.push_back(static_cast<float>(now));
    run.bed_wm2.push_back(static_cast<float>(light.bed * house.light_left * snow.passes()));
    run.vent_m3_s.push_back(static_cast<float>(zone.vent_w_k() / air_heat));
    run.condenses.push_back(damp.condenses);
  }
  run.stored_j = zone.stored_j() - before_j;
  run.received_j = zone.received_j();
  run.moved_j = zone.moved_j();
  if (settings.keep_nodes_at < 0) run.nodes_c = nodes_of(zone);
  return run;
}

}  // namespace horizon
