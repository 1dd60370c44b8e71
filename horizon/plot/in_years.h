// horizon/plot/in_years.h: the plot as it will be: trees grown, things gone, things built.
// Units:    metres, metres a year, years from now
// Frame:    as the plot
// Valid:    shapes only; what stands far away stays as it is
// Accuracy: trees of a kind grow at half to one and a half times the rate; the draws do
// Source:   rates of growth are common practice for cold valleys; enter what the forester says
#pragma once

#include <span>
#include <string>

#include "horizon/plot/intersection.h"

namespace horizon {

struct Growth {
  double evergreen_m_y = 0.3, leafy_m_y = 0.35;  // upwards; crowns widen by a third of it
  double tallest_m = 28;                         // no tree that is lower now grows beyond
};
// What is not there yet: a box with a level top, known as it is planned.
struct ToBuild {
  std::string name;
  double east_m = 0, north_m = 0;  // its middle
  TrueAzimuth long_side;
  double length_m = 10, width_m = 6, height_m = 5;  // above the ground at its middle
  double in_years = 0;
};
// gone: obstacles, by index, that are felled or pulled down by then. What is built by then has
// obstacles of its own after the survey's.
PlacedPlot in_years(const PlacedPlot& plot, double years, const Growth& growth,
                    std::span<const int> gone = {}, std::span<const ToBuild> built = {});

}  // namespace horizon
