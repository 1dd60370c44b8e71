// horizon/bearing/sun_shadow.h: true bearing from a shadow, without looking at the sun.
// Units:    seconds UTC, degrees, metres; one standard deviation
// Frame:    true azimuth. The shadow of a plumb line lies in the sun's vertical plane on ground of
//           any slope: seen from above it points at the sun's azimuth + 180
// Valid:    apparent sun elevation from 3 degrees (a readable shadow, known refraction) to 60, and
//           while the known bearing stays better than 2 degrees; refused outside
// Accuracy: sun 0.005 degree. A line leaning across the sun's direction by t turns the shadow by
//           t tan(elevation); a clock that is wrong by a minute turns it by 0.2 to 0.6 degree in
//           the temperate zones, more under a high sun
// Caution:  never look at the sun, never aim a lens or a camera at it
// Source:   spherical astronomy (horizon/sun/sun.h); error propagation to first order
#pragma once

#include "horizon/bearing/heading_check.h"
#include "horizon/place.h"
#include "horizon/result.h"

namespace horizon {

enum class ShadowMethod : std::uint8_t {
  plumb_line,   // a thread with a weight: leans by wind only
  device_edge,  // the device stood on edge by its own level
  pinhole,      // a spot of light through a hole, on the mark of a levelled card
};

// Common practice; set what was done on site.
struct ShadowErrors {
  double clock_sigma_s = 5;        // of the device's clock without a network
  double position_sigma_m = 20;    // each of north and east
  double reading_sigma_deg = 0;    // of laying the instrument along the shadow
  double levelling_sigma_deg = 0;  // of the line's or card's lean across the sun's direction
};
ShadowErrors usual_errors(ShadowMethod method);

struct ShadowReading {
  double utc_s = 0;
  TrueAzimuth measured;      // by the instrument: with declination, without any offset
  bool towards_sun = false;  // aimed from the shadow's end to the line; otherwise along the shadow
  ShadowErrors errors = usual_errors(ShadowMethod::plumb_line);
};

struct ShadowBearing {
  TrueAzimuth sun;
  Elevation sun_apparent;         // of the centre, refracted
  TrueAzimuth known;              // the true azimuth of the measured direction
  double turn_deg_per_min = 0;    // of the sun's azimuth
  double known_sigma_deg = 0;     // by clock and position
  double measured_sigma_deg = 0;  // by reading and levelling
};
// Also tells the guide, before the reading, whether now is a good time (`measured` is not used).
Result<ShadowBearing> shadow_bearing(const Place& place, const ShadowReading& reading);

Result<HeadingCheck> shadow_check(const Place& place, const ShadowReading& reading);

}  // namespace horizon
