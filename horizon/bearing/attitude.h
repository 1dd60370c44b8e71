// horizon/bearing/attitude.h: from the angles a phone's browser reports to where its camera points.
// Units:    degrees
// Frame:    device: x to the right of the screen in its natural position, y to its top, z out of it
//           towards the reader; the rear camera looks along -z. Earth: east, north, up, where north
//           is the one the angles refer to (phones report magnetic north).
// Valid:    any finite angles; within 0.001 degree of straight up or down a bearing has no meaning
//           and is the one of the picture's upper edge
// Accuracy: exact rotation; 1e-9 degree of arithmetic away from the vertical
// Source:   W3C DeviceOrientation Event Specification: intrinsic rotations Z (alpha), X' (beta),
//           Y'' (gamma); W3C Generic Sensor / Orientation Sensor: unit quaternion x, y, z, w;
//           W3C Screen Orientation: the angle is 90 where the device's left side is its lower edge
//           turned counter-clockwise from the natural position
#pragma once

#include <array>

#include "horizon/angle.h"

namespace horizon {

// How the device lies in the Earth's frame: row by row, earth = rotation * device.
struct DeviceRotation {
  std::array<std::array<double, 3>, 3> rows{{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}};
};

// alpha 0 to 360, beta -180 to 180, gamma -90 to 90; any equivalent angles will do.
DeviceRotation rotation_of_angles(double alpha_deg, double beta_deg, double gamma_deg);
// A quaternion of any length but zero.
DeviceRotation rotation_of_quaternion(double x, double y, double z, double w);
// The same device turned about the vertical, clockwise from above: corrects the north.
DeviceRotation turned(const DeviceRotation& rotation, double clockwise_deg);

template <class North>
struct CameraAim {
  Azimuth<North> bearing;
  Elevation elevation;
  double roll_deg = 0;  // of the picture as shown, clockwise seen from behind; (-180, 180]
};

// screen_angle_deg: how far the system has turned the picture on the screen (0, 90, 180, 270).
template <class North>
CameraAim<North> camera_aim(const DeviceRotation& rotation, double screen_angle_deg);
extern template CameraAim<MagneticNorth> camera_aim(const DeviceRotation&, double);
extern template CameraAim<TrueNorth> camera_aim(const DeviceRotation&, double);

// How far the top edge rises above the horizontal; a compass heading is unusable near 90.
Elevation top_edge_elevation(const DeviceRotation& rotation);

}  // namespace horizon
