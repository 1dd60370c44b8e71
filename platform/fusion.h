// platform/fusion.h: from raw accelerometer, magnetometer and gyro to a pose.
// Units: accelerometer any (its direction counts), magnetometer nanotesla, gyro rad/s, seconds
// Frame: the device's: x to the right of the screen, y to its top, z out of it towards the reader.
//        At rest the accelerometer reads upwards. The camera looks along -z.
// Accuracy: at rest, the sensors' own; in motion the gyro carries it, drawn back with a time
//           constant of 0.5 s (level) and 1 s (compass)
#pragma once

#include <array>
#include <optional>

#include "platform/attitude.h"

namespace platform {

using Vector3 = std::array<double, 3>;

// Direct: no filter. Nothing where the device falls freely or the field is vertical.
std::optional<Pose> pose_of(const Vector3& up, const Vector3& field_nt);

class Fusion {
 public:
  void reset() { started_ = false; }
  // field and rate may be absent; without a field north is unknown and the azimuth turns freely.
  std::optional<Pose> update(double time_s, const Vector3& acceleration,
                             const std::optional<Vector3>& field_nt,
                             const std::optional<Vector3>& rate_rad_s);

 private:
  bool started_ = false;
  double time_s_ = 0;
  Vector3 up_{}, field_{};
};

}  // namespace platform
