#include "horizon/house/ground_slab.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace horizon {
namespace {

constexpr double kPi = std::numbers::pi;

// What the board adds to the ground's thickness.
double added_m(double conductivity, const EdgeBoard& edge) {
  return std::max(0.0, edge.resistance_m2kw) * conductivity;
}

// The sum of conductance over a band at x from the edge: lambda / (pi x + thickness).
double band(double conductivity, double from, double to, double thickness) {
  if (to <= from) return 0;
  return conductivity / kPi * std::log((kPi * to + thickness) / (kPi * from + thickness));
}

}  // namespace

double equivalent_thickness_m(const FloorShape& f, double conductivity) {
  return f.wall_m + conductivity * (f.inside_film_m2kw + f.resistance_m2kw + f.outside_film_m2kw);
}

double slab_u_wm2k(const FloorShape& floor, double conductivity) {
  const double b = characteristic_m(floor), d = equivalent_thickness_m(floor, conductivity);
  if (d < b) return 2 * conductivity / (kPi * b + d) * std::log(kPi * b / d + 1);
  return conductivity / (0.457 * b + d);
}

double edge_psi_wmk(const FloorShape& floor, double conductivity, const EdgeBoard& edge) {
  const double d = equivalent_thickness_m(floor, conductivity);
  const double more = added_m(conductivity, edge);
  return -conductivity / kPi *
         (std::log(2 * edge.depth_m / d + 1) - std::log(2 * edge.depth_m / (d + more) + 1));
}

double slab_u_wm2k(const FloorShape& floor, double conductivity, const EdgeBoard& edge) {
  return slab_u_wm2k(floor, conductivity) +
         2 * edge_psi_wmk(floor, conductivity, edge) / characteristic_m(floor);
}

double yearly_depth_m(double conductivity, double heat_capacity_j_m3k) {
  return std::sqrt(3.15e7 * conductivity / (kPi * heat_capacity_j_m3k));
}

std::vector<FloorStrip> floor_strips(const FloorShape& floor, double conductivity,
                                     const EdgeBoard& edge, int count) {
  const double middle = characteristic_m(floor) / 2;  // as far from the edge as the floor reaches
  const double d = equivalent_thickness_m(floor, conductivity), more = added_m(conductivity, edge);
  // The standard's 2 D stands for the arc pi x.
  const double crossed = more > 0 ? std::min(middle, 2 * edge.depth_m / kPi) : 0;
  std::vector<FloorStrip> strips(count);
  double total = 0, from = 0;
  for (int i = 0; i < count; ++i) {
    // Narrow at the edge, where the loss is.
    const double to = middle * (i + 1) * (i + 2) / (count * (count + 1.0));
    const double split = std::clamp(crossed, from, to);
    FloorStrip& s = strips[i];
    s.area_m2 = floor.area_m2 * (to - from) / middle;
    s.board_share = (split - from) / (to - from);
    s.u_wm2k = (band(conductivity, from, split, d + more) + band(conductivity, split, to, d)) /
               (to - from);
    total += s.area_m2 * s.u_wm2k;
    from = to;
  }
  // Corners and the far side: the published total decides.
  const double scale = floor.area_m2 * slab_u_wm2k(floor, conductivity, edge) / total;
  for (FloorStrip& s : strips) s.u_wm2k *= scale;
  return strips;
}

}  // namespace horizon
