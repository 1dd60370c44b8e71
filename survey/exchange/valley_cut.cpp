#include "survey/exchange/valley_cut.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <limits>

#include "survey/exchange/terrain_file.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::fail;
using horizon::MetricGrid;
using horizon::Result;

constexpr float kNone = std::numeric_limits<float>::quiet_NaN();
constexpr double kEye_m = 1.6;
constexpr std::array kCoarser = {1, 2, 3, 4, 6, 8, 12, 16};

ValleyWindow around(const ValleyGrid& valley, const std::vector<horizon::Place>& places,
                    double reach_m) {
  double left = 1e9, right = -1e9, top = 1e9, bottom = -1e9;
  for (const horizon::Place& place : places) {
    const auto [c, r] = valley.cell_of(place);
    left = std::min(left, c), right = std::max(right, c);
    top = std::min(top, r), bottom = std::max(bottom, r);
  }
  const double reach = reach_m / valley.cell_m();
  const auto within = [](double cell, int count) {
    return static_cast<int>(std::clamp(std::round(cell), 0.0, double(count)));
  };
  const int c = within(left - reach, valley.columns()), r = within(top - reach, valley.rows());
  return {c, r, within(right + reach + 1, valley.columns()) - c,
          within(bottom + reach + 1, valley.rows()) - r};
}

// Keeps the heights within `reach_m` of a place, or takes just those out.
void stencil(MetricGrid& heights, const ValleyGrid& valley, const ValleyWindow& window,
             const std::vector<horizon::Place>& places, double reach_m, bool keep) {
  std::vector<std::pair<double, double>> middles;
  for (const horizon::Place& place : places) {
    const auto [c, r] = valley.cell_of(place);
    middles.emplace_back(c - window.column, r - window.row);
  }
  const double reach = reach_m / valley.cell_m();
  for (int r = 0; r < heights.rows; ++r)
    for (int c = 0; c < heights.columns; ++c) {
      const bool near = std::any_of(middles.begin(), middles.end(), [&](const auto& m) {
        return std::max(std::abs(m.first - c), std::abs(m.second - r)) <= reach;
      });
      if (near != keep) heights.heights_m[heights.index(c, r)] = kNone;
    }
}

Result<void> write_heights(const ValleyGrid& valley, const ValleyWindow& window, MetricGrid heights,
                           float per_m, const std::string& path) {
  for (float& h : heights.heights_m) h = std::round(h * per_m) / per_m;
  return write_layer(
      valley, window,
      {"heights", "m", "height of the ground", std::move(heights.heights_m), {}, false}, path);
}

Result<void> compare(const std::vector<horizon::Place>& places,
                     const std::vector<horizon::TerrainSkyline>& lines, double reach_m,
                     const std::vector<std::string>& paths, ValleyCut& cut) {
  std::vector<horizon::TerrainGrid> tiles;
  for (const std::string& path : paths) {
    auto grid = read_terrain(path);
    if (!grid) return tl::unexpected(grid.error());
    tiles.push_back(std::move(*grid));
  }
  horizon::TerrainOptions options;
  options.from_m = 1;
  options.sigmas = false;
  options.reach_m = reach_m;
  options.azimuth_step_deg = 1;
  std::vector<double> errors;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const auto line = horizon::terrain_skyline(tiles, places[i], kEye_m, options);
    if (!line) return tl::unexpected(line.error());
    for (const auto& p : line->points)
      errors.push_back(
          std::abs(p.elevation.degrees() - lines[i].elevation_deg(p.azimuth.degrees())));
  }
  if (errors.empty()) return {};
  std::sort(errors.begin(), errors.end());
  cut.typical_error_deg = errors[errors.size() / 2];
  cut.largest_error_deg = errors.back();
  return {};
}

}  // namespace

Result<horizon::TerrainSkyline> land_skyline(const ValleyGrid& valley, const horizon::Place& place,
                                             double reach_m) {
  const int halo = static_cast<int>(std::ceil(reach_m / valley.cell_m()));
  const auto [column, row] = valley.cell_of(place);
  const ValleyWindow round{static_cast<int>(std::lround(column)) - halo,
                           static_cast<int>(std::lround(row)) - halo, 2 * halo + 1, 2 * halo + 1};
  auto heights = valley.read(round);
  if (!heights) return tl::unexpected(heights.error());
  horizon::TerrainGrid grid;
  grid.columns = round.columns;
  grid.rows = round.rows;
  grid.cell_m = valley.cell_m();
  grid.heights_m = std::move(heights->heights_m);
  grid.cell_of = [&](double latitude_deg, double longitude_deg) {
    const auto [c, r] = valley.cell_of({latitude_deg, longitude_deg, 0});
    return std::pair(c - round.column, r - round.row);
  };
  horizon::TerrainOptions options;
  options.from_m = 1;
  options.sigmas = false;
  options.reach_m = reach_m;
  options.azimuth_step_deg = 0.25;
  return horizon::terrain_skyline(grid, place, kEye_m, options);
}

Result<ValleyCut> write_cut(const ValleyGrid& valley, const std::vector<horizon::Place>& places,
                            const std::vector<horizon::TerrainSkyline>& lines, const CutWish& wish,
                            const std::string& near_path, const std::string& far_path) {
  namespace fs = std::filesystem;
  const ValleyWindow near = around(valley, places, wish.near_m);
  auto close = valley.read(near);
  if (!close) return tl::unexpected(close.error());
  stencil(*close, valley, near, places, wish.near_m, true);
  if (auto done = write_heights(valley, near, std::move(*close), 8, near_path); !done)
    return tl::unexpected(done.error());
  ValleyCut cut;
  for (const int coarser : kCoarser) {
    auto far_grid = ValleyGrid::open(wish.grids, valley.cell_m() * coarser);
    if (!far_grid) return tl::unexpected(far_grid.error());
    const ValleyWindow far = around(*far_grid, places, wish.reach_m);
    auto heights = far_grid->read(far);
    if (!heights) return tl::unexpected(heights.error());
    // Two cells over the near one's edge, so that no ray falls between them.
    stencil(*heights, *far_grid, far, places, wish.near_m - 2 * far_grid->cell_m(), false);
    if (std::ranges::all_of(heights->heights_m, [](float h) { return std::isnan(h); })) {
      fs::remove(far_path);
      cut.far_cell_m = 0;
      cut.bytes = fs::file_size(near_path);
      break;
    }
    if (auto done = write_heights(*far_grid, far, std::move(*heights), 1, far_path); !done)
      return tl::unexpected(done.error());
    cut.far_cell_m = far_grid->cell_m();
    cut.bytes = fs::file_size(near_path) + fs::file_size(far_path);
    if (cut.bytes <= wish.most_bytes) break;
  }
  std::vector<std::string> paths = {near_path};
  if (cut.far_cell_m > 0) paths.push_back(far_path);
  if (auto done = compare(places, lines, wish.reach_m, paths, cut); !done)
    return tl::unexpected(done.error());
  return cut;
}

}  // namespace survey
