// survey/exchange/terrain_raster.h: what the readers of terrain files have in common: rows of numbers, where
// they lie in their own system, and the grid of heights these make.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "horizon/result.h"
#include "horizon/terrain/terrain.h"

namespace survey {

inline constexpr double kMostCells = 150e6;

struct Raster {
  int columns = 0, rows = 0;
  std::vector<float> heights_m;
  // Of the middle of cell (column, row): x = x0 + x_column * column + x_row * row, y alike.
  double x0 = 0, x_column = 0, x_row = 0;
  double y0 = 0, y_column = 0, y_row = 0;
  std::string system;  // empty: longitude and latitude in degrees
};

horizon::Result<horizon::TerrainGrid> grid_of(Raster raster, const std::string& path);
horizon::Result<horizon::TerrainGrid> read_geotiff(const std::string& path,
                                                   const std::optional<std::string>& system);

}  // namespace survey
