// survey/assess/assessment.h: what every reader of a site starts from: its settings and its skylines, derived once.
// Report, package, ground, plot, comparison and command line are handed the same one, so that they
// cannot disagree and no skyline is worked out twice for one hand-over (counted in a test).
// Derived: nothing here is stored; make a new one whenever FieldBook::change_count() differs
#pragma once

#include <vector>

#include "survey/assess/station_input.h"
#include "survey/assess/station_skyline.h"

namespace survey {

struct Assessment {
  SiteSettings settings;
  std::vector<StationSkyline> stations;  // the main one first, then in the order they were put

  const StationSkyline* main() const { return stations.empty() ? nullptr : &stations.front(); }
};

horizon::Result<Assessment> assess(const FieldBook& book);

}  // namespace survey
