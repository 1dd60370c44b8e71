// app/cli/visit_list.h: the terraces worth the walk as sites to carry there, with the heights that
// draw their skylines, in one file for the touch app.
// Holds:   visits.zip: a site file each (place from the map, one station, the bare ground's skyline as
//          the sketch, what to expect as its note) and two GeoTIFFs of heights (valley_cut.h)
// Ids:     made of the place, so that brought in again nothing is doubled
// Errors:  a full disk; what valley_cut.h lists
#pragma once

#include <string>
#include <vector>

#include "survey/exchange/valley_cut.h"

namespace app {

struct Visit {
  survey::Terrace terrace;
  horizon::TerrainSkyline land;
  double winter_h = 0, shortest_day_h = 0;  // exact, of the bare ground
};
struct VisitListOptions {
  std::string name;      // of the valley: begins the sites' names
  std::string language;  // of names and notes
  survey::CutWish cut;
  double time_utc_s = 0;
};
// visits: at least one, the best first.
horizon::Result<survey::ValleyCut> write_visit_list(const std::string& path,
                                                    const survey::ValleyGrid& valley,
                                                    const std::vector<Visit>& visits,
                                                    const VisitListOptions& options);

}  // namespace app
