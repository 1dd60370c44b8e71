// app/touch/session/trace.h: a skyline drawn by sweeping along it, thinned.
// Units: degrees
// Accuracy: the line through the kept points leaves no left-out point by more than the tolerance, and
//           kept points lie no further apart than `widest_deg` where the trace has points between
// Source: Douglas and Peucker, Cartographica 10 (1973); across the azimuth an offset counts by the
//         cosine of the elevation, as the eye sees it
#pragma once

#include <span>
#include <vector>

#include "app/touch/session/aim.h"

namespace app {

// Indices of the points to keep, in order; the first and the last are always among them.
// Where the ridge is smooth, two points far apart would read as a stretch that nobody aimed at.
std::vector<int> thinned(std::span<const Aim> trace, double tolerance_deg = 0.1,
                         double widest_deg = 5);

}  // namespace app
