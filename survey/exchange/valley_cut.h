// survey/exchange/valley_cut.h: of a valley's heights what the visits to some places need, in few bytes.
// Units:    metres above the grids' own level, rounded: to an eighth near the places, whole ones far
// Frame:    the valley's transverse Mercator grid, as two GeoTIFFs that do not lie on one another:
//           near with the valley's cells, within `near_m` of each place; far with larger cells
// Accuracy: `largest_error_deg` is measured: each place's skyline out of the cut against that out of
//           all the heights
// Errors:   a full disk; places beyond the grids
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "horizon/terrain/terrain.h"
#include "survey/exchange/valley_files.h"

namespace survey {

struct CutWish {
  std::vector<std::string> grids;  // the valley's files, to be read with larger cells
  double near_m = 4000, reach_m = 30000;
  std::uintmax_t most_bytes = 5'000'000;
};
struct ValleyCut {
  double far_cell_m = 0;  // 0: nothing lies farther, and there is no such file
  std::uintmax_t bytes = 0;
  double largest_error_deg = 0, typical_error_deg = 0;  // of all places and azimuths; the median
};
// The skyline of the bare ground at a place, from all the heights within reach_m.
horizon::Result<horizon::TerrainSkyline> land_skyline(const ValleyGrid& valley,
                                                      const horizon::Place& place, double reach_m);
// lines: of each place, by land_skyline. The smallest cells whose files are no larger than wished.
horizon::Result<ValleyCut> write_cut(const ValleyGrid& valley,
                                     const std::vector<horizon::Place>& places,
                                     const std::vector<horizon::TerrainSkyline>& lines,
                                     const CutWish& wish, const std::string& near_path,
                                     const std::string& far_path);

}  // namespace survey
