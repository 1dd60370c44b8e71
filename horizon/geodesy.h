// horizon/geodesy.h: how far away a place is, in which direction, and how high it stands.
// Units:    metres; degrees; heights above the WGS 84 ellipsoid (for a difference of heights, two
//           heights above sea level serve as well)
// Frame:    true azimuth at the first place; elevation above the horizontal plane of the eye
// Valid:    any two places, over the date line and the poles too
// Accuracy: distance 10 nm, azimuth 1e-13 degree on WGS 84 (Karney); elevation without refraction
//           exact; with it as good as k: near the ground k swings from -1 to +1, over valleys it is
//           0.13 +- 0.05, which is 0.0022 degree at 10 km
// Source:   Karney, Algorithms for geodesics, J. Geodesy 87 (2013), by PROJ; refraction after
//           Gauss, k = R / radius of the line of sight
#pragma once

#include "horizon/angle.h"
#include "horizon/place.h"

namespace horizon {

// Latitude within -90 to 90, everything finite.
bool is_place(const Place& place);

inline constexpr double kEarthRadius_m = 6371000.0;
inline constexpr double kTerrestrialRefraction = 0.13;

struct Geodesic {
  double distance_m = 0;                                      // on the ellipsoid
  TrueAzimuth azimuth;                                        // at `from`, towards `to`
  TrueAzimuth onward;                                         // at `to`, away from `from`
  TrueAzimuth back() const { return onward.turned_by(180); }  // at `to`, towards `from`
};
// Places that coincide have distance 0 and azimuth 0.
Geodesic geodesic(const Place& from, const Place& to);

// The place at this distance along the geodesic, at the height of `from`.
Place destination(const Place& from, TrueAzimuth azimuth, double distance_m);

struct Sight {
  TrueAzimuth azimuth;
  double distance_m = 0;  // on the ellipsoid
  double slant_m = 0;     // through the air
  Elevation geometric;    // curvature counts, refraction does not
  Elevation apparent;     // as an instrument at the eye reads it
};
// `eye` and `target` with the heights of eye and summit.
Sight sight(const Place& eye, const Place& target, double refraction_k = kTerrestrialRefraction);

// Degrees by which refraction lifts a target at this distance.
double refraction_lift_deg(double distance_m, double refraction_k = kTerrestrialRefraction);

// Degrees that the sea horizon lies below the horizontal, from a height above the water of 0 or
// more; k = 0 without refraction.
double dip_of_horizon_deg(double height_m, double refraction_k = 0);

}  // namespace horizon
