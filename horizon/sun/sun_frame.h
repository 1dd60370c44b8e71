// horizon/sun/sun_frame.h: from the sun's place among the stars to its place in the observer's sky.
// Units:    astronomical units, radians inside, degrees out
// Frame:    in: apparent, celestial intermediate frame of date, from the Earth's centre; or GCRS
//           where said. Out: true azimuth, elevation without refraction, from the eye
// Source:   ERFA (SOFA); WGS 84 ellipsoid. Polar motion (0.0001 degree) is left out
#pragma once

#include <cmath>

#include "horizon/angle.h"
#include "horizon/fast_math.h"
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

// Earth rotation angle with UT1 = UTC, in turns; not wrapped.
inline double earth_rotation_turns(double utc_s) {
  const double days = utc_s * (1 / 86400.0) - 10957.5;  // since 2000-01-01 12:00
  const double fraction = days - ((days + kToWhole) - kToWhole);
  return 0.7790572732640 + 0.00273781191135448 * days + fraction;
}
inline constexpr double kEarthTurn = 7.292115146706979e-5;         // its rate, radians a second
inline constexpr double kSunRadius_au = 695700e3 / 149597870.7e3;  // IAU 2015, B3 and 2012, B2

class Observer {
 public:
  explicit Observer(const Place& place);

  // From the eye, along east, north and up; diurnal aberration included. turns: of the Earth.
  Vec3 local(const Vec3& cirs, double turns) const {
    const SinCos turn = sin_cos_turns(turns + longitude_turns_);
    // Along the observer's meridian, and to the east of it.
    const double outward = turn.cos * cirs.x + turn.sin * cirs.y;
    return {turn.cos * cirs.y - turn.sin * cirs.x + east_speed_,
            cos_lat_ * cirs.z - sin_lat_ * outward - eye_.y,
            cos_lat_ * outward + sin_lat_ * cirs.z - eye_.z};
  }
  static SunDirection direction_of(const Vec3& local) {
    const double level2 = local.x * local.x + local.y * local.y;
    const double azimuth = atan2_degrees(local.x, local.y);
    // One over the distance by its series round 1 au, which the sun keeps to within 1.8 %.
    const double e = level2 + local.z * local.z - 1;
    const double near =
        1 - e * (0.5 - e * (0.375 - e * (0.3125 - e * (0.2734375 - e * 0.24609375))));
    return {azimuth < 0 ? azimuth + 360 : azimuth, atan2_degrees(local.z, std::sqrt(level2)),
            kSunRadius_au / kDegree * near};
  }
  double east_speed() const { return east_speed_; }  // of the eye, as a fraction of light's
  // cirs_rate: a second.
  SunMotion motion(const Vec3& cirs, const Vec3& cirs_rate, double turns) const;

 private:
  double longitude_turns_ = 0, sin_lat_ = 0, cos_lat_ = 1;
  Vec3 eye_;               // from the Earth's centre, in local axes
  double east_speed_ = 0;  // as a fraction of light's; the distance is 1 au to 2 %, this 0.3"
};

}  // namespace horizon
