// app/touch/screens/slope_of.h: the ground's slope from the pose of a device that lies on it.
// Units: degrees; the slope from the horizontal, the azimuth the ground falls to
// Frame: azimuth and elevation of the camera's axis, as platform/attitude.h gives them
#pragma once

namespace app {

struct GroundLean {
  double slope_deg = 0;
  double falls_to_deg = 0;  // undefined on level ground
};
GroundLean lean_of(double azimuth_deg, double elevation_deg);

}  // namespace app
