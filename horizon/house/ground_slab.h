// horizon/house/ground_slab.h: how much warmth a floor on the ground loses, and how insulation at its
// edge holds it.
// Units:    m, W/(m K), m2 K/W, W/(m2 K), J/(m3 K)
// Frame:    steady loss between the air above the floor and the air outside
// Valid:    floors on the ground, even soil without moving water
// Accuracy: of ISO 13370 itself, about 10 % where the soil is known; the soil seldom is
// Source:   ISO 13370:2007 clauses 9.1 and annexes B, C. The strips follow the circular paths of
//           heat that the standard's formula is the sum of; their total is the standard's
#pragma once

#include <vector>

namespace horizon {

struct FloorShape {
  double area_m2 = 32;
  double perimeter_m = 24;     // towards the outside
  double wall_m = 0.45;        // thickness
  double resistance_m2kw = 0;  // of the floor's own insulation
  double inside_film_m2kw = 0.17, outside_film_m2kw = 0.04;
};
struct EdgeBoard {  // upright in the ground, or beside the wall's foot
  double depth_m = 0;
  double resistance_m2kw = 0;
};

inline double characteristic_m(const FloorShape& f) { return f.area_m2 / (0.5 * f.perimeter_m); }
double equivalent_thickness_m(const FloorShape& floor, double conductivity_w_mk);
double slab_u_wm2k(const FloorShape& floor, double conductivity_w_mk);
// Linear correction, negative.
double edge_psi_wmk(const FloorShape& floor, double conductivity_w_mk, const EdgeBoard& edge);
double slab_u_wm2k(const FloorShape& floor, double conductivity_w_mk, const EdgeBoard& edge);
// Depth at which a yearly wave has fallen to 37 %.
double yearly_depth_m(double conductivity_w_mk, double heat_capacity_j_m3k);

// The floor in bands along its edge; the sum of area times conductance is the slab's.
struct FloorStrip {
  double area_m2 = 0;
  double u_wm2k = 0;
  double board_share = 0;  // of its heat's paths that cross the board
};
std::vector<FloorStrip> floor_strips(const FloorShape& floor, double conductivity_w_mk,
                                     const EdgeBoard& edge, int count);

}  // namespace horizon
