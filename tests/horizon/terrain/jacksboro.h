// tests/horizon/terrain/jacksboro.h: real relief for the terrain tests, where it is installed.
#pragma once

#include <cstdint>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <optional>
#include <string>
#include <vector>

#include "horizon/terrain/terrain.h"
#include "tests/shell.h"

// The middle of the cell in its north-west corner.
inline constexpr double kJacksboroStep_deg = 1.0 / 1200;
inline constexpr double kJacksboroNorth_deg = 36.732916666666667 - kJacksboroStep_deg / 2;
inline constexpr double kJacksboroWest_deg = -84.41375 + kJacksboroStep_deg / 2;

// The grid of Debian's python-matplotlib-data: 344 x 403 heights of 3 arc seconds, an .npy file
// inside a zip. unzip writes it out; the array begins after a header whose length stands in it.
inline std::optional<horizon::TerrainGrid> jacksboro() {
  const char* file = "/usr/share/matplotlib/mpl-data/sample_data/jacksboro_fault_dem.npz";
  if (!std::ifstream(file)) return std::nullopt;
  const std::string bytes = shell(std::string("unzip -p ") + file + " elevation.npy").words;
  constexpr int kRows = 344, kColumns = 403;
  const size_t body = static_cast<size_t>(kRows) * kColumns * 2;
  if (bytes.size() < body) return std::nullopt;
  std::vector<float> heights;
  for (size_t i = bytes.size() - body; i < bytes.size(); i += 2) {
    std::int16_t h;
    std::memcpy(&h, &bytes[i], 2);
    heights.push_back(h);
  }
  return horizon::geographic_grid(kColumns, kRows, std::move(heights), kJacksboroNorth_deg,
                                  kJacksboroWest_deg, kJacksboroStep_deg, kJacksboroStep_deg);
}

// As an ASCII grid of longitude and latitude.
inline void write_ascii_grid(const std::string& path, const horizon::TerrainGrid& grid) {
  std::ofstream out(path);
  out.precision(12);
  out << "ncols " << grid.columns << "\nnrows " << grid.rows << "\nxllcenter " << kJacksboroWest_deg
      << "\nyllcenter " << kJacksboroNorth_deg - (grid.rows - 1) * kJacksboroStep_deg
      << "\ncellsize " << kJacksboroStep_deg << '\n';
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) out << grid.at(column, row) << ' ';
    out << '\n';
  }
}

inline const horizon::Place kObserver{36.53583, -84.27667, 0};
