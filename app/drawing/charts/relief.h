// app/drawing/charts/relief.h: the shape of the ground under a map, from grids of heights.
// Frame:  rows from north to south of a window of latitude and longitude
// Light:  from the north-west, 45 degrees high, as maps are shaded [common practice]; level ground keeps
//         the paper's tone
// Says    nothing of trees and houses: bare heights; what no grid knows stays clear
#pragma once

#include <span>
#include <string>

#include "app/drawing/canvas.h"
#include "horizon/terrain/terrain.h"

namespace app {

struct GeoWindow {
  double south_deg = 0, west_deg = 0, north_deg = 0, east_deg = 0;
};
// Empty where no tile knows anything of the window. Where tiles overlap the finer counts.
Image shaded_ground(std::span<const horizon::TerrainGrid> tiles, const GeoWindow& window, int width,
                    int height);

}  // namespace app
