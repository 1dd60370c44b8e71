// tests/horizon/light/fresh_reliefs.h: reliefs made after the ranges were settled, by other laws than
// those of reliefs.h: land as a surface with its horizon worked out by rays from low places, lines of
// two spectra, clumps of trees, notches; low places of the Jacksboro grid; and any file of horizons.
#pragma once

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "tests/horizon/light/reliefs.h"
#include "tests/horizon/terrain/jacksboro.h"

namespace reliefs {

inline const std::vector<std::string> kFreshFamilies = {
    "ridged land", "soft land", "trough land",    "two spectra",
    "clumps",      "notches",   "Jacksboro spots"};

// A surface of 15 km, every octave half as wide as the one before; folded = with crests.
class Land {
 public:
  Land(Gauss& gauss, bool folded, bool trough) {
    const double falling = 0.45 + 0.12 * gauss.even(), high_m = 700 + 900 * gauss.even();
    heights_m_.assign(kSide * kSide, 0);
    double height = high_m;
    for (int width = 64; width >= 1; width /= 2, height *= falling) {
      const int nodes = kSide / width + 2;
      std::vector<double> at(static_cast<size_t>(nodes * nodes));
      for (double& v : at) v = gauss.next();
      for (int r = 0; r < kSide; ++r)
        for (int c = 0; c < kSide; ++c) {
          const auto node = [&](int i, int j) {
            return at[static_cast<size_t>((r / width + i) * nodes + c / width + j)];
          };
          double v = r % width / double(width), u = c % width / double(width);
          v = v * v * (3 - 2 * v), u = u * u * (3 - 2 * u);
          double n = (1 - v) * ((1 - u) * node(0, 0) + u * node(0, 1)) +
                     v * ((1 - u) * node(1, 0) + u * node(1, 1));
          if (folded) n = 0.8 - 1.4 * std::abs(n);
          heights_m_[r * kSide + c] += height * n;
        }
    }
    if (!trough) return;
    const double axis = std::numbers::pi * gauss.even(), bend = 0.00008 * gauss.next(),
                 floor_m = 200 + 500 * gauss.even(), rise = 0.3 + 0.5 * gauss.even();
    for (int r = 0; r < kSide; ++r)
      for (int c = 0; c < kSide; ++c) {
        const double x = (c - kSide / 2) * kCell_m, y = (r - kSide / 2) * kCell_m;
        const double along = x * std::sin(axis) + y * std::cos(axis);
        const double across = x * std::cos(axis) - y * std::sin(axis) + bend * along * along;
        double& h = heights_m_[r * kSide + c];
        h = 0.5 * h + 900 * std::tanh(std::max(0.0, std::abs(across) - floor_m) * rise / 900);
      }
  }
  Line horizon_from_low(Gauss& gauss) const {
    int column = 0, row = 0, c0 = kSide / 3 + static_cast<int>(gauss.even() * kSide / 3.01),
        r0 = kSide / 3 + static_cast<int>(gauss.even() * kSide / 3.01);
    column = c0, row = r0;
    for (int r = r0 - 15; r <= r0 + 15; ++r)
      for (int c = c0 - 15; c <= c0 + 15; ++c)
        if (heights_m_[r * kSide + c] < heights_m_[row * kSide + column]) column = c, row = r;
    const double eye = heights_m_[row * kSide + column] + 1.6;
    Line line(kSteps);  // of tangents
    double mean = 0;
    for (int i = 0; i < kSteps; ++i) {
      const double az = 2 * std::numbers::pi * i / kSteps;
      double top = 0;
      for (double d = 100; d < 9000; d += d < 2000 ? kCell_m / 2 : kCell_m) {
        const double x = column + d * std::sin(az) / kCell_m, y = row - d * std::cos(az) / kCell_m;
        if (x < 0 || y < 0 || x >= kSide - 1 || y >= kSide - 1) break;
        top = std::max(top, (at(x, y) - eye) / d);
      }
      line[i] = top;
      mean += top / kSteps;
    }
    // Heights are stretched until the horizon stands 5 to 24 degrees high in the mean.
    const double stretch = std::tan((5 + 19 * gauss.even()) * horizon::kDegree) / mean;
    for (double& v : line) v = std::atan(stretch * v) / horizon::kDegree;
    return line;
  }

 private:
  static constexpr int kSide = 256;
  static constexpr double kCell_m = 60;
  double at(double x, double y) const {
    const int c = static_cast<int>(x), r = static_cast<int>(y);
    const double u = x - c, v = y - r;
    const double* h = &heights_m_[static_cast<size_t>(r * kSide + c)];
    return (1 - v) * ((1 - u) * h[0] + u * h[1]) + v * ((1 - u) * h[kSide] + u * h[kSide + 1]);
  }
  std::vector<double> heights_m_;
};

inline std::optional<Line> jacksboro_spot(Gauss& gauss) {
  static const auto grid = jacksboro();
  if (!grid) return std::nullopt;
  const int c0 = grid->columns / 5 + static_cast<int>(gauss.even() * grid->columns * 0.599);
  const int r0 = grid->rows / 5 + static_cast<int>(gauss.even() * grid->rows * 0.599);
  int c = c0, r = r0;
  for (int j = r0 - 11; j <= r0 + 11; ++j)
    for (int i = c0 - 11; i <= c0 + 11; ++i)
      if (grid->at(i, j) < grid->at(c, r)) c = i, r = j;
  horizon::TerrainOptions options;
  options.azimuth_step_deg = 360.0 / kSteps;
  options.reach_m = 20000;
  options.sigmas = false;
  const auto seen = horizon::terrain_skyline(*grid,
                                             {kJacksboroNorth_deg - r * kJacksboroStep_deg,
                                              kJacksboroWest_deg + c * kJacksboroStep_deg, 0},
                                             1.6, options);
  if (!seen) return std::nullopt;
  Line line;
  for (int i = 0; i < kSteps; ++i)
    line.push_back(std::max(0.0, seen->points[i].elevation.degrees()));
  return line;
}

// Empty where the relief's grid is not installed.
inline Line fresh_relief(const std::string& family, Gauss& gauss,
                         const std::vector<std::pair<std::string, Line>>& files = {}) {
  const double mean = 6 + 14 * gauss.even(), sigma = 2 + 4 * gauss.even();
  Line line;
  if (family.ends_with("land"))
    return Land(gauss, family == "ridged land", family == "trough land").horizon_from_low(gauss);
  if (family == "Jacksboro spots") return jacksboro_spot(gauss).value_or(Line{});
  if (family == "two spectra") {  // smooth hills, and from some width on rough
    const Line smooth = fractal(gauss, 1.2);
    const double from = 12 + 40 * gauss.even(), share = 0.15 + 0.35 * gauss.even();
    Line rough(kSteps);
    for (int k = static_cast<int>(from); k <= 360; ++k) {
      const double a = std::pow(k / from, -0.8), c = a * gauss.next(), s = a * gauss.next();
      for (int i = 0; i < kSteps; ++i) {
        const double x = 2 * std::numbers::pi * k * i / kSteps;
        rough[i] += c * std::cos(x) + s * std::sin(x);
      }
    }
    line = smooth;
    scale(line, 100, 1);
    scale(rough, 100, share);
    for (int i = 0; i < kSteps; ++i) line[i] += rough[i] - 200;
  } else if (family == "clumps") {  // woods on the crest, some degrees wide, with gaps
    line = fractal(gauss, 0.9);
    scale(line, 100, 1);
    bool wood = false;
    double left = 0, high = 0;
    for (int i = 0; i < kSteps; ++i, left -= 360.0 / kSteps) {
      if (left <= 0) wood = !wood, left = 2 + 14 * gauss.even(), high = 0.1 + 0.4 * gauss.even();
      line[i] += (wood ? high * (0.85 + 0.15 * gauss.next()) : 0) - 100;
    }
  } else if (family == "notches") {  // an even wall, cut by side valleys
    line = fractal(gauss, 0.7);
    scale(line, 100, 0.25);
    const int n = 2 + static_cast<int>(5 * gauss.even());
    for (int k = 0; k < n; ++k) {
      const double at = 360 * gauss.even(), half = 4 + 14 * gauss.even(), deep = 1.5 + gauss.next();
      for (int i = 0; i < kSteps; ++i) {
        const double off = std::abs(horizon::wrap_180(i * 360.0 / kSteps - at));
        if (off < half) line[i] -= std::abs(deep) * (1 - off / half);
      }
    }
  } else {
    std::vector<const Line*> fitting;
    for (const auto& [of, values] : files)
      if (of == family) fitting.push_back(&values);
    if (fitting.empty()) return {};
    // No two of a grid's places are turned or mirrored alike.
    const Line& one = *fitting[static_cast<size_t>(gauss.even() * fitting.size() * 0.999999)];
    const int turn = static_cast<int>(gauss.even() * kSteps);
    line.resize(kSteps);
    for (int i = 0; i < kSteps; ++i) line[i] = one[(i + turn) % kSteps];
    return line;
  }
  scale(line, mean, sigma);
  return line;
}

}  // namespace reliefs
