#include "horizon/ground/edge_table.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace horizon {
namespace {

double coldest_at(std::span<const GroundAt> outside, double depth_m) {
  for (size_t i = 0; i < outside.size(); ++i) {
    if (outside[i].depth_m < depth_m) continue;
    if (i == 0) return outside[0].coldest_c;
    const GroundAt &a = outside[i - 1], &b = outside[i];
    const double part = (depth_m - a.depth_m) / std::max(1e-9, b.depth_m - a.depth_m);
    return a.coldest_c + part * (b.coldest_c - a.coldest_c);
  }
  return outside.empty() ? 0 : outside.back().coldest_c;
}

}  // namespace

std::vector<EdgeRow> edge_table(std::span<const GroundAt> outside, double conductivity_w_mk,
                                const FloorShape& floor, double inside_c) {
  std::vector<EdgeRow> table;
  for (const double depth : kEdgeDepths_m)
    for (const double resistance : kEdgeResistances_m2kw) {
      EdgeRow row{depth, resistance, inside_c};
      for (double r = 0.025; r < 3; r += 0.025) {
        // Half of the way round lies outside, half inside; above its foot the board lies between.
        const double half = std::numbers::pi * r / 2 / conductivity_w_mk;
        const double board = r <= depth ? resistance : 0;
        const double share = half / (2 * half + board);
        row.coldest_c =
            std::min(row.coldest_c, inside_c - (inside_c - coldest_at(outside, r)) * share);
      }
      row.frost_free = row.coldest_c >= 0;
      row.saves_w_mk = -edge_psi_wmk(floor, conductivity_w_mk, {depth, resistance});
      table.push_back(row);
    }
  return table;
}

std::optional<double> least_depth_m(std::span<const EdgeRow> table, double resistance_m2kw) {
  std::optional<double> least;
  for (const EdgeRow& row : table)
    if (row.resistance_m2kw == resistance_m2kw && row.frost_free)
      least = std::min(least.value_or(row.depth_m), row.depth_m);
  return least;
}

}  // namespace horizon
