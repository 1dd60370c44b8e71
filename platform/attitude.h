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
  unknown,          // no compass: the azimuth turns freely, its zero is anywhere
  unknown_till_low  // likewise, until the device was held flat once (horizon/bearing/device_north.h)
};
inline bool known(North north) { return north == North::magnetic || north == North::true_north; }

struct Pose {
  double time_s = 0;  // of the app's clock, see clock.h
  double azimuth_deg = 0;
  double elevation_deg = 0;
  double roll_deg = 0;
  North north = North::magnetic;
  bool silent_at_rest = false;   // the same value for long is a device at rest, no fault
  int free_turn = 0;             // while north is unknown: azimuths of one number share one zero
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
