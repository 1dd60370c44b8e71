#include "horizon/ground/ground_year.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "horizon/house/moist_soil.h"

namespace horizon {
namespace {

constexpr double kStep_s = 86400;
constexpr int kYearSteps = 365;
constexpr double kFirst_m = 0.025, kGrowth = 1.12, kDeepest_m = 14;
constexpr double kHalfFrozen_c = -0.5;  // of the range in which its water freezes
constexpr int kMostYears = 40, kMostRounds = 25;
constexpr double kSettled_k = 0.01;

struct Node {
  double middle_m = 0, thick_m = 0, thawed_w_mk = 1, frozen_w_mk = 1;
  FreezingHeat heat;  // of its whole thickness, a square metre
};

std::vector<Node> nodes_of(std::span<const ThermalLayer> layers) {
  std::vector<Node> nodes;
  double top = 0, thick = kFirst_m;
  while (top < kDeepest_m) {
    Node node;
    node.thick_m = thick;
    node.middle_m = top + thick / 2;
    double to = 0;
    const ThermalLayer* layer = &layers.back();
    for (size_t i = 0; i + 1 < layers.size(); ++i) {
      to += layers[i].thickness_m;
      if (node.middle_m < to) {
        layer = &layers[i];
        break;
      }
    }
    node.frozen_w_mk = layer->frozen_w_mk > 0 ? layer->frozen_w_mk : layer->conductivity_w_mk;
    // The layer's own is the mean of the two.
    node.thawed_w_mk =
        std::max(0.3 * layer->conductivity_w_mk, 2 * layer->conductivity_w_mk - node.frozen_w_mk);
    // The layer's heat is the mean of frozen and thawed.
    const double half_ice = layer->latent_j_m3 / kIceLatent_j_kg * (4187 - 2090) / 2;
    node.heat.capacity_j_k = (layer->heat_capacity_j_m3k + half_ice) * thick;
    node.heat.frozen_j_k =
        std::max(0.3 * layer->heat_capacity_j_m3k, layer->heat_capacity_j_m3k - half_ice) * thick;
    node.heat.latent_j = layer->latent_j_m3 * thick;
    nodes.push_back(node);
    top += thick;
    thick *= kGrowth;
  }
  return nodes;
}

// From its middle to its edge.
double half_m2kw(const Node& node, double t) {
  return node.thick_m / 2 / (t < kHalfFrozen_c ? node.frozen_w_mk : node.thawed_w_mk);
}

// One step: the temperatures at its end, by Newton's steps on the heat that each node holds.
void advance(const std::vector<Node>& nodes, std::vector<double>& t, std::vector<double>& heat,
             double surface_c, double cover_m2kw) {
  const size_t n = nodes.size();
  std::vector<double> conductance(n);  // to the node above; of the first to the surface
  const auto half = [&](size_t i) { return half_m2kw(nodes[i], t[i]); };
  conductance[0] = 1 / (cover_m2kw + half(0));
  for (size_t i = 1; i < n; ++i) conductance[i] = 1 / (half(i - 1) + half(i));
  const std::vector<double> before = heat;
  std::vector<double> a(n), b(n), d(n);
  for (int round = 0; round < kMostRounds; ++round) {
    for (size_t i = 0; i < n; ++i) {
      const double slope = nodes[i].heat.slope_j_k(t[i]) / kStep_s;
      const double down = i + 1 < n ? conductance[i + 1] : 0;
      b[i] = slope + conductance[i] + down;
      a[i] = -conductance[i];
      d[i] = slope * t[i] - (heat[i] - before[i]) / kStep_s;
      if (i == 0) d[i] += conductance[0] * surface_c;
    }
    for (size_t i = 1; i < n; ++i) {
      const double w = a[i] / b[i - 1];
      b[i] -= w * a[i];  // the matrix is symmetric
      d[i] -= w * d[i - 1];
    }
    double change = 0;
    std::vector<double> next(n);
    next[n - 1] = d[n - 1] / b[n - 1];
    for (size_t i = n - 1; i-- > 0;) next[i] = (d[i] - a[i + 1] * next[i + 1]) / b[i];
    for (size_t i = 0; i < n; ++i) {
      heat[i] += nodes[i].heat.slope_j_k(t[i]) * (next[i] - t[i]);
      const double settled = nodes[i].heat.temperature_c(heat[i]);
      change = std::max(change, std::abs(settled - t[i]));
      t[i] = settled;
    }
    if (change < 1e-3) break;
  }
}

// Of the last node above a depth and the next below.
double at_depth(const std::vector<Node>& nodes, const std::vector<double>& t, double surface_c,
                double depth_m) {
  double above_m = 0, above_c = surface_c;
  for (size_t i = 0; i < nodes.size(); ++i) {
    if (depth_m <= nodes[i].middle_m) {
      const double part = (depth_m - above_m) / std::max(1e-9, nodes[i].middle_m - above_m);
      return above_c + part * (t[i] - above_c);
    }
    above_m = nodes[i].middle_m;
    above_c = t[i];
  }
  return t.back();
}

}  // namespace

std::function<double(double)> air_of(const FreezingIndex& air, double coldest_day) {
  const double winter = std::clamp(air.duration_d, 1.0, 364.0), summer = 365 - winter;
  const double low = -std::numbers::pi / 2 * air.index_cd / winter;
  const double high = std::numbers::pi / 2 * (air.mean_annual_c * 365 + air.index_cd) / summer;
  return [=](double day) {
    double since = std::fmod(day - coldest_day + winter / 2 + 730, 365);
    return since < winter ? low * std::sin(std::numbers::pi * since / winter)
                          : high * std::sin(std::numbers::pi * (since - winter) / summer);
  };
}

std::function<double(double)> air_of(const MonthlyMeans& means) {
  return [means](double day) {
    const double at = std::fmod(day / 365 * 12 - 0.5 + 12, 12);
    const auto i = static_cast<size_t>(at) % 12;
    return means[i] + (at - std::floor(at)) * (means[(i + 1) % 12] - means[i]);
  };
}

std::function<double(double)> snow_of(const FreezingIndex& air, double depth_m,
                                      double coldest_day) {
  const double winter = std::clamp(air.duration_d, 1.0, 364.0);
  return [=](double day) {
    const double since = std::fmod(day - coldest_day + winter / 2 + 730, 365);
    return since < winter ? depth_m * std::min(1.0, 2 * since / winter) : 0.0;
  };
}

Result<GroundYear> ground_year(const GroundCover& cover, std::span<const ThermalLayer> layers,
                               std::span<const double> depths_m) {
  if (layers.empty()) return fail(Code::bad_input, "error.soil_layer_needed");
  for (size_t i = 0; i < layers.size(); ++i)
    if (!(layers[i].thickness_m > 0 && layers[i].conductivity_w_mk > 0 &&
          layers[i].latent_j_m3 >= 0 && layers[i].heat_capacity_j_m3k > 0))
      return fail(Code::bad_input, "error.layer_thickness_needed",
                  "layer " + std::to_string(i + 1));
  const std::vector<Node> nodes = nodes_of(layers);
  double mean = 0;
  for (int day = 1; day <= 365; ++day) mean += cover.air_c(day) / 365;
  std::vector<double> t(nodes.size(), mean), heat(nodes.size());
  for (size_t i = 0; i < nodes.size(); ++i) heat[i] = nodes[i].heat.warmth_j(mean);
  const double snow_k = snow_layer(1).conductivity_w_mk;
  GroundYear year;
  std::vector<double> before;
  for (int y = 0; y < kMostYears; ++y) {
    year = {};
    for (const double depth : depths_m) year.at.push_back({depth, 1e9, -1e9, 0});
    double surface_mean = 0;
    for (int step = 0; step < kYearSteps; ++step) {
      const double day = 182 + step;  // from July to July
      const double of_year = std::fmod(day - 1, 365) + 1;
      const double air = cover.air_c(of_year);
      const double surface = air < 0 ? air * cover.n_factor : air;
      const double resistance =
          cover.boards_m2kw + (cover.snow_m ? std::max(0.0, cover.snow_m(of_year)) / snow_k : 0);
      advance(nodes, t, heat, surface, resistance);
      // The ground's own surface, below snow and boards.
      const double half = half_m2kw(nodes[0], t[0]);
      const double top = t[0] + (surface - t[0]) * half / (half + resistance);
      surface_mean += top / kYearSteps;
      if (top < kHalfFrozen_c) {
        // Node by node down from the surface, then straight.
        double above_m = 0, above_c = top;
        for (size_t i = 0; i < nodes.size(); ++i) {
          if (t[i] >= kHalfFrozen_c) {
            const double crossing = above_m + (nodes[i].middle_m - above_m) *
                                                  (above_c - kHalfFrozen_c) /
                                                  std::min(-1e-9, above_c - t[i]);
            year.frost_m = std::max(year.frost_m, crossing);
            break;
          }
          above_m = nodes[i].middle_m;
          above_c = t[i];
        }
      }
      for (GroundAt& one : year.at) {
        const double now = at_depth(nodes, t, top, one.depth_m);
        if (now < one.coldest_c) one.coldest_c = now, one.coldest_day = of_year;
        one.warmest_c = std::max(one.warmest_c, now);
      }
    }
    if (y == 0 && surface_mean > 0)
      // What lies deep takes decades: it is put where the surface's mean leads it.
      for (size_t i = 0; i < nodes.size(); ++i)
        if (nodes[i].middle_m > 3) {
          t[i] = surface_mean;
          heat[i] = nodes[i].heat.warmth_j(surface_mean);
        }
    if (!before.empty()) {
      double change = 0;
      for (size_t i = 0; i < t.size(); ++i) change = std::max(change, std::abs(t[i] - before[i]));
      if (change < kSettled_k) break;
    }
    before = t;
  }
  return year;
}

Result<FrostRangeDepth> frost_range(const FreezingIndex& air, double n_factor,
                                    std::span<const FrostSoilLayer> profile, double snow_m) {
  if (!(air.index_cd >= 0 && air.duration_d >= 0 && n_factor >= 0))
    return fail(Code::bad_input, "error.frost_figures_negative");
  if (!(air.mean_annual_c > 0)) return fail(Code::out_of_range, "error.permafrost");
  if (profile.empty()) return fail(Code::bad_input, "error.soil_layer_needed");
  if (air.index_cd <= 0 || air.duration_d <= 0) return FrostRangeDepth{};
  GroundCover cover{air_of(air), {}, n_factor, 0};
  if (snow_m > 0) cover.snow_m = snow_of(air, snow_m);
  double frost[2] = {};
  for (const bool wet : {false, true}) {
    const auto year = ground_year(cover, thermal_layers(profile, wet), {});
    if (!year) return tl::unexpected(year.error());
    frost[wet] = year->frost_m;
  }
  return FrostRangeDepth{std::min(frost[0], frost[1]) * (1 - kFrostMethodError),
                         std::max(frost[0], frost[1]) * (1 + kFrostMethodError)};
}

}  // namespace horizon
