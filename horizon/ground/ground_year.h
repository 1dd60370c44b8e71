// horizon/ground/ground_year.h: how cold the ground gets at each depth through a winter, and how deep
// it freezes: bare, under snow, or under boards. One model for both, so that they agree.
// Units:    degrees Celsius, m, days of the year, m2 K/W
// Frame:    depth below the surface of open, level ground; one dimension
// Valid:    seasonal frost; even ground without moving water; permafrost is what stays frozen
// Accuracy: heat is kept exactly; freezing depth within 5 % of Neumann's closed form, the yearly
//           wave within 0.1 K of its own (tests); the ground's own moisture matters more
// Source:   conduction with the enthalpy of freezing water, implicit steps of a day, repeated
//           until a year is like the one before; surface = air times the n-factor below 0
#pragma once

#include <functional>

#include "horizon/ground/frost.h"

namespace horizon {

// Of a day of the year, 1 to 365: the air, and the snow that lies.
struct GroundCover {
  std::function<double(double)> air_c;
  std::function<double(double)> snow_m;  // empty: none
  double n_factor = 1;                   // below 0
  double boards_m2kw = 0;                // insulation laid on the ground, all year
};

// A winter of this index and length as half a sine, a summer that gives the year its mean.
std::function<double(double)> air_of(const FreezingIndex& air, double coldest_day = 20);
// Straight between the middles of the months.
std::function<double(double)> air_of(const MonthlyMeans& means);
// It begins with the frost, is as deep as said in mid winter and goes with the frost.
std::function<double(double)> snow_of(const FreezingIndex& air, double depth_m,
                                      double coldest_day = 20);

struct GroundAt {
  double depth_m = 0, coldest_c = 0, warmest_c = 0, coldest_day = 0;
};
struct GroundYear {
  double frost_m = 0;  // the deepest that half of the water freezes
  std::vector<GroundAt> at;
};
// layers: from the surface down, the last goes on for ever. Bad input as frost_depth.
Result<GroundYear> ground_year(const GroundCover& cover, std::span<const ThermalLayer> layers,
                               std::span<const double> depths_m);

// Of a described profile from dry to wet, with the method's own error either way.
Result<FrostRangeDepth> frost_range(const FreezingIndex& air, double n_factor,
                                    std::span<const FrostSoilLayer> profile, double snow_m = 0);

}  // namespace horizon
