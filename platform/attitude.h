// platform/attitude.h: which way the device's back (its camera) points.
// Units: degrees, nanotesla, seconds
// Frame: azimuth clockwise from `north`; elevation upwards; roll clockwise as seen from behind,
//        0 = the screen's upright as it is shown now (screen rotation is already taken out)
#pragma once

#include <cstdint>
#include <optional>

#include "platform/device_state.h"

namespace platform {

enum class North : std::uint8_t {
  magnetic,
  true_north,
  unknown
};  // unknown: no compass, free turn

struct Pose {
  double time_s = 0;  // of the app's clock, see clock.h
  double azimuth_deg = 0;
  double elevation_deg = 0;
  double roll_deg = 0;
  North north = North::magnetic;
  double azimuth_sigma_deg = 5;  // what the system or the fusion says
  double elevation_sigma_deg = 0.5;
  std::optional<double> field_nt;         // strength and dip tell iron nearby
  std::optional<double> inclination_deg;  // positive downwards
};

class Attitude {
 public:
  virtual ~Attitude() = default;
  virtual void start() = 0;
  virtual void stop() = 0;
  virtual DeviceStatus status() const = 0;
  virtual std::optional<Pose> poll() = 0;  // the newest pose not yet seen
};

}  // namespace platform
