#include "horizon/plot/plot.h"

#include <Eigen/Dense>
#include <cmath>

#include "horizon/geodesy.h"

namespace horizon {
namespace {
constexpr double kSlope = 0.1;
}

Enu to_enu(const Place& origin, const Place& place) {
  const Geodesic line = geodesic(origin, place);
  const double azimuth = line.azimuth.radians();
  return {line.distance_m * std::sin(azimuth), line.distance_m * std::cos(azimuth),
          place.height_m - origin.height_m};
}

Place to_place(const Place& origin, const Enu& point) {
  Place place =
      destination(origin, TrueAzimuth::degrees(std::atan2(point.x(), point.y()) / kDegree),
                  std::hypot(point.x(), point.y()));
  place.height_m = origin.height_m + point.z();
  return place;
}

GroundPlane ground_plane(std::span<const PlotStation> stations) {
  GroundPlane plane;
  if (stations.empty()) return plane;
  const auto n = static_cast<Eigen::Index>(stations.size());
  Eigen::MatrixXd xy(n, 2);
  Eigen::VectorXd up(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const PlotStation& s = stations[static_cast<size_t>(i)];
    xy.row(i) << s.eye.x(), s.eye.y();
    up(i) = s.eye.z() - s.eye_height_m;
  }
  const Eigen::RowVector2d middle = xy.colwise().mean();
  const double mean_up = up.mean();
  plane.up_m = mean_up;
  const Eigen::MatrixXd d = xy.rowwise() - middle;
  const Eigen::Matrix2d spread = d.transpose() * d;
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> axes(spread);
  // Stations in a line, or nearly, say nothing of the slope across it.
  if (n < 3 || axes.eigenvalues()(0) < 0.01 * axes.eigenvalues()(1)) return plane;
  double variance = 0;
  for (const PlotStation& s : stations)
    variance += s.up_sigma_m * s.up_sigma_m / static_cast<double>(n);
  // Heights good to metres make no slope: before they are known it is level, give or take a tenth.
  const Eigen::Matrix2d weighed =
      spread + variance / (kSlope * kSlope) * Eigen::Matrix2d::Identity();
  const Eigen::Vector2d rise =
      weighed.ldlt().solve(d.transpose() * (up.array() - mean_up).matrix());
  plane.rise_east = rise.x();
  plane.rise_north = rise.y();
  plane.up_m = mean_up - middle.dot(rise);
  return plane;
}

GroundPlane mean_of(std::span<const GroundPlane> grounds) {
  GroundPlane mean;
  for (const GroundPlane& one : grounds) {
    const auto n = static_cast<double>(grounds.size());
    mean.up_m += one.up_m / n;
    mean.rise_east += one.rise_east / n;
    mean.rise_north += one.rise_north / n;
  }
  return mean;
}

}  // namespace horizon
