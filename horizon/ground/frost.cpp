#include "horizon/ground/frost.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <string>

namespace horizon {
namespace {

constexpr double kDay_s = 86400;
constexpr double kIceMelts_j_kg = 334000;
constexpr double kWaterHeat_j_kgk = 4186.8;
constexpr double kSoilHeatOverWaters = 0.17;  // by mass, the method's own figure
constexpr double kThawedFrozenMean = 0.75;    // of water and ice, by mass
constexpr double kDeepest_m = 50;
constexpr double kPcf_kg_m3 = 16.018463;      // lb/ft3
constexpr double kBtuInch_w_mk = 0.14422789;  // Btu in/(ft2 h F)
constexpr std::array<int, 12> kMonthDays = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

// Degree-days at the surface that freeze the ground to this depth.
struct Need {
  double index_cd = 0;
  double latent = 0, capacity = 0;  // means over the depth, J/m3, J/(m3 K)
};
Need need_to(double depth_m, std::span<const ThermalLayer> layers, double cover_resistance) {
  Need need;
  double resistance = cover_resistance, from = 0;
  for (size_t i = 0; i < layers.size() && from < depth_m; ++i) {
    const ThermalLayer& layer = layers[i];
    const bool last = i + 1 == layers.size();
    const double thick = last ? depth_m - from : std::min(layer.thickness_m, depth_m - from);
    const double own = thick / layer.conductivity_w_mk;
    need.index_cd += layer.latent_j_m3 * thick * (resistance + own / 2) / kDay_s;
    need.latent += layer.latent_j_m3 * thick / depth_m;
    need.capacity += layer.heat_capacity_j_m3k * thick / depth_m;
    resistance += own;
    from += thick;
  }
  return need;
}

}  // namespace

FreezingIndex freezing_index(const MonthlyMeans& means) {
  FreezingIndex result;
  for (int m = 0; m < 12; ++m) {
    result.mean_annual_c += means[m] * kMonthDays[m] / 365;
    if (means[m] >= 0) continue;
    result.index_cd -= means[m] * kMonthDays[m];
    result.duration_d += kMonthDays[m];
  }
  return result;
}

Result<FreezingIndex> freezing_index(std::span<const double> daily) {
  const size_t n = daily.size();
  if (n < 360) return fail(Code::bad_input, "error.daily_means_needed");
  for (size_t i = 0; i < n; ++i)
    if (!(daily[i] > -90 && daily[i] < 65))
      return fail(Code::bad_input, "error.no_air_temperature", "day " + std::to_string(i + 1));
  FreezingIndex result;
  result.mean_annual_c = std::accumulate(daily.begin(), daily.end(), 0.0) / static_cast<double>(n);
  // Begin after the warmest day, so that no winter is cut in two.
  const size_t begin =
      static_cast<size_t>(std::max_element(daily.begin(), daily.end()) - daily.begin());
  double sum = 0, top = 0;
  size_t top_at = 0;
  for (size_t i = 1; i <= n; ++i) {
    sum += daily[(begin + i - 1) % n];
    if (sum > top) top = sum, top_at = i;
    if (top - sum > result.index_cd)
      result.index_cd = top - sum, result.duration_d = static_cast<double>(i - top_at);
  }
  return result;
}

std::string_view name_of(Surface surface) {
  constexpr std::string_view names[] = {"snow",       "concrete",          "bituminous pavement",
                                        "bare soil",  "bare soil, shaded", "turf",
                                        "under trees"};
  return names[static_cast<int>(surface)];
}

double freezing_n_factor(Surface surface) {
  constexpr double factors[] = {1.0, 0.75, 0.7, 0.7, 0.9, 0.5, 0.3};
  return factors[static_cast<int>(surface)];
}

double berggren_lambda(double alpha, double mu) {
  if (!(mu > 0)) return 1;
  // Falls from +infinity; at lambda = 1 it is no longer positive.
  const auto f = [&](double x) {
    const double e = std::exp(-x * x);
    return e / std::erf(x) - alpha * e / std::erfc(x) - std::sqrt(std::numbers::pi) * x / mu;
  };
  double low = 0, high = std::sqrt(mu / 2);
  for (int i = 0; i < 100 && high - low > 1e-15; ++i) {
    const double middle = (low + high) / 2;
    (f(middle) > 0 ? low : high) = middle;
  }
  return (low + high) / 2 * std::sqrt(2 / mu);
}

ThermalLayer soil_layer(double thickness_m, bool coarse, double density, double water_percent) {
  const double pcf = density / kPcf_kg_m3;
  // Kersten's equations hold down to 7 % water in fine soils and 1 % in coarse ones.
  const double w = std::max(water_percent, coarse ? 1.0 : 7.0);
  double frozen, thawed;
  if (coarse) {
    frozen = 0.076 * std::pow(10, 0.013 * pcf) + 0.032 * std::pow(10, 0.0146 * pcf) * w;
    thawed = (0.7 * std::log10(w) + 0.4) * std::pow(10, 0.01 * pcf);
  } else {
    frozen = 0.01 * std::pow(10, 0.022 * pcf) + 0.085 * std::pow(10, 0.008 * pcf) * w;
    thawed = (0.9 * std::log10(w) - 0.2) * std::pow(10, 0.01 * pcf);
  }
  const double share = water_percent / 100;
  return {thickness_m, (frozen + thawed) / 2 * kBtuInch_w_mk, density * share * kIceMelts_j_kg,
          density * (kSoilHeatOverWaters + kThawedFrozenMean * share) * kWaterHeat_j_kgk,
          frozen * kBtuInch_w_mk};
}

ThermalLayer snow_layer(double depth_m, double density_kg_m3) {
  return {depth_m, 2.22362 * std::pow(density_kg_m3 / 1000, 1.885), 0, 0, 0};
}

Result<FrostDepth> frost_depth(const FreezingIndex& air, double n_factor,
                               std::span<const ThermalLayer> layers,
                               std::span<const ThermalLayer> cover) {
  if (!(air.index_cd >= 0 && air.duration_d >= 0 && n_factor >= 0))
    return fail(Code::bad_input, "error.frost_figures_negative");
  if (!(air.mean_annual_c > 0)) return fail(Code::out_of_range, "error.permafrost");
  if (layers.empty()) return fail(Code::bad_input, "error.soil_layer_needed");
  double latent = 0;
  for (size_t i = 0; i < layers.size(); ++i) {
    if (!(layers[i].thickness_m > 0 && layers[i].conductivity_w_mk > 0 &&
          layers[i].latent_j_m3 >= 0))
      return fail(Code::bad_input, "error.layer_thickness_needed",
                  "layer " + std::to_string(i + 1));
    latent = layers[i].latent_j_m3;
  }
  if (!(latent > 0))
    return fail(Code::bad_input, "error.layer_holds_no_water",
                "layer " + std::to_string(layers.size()));
  double cover_resistance = 0;
  for (const ThermalLayer& layer : cover)
    cover_resistance += layer.thickness_m / layer.conductivity_w_mk;

  const double index = air.index_cd * n_factor;
  FrostDepth result;
  if (index <= 0 || air.duration_d <= 0) return result;
  const auto solve = [&](bool stefan) {
    double low = 0, high = kDeepest_m;
    for (int i = 0; i < 80; ++i) {
      const double depth = (low + high) / 2;
      const Need need = need_to(depth, layers, cover_resistance);
      double lambda = 1;
      if (!stefan && need.latent > 0) {
        const double surface_frost_c = index / air.duration_d;
        result.alpha = air.mean_annual_c / surface_frost_c;
        result.mu = surface_frost_c * need.capacity / need.latent;
        lambda = result.lambda = berggren_lambda(result.alpha, result.mu);
      }
      (need.index_cd < lambda * lambda * index ? low : high) = depth;
    }
    return (low + high) / 2;
  };
  result.stefan_m = solve(true);
  result.depth_m = solve(false);
  return result;
}

std::vector<ThermalLayer> thermal_layers(std::span<const FrostSoilLayer> profile, bool wet) {
  std::vector<ThermalLayer> layers;
  for (const FrostSoilLayer& one : profile) {
    const double stones = one.coarse_percent / 100;
    const double earth_density = one.water.dry_density_kg_m3();
    const double density = earth_density * (1 - stones) + 2650 * stones;
    const double water_kg_m3 =
        10 * (wet ? one.water.field_capacity_percent : one.water.wilting_point_percent) *
        (1 - stones);
    const bool coarse = (one.soil.silt_percent + one.soil.clay_percent) * (1 - stones) < 50;
    // Kersten's samples end at 2200 kg/m3: beyond, his exponents run away.
    layers.push_back(soil_layer(one.bottom_m - one.top_m, coarse, std::min(density, 2200.0),
                                100 * water_kg_m3 / density));
  }
  return layers;
}

EdgeInsulation edge_insulation(const FrostRangeDepth& frost, double design_low_c) {
  EdgeInsulation result{frost, {}, false};
  if (design_low_c <= -34) {
    result.common_practice_m = kSixFeet_m;
    result.agree = frost.shallow_m <= kSixFeet_m && kSixFeet_m <= frost.deep_m;
  }
  return result;
}

}  // namespace horizon
