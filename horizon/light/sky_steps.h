// horizon/light/sky_steps.h: the light that arrives at a place over a year, step by step, split so
// that any plane's share is a sum of directions.
// Units:    W/m2, means over a step of sun_steps.h
// Frame:    beam and circumsolar light on a plane that faces the sun; the rest horizontal
// Accuracy: that of the sky: see clear_sky.h, decomposition.h; days between months run smoothly
//           and keep each month's mean
// Source:   ESRA; Angstrom-Prescott, Erbs and Collares-Pereira & Rabl; or the hours of a file;
//           split by Perez 1990
#pragma once

#include <vector>

#include "horizon/light/sky_input.h"
#include "horizon/light/sun_steps.h"

namespace horizon {

struct SkyStep {
  float sun_normal = 0;  // beam and circumsolar
  float beam_normal = 0;
  float isotropic = 0;
  float band = 0;    // brightness of the horizon; times sin(tilt) on a plane; may be negative
  float global = 0;  // on level ground without a skyline
};
// check_sky first.
std::vector<SkyStep> sky_steps(const SunSteps& sun, const SkyInput& sky);

// A value for each day of the year, running evenly from month to month, with the given means.
std::vector<double> smooth_days(const Monthly& means, const SunSteps& sun);

}  // namespace horizon
