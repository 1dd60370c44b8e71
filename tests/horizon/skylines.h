// tests/horizon/skylines.h: plain skylines that more than one test looks over.
#pragma once

#include <utility>
#include <vector>

#include "horizon/skyline/mask.h"
#include "horizon/skyline/skyline.h"

// A ridge through corners of azimuth and elevation, without any open stretch.
inline horizon::Mask mask_through(const std::vector<std::pair<double, double>>& corners) {
  horizon::Skyline skyline;
  skyline.max_gap_deg = 400;
  skyline.obstacles.push_back({horizon::Kind::ridge, "ridge"});
  for (auto [az, el] : corners) {
    horizon::SkylinePoint point;
    point.azimuth = horizon::TrueAzimuth::degrees(az);
    point.elevation = horizon::Elevation::degrees(el);
    skyline.points.push_back(point);
  }
  return horizon::Mask(skyline);
}

// The same elevation all round.
inline horizon::Skyline ring(double elevation_deg, horizon::Kind kind = horizon::Kind::ridge) {
  horizon::Skyline skyline;
  skyline.obstacles.push_back({kind, "ring"});
  for (int az = 0; az < 360; az += 10) {
    horizon::SkylinePoint point;
    point.azimuth = horizon::TrueAzimuth::degrees(az);
    point.elevation = horizon::Elevation::degrees(elevation_deg);
    skyline.points.push_back(point);
  }
  return skyline;
}
