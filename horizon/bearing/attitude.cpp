#include "horizon/bearing/attitude.h"

#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

using Vector = std::array<double, 3>;

Vector to_earth(const DeviceRotation& rotation, const Vector& device) {
  Vector earth{};
  for (int i = 0; i < 3; ++i)
    for (int j = 0; j < 3; ++j) earth[i] += rotation.rows[i][j] * device[j];
  return earth;
}

double elevation_deg(const Vector& v) {
  return std::atan2(v[2], std::hypot(v[0], v[1])) / kDegree;  // an arcsine is blunt near 90
}

}  // namespace

DeviceRotation rotation_of_angles(double alpha_deg, double beta_deg, double gamma_deg) {
  const double ca = std::cos(alpha_deg * kDegree), sa = std::sin(alpha_deg * kDegree);
  const double cb = std::cos(beta_deg * kDegree), sb = std::sin(beta_deg * kDegree);
  const double cg = std::cos(gamma_deg * kDegree), sg = std::sin(gamma_deg * kDegree);
  return {{{{ca * cg - sa * sb * sg, -sa * cb, ca * sg + sa * sb * cg},
            {sa * cg + ca * sb * sg, ca * cb, sa * sg - ca * sb * cg},
            {-cb * sg, sb, cb * cg}}}};
}

DeviceRotation rotation_of_quaternion(double x, double y, double z, double w) {
  const double s = 2 / (x * x + y * y + z * z + w * w);
  return {{{{1 - s * (y * y + z * z), s * (x * y - z * w), s * (x * z + y * w)},
            {s * (x * y + z * w), 1 - s * (x * x + z * z), s * (y * z - x * w)},
            {s * (x * z - y * w), s * (y * z + x * w), 1 - s * (x * x + y * y)}}}};
}

DeviceRotation turned(const DeviceRotation& rotation, double clockwise_deg) {
  const double c = std::cos(clockwise_deg * kDegree), s = std::sin(clockwise_deg * kDegree);
  DeviceRotation result = rotation;
  for (int j = 0; j < 3; ++j) {
    result.rows[0][j] = c * rotation.rows[0][j] + s * rotation.rows[1][j];
    result.rows[1][j] = c * rotation.rows[1][j] - s * rotation.rows[0][j];
  }
  return result;
}

template <class North>
CameraAim<North> camera_aim(const DeviceRotation& rotation, double screen_angle_deg) {
  const double c = std::cos(screen_angle_deg * kDegree), s = std::sin(screen_angle_deg * kDegree);
  const Vector axis = to_earth(rotation, {0, 0, -1});
  const Vector right = to_earth(rotation, {c, -s, 0});  // of the picture as shown
  const Vector upper = to_earth(rotation, {s, c, 0});

  CameraAim<North> aim;
  const double level = std::hypot(axis[0], axis[1]);
  // Looking straight down, the picture's upper edge is ahead; straight up, it is behind.
  const Vector ahead = level > 1e-5  ? axis
                       : axis[2] < 0 ? upper
                                     : Vector{-upper[0], -upper[1], -upper[2]};
  aim.bearing = Azimuth<North>::degrees(std::atan2(ahead[0], ahead[1]) / kDegree);
  aim.elevation = Elevation::degrees(elevation_deg(axis));
  aim.roll_deg = level > 1e-5 ? std::atan2(-right[2], upper[2]) / kDegree : 0;
  return aim;
}

template CameraAim<MagneticNorth> camera_aim(const DeviceRotation&, double);
template CameraAim<TrueNorth> camera_aim(const DeviceRotation&, double);

Elevation top_edge_elevation(const DeviceRotation& rotation) {
  return Elevation::degrees(elevation_deg(to_earth(rotation, {0, 1, 0})));
}

}  // namespace horizon
