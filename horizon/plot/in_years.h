// horizon/plot/in_years.h: the plot as it will be: trees grown, things gone.
// Units:    metres, metres a year, years from now
// Frame:    as the plot
// Valid:    shapes only; what stands far away stays as it is
// Accuracy: trees of a kind grow at half to one and a half times the rate; the draws do
// Source:   rates of growth are common practice for cold valleys; enter what the forester says
#pragma once

#include "horizon/plot/intersection.h"

namespace horizon {

struct Growth {
  double evergreen_m_y = 0.3, leafy_m_y = 0.35;  // upwards; crowns widen by a third of it
  double tallest_m = 28;                         // no tree that is lower now grows beyond
};
// gone: obstacles, by index, that are felled or pulled down by then.
PlacedPlot in_years(const PlacedPlot& plot, double years, const Growth& growth,
                    std::span<const int> gone = {});

}  // namespace horizon
