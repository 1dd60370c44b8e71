#include "horizon/sun_frame.h"

#include <erfa.h>
#include <erfam.h>

#include <algorithm>
#include <cmath>

#include "horizon/angle.h"

namespace horizon {
namespace {

constexpr double kUnixEpochJd = 2440587.5;
constexpr double kDay_s = 86400.0;
constexpr double kSunRadius_au = 695700e3 / ERFA_DAU;  // IAU 2015 resolution B3
constexpr double kFirstUtc_s = -315619200.0;           // 1960-01-01

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

double earth_rotation_angle(double utc_s) { return eraEra00(kUnixEpochJd, utc_s / kDay_s); }

Observer::Observer(const Place& place)
    : longitude_(place.longitude_deg * kDegree),
      sin_lat_(std::sin(place.latitude_deg * kDegree)),
      cos_lat_(std::cos(place.latitude_deg * kDegree)) {
  double xyz[3];
  eraGd2gc(ERFA_WGS84, longitude_, place.latitude_deg * kDegree, place.height_m, xyz);
  const double from_axis = std::hypot(xyz[0], xyz[1]) / ERFA_DAU, z = xyz[2] / ERFA_DAU;
  eye_ = {0, -sin_lat_ * from_axis + cos_lat_ * z, cos_lat_ * from_axis + sin_lat_ * z};
  east_speed_ = from_axis * kEarthTurn * ERFA_AULT;
}

Vec3 Observer::local(const Vec3& cirs, double era) const {
  const double turn = era + longitude_;
  const double c = std::cos(turn), s = std::sin(turn);
  // Along the observer's meridian and to the east of it.
  const double outward = c * cirs.x + s * cirs.y;
  const double east = c * cirs.y - s * cirs.x;
  Vec3 sun{east, cos_lat_ * cirs.z - sin_lat_ * outward - eye_.y,
           cos_lat_ * outward + sin_lat_ * cirs.z - eye_.z};
  sun.x += east_speed_;  // the distance is 1 au to 2 %, and this is 0.3" at most
  return sun;
}

SunDirection Observer::direction(const Vec3& cirs, double era) const {
  const Vec3 sun = local(cirs, era);
  const double level2 = sun.x * sun.x + sun.y * sun.y;
  double azimuth = std::atan2(sun.x, sun.y) / kDegree;
  if (azimuth < 0) azimuth += 360;
  if (azimuth >= 360) azimuth = 0;
  return {azimuth, std::atan2(sun.z, std::sqrt(level2)) / kDegree,
          kSunRadius_au / std::sqrt(level2 + sun.z * sun.z) / kDegree};
}

SunMotion Observer::motion(const Vec3& cirs, const Vec3& cirs_rate, double era) const {
  const double turn = era + longitude_;
  const double c = std::cos(turn), s = std::sin(turn);
  const double outward = c * cirs.x + s * cirs.y, east = c * cirs.y - s * cirs.x;
  const double outward_rate = c * cirs_rate.x + s * cirs_rate.y + kEarthTurn * east;
  const double x_rate = c * cirs_rate.y - s * cirs_rate.x - kEarthTurn * outward;
  const double y_rate = cos_lat_ * cirs_rate.z - sin_lat_ * outward_rate;
  const double z_rate = cos_lat_ * outward_rate + sin_lat_ * cirs_rate.z;
  const Vec3 sun = local(cirs, era);
  const double level2 = std::max(sun.x * sun.x + sun.y * sun.y, 1e-20);
  const double level = std::sqrt(level2), r2 = level2 + sun.z * sun.z;
  SunMotion motion{direction(cirs, era), 0, 0};
  motion.azimuth_rate = (x_rate * sun.y - y_rate * sun.x) / level2 / kDegree;
  motion.elevation_rate =
      (z_rate * level - sun.z * (x_rate * sun.x + y_rate * sun.y) / level) / r2 / kDegree;
  return motion;
}

}  // namespace horizon
