// horizon/bearing/landmark.h: true bearing and expected elevation of a known summit, mast or
// church.
// Units:    metres, degrees; one standard deviation
// Frame:    true azimuth and apparent elevation at the eye (curvature and refraction included)
// Valid:    landmarks so far away that the positions give the bearing better than 2 degrees; nearer
//           ones are refused
// Accuracy: that of the two positions, over the distance; the elevation with k = 0.13 +- 0.05
// Source:   horizon/geodesy.h; error propagation to first order
#pragma once

#include <optional>
#include <string>

#include "horizon/bearing/heading_check.h"
#include "horizon/geodesy.h"
#include "horizon/result.h"

namespace horizon {

struct Landmark {
  std::string name;
  Place place;
  bool height_known = true;
  double position_sigma_m = 10;  // each of north and east; coordinates typed to 0.001 degree: 30
  double height_sigma_m = 10;
};

struct Eye {
  Place place;  // with the height of the eye
  double position_sigma_m = 5;
  double height_sigma_m = 10;  // satellite heights are 2 to 3 times worse than positions
};

struct LandmarkBearing {
  TrueAzimuth known;
  double known_sigma_deg = 0;
  double distance_m = 0;
  std::optional<Elevation> expected;  // nothing where the landmark's height is unknown
  double expected_sigma_deg = 0;
};
Result<LandmarkBearing> landmark_bearing(const Eye& eye, const Landmark& landmark,
                                         double refraction_k = kTerrestrialRefraction);

// Does the elevation say that this is the landmark meant?
enum class LandmarkFit : std::uint8_t {
  unknown,   // no height, or no elevation was measured
  fits,      // within 2 sigmas
  doubtful,  // 2 to 3.3 sigmas: aim again
  wrong,     // over 3.3 sigmas (one sound aim in a thousand): another summit, or wrong coordinates
};
struct LandmarkVerdict {
  LandmarkFit fit = LandmarkFit::unknown;
  double off_deg = 0;     // measured minus expected elevation
  double normalised = 0;  // over its standard deviation
};
LandmarkVerdict landmark_verdict(const LandmarkBearing& bearing, std::optional<Elevation> measured,
                                 double measured_sigma_deg = 0.3);

HeadingCheck landmark_check(const LandmarkBearing& bearing, const std::string& name,
                            TrueAzimuth measured, double measured_sigma_deg = 0.5);

// A second station as the landmark: its own aim back here, already corrected, gives the bearing.
HeadingCheck back_bearing_check(const Place& there, TrueAzimuth corrected_aim_there,
                                double aim_sigma_deg, const Place& here, TrueAzimuth measured_here,
                                double measured_sigma_deg);

}  // namespace horizon
