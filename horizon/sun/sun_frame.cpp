#include "horizon/sun/sun_frame.h"

#include <erfa.h>
#include <erfam.h>

#include <algorithm>
#include <cmath>

#include "horizon/angle.h"

namespace horizon {
namespace {

constexpr double kUnixEpochJd = 2440587.5;
constexpr double kDay_s = 86400.0;
constexpr double kFirstUtc_s = -315619200.0;  // 1960-01-01

double square(double x) { return x * x; }

}  // namespace

double tt_minus_utc_s(double utc_s) {
  const double day = std::floor(std::max(utc_s, kFirstUtc_s) / kDay_s);
  const double within = std::max(utc_s, kFirstUtc_s) / kDay_s - day;
  int year = 0, month = 0, date = 0;
  double fraction = 0, tai_minus_utc = 0;
  eraJd2cal(kUnixEpochJd, day, &year, &month, &date, &fraction);
  eraDat(year, month, date, within, &tai_minus_utc);
  return 32.184 + tai_minus_utc;
}

Vec3 sun_apparent_gcrs(double tt_s) {
  double heliocentric[2][3], barycentric[2][3];
  eraEpv00(kUnixEpochJd, tt_s / kDay_s, heliocentric, barycentric);
  const double distance = eraPm(heliocentric[0]);
  const double light_days = distance * ERFA_AULT / kDay_s;
  // Where the sun was when its light left, in the barycentre's frame, from where the Earth is now.
  double to_sun[3], unit[3], velocity[3], apparent[3];
  for (int i = 0; i < 3; ++i) {
    const double sun_velocity = barycentric[1][i] - heliocentric[1][i];
    to_sun[i] = -heliocentric[0][i] - light_days * sun_velocity;
    velocity[i] = barycentric[1][i] * ERFA_AULT / kDay_s;
  }
  double length = 0;
  eraPn(to_sun, &length, unit);
  const double lorentz =
      std::sqrt(1 - square(velocity[0]) - square(velocity[1]) - square(velocity[2]));
  eraAb(unit, velocity, length, lorentz, apparent);
  return {apparent[0] * length, apparent[1] * length, apparent[2] * length};
}

Observer::Observer(const Place& place)
    : longitude_turns_(place.longitude_deg / 360.0),
      sin_lat_(std::sin(place.latitude_deg * kDegree)),
      cos_lat_(std::cos(place.latitude_deg * kDegree)) {
  double xyz[3];
  eraGd2gc(ERFA_WGS84, 0, place.latitude_deg * kDegree, place.height_m, xyz);
  const double from_axis = std::hypot(xyz[0], xyz[1]) / ERFA_DAU, z = xyz[2] / ERFA_DAU;
  eye_ = {0, -sin_lat_ * from_axis + cos_lat_ * z, cos_lat_ * from_axis + sin_lat_ * z};
  east_speed_ = from_axis * kEarthTurn * ERFA_AULT;
}

SunMotion Observer::motion(const Vec3& cirs, const Vec3& cirs_rate, double turns) const {
  const SinCos turn = sin_cos_turns(turns + longitude_turns_);
  const double outward = turn.cos * cirs.x + turn.sin * cirs.y;
  const double east = turn.cos * cirs.y - turn.sin * cirs.x;
  const double outward_rate = turn.cos * cirs_rate.x + turn.sin * cirs_rate.y + kEarthTurn * east;
  const double x_rate = turn.cos * cirs_rate.y - turn.sin * cirs_rate.x - kEarthTurn * outward;
  const double y_rate = cos_lat_ * cirs_rate.z - sin_lat_ * outward_rate;
  const double z_rate = cos_lat_ * outward_rate + sin_lat_ * cirs_rate.z;
  const Vec3 sun{east + east_speed_, cos_lat_ * cirs.z - sin_lat_ * outward - eye_.y,
                 cos_lat_ * outward + sin_lat_ * cirs.z - eye_.z};
  const double level2 = std::max(sun.x * sun.x + sun.y * sun.y, 1e-20);
  const double level = std::sqrt(level2), r2 = level2 + sun.z * sun.z;
  SunMotion motion{direction_of(sun), 0, 0};
  motion.azimuth_rate = (x_rate * sun.y - y_rate * sun.x) / level2 / kDegree;
  motion.elevation_rate =
      (z_rate * level - sun.z * (x_rate * sun.x + y_rate * sun.y) / level) / r2 / kDegree;
  return motion;
}

}  // namespace horizon
