// horizon/sun/sun.h: where the sun stands, seen from a place.
// Units:    degrees, minutes, astronomical units; instants in seconds UTC (horizon/time.h)
// Frame:    true azimuth; elevation of the centre above the eye's horizontal plane, without
//           refraction (add horizon/sun/refraction.h); right ascension and declination apparent, of
//           date, from the Earth's centre
// Valid:    1950 to 2100, anywhere; check_sun_time() says no outside
// Accuracy: 0.0002 degree against other full theories. UT1 is taken as UTC: the Earth's uneven
//           rotation can move the sun by up to 0.004 degree (0.9 s) while leap seconds go on
// Source:   ERFA (SOFA): Earth's orbit eraEpv00, precession-nutation IAU 2006/2000A, Earth rotation
//           IAU 2000; aberration, diurnal aberration and parallax included
#pragma once

#include <optional>
#include <vector>

#include "horizon/angle.h"
#include "horizon/place.h"
#include "horizon/result.h"
#include "horizon/time.h"

namespace horizon {

inline constexpr int kFirstSunYear = 1950, kLastSunYear = 2100;
// -0.8333: the upper limb on a flat horizon through 34' of refraction, as almanacs use it.
inline constexpr double kRiseSetElevation_deg = -50.0 / 60.0;

struct SunPosition {
  TrueAzimuth azimuth;
  Elevation elevation;          // of the centre, without refraction
  double semidiameter_deg = 0;  // half the disc's width
  double distance_au = 0;       // from the Earth's centre
  double right_ascension_deg = 0;
  double declination_deg = 0;
  double hour_angle_deg = 0;        // local, of the centre of the Earth, -180 to 180, west positive
  double equation_of_time_min = 0;  // sundial minus mean clock
};

SunPosition sun_position(double utc_s, const Place& place);

Result<void> check_sun_time(double utc_s);
Result<void> check_sun_year(int year);

// One local day: midnight to midnight at utc_offset_h. Near the poles a day may hold two rises, or
// none; that is an answer.
struct SunDay {
  std::vector<double> rises_utc_s;      // in time order
  std::vector<double> sets_utc_s;       // in time order
  std::optional<double> transit_utc_s;  // crosses the meridian, north or south of the zenith
  double up_h = 0;                      // above the elevation; 24 in polar day, 0 in polar night
  bool always_up = false, always_down = false;
};
// elevation_deg: of the centre, without refraction; 0 gives the geometric day. Times to 0.1 s.
SunDay sun_day(Date date, double utc_offset_h, const Place& place,
               double elevation_deg = kRiseSetElevation_deg);

// Whole hours nearest to the sun: longitude / 15.
double solar_zone_h(double longitude_deg);

}  // namespace horizon
