#include "horizon/house/house.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "horizon/house/air.h"

namespace horizon {
namespace {

tl::unexpected<Error> bad(Sentence why, const char* where) {
  return fail(Code::bad_input, std::move(why), where);
}

struct Rise {
  double depth_m = 0, rise_m = 0;
};
Rise rise_of(const House& h) {
  const double slope = h.glazing_m2 / h.length_m, tilt = h.glazing.tilt_deg * kDegree;
  return {slope * std::cos(tilt), slope * std::sin(tilt)};
}

// Soil under a strip: fine at the top, where days and cold spells reach, then the long way out.
std::vector<HeatLayer> soil_under(const House& house, double u_wm2k) {
  const FreezingHeat heat = moist_soil(house.soil_density_kg_m3, house.soil_water_share);
  const double whole = std::max(0.05, 1 / u_wm2k - 0.21);  // without the two films
  double tops[] = {0.04, 0.08, 0.16, 0.30};
  const double top_m = 0.58;
  const double scale = std::min(1.0, 0.7 * whole * house.soil_w_mk / top_m);
  std::vector<HeatLayer> layers;
  for (double& t : tops) layers.push_back({t * scale, house.soil_w_mk, heat, 1});
  const double rest = whole - top_m * scale / house.soil_w_mk;
  const double thick = std::clamp(rest * house.soil_w_mk, 0.05, 1.5);
  layers.push_back({thick, thick / rest, heat, 2});
  return layers;
}

}  // namespace

House reference_house() { return {}; }

double pane_resistance_m2kw(const Glazing& pane) {
  if (pane.sheets <= 0) return 1e-4;
  const bool glass = pane.refractive_index < 1.55;
  const double u = pane.sheets == 1   ? (glass ? 5.8 : 5.6)
                   : pane.sheets == 2 ? (glass ? 2.8 : 3.0)
                   : pane.sheets == 3 ? (glass ? 1.9 : 2.3)
                                      : 1.7;
  return 1 / u - 0.17;
}

Result<void> check_house(const House& h) {
  const auto outside = [](double v, double from, double to) { return !(v >= from && v <= to); };
  if (outside(h.length_m, 2, 100)) return bad("error.house_length_range", "length");
  if (outside(h.width_m, 2, 30)) return bad("error.house_width_range", "width");
  if (outside(h.ridge_m, 1, 12)) return bad("error.house_ridge_range", "ridge");
  if (!(h.glazing_m2 > 0)) return bad("error.house_glazing_area_needed", "glazing area");
  if (outside(h.glazing.tilt_deg, 0, 90) || !h.glazing.facing.finite())
    return bad("error.tilt_range", "glazing tilt");
  const Rise r = rise_of(h);
  if (r.depth_m > h.width_m + 0.01) {
    return bad({"error.glazing_too_deep",
                {Arg::figure(h.glazing_m2, 1), Arg::figure(h.glazing.tilt_deg, 0),
                 Arg::figure(r.depth_m, 1), Arg::figure(h.width_m, 1)}},
               "glazing area");
  }
  if (r.rise_m > h.ridge_m + 0.01) {
    return bad({"error.glazing_too_high",
                {Arg::figure(h.glazing_m2, 1), Arg::figure(h.glazing.tilt_deg, 0),
                 Arg::figure(r.rise_m, 1), Arg::figure(h.ridge_m, 1)}},
               "ridge");
  }
  if (h.pane.sheets <= 0) return bad("error.house_glazing_needed", "glazing");
  if (outside(h.pane_m2kw, 1e-4, 5)) return bad("error.pane_resistance_range", "glazing");
  if (outside(h.light_left, 0.3, 1)) return bad("error.light_left_range", "frames and dirt");
  if (outside(h.wall_m2kw, 0.05, 20)) return bad("error.wall_resistance_range", "wall");
  if (outside(h.roof_m2kw, 0.05, 20)) return bad("error.roof_resistance_range", "roof");
  if (outside(h.clay_kg_m2, 0, 1000)) return bad("error.clay_range", "clay");
  if (outside(h.water_l, 0, 100000)) return bad("error.water_range", "water");
  if (outside(h.air_changes_h, 0, 20)) return bad("error.air_changes_range", "air changes");
  if (outside(h.edge.depth_m, 0, 4)) return bad("error.edge_depth_range", "edge depth");
  if (outside(h.edge.resistance_m2kw, 0, 10))
    return bad("error.edge_resistance_range", "edge boards");
  if (outside(h.night_m2kw, 0, 10)) return bad("error.night_cover_range", "night cover");
  if (outside(h.night_from_h, 0, 24) || outside(h.night_to_h, 0, 24))
    return bad("error.time_of_day_range", "night cover");
  if (outside(h.vent_m2, 0, 500)) return bad("error.vents_range", "vents");
  if (outside(h.vent_above_c, 5, 60)) return bad("error.vents_open_range", "vents");
  if (outside(h.soil_w_mk, 0.2, 4)) return bad("error.soil_conducts_range", "soil");
  if (outside(h.soil_density_kg_m3, 300, 2300)) return bad("error.soil_weight_range", "soil");
  if (outside(h.soil_water_share, 0, 0.6)) return bad("error.soil_water_range", "soil");
  return {};
}

HouseShape shape_of(const House& h) {
  const Rise r = rise_of(h);
  HouseShape s;
  s.floor_m2 = h.length_m * h.width_m;
  s.foot_m = std::max(0.0, h.ridge_m - r.rise_m);
  const double behind = std::max(0.0, h.width_m - r.depth_m);
  const double end = r.depth_m * (s.foot_m + h.ridge_m) / 2 + behind * h.ridge_m;
  s.volume_m3 = end * h.length_m;
  s.roof_m2 = behind * h.length_m;
  s.wall_m2 = h.length_m * (s.foot_m + h.ridge_m) + 2 * end;
  return s;
}

HeatZone zone_of(const House& house, const SkyShares& sky, double pressure_pa, double start_c) {
  const HouseShape shape = shape_of(house);
  std::vector<HeatElement> elements;
  HeatElement cover;
  cover.area_m2 = house.glazing_m2;
  cover.layers = {resistance_layer(house.pane_m2kw)};
  cover.inside =
      house.glazing.tilt_deg < 60 ? HeatElement::Inside::ceiling : HeatElement::Inside::wall;
  cover.sky_share = sky.cover;
  elements.push_back(cover);

  const auto insulated = [&](double area, double m2kw, double sky_share,
                             HeatElement::Inside inside) {
    HeatElement e;
    e.area_m2 = std::max(area, 0.01);
    if (house.clay_kg_m2 > 0)
      e.layers.push_back(solid_layer(house.clay_kg_m2 / 1600, 0.8, 1600, 1000, 1));
    // Bales of 100 kg/m3, 0.065 W/(m K), as thick as the resistance asks.
    e.layers.push_back(solid_layer(0.065 * m2kw, 0.065, 100, 2000, 1));
    e.inside = inside;
    e.sky_share = sky_share;
    elements.push_back(e);
  };
  insulated(shape.wall_m2, house.wall_m2kw, sky.wall, HeatElement::Inside::wall);
  insulated(shape.roof_m2, house.roof_m2kw, sky.roof, HeatElement::Inside::ceiling);

  const FloorShape floor{shape.floor_m2, 2 * (house.length_m + house.width_m),
                         0.065 * house.wall_m2kw};
  for (const FloorStrip& strip :
       floor_strips(floor, house.soil_w_mk, house.edge, HouseElements::floor_strips)) {
    HeatElement e;
    e.area_m2 = strip.area_m2;
    e.layers = soil_under(house, strip.u_wm2k);
    e.inside = HeatElement::Inside::floor;
    e.outside_emittance = 1e-3;  // its outer end is the ground's surface: one film, no sky apart
    e.sky_share = 0;
    elements.push_back(e);
  }
  if (house.water_l > 0) {
    HeatElement water;
    // Barrels of 200 l: 1.6 m2 of wall each.
    water.area_m2 = house.water_l / 200 * 1.6;
    const double thick = house.water_l / 1000 / water.area_m2;
    water.layers = {{thick, 50, {4.18e6, 1.9e6, 1000 * kIceLatent_j_kg}, 1}};
    water.outside = HeatElement::Outside::none;
    elements.push_back(water);
  }
  // Plants and pots are as quick as the air: 5 kg of water a square metre.
  const double air_j_k =
      shape.volume_m3 * air_density_kg_m3(start_c, pressure_pa) * kAirHeat_j_kgk +
      shape.floor_m2 * 5 * 4180;
  return HeatZone(air_j_k, std::move(elements), start_c);
}

}  // namespace horizon
