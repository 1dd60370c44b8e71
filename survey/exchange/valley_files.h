// survey/exchange/valley_files.h: height grids of a whole valley in, maps and candidate terraces out.
// Units:   metres; heights in feet or other units are converted where the file says so
// Frame:   one transverse Mercator grid about the middle of all files, so that tiles worked out apart
//          fit together; geographic WGS 84 for places
// Reads    whatever GDAL reads as a raster of heights: GeoTIFF, HGT tiles, ASCII grids, virtual
//          rasters, in any system PROJ knows; several files are joined, later ones on top
// Writes   cloud-optimised GeoTIFFs with overviews, units and no-data; a virtual raster over tiles;
//          a GeoPackage of candidates. Each under its name only when whole
// Errors:  a file that is no raster, has no system, or lies apart from the others; a full disk
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "horizon/terrain/valley_sun.h"

namespace survey {

struct ValleyWindow {  // cells of the whole valley's grid
  int column = 0, row = 0, columns = 0, rows = 0;
};

// The valley that the files cover, not yet read.
class ValleyGrid {
 public:
  // cell_m: 0 takes the finest file's own. Fails over 4e9 cells.
  static horizon::Result<ValleyGrid> open(const std::vector<std::string>& paths, double cell_m);

  int columns() const { return columns_; }
  int rows() const { return rows_; }
  double cell_m() const { return cell_m_; }
  const std::string& system() const { return system_; }  // a PROJ string
  // Heights of a window that may reach beyond the valley; what is not known is NaN.
  horizon::Result<horizon::MetricGrid> read(const ValleyWindow& window) const;
  horizon::GridSpot spot(double column, double row) const;  // of a cell's middle
  std::pair<double, double> cell_of(const horizon::Place& place) const;
  double west_m() const { return west_m_; }  // of the first cell's edge
  double north_m() const { return north_m_; }

 private:
  struct Source;
  std::shared_ptr<Source> source_;
  int columns_ = 0, rows_ = 0;
  double cell_m_ = 30, west_m_ = 0, north_m_ = 0;
  std::string system_;
};

// Tile `index` of `count` (from 1), near squares, row by row; all of it for 1 of 1.
ValleyWindow tile_of(const ValleyGrid& valley, int index, int count);

struct Layer {
  std::string name, unit, words;  // file name part, unit as written into the file, description
  std::vector<float> values;      // of a window, row by row; NaN = not known
  // Given: values are indices into it, written as bytes with this colour table; 0 = not known.
  std::vector<std::array<std::uint8_t, 3>> colours;
  bool overviews = true;  // smaller copies of it in the same file
};
horizon::Result<void> write_layer(const ValleyGrid& valley, const ValleyWindow& window,
                                  const Layer& layer, const std::string& path);
// A virtual raster over the tiles of one layer.
horizon::Result<void> join_layers(const std::vector<std::string>& tiles, const std::string& path);
// Values of a layer's file over the whole valley.
horizon::Result<std::vector<float>> read_layer(const ValleyGrid& valley, const std::string& path);

struct Terrace {
  int id = 0;            // 1 is the best
  horizon::Place place;  // its sunniest cell
  int column = 0, row = 0;
  double area_m2 = 0, winter_h = 0, shortest_day_h = 0, gain_kwh_m2 = 0, slope_deg = 0;
  double days_without = 0, best_facing_deg = 180;
  std::optional<double> access_m;  // to the nearest line of the lines layer
  double grid_ends_m = 0;          // to the nearest edge of the grids, east, west or where noon is
  double score = 0;
};

struct TerraceRule {  // what counts as a candidate, and what it is worth
  double most_slope_deg = 15, least_winter_h = 2, least_area_m2 = 600;
  double per_hour = 1, per_kwh = 1, per_slope_deg = -0.05, per_access_km = -0.5;
  int most = 100;
};
struct Terraces {
  std::vector<Terrace> best_first;
  std::vector<int> of_cell;  // id or 0
};
// Cells side by side (edges or corners) that are flat and sunny enough, ranked by the rule.
Terraces terraces_of(
    const ValleyGrid& valley, const horizon::ValleySun& sun, const TerraceRule& rule,
    const std::function<std::optional<double>(double column, double row)>& access_m);
// Distance in metres from a cell to the nearest line of a file of lines that GDAL reads.
horizon::Result<std::function<std::optional<double>(double column, double row)>> access_lines(
    const ValleyGrid& valley, const std::string& path);
// Polygons with the figures and the rule's weights, in WGS 84.
horizon::Result<void> write_terraces(const ValleyGrid& valley, const Terraces& terraces,
                                     const TerraceRule& rule, const std::string& path);

}  // namespace survey
