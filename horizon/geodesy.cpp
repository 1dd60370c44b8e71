#include "horizon/geodesy.h"

#include <geodesic.h>

#include <Eigen/Core>
#include <cmath>

namespace horizon {
namespace {

constexpr double kSemiMajor_m = 6378137.0;
constexpr double kFlattening = 1 / 298.257223563;

const geod_geodesic& wgs84() {
  static const geod_geodesic ellipsoid = [] {
    geod_geodesic g;
    geod_init(&g, kSemiMajor_m, kFlattening);
    return g;
  }();
  return ellipsoid;
}

Eigen::Vector3d earth_centred_m(const Place& place) {
  const double lat = place.latitude_deg * kDegree, lon = place.longitude_deg * kDegree;
  const double e2 = kFlattening * (2 - kFlattening);
  const double normal = kSemiMajor_m / std::sqrt(1 - e2 * std::sin(lat) * std::sin(lat));
  return {(normal + place.height_m) * std::cos(lat) * std::cos(lon),
          (normal + place.height_m) * std::cos(lat) * std::sin(lon),
          (normal * (1 - e2) + place.height_m) * std::sin(lat)};
}

}  // namespace

bool is_place(const Place& place) {
  return std::abs(place.latitude_deg) <= 90 && std::isfinite(place.longitude_deg) &&
         std::isfinite(place.height_m);
}

Geodesic geodesic(const Place& from, const Place& to) {
  double distance_m = 0, azimuth = 0, onward = 0;
  geod_inverse(&wgs84(), from.latitude_deg, from.longitude_deg, to.latitude_deg, to.longitude_deg,
               &distance_m, &azimuth, &onward);
  // For coinciding places PROJ leaves 180 or 0 by the sign of a rounding error.
  if (distance_m == 0) return {};
  return {distance_m, TrueAzimuth::degrees(azimuth), TrueAzimuth::degrees(onward)};
}

Place destination(const Place& from, TrueAzimuth azimuth, double distance_m) {
  Place to{.height_m = from.height_m};
  geod_direct(&wgs84(), from.latitude_deg, from.longitude_deg, azimuth.degrees(), distance_m,
              &to.latitude_deg, &to.longitude_deg, nullptr);
  return to;
}

double refraction_lift_deg(double distance_m, double refraction_k) {
  return refraction_k * distance_m / (2 * kEarthRadius_m) / kDegree;
}

Sight sight(const Place& eye, const Place& target, double refraction_k) {
  const Geodesic line = geodesic(eye, target);
  const Eigen::Vector3d ray = earth_centred_m(target) - earth_centred_m(eye);
  const double lat = eye.latitude_deg * kDegree, lon = eye.longitude_deg * kDegree;
  const Eigen::Vector3d up(std::cos(lat) * std::cos(lon), std::cos(lat) * std::sin(lon),
                           std::sin(lat));
  const double rise_m = up.dot(ray);
  Sight result;
  result.azimuth = line.azimuth;
  result.distance_m = line.distance_m;
  result.slant_m = ray.norm();
  result.geometric = Elevation::degrees(std::atan2(rise_m, (ray - rise_m * up).norm()) / kDegree);
  result.apparent = Elevation::degrees(result.geometric.degrees() +
                                       refraction_lift_deg(line.distance_m, refraction_k));
  return result;
}

double dip_of_horizon_deg(double height_m, double refraction_k) {
  // A bent ray over the Earth is a straight one over a flatter Earth.
  const double radius_m = kEarthRadius_m / (1 - refraction_k);
  // acos(R / (R + h)) without its loss of digits near 1.
  return std::atan2(std::sqrt(height_m * (2 * radius_m + height_m)), radius_m) / kDegree;
}

}  // namespace horizon
