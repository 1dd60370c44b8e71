// horizon/ground/edge_table.h: how deep and how thick insulation at a house's edge keeps frost out of
// the ground inside it.
// Units:    m, m2 K/W, degrees Celsius, W/(m K)
// Frame:    a board upright in the ground below the wall; depths below the ground outside
// Valid:    long walls on even ground; the floor inside stays at `inside_c` in the coldest weeks
// Accuracy: 1 to 2 K: steady paths in half circles round the edge, their outer ends at the coldest
//           that the open ground gets at that depth. Evidence for the designer, who decides
// Source:   heat's circular paths of ISO 13370 (horizon/house/ground_slab.h), whose edge loss it gives
#pragma once

#include <span>
#include <vector>

#include "horizon/ground/ground_year.h"
#include "horizon/house/ground_slab.h"

namespace horizon {

struct EdgeRow {
  double depth_m = 0, resistance_m2kw = 0;
  double coldest_c = 0;   // in the ground just inside the edge
  double saves_w_mk = 0;  // of heat, a metre of wall and a degree, against no board
  bool frost_free = false;
};
inline constexpr double kEdgeDepths_m[] = {0.3, 0.6, 0.9, 1.2, 1.5, 1.8};
inline constexpr double kEdgeResistances_m2kw[] = {1, 2, 3, 5};
inline constexpr double kFloorInWinter_c = 2;  // an unheated house that just keeps from freezing

// outside: the open ground's coldest by depth, from the surface down. Each depth with each
// resistance, in turn.
std::vector<EdgeRow> edge_table(std::span<const GroundAt> outside, double conductivity_w_mk,
                                const FloorShape& floor, double inside_c = kFloorInWinter_c);
// The least depth of the table that keeps frost out with this resistance.
std::optional<double> least_depth_m(std::span<const EdgeRow> table, double resistance_m2kw);

}  // namespace horizon
