// Reliefs in metres for the tests of the valley's sun, and their like as grids for the exact ray.
#pragma once

#include <cmath>
#include <optional>
#include <random>

#include "horizon/terrain/horizon_sweep.h"
#include "tests/horizon/terrain/jacksboro.h"

// About the equator degrees are metres to 1e-5 over 30 km, so the exact ray sees the same plane.
inline constexpr double kMetresOfLatitude = 110574.3, kMetresOfLongitude = 111319.5;

inline horizon::Place cell_place(const horizon::MetricGrid& grid, double column, double row) {
  return {(grid.rows / 2.0 - row) * grid.row_m / kMetresOfLatitude,
          (column - grid.columns / 2.0) * grid.column_m / kMetresOfLongitude, 0};
}

inline horizon::TerrainGrid as_terrain(const horizon::MetricGrid& grid) {
  const horizon::Place first = cell_place(grid, 0, 0);
  auto terrain = horizon::geographic_grid(
      grid.columns, grid.rows, grid.heights_m, first.latitude_deg, first.longitude_deg,
      grid.row_m / kMetresOfLatitude, grid.column_m / kMetresOfLongitude);
  return terrain;
}

// The real heights of the Jacksboro grid, their cells taken as rectangles.
inline std::optional<horizon::MetricGrid> jacksboro_metric() {
  const auto real = jacksboro();
  if (!real) return std::nullopt;
  horizon::MetricGrid grid;
  grid.columns = real->columns;
  grid.rows = real->rows;
  grid.row_m = 92.5;
  grid.column_m = 74.3;
  grid.heights_m = real->heights_m;
  return grid;
}

// Sums of smooth noise, each octave half as wide and `falling` times as high.
inline horizon::MetricGrid rough_relief(int side, double falling) {
  horizon::MetricGrid grid;
  grid.columns = grid.rows = side;
  grid.column_m = grid.row_m = 30;
  grid.heights_m.assign(static_cast<size_t>(side) * static_cast<size_t>(side), 1500);
  std::mt19937 random(3);
  double height = 700;
  for (int width = 128; width >= 2; width /= 2, height *= falling) {
    const int nodes = side / width + 2;
    std::vector<double> at(static_cast<size_t>(nodes) * static_cast<size_t>(nodes));
    for (double& v : at) v = height * (random() / 2147483648.0 - 1);
    for (int r = 0; r < side; ++r)
      for (int c = 0; c < side; ++c) {
        const auto node = [&](int i, int j) {
          return at[static_cast<size_t>(r / width + i) * static_cast<size_t>(nodes) +
                    static_cast<size_t>(c / width + j)];
        };
        double v = r % width / double(width), u = c % width / double(width);
        u = u * u * (3 - 2 * u);
        v = v * v * (3 - 2 * v);
        grid.heights_m[grid.index(c, r)] +=
            static_cast<float>((1 - v) * ((1 - u) * node(0, 0) + u * node(0, 1)) +
                               v * ((1 - u) * node(1, 0) + u * node(1, 1)));
      }
  }
  return grid;
}
