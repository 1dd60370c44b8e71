// horizon/bearing/declination.h: how far a compass needle points from true north, and how strong and steep
// the Earth's field is.
// Units:    degrees; metres above the WGS 84 ellipsoid; nanotesla; decimal years
// Frame:    x north, y east, z down; declination positive east, inclination positive down
// Valid:    2025.0 to 2030.0, -1 km to 850 km; outside, no value is returned
// Accuracy: the model's own, see `FieldSigma`; arithmetic to the published test values' digits.
//           Rock and iron near by are not in the model: see bearing/field_check.h
// Source:   World Magnetic Model 2025 (NOAA/NCEI and BGS), technical report: the spherical
//           harmonic expansion of degree 12 and its error model
#pragma once

#include <cstdint>
#include <string_view>

#include "horizon/place.h"
#include "horizon/result.h"

namespace horizon {

inline constexpr double kMagneticModelFrom = 2025.0;
inline constexpr double kMagneticModelTo = 2030.0;

struct FieldElements {
  double x_nt = 0, y_nt = 0, z_nt = 0;
  double horizontal_nt = 0, total_nt = 0;
  double inclination_deg = 0, declination_deg = 0;  // a year's change: degrees a year
};

// One standard deviation of the model against a measurement away from iron.
struct FieldSigma {
  double x_nt = 137, y_nt = 89, z_nt = 141;
  double horizontal_nt = 133, total_nt = 138;
  double inclination_deg = 0.20;
  double declination_deg = 0;  // sqrt(0.26^2 + (5417 / horizontal_nt)^2), at most 180
};

enum class CompassZone : std::uint8_t {
  normal,
  caution,   // horizontal field 2000 to 6000 nT: a compass is sluggish, check it often
  blackout,  // under 2000 nT: a compass must not be used
};
std::string_view name_of(CompassZone zone);  // "normal", "caution", "blackout"

struct MagneticField {
  FieldElements now;
  FieldElements per_year;
  FieldSigma sigma;
  CompassZone zone = CompassZone::normal;
};

// At a pole, x points along the meridian of the longitude given.
Result<MagneticField> magnetic_field(const Place& place, double decimal_year);

double decimal_year_of(double utc_s);

// The parts of the error model that follow from the horizontal field alone.
FieldSigma field_sigma(double horizontal_nt);
CompassZone compass_zone(double horizontal_nt);

}  // namespace horizon
