// tests/horizon/light/reliefs.h: made and real skylines that the ranges know nothing of, and
// surveyors who sight a part of them.
// The made ones have other laws than horizon/skyline/plausible.h: power-law spectra with other
// exponents and without a width, folded ridges, straight faces, steps, two-walled valleys.
#pragma once

#include <algorithm>
#include <cmath>
#include <fstream>
#include <numbers>
#include <sstream>
#include <string>
#include <vector>

#include "horizon/skyline/plausible.h"
#include "horizon/skyline/skyline.h"

namespace reliefs {

using horizon::Gauss;

inline constexpr int kSteps = 1440;  // a quarter of a degree
using Line = std::vector<double>;    // elevations

inline double at(const Line& line, double azimuth_deg) {
  const double x = horizon::wrap_360(azimuth_deg) * kSteps / 360;
  const int i = static_cast<int>(x) % kSteps;
  const double t = x - std::floor(x);
  return (1 - t) * line[i] + t * line[(i + 1) % kSteps];
}

// Amplitudes fall with the wave number to the power -(2 h + 1) / 2.
inline Line fractal(Gauss& gauss, double h) {
  Line line(kSteps);
  for (int k = 1; k <= 360; ++k) {
    const double a = std::pow(k, -(2 * h + 1) / 2), c = a * gauss.next(), s = a * gauss.next();
    for (int i = 0; i < kSteps; ++i) {
      const double x = 2 * std::numbers::pi * k * i / kSteps;
      line[i] += c * std::cos(x) + s * std::sin(x);
    }
  }
  return line;
}

inline void scale(Line& line, double mean_deg, double sigma_deg) {
  double mean = 0, square = 0;
  for (double v : line) mean += v / kSteps;
  for (double v : line) square += (v - mean) * (v - mean) / kSteps;
  const double f = square > 0 ? sigma_deg / std::sqrt(square) : 0;
  for (double& v : line) v = std::max(0.0, mean_deg + (v - mean) * f);
}

// Corners at uneven bearings, levels at random; `steps` stay level from corner to corner.
inline Line corners(Gauss& gauss, double least_deg, double most_deg, bool steps) {
  std::vector<double> at{0}, level{gauss.next()};
  while (at.back() < 360) {
    at.push_back(at.back() + least_deg + (most_deg - least_deg) * gauss.even());
    level.push_back(gauss.next());
  }
  at.back() = 360;
  level.back() = level.front();
  Line line(kSteps);
  size_t k = 0;
  for (int i = 0; i < kSteps; ++i) {
    const double az = i * 360.0 / kSteps;
    while (at[k + 1] <= az) ++k;
    const double t = steps ? 0 : (az - at[k]) / (at[k + 1] - at[k]);
    line[i] = (1 - t) * level[k] + t * level[k + 1];
  }
  return line;
}

inline std::vector<std::pair<std::string, Line>> read_real(const std::string& path) {
  std::vector<std::pair<std::string, Line>> all;
  std::ifstream file(path);
  std::string row;
  std::getline(file, row);
  while (std::getline(file, row)) {
    std::stringstream cells(row);
    std::string name, cell;
    std::getline(cells, name, ',');
    Line half, line;
    while (std::getline(cells, cell, ',')) half.push_back(std::stod(cell) / 100);
    for (size_t i = 0; i < half.size(); ++i) {
      line.push_back(std::max(0.0, half[i]));
      line.push_back(std::max(0.0, (half[i] + half[(i + 1) % half.size()]) / 2));
    }
    all.emplace_back(name, line);
  }
  return all;
}

inline const std::vector<std::string> kFamilies = {
    "fractal 0.3", "fractal 0.5", "fractal 0.7", "fractal 0.9", "ridged", "straight faces",
    "stepped", "two walls", "Sierra", "Jacksboro", "Fuji",
    // Made after the method was settled.
    "wooded", "one peak", "crags"};

inline Line relief(const std::string& family, Gauss& gauss,
                   const std::vector<std::pair<std::string, Line>>& real) {
  const double mean = 8 + 12 * gauss.even(), sigma = 2.5 + 4 * gauss.even();
  Line line;
  if (family.starts_with("fractal")) {
    line = fractal(gauss, std::stod(family.substr(8)));
  } else if (family == "ridged") {
    line = fractal(gauss, 0.8);
    for (double& v : line) v = -std::abs(v);
  } else if (family == "straight faces") {
    line = corners(gauss, 15, 50, false);
  } else if (family == "stepped") {
    line = corners(gauss, 6, 30, true);
  } else if (family == "two walls") {
    line.resize(kSteps);
    const double axis = 360 * gauss.even(), power = 0.7 + 1.5 * gauss.even();
    Line rough = fractal(gauss, 0.6);
    scale(rough, 100, 0.15);
    for (int i = 0; i < kSteps; ++i)
      line[i] = rough[i] - 100 +
                std::pow(std::abs(std::sin((i * 360.0 / kSteps - axis) * horizon::kDegree)), power);
  } else if (family == "wooded") {  // crowns on an even ridge
    line = fractal(gauss, 0.85);
    scale(line, 100, 1);
    Line crowns(kSteps);
    for (int i = 0; i < kSteps; ++i) crowns[i] = 0.12 * std::abs(gauss.next());
    for (int i = 0; i < kSteps; ++i) line[i] += crowns[i] + crowns[(i + 1) % kSteps] - 100;
  } else if (family == "one peak") {
    line = fractal(gauss, 0.6);
    scale(line, 100, 0.3);
    const double at = 360 * gauss.even(), half = 15 + 45 * gauss.even();
    for (int i = 0; i < kSteps; ++i)
      line[i] += -100 + 4 * std::exp(-std::abs(horizon::wrap_180(i * 360.0 / kSteps - at)) / half);
  } else if (family == "crags") {  // narrow towers and notches on an even ridge
    line = fractal(gauss, 0.8);
    scale(line, 100, 1);
    for (int k = 0; k < 40; ++k) {
      const double at = 360 * gauss.even(), half = 0.5 + 3 * gauss.even();
      const double high = 1.2 * gauss.next();
      for (int i = 0; i < kSteps; ++i) {
        const double off = std::abs(horizon::wrap_180(i * 360.0 / kSteps - at));
        if (off < half) line[i] += high * (1 - off / half);
      }
    }
    for (double& v : line) v -= 100;
  } else {
    std::vector<const Line*> fitting;
    std::string name = family;
    for (char& c : name) c = static_cast<char>(std::tolower(c));
    for (const auto& [of, values] : real)
      if (of == name) fitting.push_back(&values);
    const Line& one = *fitting[static_cast<size_t>(gauss.even() * fitting.size() * 0.999999)];
    // Turned by any angle and mirrored at will: the sun knows no other valley.
    const int turn = static_cast<int>(gauss.even() * kSteps);
    const bool mirrored = gauss.even() < 0.5;
    line.resize(kSteps);
    for (int i = 0; i < kSteps; ++i) line[i] = one[((mirrored ? kSteps - i : i) + turn) % kSteps];
    return line;
  }
  scale(line, mean, sigma);
  return line;
}

struct Survey {
  double share = 1;        // of the horizon, in one or two arcs, the first about the noon sun
  double spacing_deg = 7;  // of the marks
  int marks = 0;           // or so many in all, however wide that makes the spacing
  double azimuth_sigma_deg = 1.0, elevation_sigma_deg = 0.5;  // of one aim
  double heading_sigma_deg = 1.0;  // compass and clock: one error shared by all
  double noon_deg = 180;           // where the sun stands then
};

inline horizon::Skyline sighted(const Line& truth, const Survey& survey, Gauss& gauss) {
  horizon::Skyline skyline;
  skyline.obstacles.push_back({horizon::Kind::ridge, "ridge"});
  skyline.heading_sigma_deg = survey.heading_sigma_deg;
  const double heading = survey.heading_sigma_deg * gauss.next();
  const double width = 360 * survey.share;
  const double spacing = survey.marks ? width / survey.marks : survey.spacing_deg;
  struct Arc {
    double from, width;
  };
  std::vector<Arc> arcs;
  const double middle = survey.noon_deg + 45 * gauss.next();
  if (survey.share < 0.99 && gauss.even() < 0.5) {
    const double first = width * (0.4 + 0.3 * gauss.even()), rest = 360 - width;
    const double from = middle - first / 2;
    arcs = {{from, first}, {from + first + rest * (0.3 + 0.4 * gauss.even()), width - first}};
  } else {
    arcs = {{middle - width / 2, width}};
  }
  for (const Arc& arc : arcs) {
    const int n = std::max(
        2, static_cast<int>(std::lround(arc.width / spacing)) + (survey.share < 0.99 ? 1 : 0));
    for (int i = 0; i < n; ++i) {
      const double step = survey.share < 0.99 ? arc.width / (n - 1) : arc.width / n;
      const double az = arc.from + i * step + step * 0.5 * (gauss.even() - 0.5);
      horizon::SkylinePoint p;
      p.azimuth =
          horizon::TrueAzimuth::degrees(az + heading + survey.azimuth_sigma_deg * gauss.next());
      p.elevation =
          horizon::Elevation::degrees(at(truth, az) + survey.elevation_sigma_deg * gauss.next());
      p.azimuth_sigma_deg = survey.azimuth_sigma_deg;
      p.elevation_sigma_deg = survey.elevation_sigma_deg;
      skyline.points.push_back(p);
    }
  }
  return skyline;
}

// The truth as marks so close that nothing is left between them.
inline horizon::Skyline as_skyline(const Line& line) {
  horizon::Skyline skyline;
  skyline.obstacles.push_back({horizon::Kind::ridge, "ridge"});
  for (int i = 0; i < kSteps; ++i) {
    horizon::SkylinePoint p;
    p.azimuth = horizon::TrueAzimuth::degrees(i * 360.0 / kSteps);
    p.elevation = horizon::Elevation::degrees(line[i]);
    p.azimuth_sigma_deg = p.elevation_sigma_deg = 0;
    skyline.points.push_back(p);
  }
  return skyline;
}

}  // namespace reliefs
