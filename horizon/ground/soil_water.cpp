#include "horizon/ground/soil_water.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace horizon {
namespace {

constexpr std::array<SoilWater, kTextureCount> kTable = {{{5, 10, 46, 108.1},
                                                          {5, 12, 46, 96.7},
                                                          {8, 18, 45, 50.3},
                                                          {14, 28, 46, 15.5},
                                                          {11, 31, 48, 16.1},
                                                          {6, 30, 48, 22.0},
                                                          {17, 27, 43, 11.3},
                                                          {22, 36, 48, 4.3},
                                                          {22, 38, 51, 5.7},
                                                          {25, 36, 44, 1.4},
                                                          {27, 41, 52, 3.7},
                                                          {30, 42, 50, 1.1}}};

// Lower limits of the permeability classes but the first, inches an hour.
constexpr double kPermeability_in_h[] = {0.06, 0.2, 0.6, 2, 6};

}  // namespace

SoilWater typical_soil_water(Texture texture) { return kTable[static_cast<int>(texture)]; }

Result<SoilWater> soil_water(const FineEarth& soil, double organic_percent) {
  if (!(soil.clay_percent >= 0 && soil.clay_percent <= 60))
    return fail(Code::out_of_range, "error.clay_above_equations");
  if (!(organic_percent >= 0 && organic_percent <= 8))
    return fail(Code::out_of_range, "error.organic_above_equations");
  const double s = soil.sand_percent / 100, c = soil.clay_percent / 100, o = organic_percent;
  const double dry =
      -0.024 * s + 0.487 * c + 0.006 * o + 0.005 * s * o - 0.013 * c * o + 0.068 * s * c + 0.031;
  const double wilting = dry + (0.14 * dry - 0.02);
  const double moist =
      -0.251 * s + 0.195 * c + 0.011 * o + 0.006 * s * o - 0.027 * c * o + 0.452 * s * c + 0.299;
  const double capacity = moist + (1.283 * moist * moist - 0.374 * moist - 0.015);
  const double loose =
      0.278 * s + 0.034 * c + 0.022 * o - 0.018 * s * o - 0.027 * c * o - 0.584 * s * c + 0.078;
  const double drained = loose + (0.636 * loose - 0.107);
  const double saturation = capacity + drained - 0.097 * s + 0.043;
  const double slope = (std::log(capacity) - std::log(wilting)) / std::log(1500.0 / 33.0);
  const double conductivity = 1930 * std::pow(std::max(0.0, saturation - capacity), 3 - slope);
  return SoilWater{wilting * 100, capacity * 100, saturation * 100, conductivity};
}

double available_water_mm(std::span<const WaterLayer> layers, double depth_m) {
  double sum_mm = 0;
  for (const WaterLayer& layer : layers) {
    const double thick_m =
        std::min(depth_m, layer.bottom_m) - std::clamp(layer.top_m, 0.0, depth_m);
    if (thick_m > 0)
      sum_mm += thick_m * 10 * layer.water.available_percent() * (1 - layer.coarse_percent / 100);
  }
  return sum_mm;
}

std::string_view name_of(Permeability permeability) {
  constexpr std::string_view names[] = {"very slow",        "slow",  "moderately slow", "moderate",
                                        "moderately rapid", "rapid", "very rapid"};
  return names[static_cast<int>(permeability)];
}

Permeability permeability_of(double rate_mm_h) {
  const double rate_in_h = rate_mm_h / 25.4 + 1e-9;  // 0.06 in/h given in mm/h stays at its edge
  if (rate_in_h > 20 + 2e-9) return Permeability::very_rapid;
  int found = 0;
  for (const double limit : kPermeability_in_h) found += rate_in_h >= limit;
  return static_cast<Permeability>(found);
}

std::string_view name_of(HydrologicGroup group) {
  constexpr std::string_view names[] = {"A", "B", "C", "D", "A/D", "B/D", "C/D"};
  return names[static_cast<int>(group)];
}

Result<HydrologicGroup> hydrologic_group(const GroundProfile& profile) {
  if (profile.layers.empty()) return fail(Code::bad_input, "error.soil_layer_needed_for_group");
  const double rock_m = profile.impermeable_m.value_or(1e9);
  const double water_m = profile.water_table_m.value_or(1e9);
  if (rock_m < 0.5) return HydrologicGroup::d;
  const bool dual = water_m < 0.6;
  // Table 7-1: the depth whose least conductive layer decides, and which set of limits.
  const bool deep_limits = rock_m > 1.0 && (dual || water_m > 1.0);
  const double reach_m = deep_limits ? 1.0 : dual ? 0.6 : 0.5;
  double least_um_s = 1e9;
  for (const WaterLayer& layer : profile.layers)
    if (layer.top_m < reach_m)
      least_um_s = std::min(least_um_s, layer.water.conductivity_mm_h / 3.6);
  if (least_um_s == 1e9) return fail(Code::bad_input, "error.no_layer_near_top");
  const double a = deep_limits ? 10 : 40, b = deep_limits ? 4 : 10, c = deep_limits ? 0.4 : 1;
  constexpr double kEdge = 1e-9;
  if (least_um_s > a + kEdge) return dual ? HydrologicGroup::a_d : HydrologicGroup::a;
  if (least_um_s > b + kEdge) return dual ? HydrologicGroup::b_d : HydrologicGroup::b;
  if (least_um_s > c + kEdge) return dual ? HydrologicGroup::c_d : HydrologicGroup::c;
  return HydrologicGroup::d;
}

}  // namespace horizon
