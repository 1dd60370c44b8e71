// horizon/bearing/device_north.h: is the north of a phone's free turn known, and how far off is it?
// Units:    degrees, seconds of one steady clock
// Frame:    as attitude.h; a turn is clockwise from above and is added to every free azimuth
// Method:   some phones turn freely (their zero is anywhere) and give a compass heading beside it.
//           Two conventions of that heading are in use: of the top edge, laid level; or of the
//           camera as soon as the top edge is above 45 degrees. North is learned only where both
//           mean the same: screen up, top edge low. The first raise past the vertical, where they
//           differ by half a turn, shows which one this phone follows; from then on the heading
//           corrects a raised phone too. A step no hand can make, a gap in which the phone moved,
//           or headings that no convention explains make north unknown again.
// Valid:    any rotation and order of handling; rates up to 400 degrees a second
// Accuracy: sigma_deg is the compass's own, the spread while learning and the drift since
//           (0.03 degree a second, common practice for a phone's gyro), never below 3
// Errors:   none: where nothing is known it says so
// Source:   W3C DeviceOrientation Event Specification; the two conventions are observed behaviour
#pragma once

#include <optional>

#include "horizon/bearing/attitude.h"

namespace horizon {

enum class HeadingConvention : unsigned char { unknown, top_edge, camera_when_raised };

struct FreeTurnReading {
  double time_s = 0;
  DeviceRotation rotation;            // its north is the free turn's own zero
  std::optional<double> heading_deg;  // of the compass, magnetic
  std::optional<double> heading_sigma_deg;
};

struct DeviceNorth {
  bool known = false;
  double turn_deg = 0;   // to add to the free azimuth; 0 while unknown
  double sigma_deg = 0;  // 1 sigma; 0 while unknown
  double learned_s = 0;  // when a heading last confirmed it
  HeadingConvention convention = HeadingConvention::unknown;
  int free_turn = 0;  // bearings of one number share one zero; another number, another zero
};

class NorthFinder {
 public:
  // The sensor starts anew: another zero. How this phone gives its heading is remembered.
  void restart();
  DeviceNorth update(const FreeTurnReading& reading);

 private:
  struct Directions {  // of the free turn
    double top_deg, camera_deg, top_elevation_deg, screen_up;
  };
  static Directions directions_of(const DeviceRotation& rotation);
  void forget_north();
  void look_for_steps(const FreeTurnReading& reading);
  void learn(const FreeTurnReading& reading, const Directions& now);
  void recognise(double heading_deg, const Directions& now);
  std::optional<double> turn_by_heading(double heading_deg, const Directions& now) const;

  DeviceNorth north_;
  double base_sigma_deg_ = 0;
  struct Window {  // headings that agree so far, while north is being learned
    int count = 0;
    double since_s = 0, last_s = 0, mean_deg = 0, square = 0;
  } window_, against_;
  int for_top_ = 0, for_camera_ = 0;
  bool started_ = false;
  double last_s_ = 0;
  DeviceRotation last_;
};

}  // namespace horizon
