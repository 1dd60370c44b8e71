// app/touch/session/aim.h: from a stream of poses to one aim that can be marked.
// Units: degrees, seconds
// Frame: azimuth as the sensor gives it (magnetic or true); the mean is circular
// Method: the hand is steady while poses stay within 0.6 degree of their own middle; the aim is
//         the mean of the steady part, at most the last 2 seconds
#pragma once

#include <deque>
#include <optional>
#include <string>

#include "platform/attitude.h"

namespace app {

enum class AimFault : unsigned char { none, stuck, stuck_level, jumping, silent };

struct Aim {
  double azimuth_deg = 0, elevation_deg = 0, roll_deg = 0;
  platform::North north = platform::North::magnetic;
  int free_turn = 0;  // while north is unknown, see platform::Pose
  double azimuth_sigma_deg = 1, elevation_sigma_deg = 0.3;  // of this mean, sensor's own included
  double steady_s = 0;                                      // held steady for so long
  std::optional<double> field_nt, inclination_deg;
  AimFault fault = AimFault::none;
};

class AimTracker {
 public:
  void add(const platform::Pose& pose);
  void reset();
  // now_s of the app's clock: a sensor that fell silent is told.
  std::optional<Aim> aim(double now_s) const;

 private:
  std::deque<platform::Pose> poses_;
  double steady_since_s_ = 0;
  double same_azimuth_s_ = 0, same_elevation_s_ = 0;  // exactly the same value since then
  double jump_s_ = -100;                              // the last impossible step
  int jumps_ = 0;
};

// Plain words with the cure; empty for none.
std::string words_for(AimFault fault);
std::string words_for_unknown(platform::North north);

}  // namespace app
