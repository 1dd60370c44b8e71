// horizon/sun_frame.h: from the sun's place among the stars to its place in the observer's sky.
// Units:    astronomical units, radians inside, degrees out
// Frame:    in: apparent, celestial intermediate frame of date, from the Earth's centre; or GCRS
//           where said. Out: true azimuth, elevation without refraction, from the eye
// Source:   ERFA (SOFA); WGS 84 ellipsoid. Polar motion (0.0001 degree) is left out
#pragma once

#include "horizon/place.h"

namespace horizon {

struct Vec3 {
  double x = 0, y = 0, z = 0;
};

struct SunDirection {
  double azimuth_deg = 0;    // true, [0, 360)
  double elevation_deg = 0;  // of the centre, without refraction
  double semidiameter_deg = 0;
};
struct SunMotion {
  SunDirection direction;
  double azimuth_rate = 0, elevation_rate = 0;  // degrees a second
};

// Terrestrial time minus UTC. Before 1960, when there was no UTC, the value of 1960.
double tt_minus_utc_s(double utc_s);
// Light time and aberration included, in GCRS axes.
Vec3 sun_apparent_gcrs(double tt_s);
// Earth rotation angle with UT1 = UTC, in radians, [0, 2 pi).
double earth_rotation_angle(double utc_s);
inline constexpr double kEarthTurn = 7.292115146706979e-5;  // its rate, radians a second

class Observer {
 public:
  explicit Observer(const Place& place);

  // From the eye, along east, north and up; diurnal aberration included.
  Vec3 local(const Vec3& cirs, double era) const;
  SunDirection direction(const Vec3& cirs, double era) const;
  // cirs_rate: a second.
  SunMotion motion(const Vec3& cirs, const Vec3& cirs_rate, double era) const;

 private:
  double longitude_ = 0, sin_lat_ = 0, cos_lat_ = 1;
  Vec3 eye_;               // from the Earth's centre, in local axes
  double east_speed_ = 0;  // as a fraction of light's
};

}  // namespace horizon
