// platform/position.h: where the device is.
// Units:  degrees (WGS 84), metres above the ellipsoid, seconds UTC
// Threads: start, stop and poll from the frame's thread; none of them waits
#pragma once

#include <optional>

#include "horizon/place.h"
#include "platform/device_state.h"

namespace platform {

struct Fix {
  double utc_s = 0;
  horizon::Place place;
  double accuracy_m = 0;                    // 1 sigma, horizontal
  std::optional<double> height_accuracy_m;  // 1 sigma; none = the height is not to be used
  // This device's clock when the fix came, less the receiver's own time; it is up to a second late.
  // None where the time that comes with a fix is the device's.
  std::optional<double> clock_ahead_s;
};

class Position {
 public:
  virtual ~Position() = default;
  virtual void start() = 0;  // asks for permission where the system wants that
  virtual void stop() = 0;
  virtual DeviceStatus status() const = 0;
  virtual std::optional<Fix> poll() = 0;  // the next fix not yet seen
};

}  // namespace platform
