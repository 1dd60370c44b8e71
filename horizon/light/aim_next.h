// horizon/light/aim_next.h: which stretch of skyline to aim at next, because its error costs most.
// Units:    degrees (true), hours over the winter months
// Accuracy: first order in the errors; a ranking, not a measurement, until it is held against drawn
//           lines: over open stretches they stray further than a walk between smooth marks
// Source:   the winter sun's crossings give hours per degree of skyline; the error of a stretch is
//           that of its marks and, between marks, a random walk tied at both ends
#pragma once

#include <string>
#include <vector>

#include "horizon/skyline/skyline.h"

namespace horizon {

struct Advice {
  double from_deg = 0, to_deg = 0;  // clockwise
  double error_h = 0;               // one standard deviation of winter hours from this stretch
  unsigned months = 0;              // bit 0 = January: when the sun's path crosses it
  bool open = false;                // nobody has aimed here yet
  double lowest_sun_deg = 0, highest_sun_deg = 0;  // where the winter sun passes this stretch
};
// Whole degrees, four wide at least: "Aim between 231 and 247: the January sun crosses it."
std::string in_words(const Advice& advice);

struct SunSteps;
class Mask;
struct AimNext {
  std::vector<Advice> advice;  // worst first, at most five
  double sigma_h = 0;          // of the hours over all steps, heading and every stretch together
  // Makes the errors add up to the spread of the drawn lines: what is missing is of the open
  // stretches, where there are any.
  void fit_to(double drawn_sigma_h);
};
// winter: the steps of the winter months only.
AimNext aim_next(const SunSteps& winter, const Skyline& skyline, const Mask& mask);

}  // namespace horizon
