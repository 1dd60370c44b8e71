// app/touch/practice/score.h: how near is a practised skyline to the truth, what was off, and what that would
// have cost.
// Units:    degrees, hours of direct sun over the winter months; 0 to 100 points
// Method:   the whole is turned until it fits best; then what stays open, what is of another kind and
//           what stands too high or too low is named stretch by stretch. The cost of each is that of
//           the truth with only this fault
// Accuracy: a turn is found to a quarter of a degree, under 1.5 it is not named
#pragma once

#include <vector>

#include "horizon/light/findings.h"
#include "horizon/skyline/skyline.h"

namespace app {

enum class Miss : unsigned char { turned, open, kind, high, low };

struct MissFound {
  Miss miss = Miss::turned;
  double from_deg = 0, to_deg = 0;  // the stretch, true
  double by_deg = 0;                // turned clockwise; too high or low, at most
  horizon::Kind was = horizon::Kind::ridge, marked = horizon::Kind::ridge;
  double cost_h = 0;  // winter hours told wrong by it; negative: too few
};
struct Score {
  int points = 0;
  double true_h = 0, told_h = 0;  // winter
  std::vector<MissFound> misses;  // the dearest first
};
// `station` for place, year and winter months; its skyline is not looked at.
Score score_of(const horizon::Skyline& truth, const horizon::Skyline& marked,
               const horizon::StationInput& station);

}  // namespace app
