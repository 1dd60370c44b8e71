// platform/clock.h: what time it is.
// Units:  seconds. utc_s may jump (the user or the network sets the clock); running_s never does.
#pragma once

#include <optional>
#include <string>

namespace platform {

class Clock {
 public:
  virtual ~Clock() = default;
  virtual double utc_s() const = 0;                     // POSIX time
  virtual double running_s() const = 0;                 // since the start, steady
  virtual double utc_offset_h(double utc_s) const = 0;  // local time less UTC then
  // Since the device was switched on, its sleep counted; `boot` names that running of it. They go on
  // when the program ends. Nothing where the system does not tell.
  virtual std::optional<double> since_boot_s() const { return {}; }
  virtual std::string boot() const { return {}; }
};

}  // namespace platform
