// tests/film/scene.h: a made world seen from one spot: land from heights, trees, snow, haze, clouds and
// a sun, as a picture all round with its distances, and the true skyline.
// Units: degrees, metres; azimuths clockwise from north; x east, y north
// Shares no code with the search for the line (horizon/photo); nothing in it was fitted to it.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <functional>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "tests/horizon/terrain/jacksboro.h"

namespace film {

inline constexpr double kDeg = 3.14159265358979323846 / 180;

struct Colour {
  float r = 0, g = 0, b = 0;
};
inline Colour mix(Colour a, Colour b, double part) {
  const float p = static_cast<float>(std::clamp(part, 0.0, 1.0));
  return {a.r + (b.r - a.r) * p, a.g + (b.g - a.g) * p, a.b + (b.b - a.b) * p};
}

inline double hashed(int x, int y, unsigned seed) {
  unsigned h = seed * 374761393U + static_cast<unsigned>(x) * 668265263U +
               static_cast<unsigned>(y) * 2246822519U;
  h = (h ^ (h >> 13)) * 1274126177U;
  return ((h ^ (h >> 16)) & 0xffffff) / double(0x1000000);
}
inline double noise(double x, double y, unsigned seed) {
  const double fx = std::floor(x), fy = std::floor(y);
  const int ix = static_cast<int>(fx), iy = static_cast<int>(fy);
  double u = x - fx, v = y - fy;
  u = u * u * (3 - 2 * u);
  v = v * v * (3 - 2 * v);
  return (1 - v) * ((1 - u) * hashed(ix, iy, seed) + u * hashed(ix + 1, iy, seed)) +
         v * ((1 - u) * hashed(ix, iy + 1, seed) + u * hashed(ix + 1, iy + 1, seed));
}
inline double rough_noise(double x, double y, unsigned seed, int octaves, double falling) {
  double sum = 0, high = 1, all = 0;
  for (int i = 0; i < octaves; ++i, x *= 2, y *= 2, high *= falling) {
    sum += high * noise(x, y, seed + static_cast<unsigned>(i));
    all += high;
  }
  return sum / all;
}

using Heights = std::function<double(double, double)>;

// Two walls, side valleys and crags; no law in it is the program's own.
inline Heights made_valley(unsigned seed) {
  const double axis = 360 * hashed(1, 1, seed) * kDeg, wide = 500 + 500 * hashed(2, 1, seed);
  const double high = 900 + 900 * hashed(3, 1, seed), crag = 0.45 + 0.12 * hashed(4, 1, seed);
  return [=](double x, double y) {
    const double across = x * std::cos(axis) - y * std::sin(axis);
    const double wall = std::max(0.0, std::abs(across) - wide * 0.3) / (wide * 3);
    const double rise = 1 - std::exp(-wall * wall * 2 - wall * 0.7);
    const double relief = rough_noise(x / 2200 + 50, y / 2200 + 50, seed, 7, crag);
    return 1400 + high * rise * (0.45 + 1.1 * relief) + 8 * noise(x / 60, y / 60, seed + 90);
  };
}
// The real heights of the Jacksboro grid about a spot of it.
inline std::optional<Heights> real_heights(double column, double row, double steeper) {
  const auto grid = jacksboro();
  if (!grid) return std::nullopt;
  return [grid = *grid, column, row, steeper](double x, double y) {
    const double c = std::clamp(column + x / 74.3, 0.0, grid.columns - 1.001),
                 r = std::clamp(row - y / 92.5, 0.0, grid.rows - 1.001);
    const int ic = static_cast<int>(c), ir = static_cast<int>(r);
    const double u = c - ic, v = r - ir;
    return steeper * ((1 - v) * ((1 - u) * grid.at(ic, ir) + u * grid.at(ic + 1, ir)) +
                      v * ((1 - u) * grid.at(ic, ir + 1) + u * grid.at(ic + 1, ir + 1)));
  };
}

struct Look {  // how the world looks
  unsigned seed = 1;
  double haze_m = 30000;      // after which 63 % of the land is air
  double snow_from_m = 1900;  // heights above it are white
  double clouds = 0.3;        // 0 to 1
  double trees = 0.15;        // share of the round behind rows of trees
  double tree_m = 60;         // how far off they stand
  double light = 1;           // 0 night
  bool fog = false;
  std::optional<std::array<double, 2>> sun;  // azimuth and elevation
};

struct Scene {
  static constexpr double kStep = 0.08, kLowest = -35, kHighest = 60;
  static constexpr int kWide = 4500, kHigh = static_cast<int>((kHighest - kLowest) / kStep);
  Look look;
  std::vector<std::array<std::uint8_t, 3>> land;  // far land and sky, row after row from the top
  std::vector<float> metres;                      // 1e9 is sky
  std::vector<float> ridge, tree_from, tree_to;   // elevations of each column; trees or none
  Scene(const Heights& heights, const Look& its_look) : look(its_look) { build(heights); }

  double ridge_deg(double azimuth) const { return along(ridge, azimuth); }
  bool tree_at(double azimuth) const { return tree_to[column(azimuth)] > -90; }
  // Where sky begins, from the station.
  double skyline_deg(double azimuth) const {
    return std::max(ridge_deg(azimuth), static_cast<double>(tree_to[column(azimuth)]));
  }
  // Seen along a direction from a spot `east`, `north` metres off the station.
  Colour seen(double azimuth, double elevation, double east, double north) const {
    const double a = azimuth * kDeg;
    const double aside = east * std::cos(a) - north * std::sin(a);
    const double tree_azimuth = azimuth + aside / look.tree_m / kDeg;
    const int c = column(tree_azimuth);
    if (elevation < tree_to[c] && elevation > tree_from[c] - 40) {
      const double grain = noise(tree_azimuth * 6, elevation * 6, look.seed + 7);
      const Colour needles = mix({18, 34, 24}, {52, 74, 50}, grain);
      return mix({0, 0, 0}, hazed(needles, look.tree_m), look.light);
    }
    const int x = column(azimuth), y = row(elevation);
    const float far = metres[static_cast<std::size_t>(y) * kWide + x];
    const int moved = far < 1e8F ? column(azimuth + aside / far / kDeg) : x;
    const auto& p = land[static_cast<std::size_t>(y) * kWide + moved];
    return {static_cast<float>(p[0]), static_cast<float>(p[1]), static_cast<float>(p[2])};
  }

 private:
  static int column(double azimuth) {
    const double turned = std::fmod(azimuth, 360.0);
    return static_cast<int>((turned < 0 ? turned + 360 : turned) / kStep) % kWide;
  }
  static int row(double elevation) {
    return std::clamp(static_cast<int>((kHighest - elevation) / kStep), 0, kHigh - 1);
  }
  double along(const std::vector<float>& of, double azimuth) const {
    const double turned = std::fmod(std::fmod(azimuth, 360.0) + 360, 360.0) / kStep - 0.5;
    const int i = static_cast<int>(std::floor(turned));
    const double t = turned - i;
    return (1 - t) * of[static_cast<std::size_t>((i + kWide) % kWide)] +
           t * of[static_cast<std::size_t>((i + 1) % kWide)];
  }
  Colour air() const { return look.fog ? Colour{200, 203, 206} : Colour{176, 196, 214}; }
  Colour hazed(Colour c, double metres_off) const {
    return mix(c, air(), 1 - std::exp(-metres_off / look.haze_m));
  }
  Colour sky(double azimuth, double elevation) const {
    Colour c = mix(air(), {92, 142, 200}, elevation / 50);
    const double x = std::cos(azimuth * kDeg), y = std::sin(azimuth * kDeg);
    const double high = std::max(3.0, elevation);
    const double cloud = rough_noise(x * 60 / high + 9, y * 60 / high + 9, look.seed + 30, 5, 0.55);
    c = mix(c, {236, 238, 242}, std::clamp((cloud - 0.75 + 0.5 * look.clouds) * 5, 0.0, 0.9));
    if (look.sun) {
      const double dx =
                       std::remainder(azimuth - (*look.sun)[0], 360.0) * std::cos(elevation * kDeg),
                   dy = elevation - (*look.sun)[1], off = std::hypot(dx, dy);
      c = mix(c, {255, 252, 240}, 1.1 * std::exp(-off / 5));
      if (off < 1.6) c = {255, 255, 255};
    }
    return mix({6, 7, 10}, c, look.light);
  }
  Colour ground(const Heights& heights, double x, double y, double z, double off) const {
    const double step = std::max(10.0, off * 0.004);
    const double east = (heights(x + step, y) - z) / step,
                 north = (heights(x, y + step) - z) / step;
    const double lit =
        std::clamp((0.6 * -east + 0.45 * -north + 0.7) / std::sqrt(1 + east * east + north * north),
                   0.15, 1.0);
    const double grain = rough_noise(x / 40, y / 40, look.seed + 11, 4, 0.7);
    const double steep = std::hypot(east, north);
    Colour c = mix({48, 62, 40}, {120, 112, 84}, grain * 1.2);             // wood and meadow
    c = mix(c, {112, 110, 108}, std::clamp((steep - 0.7) * 2, 0.0, 1.0));  // rock
    const double snow = (z - look.snow_from_m) / 120 + 2 * (grain - 0.5) - (steep - 0.8);
    c = mix(c, {240, 243, 248}, std::clamp(snow, 0.0, 1.0));
    c = mix({20, 26, 40}, c, 0.35 + 0.65 * lit);
    return mix({4, 5, 7}, hazed(c, off), look.light);
  }
  void build(const Heights& heights);
};

inline void Scene::build(const Heights& heights) {
  land.resize(static_cast<std::size_t>(kWide) * kHigh);
  metres.assign(land.size(), 1e9F);
  ridge.assign(kWide, 0);
  tree_from.assign(kWide, -99);
  tree_to.assign(kWide, -99);
  const double eye = heights(0, 0) + 1.6;
  const auto put = [&](int x, int y, Colour c) {
    land[static_cast<std::size_t>(y) * kWide + x] = {
        static_cast<std::uint8_t>(std::clamp(c.r, 0.F, 255.F)),
        static_cast<std::uint8_t>(std::clamp(c.g, 0.F, 255.F)),
        static_cast<std::uint8_t>(std::clamp(c.b, 0.F, 255.F))};
  };
  for (int i = 0; i < kWide; ++i) {
    const double az = (i + 0.5) * kStep, sx = std::sin(az * kDeg), sy = std::cos(az * kDeg);
    double highest = kLowest;
    for (double d = 8; d < 14000; d *= 1.008) {
      const double z = heights(d * sx, d * sy);
      const double el = std::atan2(z - eye - d * d / 1.46e7, d) / kDeg;
      if (el <= highest) continue;
      const Colour c = ground(heights, d * sx, d * sy, z, d);
      for (int y = row(el); y < (highest <= kLowest ? kHigh : row(highest)); ++y) {
        // What lies between two steps of the ray is as rough as its like.
        const double grain = noise(i * 0.35, y * 0.35, look.seed + 5) - 0.5;
        put(i, y,
            mix(c, grain > 0 ? Colour{255, 255, 255} : Colour{0, 0, 0},
                std::abs(grain) * 0.18 * std::exp(-d / look.haze_m)));
        metres[static_cast<std::size_t>(y) * kWide + i] = static_cast<float>(d);
      }
      highest = el;
    }
    ridge[static_cast<std::size_t>(i)] = static_cast<float>(highest);
    for (int y = 0; y < row(highest); ++y) put(i, y, sky(az, kHighest - (y + 0.5) * kStep));
    if (look.fog)
      for (int y = 0; y < kHigh; ++y) {
        const double off = metres[static_cast<std::size_t>(y) * kWide + i];
        const auto p = land[static_cast<std::size_t>(y) * kWide + i];
        put(i, y, mix({float(p[0]), float(p[1]), float(p[2])}, air(), 1 - std::exp(-off / 40)));
      }
  }
  // Rows of spruces, each tree a cone with a ragged rim.
  std::mt19937 random(look.seed);
  double planted = 0;
  while (planted < look.trees * 360) {
    const double from = random() / 4294967296.0 * 360, wide = 8 + 22 * (random() / 4294967296.0);
    planted += wide;
    for (double at = from; at < from + wide; at += 1.2 + 1.6 * (random() / 4294967296.0)) {
      const double foot = ridge_deg(at) - 6,
                   top = ridge_deg(at) + 1 + 5 * (random() / 4294967296.0),
                   half = 0.10 * (top - foot) + 0.5;
      for (double az = at - half; az < at + half; az += kStep) {
        const int c = column(az);
        const double part = 1 - std::abs(az - at) / half;
        const double rim =
            foot + (top - foot) * part + 0.25 * (noise(az * 5, 0, look.seed + 3) - 0.5);
        tree_to[static_cast<std::size_t>(c)] =
            std::max(tree_to[static_cast<std::size_t>(c)], static_cast<float>(rim));
        tree_from[static_cast<std::size_t>(c)] = static_cast<float>(foot);
      }
    }
  }
}

}  // namespace film
