// horizon/light/sky_view.h: how much of the sky a tilted plane still sees over the real skyline.
// Units:    view factors 0 to 1: share of an isotropic hemisphere's light on the plane; degrees
// Frame:    true azimuths; slope as a plane with its downhill azimuth
// Accuracy: closed form in elevation, columns of 1 degree in azimuth: 0.001
// Source:   the integral of cos(incidence) over the sky above the skyline; horizon band 6.5 degrees
//           high, Perez et al. 1987
#pragma once

#include <span>

#include "horizon/skyline/mask.h"

namespace horizon {

struct Plane {
  TrueAzimuth facing;   // where the outside normal points
  double tilt_deg = 0;  // 0 lies flat looking up, 90 stands upright
};

// The ground at the station; a slope hides the sky that lies below its own plane.
struct GroundSlope {
  double slope_deg = 0;
  TrueAzimuth downhill;
};
double ground_elevation_deg(const GroundSlope& slope, double azimuth_deg);

struct SkyView {
  double sky = 0;            // free sky above skyline and slope
  double behind_leaves = 0;  // sky that shows only through leafy trees
  double ground = 0;         // the ground at the station, as steep as it is
  double skyline = 0;        // solid obstacles that stand above the ground
  double horizon_band = 0;   // share left of what a bright band along a flat horizon would give
};
// sky + behind_leaves + ground + skyline = 1.
SkyView sky_view(const Masks& masks, const GroundSlope& slope, const Plane& plane);
SkyView sky_view(const Masks& masks, const Plane& plane);

}  // namespace horizon
