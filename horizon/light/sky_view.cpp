#include "horizon/light/sky_view.h"

#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

constexpr int kColumns = 720;
constexpr double kBand_deg = 6.5;

// Light of a uniform column of sky from elevation `from` to the zenith on a plane, over its width:
// the integral of cos(incidence) cos(el), where up = cos(tilt), side = sin(tilt) cos(bearing off).
double column(double up, double side, double from) {
  const auto upto = [&](double e) {
    const double s = std::sin(e);
    return up * s * s / 2 + side * (e / 2 + std::sin(2 * e) / 4);
  };
  // The plane sees the column above (or, tilted past upright, below) its own edge.
  double to = std::numbers::pi / 2;
  if (up >= 0) {
    from = std::max(from, std::atan2(-side, up));
  } else {
    to = std::atan2(side, -up);
  }
  return to > from ? upto(to) - upto(from) : 0;
}

}  // namespace

double ground_elevation_deg(const GroundSlope& slope, double azimuth_deg) {
  if (slope.slope_deg == 0) return 0;
  const double off = (azimuth_deg - slope.downhill.degrees()) * kDegree;
  return std::atan(-std::tan(slope.slope_deg * kDegree) * std::cos(off)) / kDegree;
}

SkyView sky_view(const Masks& masks, const GroundSlope& slope, const Plane& plane) {
  const double tilt = plane.tilt_deg * kDegree;
  const double up = std::cos(tilt), across = std::sin(tilt);
  SkyView view;
  double solid = 0, band = 0, whole_band = 0;
  for (int c = 0; c < kColumns; ++c) {
    const double azimuth = (c + 0.5) * (360.0 / kColumns);
    const double lowest = std::max(0.0, ground_elevation_deg(slope, azimuth));
    const double all = std::max(lowest, masks.all.elevation_deg(azimuth));
    const double off = std::cos((azimuth - plane.facing.degrees()) * kDegree);
    const double free = column(up, across * off, all * kDegree);
    view.sky += free;
    if (masks.has_leafy) {
      const double hard = std::max(lowest, masks.solid.elevation_deg(azimuth));
      solid += (hard < all ? column(up, across * off, hard * kDegree) : free) - free;
    }
    whole_band += std::max(0.0, off);
    band += std::max(0.0, off) * std::clamp(1 - all / kBand_deg, 0.0, 1.0);
  }
  const double width = 2.0 / kColumns;  // 2 pi / columns, over the pi of a whole hemisphere
  view.sky *= width;
  view.behind_leaves = solid * width;
  view.horizon_band = band / whole_band;
  // The ground is the half-space under its own plane; its normal leans downhill.
  const double s = slope.slope_deg * kDegree;
  const double between =
      std::cos(tilt) * std::cos(s) +
      std::sin(tilt) * std::sin(s) * std::cos(plane.facing.radians() - slope.downhill.radians());
  view.ground = (1 - between) / 2;
  view.skyline = std::max(0.0, 1 - view.sky - view.behind_leaves - view.ground);
  return view;
}

SkyView sky_view(const Masks& masks, const Plane& plane) { return sky_view(masks, {}, plane); }

}  // namespace horizon
