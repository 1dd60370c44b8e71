#include "horizon/photo/camera.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <string>

namespace horizon {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector2d;
using Eigen::Vector3d;

constexpr double kDiagonal35mm = 43.2666;

Vector3d vector_of(const Direction& d) {
  const double az = d.azimuth.radians(), el = d.elevation.radians();
  return {std::cos(el) * std::sin(az), std::cos(el) * std::cos(az), std::sin(el)};
}

Direction direction_of_vector(const Vector3d& v) {
  return {TrueAzimuth::degrees(std::atan2(v.x(), v.y()) / kDegree),
          Elevation::degrees(std::atan2(v.z(), std::hypot(v.x(), v.y())) / kDegree)};
}

// Columns: the camera's right, up and forward in east, north, up.
Matrix3d rotation_of(const Camera& c) {
  const double b = c.bearing.radians(), t = c.tilt.radians(), r = c.roll_deg * kDegree;
  const Vector3d forward(std::cos(t) * std::sin(b), std::cos(t) * std::cos(b), std::sin(t));
  const Vector3d level_right(std::cos(b), -std::sin(b), 0);
  const Vector3d level_up(-std::sin(t) * std::sin(b), -std::sin(t) * std::cos(b), std::cos(t));
  Matrix3d rotation;
  rotation.col(0) = std::cos(r) * level_right - std::sin(r) * level_up;
  rotation.col(1) = std::sin(r) * level_right + std::cos(r) * level_up;
  rotation.col(2) = forward;
  return rotation;
}

// Undoes the radial term by Newton's method on the radius.
Vector2d undistorted(Vector2d distorted, double k1) {
  const double rd = distorted.norm();
  if (k1 == 0 || rd == 0) return distorted;
  double r = rd;
  for (int i = 0; i < 30; ++i) {
    const double step = (r * (1 + k1 * r * r) - rd) / (1 + 3 * k1 * r * r);
    r -= step;
    if (std::abs(step) < 1e-15) break;
  }
  return distorted * (r / rd);
}

std::optional<Vector2d> offset_px(const Camera& camera, const Matrix3d& rotation,
                                  const Vector3d& v) {
  const Vector3d in_camera = rotation.transpose() * v;
  if (in_camera.z() <= 1e-9) return std::nullopt;
  Vector2d tangent(in_camera.x() / in_camera.z(), in_camera.y() / in_camera.z());
  tangent *= 1 + camera.k1 * tangent.squaredNorm();
  return Vector2d(tangent * camera.focal_px);
}

Camera with_change(const Camera& camera, const std::array<double, 5>& change) {
  Camera c = camera;
  c.bearing = c.bearing.turned_by(change[0]);
  c.tilt = Elevation::degrees(c.tilt.degrees() + change[1]);
  c.roll_deg += change[2];
  c.focal_px += change[3];
  c.k1 += change[4];
  return c;
}

constexpr std::array<double, 5> kStep = {1e-5, 1e-5, 1e-5, 1e-3, 1e-7};

// Weighted residuals, two a mark: across and along the vertical, as angles over their sigmas.
std::optional<Eigen::VectorXd> residuals_of(const Camera& camera,
                                            std::span<const PhotoMark> marks) {
  const Matrix3d rotation = rotation_of(camera);
  Eigen::VectorXd residuals(2 * marks.size());
  for (size_t i = 0; i < marks.size(); ++i) {
    const PhotoMark& m = marks[i];
    if (!offset_px(camera, rotation, vector_of(m.direction))) return std::nullopt;
    const Direction seen = direction_of(camera, m.pixel);
    const double pixel_deg = m.pixel_sigma_px / camera.focal_px / kDegree;
    const double cos_el = std::max(0.05, std::cos(m.direction.elevation.radians()));
    residuals[2 * i] = clockwise_deg(m.direction.azimuth, seen.azimuth) * cos_el /
                       std::hypot(m.azimuth_sigma_deg * cos_el, pixel_deg);
    residuals[2 * i + 1] = (seen.elevation.degrees() - m.direction.elevation.degrees()) /
                           std::hypot(m.elevation_sigma_deg, pixel_deg);
  }
  return residuals;
}

Eigen::MatrixXd jacobian_of(const Camera& camera, std::span<const PhotoMark> marks,
                            const std::vector<int>& free) {
  Eigen::MatrixXd jacobian(2 * marks.size(), free.size());
  for (size_t k = 0; k < free.size(); ++k) {
    std::array<double, 5> up{}, down{};
    up[free[k]] = kStep[free[k]];
    down[free[k]] = -kStep[free[k]];
    const auto above = residuals_of(with_change(camera, up), marks);
    const auto below = residuals_of(with_change(camera, down), marks);
    if (above && below)
      jacobian.col(k) = (*above - *below) / (2 * kStep[free[k]]);
    else
      jacobian.col(k).setZero();
  }
  return jacobian;
}

struct Fit {
  Camera camera;
  double cost = 0;
};

std::optional<Fit> fitted(Camera camera, std::span<const PhotoMark> marks,
                          const std::vector<int>& free) {
  auto residuals = residuals_of(camera, marks);
  if (!residuals) return std::nullopt;
  double cost = residuals->squaredNorm(), damping = 1e-3;
  for (int i = 0; i < 100; ++i) {
    const Eigen::MatrixXd jacobian = jacobian_of(camera, marks, free);
    const Eigen::MatrixXd normal = jacobian.transpose() * jacobian;
    const Eigen::VectorXd gradient = jacobian.transpose() * *residuals;
    Eigen::MatrixXd damped = normal;
    for (int k = 0; k < damped.rows(); ++k) damped(k, k) += damping * normal(k, k) + 1e-12;
    const Eigen::VectorXd step = damped.ldlt().solve(-gradient);
    std::array<double, 5> change{};
    for (size_t k = 0; k < free.size(); ++k) change[free[k]] = step[k];
    const Camera next = with_change(camera, change);
    const auto next_residuals = next.focal_px > 1 && std::abs(next.tilt.degrees()) < 89.9
                                    ? residuals_of(next, marks)
                                    : std::nullopt;
    if (next_residuals && next_residuals->squaredNorm() <= cost) {
      const double gain = cost - next_residuals->squaredNorm();
      camera = next;
      residuals = next_residuals;
      cost = residuals->squaredNorm();
      damping = std::max(damping / 5, 1e-12);
      if (gain <= 1e-13 * (1 + cost)) return Fit{camera, cost};
    } else {
      damping *= 8;
      if (damping > 1e12) break;
    }
  }
  return Fit{camera, cost};
}

// Where the axis must point for the mark to lie at its pixel, were the camera level.
Camera aimed(Camera camera, const PhotoMark& mark) {
  camera.bearing = {};
  camera.tilt = Elevation::degrees(0);
  const Direction seen = direction_of(camera, mark.pixel);
  camera.bearing = mark.direction.azimuth.turned_by(-seen.azimuth.degrees());
  camera.tilt = Elevation::degrees(
      std::clamp(mark.direction.elevation.degrees() - seen.elevation.degrees(), -80.0, 80.0));
  return camera;
}

}  // namespace

double Camera::horizontal_view_deg() const {
  return 2 * std::atan(width_px / 2 / focal_px) / kDegree;
}

double focal_px_of_view(double width_px, double horizontal_view_deg) {
  return width_px / 2 / std::tan(horizontal_view_deg / 2 * kDegree);
}

double focal_px_of_35mm(double width_px, double height_px, double focal_35mm) {
  return focal_35mm * std::hypot(width_px, height_px) / kDiagonal35mm;
}

Direction direction_of(const Camera& camera, Pixel pixel) {
  const Vector2d tangent = undistorted(Vector2d((pixel.x - camera.width_px / 2) / camera.focal_px,
                                                (camera.height_px / 2 - pixel.y) / camera.focal_px),
                                       camera.k1);
  return direction_of_vector(rotation_of(camera) * Vector3d(tangent.x(), tangent.y(), 1));
}

std::optional<Pixel> pixel_of(const Camera& camera, const Direction& direction) {
  const auto offset = offset_px(camera, rotation_of(camera), vector_of(direction));
  if (!offset) return std::nullopt;
  return Pixel{camera.width_px / 2 + offset->x(), camera.height_px / 2 - offset->y()};
}

Result<PhotoOrientation> orientation_of(const Camera& start, std::span<const PhotoMark> marks,
                                        bool hold_focal) {
  if (marks.size() < 2) return fail(Code::bad_input, "error.photo_needs_two_marks");
  double spread = 0;
  for (const PhotoMark& m : marks)
    spread =
        std::max(spread, std::hypot(m.pixel.x - marks[0].pixel.x, m.pixel.y - marks[0].pixel.y));
  if (spread < 0.05 * start.width_px) return fail(Code::bad_input, "error.photo_marks_too_close");

  std::vector<int> free = {0, 1, 2};
  if (!hold_focal) free.push_back(3);
  std::vector<double> views = {start.focal_px > 0 ? start.horizontal_view_deg() : 65.0};
  if (!hold_focal) views.insert(views.end(), {30, 50, 80, 100});
  std::optional<Fit> best;
  for (const double view : views) {
    Camera camera = start;
    camera.k1 = 0;
    camera.focal_px = focal_px_of_view(start.width_px, view);
    const auto fit = fitted(aimed(camera, marks[0]), marks, free);
    if (fit && (!best || fit->cost < best->cost)) best = fit;
  }
  if (best && marks.size() >= 5 && !hold_focal) {
    free.push_back(4);
    if (const auto bent = fitted(best->camera, marks, free)) best = bent;
  }
  if (!best) return fail(Code::bad_input, "error.photo_marks_do_not_fit");

  PhotoOrientation result;
  result.camera = best->camera;
  result.degrees_of_freedom = static_cast<int>(2 * marks.size() - free.size());
  const Eigen::MatrixXd jacobian = jacobian_of(best->camera, marks, free);
  const Eigen::MatrixXd normal = jacobian.transpose() * jacobian;
  const Eigen::FullPivLU<Eigen::MatrixXd> lu(normal);
  if (!lu.isInvertible()) return fail(Code::bad_input, "error.photo_direction_open");
  const Eigen::MatrixXd covariance = lu.inverse();
  for (size_t i = 0; i < free.size(); ++i)
    for (size_t k = 0; k < free.size(); ++k) result.covariance(free[i], free[k]) = covariance(i, k);
  const auto residuals = residuals_of(best->camera, marks);
  for (size_t i = 0; i < marks.size(); ++i) {
    const Vector3d seen = vector_of(direction_of(best->camera, marks[i].pixel));
    const Vector3d aim = vector_of(marks[i].direction);
    result.residual_deg.push_back(std::atan2(seen.cross(aim).norm(), seen.dot(aim)) / kDegree);
    if (std::hypot((*residuals)[2 * i], (*residuals)[2 * i + 1]) > 4 &&
        result.degrees_of_freedom > 0)
      return fail(Code::bad_input,
                  {"error.photo_mark_off",
                   {i + 1, Arg::figure(std::to_string(result.residual_deg.back()).substr(0, 4))}});
  }
  return result;
}

UncertainDirection direction_of(const PhotoOrientation& orientation, Pixel pixel, double sigma_px) {
  const Camera& camera = orientation.camera;
  UncertainDirection result{direction_of(camera, pixel)};
  Eigen::Matrix<double, 2, 5> by_camera;
  for (int k = 0; k < 5; ++k) {
    std::array<double, 5> change{};
    change[k] = kStep[k];
    const Direction moved = direction_of(with_change(camera, change), pixel);
    by_camera(0, k) = clockwise_deg(result.direction.azimuth, moved.azimuth) / kStep[k];
    by_camera(1, k) = (moved.elevation.degrees() - result.direction.elevation.degrees()) / kStep[k];
  }
  const Eigen::Map<const Eigen::Matrix<double, 5, 5>> covariance(
      orientation.covariance.values.data());
  const Eigen::Matrix2d from_camera = by_camera * covariance * by_camera.transpose();
  const double pixel_deg = sigma_px / camera.focal_px / kDegree;
  const double cos_el = std::max(0.05, std::cos(result.direction.elevation.radians()));
  result.azimuth_sigma_deg =
      std::hypot(std::sqrt(std::max(0.0, from_camera(0, 0))), pixel_deg / cos_el);
  result.elevation_sigma_deg = std::hypot(std::sqrt(std::max(0.0, from_camera(1, 1))), pixel_deg);
  return result;
}

}  // namespace horizon
