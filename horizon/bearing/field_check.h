// horizon/bearing/field_check.h: is something magnetic near, and do repeated aims agree?
// Units:    nanotesla, degrees; one standard deviation
// Frame:    inclination positive down
// Valid:    a magnetometer that is calibrated for its own device (turned through the figure eight)
// Accuracy: total field and inclination show what a disturbance adds in the plane of the magnetic
//           meridian. Its part across the meridian, the one that turns the needle, is not seen: its
//           size is inferred as that of a disturbance without preferred direction. A clean field
//           is no proof of a clean bearing; take a heading check too
// Source:   a dipole's field falls with the cube of the distance; Mardia & Jupp, Directional
//           Statistics (2000), ch. 2
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "horizon/angle.h"
#include "horizon/bearing/declination.h"

namespace horizon {

struct FieldReading {
  double total_nt = 0;
  std::optional<double> inclination_deg;
  // A phone's magnetometer after calibration: common practice, 2 percent and 1 degree.
  double total_sigma_nt = 1000;
  double inclination_sigma_deg = 1;
};

enum class FieldState : std::uint8_t {
  clean,      // as the model says, within what model and sensor scatter
  doubtful,   // beyond 90 percent of sound readings: step aside and read again
  disturbed,  // beyond 99 percent: walk away from what disturbs, do not use the bearing
  unusable,   // the model's own field is too weak for a compass, or the reading is none
};
struct FieldVerdict {
  FieldState state = FieldState::unusable;
  double total_off_nt = 0;         // measured minus model
  double inclination_off_deg = 0;  // 0 where it was not measured
  double disturbance_nt = 0;       // in the plane of the meridian, noise taken off
  double heading_error_deg = 0;    // that such a disturbance typically makes
  double worst_heading_error_deg = 0;
  // How many times as far from the culprit one must stand for the typical heading error to fall
  // under 1 degree; 1 where it is there already.
  double step_back_factor = 1;
};
FieldVerdict field_check(const FieldReading& reading, const MagneticField& model);

struct AimSpread {
  int count = 0;
  std::optional<TrueAzimuth> mean;  // nothing where the aims cancel
  double resultant = 0;             // length of the mean vector, 0 to 1
  double variance = 0;              // 1 - resultant
  double sd_deg = 0;                // sqrt(-2 ln resultant); large where the aims cancel
  double mean_sigma_deg = 0;        // of the mean of these few aims
};
// Aims that are not finite are left out of the count.
AimSpread spread_of(std::span<const TrueAzimuth> aims);

struct LineCheck {
  double disagreement_deg = 0;  // back minus (fore + 180), in [-180, 180)
  double normalised = 0;
  bool agrees = true;  // within 2.58 sigmas: 99 percent of sound pairs
  TrueAzimuth fore;    // the mean of both, as seen from the first station
};
// Fore and back bearing of one line between two stations less than some km apart. Where they
// disagree one of the stations is disturbed; a third station tells which.
LineCheck line_check(TrueAzimuth fore, double fore_sigma_deg, TrueAzimuth back,
                     double back_sigma_deg);

}  // namespace horizon
