// horizon/skyline/thinned.h: a skyline of far too many marks, brought down to what is worked with.
// Frame:    as horizon/skyline/skyline.h; a skyline within the limits comes back as it is
// Method:   of each thing the highest mark of each step of azimuth stays, the step as fine as the
//           limit allows; near things beyond the limit go, the lowest first; ridges beyond it become
//           one without a name
#pragma once

#include "horizon/skyline/skyline.h"

namespace horizon {

struct SkylineLimits {
  size_t points = 4000;      // a grid's horizon has ten a degree; nobody aims at more than hundreds
  size_t points_then = 400;  // a degree: lines drawn through twice as many take five times as long
  size_t things = 100;       // near ones, and as many ridges
};

struct Thinned {
  Skyline skyline;
  size_t points = 0, things = 0;  // before
  bool any = false;               // was there too much?
};
Thinned thinned(const Skyline& skyline, const SkylineLimits& limits = {});

}  // namespace horizon
