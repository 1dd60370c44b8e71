// platform/clock.h: what time it is.
// Units:  seconds. utc_s may jump (the user or the network sets the clock); running_s never does.
#pragma once

namespace platform {

class Clock {
 public:
  virtual ~Clock() = default;
  virtual double utc_s() const = 0;                     // POSIX time
  virtual double running_s() const = 0;                 // since the start, steady
  virtual double utc_offset_h(double utc_s) const = 0;  // local time less UTC then
};

}  // namespace platform
