// platform/recorded.h: devices that replay a text file: for tests, the demo and the report of a
// fault. One line an event, `#` begins a comment:
//
//   SECONDS fix LATITUDE LONGITUDE HEIGHT_M ACCURACY_M [CLOCK_AHEAD_S]
//   SECONDS aim AZIMUTH_MAGNETIC ELEVATION [ROLL]     holds until the next, as steady as a hand
//   SECONDS field NANOTESLA DIP                       what the magnetometer feels
//   SECONDS shake DEGREES                             how unsteady the hand is
//   SECONDS position off|refused|failed|running
//   SECONDS attitude off|refused|failed|running|stuck|jumping|missing
//   SECONDS camera   off|refused|failed|running|missing
//   SECONDS north known|low|free                      is the compass's north known (see attitude.h)
//   SECONDS photo PATH                                what the camera takes next
//   SECONDS frame VIEW_DEG PATH                       of the camera's film: a PPM file (P6), so wide
//   SECONDS file PATH                                 what the user chooses next
//   SECONDS open PATH                                 what the system opens with the program
//   SECONDS clock UTC_SECONDS                         the clock is set to another time
//   SECONDS reboot                                    the device is switched off and on again
//
// Units: seconds since the start, degrees, metres
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "platform/devices.h"

namespace platform {

class Recording {
 public:
  Recording();
  ~Recording();
  // Adds the lines of a file; names the first line that cannot be read.
  horizon::Result<void> load(std::string_view text);
  // One event now, without its time.
  horizon::Result<void> apply(std::string_view event);
  // Devices that follow this recording, which must outlive them. `folder` holds their files.
  Devices devices(const std::string& folder);
  void advance(double seconds);  // the clock runs only by this
  double running_s() const;

  struct State;

 private:
  std::shared_ptr<State> state_;
};

}  // namespace platform
