// horizon/skyline/contact_internal.h: parts of the fit of contacts that stand in files of their own.
#pragma once

#include <span>
#include <vector>

#include "horizon/skyline/contact_fit.h"

namespace horizon {

inline constexpr double kBoundStep_deg = 2;

// The sun's way between two readings of a day, or after or before one.
struct SunWay {
  struct At {
    int step = 0;              // of azimuth
    double elevation_deg = 0;  // of the upper limb
  };
  bool seen = false;
  int first = -1, last = -1;  // readings at its ends
  std::vector<At> at;
};
std::vector<SunWay> ways_between(std::span<const ContactEvidence> evidence, const ContactFit& fit);

// The tightest bound at each azimuth.
std::vector<SkyBound> bounds_of(std::span<const SunWay> ways);

}  // namespace horizon
