// horizon/sun/moon.h: where the moon stands, seen from a place, and how much of it is lit.
// Units:    degrees, kilometres; instants in seconds UTC (horizon/time.h)
// Frame:    true azimuth; elevation of the centre above the eye's horizontal plane, without
//           refraction, parallax included; ecliptic and equator of date from the Earth's centre
// Valid:    1950 to 2100, anywhere; check_sun_time() says no outside
// Accuracy: theory 0.0008 degree rms, 0.005 worst (its header); topocentric within 0.0056 degree of
//           another full theory on 1,000 instants. Lunar mountains move the limb by 0.0006
// Source:   ERFA eraMoon98 (Meeus' ELP-2000/82 series), precession IAU 2006, nutation IAU 2000B;
//           mean radius 1737.4 km, IAU 2015; lit limb: Meeus, Astronomical Algorithms, ch. 48
#pragma once

#include "horizon/angle.h"
#include "horizon/place.h"
#include "horizon/sun/sun.h"

namespace horizon {

inline constexpr double kMoonRadius_km = 1737.4;

struct MoonPosition {
  TrueAzimuth azimuth;
  Elevation elevation;          // of the centre, without refraction
  double semidiameter_deg = 0;  // seen from the place
  double distance_km = 0;       // from the Earth's centre
  double parallax_deg = 0;      // equatorial horizontal: asin(Earth's radius / distance)
  double right_ascension_deg = 0, declination_deg = 0;
  double lit_share = 0;  // of the disc, 0 new to 1 full
  // Where the middle of the lit limb lies, turned clockwise from the disc's highest point as the
  // observer sees it: 90 = to the right.
  double lit_limb_deg = 0;
};
MoonPosition moon_position(double utc_s, const Place& place);

// From the Earth's centre, geometric; the true longitude has nutation, the mean one has not.
struct MoonEcliptic {
  double longitude_deg = 0, latitude_deg = 0, true_longitude_deg = 0, distance_km = 0;
};
MoonEcliptic moon_ecliptic(double tt_s);

// Is the point of the limb at this turn from the top lit? `from_top_deg` as lit_limb_deg.
bool limb_lit(const MoonPosition& moon, double from_top_deg);

// One local day, as sun_day(): rises and sets by the upper limb through 34' of refraction, to 0.1 s.
SunDay moon_day(Date date, double utc_offset_h, const Place& place);

}  // namespace horizon
