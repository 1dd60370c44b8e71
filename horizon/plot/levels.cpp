#include "horizon/plot/levels.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

constexpr std::size_t kMost = 80;

double cross(const Vector2d& a, const Vector2d& b) { return a.x() * b.y() - a.y() * b.x(); }

// Above 0: d lies inside the circle through a, b, c (anticlockwise).
double in_circle(const Vector2d& a, const Vector2d& b, const Vector2d& c, const Vector2d& d) {
  Eigen::Matrix3d m;
  int row = 0;
  for (const Vector2d* p : {&a, &b, &c}) {
    const Vector2d v = *p - d;
    m.row(row++) << v.x(), v.y(), v.squaredNorm();
  }
  return m.determinant();
}

}  // namespace

Levels::Levels(std::vector<Vector3d> points) {
  for (const auto& p : points) {
    const bool twice = std::any_of(points_.begin(), points_.end(), [&](const Vector3d& other) {
      return (other - p).head<2>().norm() < 0.05;
    });
    if (!twice && points_.size() < kMost) points_.push_back(p);
  }
  const int n = static_cast<int>(points_.size());
  const auto flat = [&](int i) -> Vector2d {
    return points_[static_cast<std::size_t>(i)].head<2>();
  };
  for (int i = 0; i < n; ++i)
    for (int j = i + 1; j < n; ++j)
      for (int k = j + 1; k < n; ++k) {
        std::array<int, 3> t = {i, j, k};
        const double area = cross(flat(j) - flat(i), flat(k) - flat(i));
        if (std::abs(area) < 0.05) continue;
        if (area < 0) std::swap(t[1], t[2]);
        bool empty = true;
        for (int other = 0; other < n && empty; ++other) {
          if (other == i || other == j || other == k) continue;
          const double in = in_circle(flat(t[0]), flat(t[1]), flat(t[2]), flat(other));
          if (in > 1e-6) empty = false;
          if (std::abs(in) > 1e-6) continue;
          // More than three on one circle: a fan from the first of them.
          const Vector2d edge = flat(k) - flat(j);
          if (other < i || cross(edge, flat(other) - flat(j)) * cross(edge, flat(i) - flat(j)) < 0)
            empty = false;
        }
        if (empty) triangles_.push_back(t);
      }
}

std::optional<double> Levels::up_at(const Vector2d& spot) const {
  for (const auto& t : triangles_) {
    const auto& a = points_[static_cast<std::size_t>(t[0])];
    const auto& b = points_[static_cast<std::size_t>(t[1])];
    const auto& c = points_[static_cast<std::size_t>(t[2])];
    const Vector2d u = (b - a).head<2>(), v = (c - a).head<2>(), w = spot - a.head<2>();
    const double area = cross(u, v), s = cross(w, v) / area, r = cross(u, w) / area;
    if (s < -1e-9 || r < -1e-9 || s + r > 1 + 1e-9) continue;
    return a.z() + s * (b.z() - a.z()) + r * (c.z() - a.z());
  }
  return std::nullopt;
}

std::optional<Levels::Plane> Levels::plane() const {
  if (!known()) return std::nullopt;
  Eigen::MatrixXd rows(points_.size(), 3);
  Eigen::VectorXd up(points_.size());
  for (std::size_t i = 0; i < points_.size(); ++i) {
    const auto r = static_cast<Eigen::Index>(i);
    rows.row(r) << points_[i].x(), points_[i].y(), 1;
    up(r) = points_[i].z();
  }
  const Vector3d fit = rows.colPivHouseholderQr().solve(up);
  Plane plane;
  plane.slope_deg = std::atan(fit.head<2>().norm()) / kDegree;
  plane.downhill_true_deg = wrap_360(std::atan2(-fit.x(), -fit.y()) / kDegree);
  return plane;
}

std::vector<PlanContour> Levels::contours(double step_m) const {
  std::vector<PlanContour> out;
  if (!known() || step_m <= 0) return out;
  const auto [low, high] = std::minmax_element(
      points_.begin(), points_.end(), [](const auto& a, const auto& b) { return a.z() < b.z(); });
  for (double level = std::ceil(low->z() / step_m) * step_m; level <= high->z(); level += step_m) {
    // A point on the very level would be cut twice or never.
    const double at = level + 1e-7;
    for (const auto& t : triangles_) {
      PlanContour piece{level, {}};
      for (std::size_t i = 0; i < 3; ++i) {
        const auto& a = points_[static_cast<std::size_t>(t[i])];
        const auto& b = points_[static_cast<std::size_t>(t[(i + 1) % 3])];
        if ((a.z() < at) == (b.z() < at)) continue;
        piece.line.push_back((a + (at - a.z()) / (b.z() - a.z()) * (b - a)).head<2>());
      }
      if (piece.line.size() == 2) out.push_back(std::move(piece));
    }
  }
  // Joined end to end.
  for (bool joined = true; joined;) {
    joined = false;
    for (std::size_t i = 0; i < out.size() && !joined; ++i)
      for (std::size_t j = i + 1; j < out.size() && !joined; ++j) {
        if (out[i].up_m != out[j].up_m) continue;
        const auto near = [](const Vector2d& a, const Vector2d& b) {
          return (a - b).norm() < 1e-6;
        };
        auto &a = out[i].line, &b = out[j].line;
        if (near(a.front(), b.front()) || near(a.front(), b.back()))
          std::reverse(a.begin(), a.end());
        if (near(a.back(), b.back())) std::reverse(b.begin(), b.end());
        if (!near(a.back(), b.front())) continue;
        a.insert(a.end(), b.begin() + 1, b.end());
        out.erase(out.begin() + static_cast<long>(j));
        joined = true;
      }
  }
  return out;
}

}  // namespace horizon
