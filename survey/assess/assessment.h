// survey/assess/assessment.h: what every reader of a site starts from: its settings and its skylines, derived once.
// Report, package, ground, plot, comparison and command line are handed the same one, so that they
// cannot disagree and no skyline is worked out twice for one hand-over (counted in a test).
// Derived: nothing here is stored; make a new one whenever FieldBook::change_count() differs
#pragma once

#include <memory>
#include <optional>
#include <string_view>
#include <vector>

#include "survey/assess/station_input.h"
#include "survey/assess/station_skyline.h"

namespace survey {

// Nobody walks more stations of one plot; a table by a slip has ten thousand. Then the first dozen.
inline constexpr std::size_t kMostStations = 24, kStationsThen = 12;

struct Assessment {
  SiteSettings settings;
  std::vector<StationSkyline> stations;  // the main one first, then in the order they were put
  std::size_t beyond = 0;  // stations that were left out, so that the work has an end: say so

  std::optional<horizon::Error> said() const;  // of those

  const StationSkyline* main() const { return stations.empty() ? nullptr : &stations.front(); }
};

// The one that is asked for by name is among them.
horizon::Result<Assessment> assess(const FieldBook& book, std::string_view station = {});

// The glazing that the report tells its light for: the design's, else the best at the first station
// that can be told of. Nothing where none can.
std::optional<horizon::Plane> shown_plane(const Assessment& site,
                                          std::shared_ptr<const horizon::WeatherYear> weather = {});

}  // namespace survey
