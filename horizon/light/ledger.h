// horizon/light/ledger.h: what each thing on the skyline takes, and what would come back without
// it.
// Units:    hours and kWh/m2 over the winter months; beam on the best plane, through the glazing
// Frame:    one row a labelled obstacle, in the order of Skyline::obstacles
// Accuracy: hours as sun_year's at 5-minute nodes, crossings interpolated: 0.5 % or 0.1 h
#pragma once

#include <string>
#include <vector>

#include "horizon/skyline/skyline.h"

namespace horizon {

struct LedgerRow {
  int obstacle = -1;  // index into Skyline::obstacles; -1 = open stretches that nobody sighted
  std::string label;
  Kind kind = Kind::ridge;
  double from_deg = 0, to_deg = 0;  // the stretch of the outline it holds, clockwise
  double alone_h = 0;               // it would hide, standing alone on a flat horizon
  double takes_h = 0;               // it hides now, being what shows there
  double returns_h = 0;  // would come back if it went: what stands behind it may still hide some
  double alone_kwh_m2 = 0, takes_kwh_m2 = 0, returns_kwh_m2 = 0;
};

// The skyline without an obstacle. Where it stood in the outline, the nearest layer with marks
// behind it becomes the outline; without such marks its neighbours are joined.
Skyline felled(const Skyline& skyline, int obstacle);

struct SunSteps;
// months: bit 0 = January. beam_kwh_m2: what each step's unhidden sun brings to the plane.
std::vector<LedgerRow> ledger_of(const SunSteps& sun, const Skyline& skyline, unsigned months,
                                 const std::vector<float>& beam_kwh_m2);

}  // namespace horizon
