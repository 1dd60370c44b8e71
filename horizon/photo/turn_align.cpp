#include "horizon/photo/turn_align.h"

#include <Eigen/Dense>
#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

constexpr int kLevels = 3;
constexpr float kLeastGradient = 3.0F;  // levels a pixel: below it is noise
constexpr int kLeastSpots = 60;
constexpr double kFits = 3;          // robust sigmas
constexpr double kMostMisfit = 0.7;  // of the spots' own gradient: a pixel beside is as bad
constexpr float kCounts = 0.3F;      // spots of less weight help but do not judge
constexpr int kRounds = 12;
constexpr float kLeastLight = 8;
constexpr int kNeighbourhood = 20;  // pixels of the finest level
// Neighbouring spots err together.
constexpr double kAlike = 3;

GreyLevel halved(const GreyLevel& in) {
  GreyLevel out;
  out.width = in.width / 2;
  out.height = in.height / 2;
  out.values.resize(static_cast<std::size_t>(out.width) * out.height);
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x)
      out.values[static_cast<std::size_t>(y) * out.width + x] =
          (in.at(2 * x, 2 * y) + in.at(2 * x + 1, 2 * y) + in.at(2 * x, 2 * y + 1) +
           in.at(2 * x + 1, 2 * y + 1)) /
          4;
  return out;
}

std::vector<AlignSpot> spots_of(const GreyLevel& g, int cell,
                                const std::function<float(float, float)>& weight_at) {
  std::vector<AlignSpot> spots;
  for (int cy = 1; cy + cell < g.height; cy += cell)
    for (int cx = 1; cx + cell < g.width; cx += cell) {
      AlignSpot best;
      float most = kLeastGradient * kLeastGradient;
      for (int y = cy; y < cy + cell; ++y)
        for (int x = cx; x < cx + cell; ++x) {
          const float gx = (g.at(x + 1, y) - g.at(x - 1, y)) / 2,
                      gy = (g.at(x, y + 1) - g.at(x, y - 1)) / 2;
          if (gx * gx + gy * gy <= most) continue;
          most = gx * gx + gy * gy;
          best = {x + 0.5F - g.width / 2.0F, y + 0.5F - g.height / 2.0F, g.at(x, y), gx, gy, 0};
          best.weight = weight_at((x + 0.5F) / g.width, (y + 0.5F) / g.height);
        }
      if (best.weight > 0 && most > kLeastGradient * kLeastGradient) spots.push_back(best);
    }
  return spots;
}

// Between pixels; nothing at the edge.
bool sampled(const GreyLevel& g, double x, double y, float& value) {
  const double u = x + g.width / 2.0 - 0.5, v = y + g.height / 2.0 - 0.5;
  if (!(u >= 0 && v >= 0 && u < g.width - 1 && v < g.height - 1)) return false;
  const int x0 = static_cast<int>(u), y0 = static_cast<int>(v);
  const float a = static_cast<float>(u - x0), b = static_cast<float>(v - y0);
  value = (1 - a) * ((1 - b) * g.at(x0, y0) + b * g.at(x0, y0 + 1)) +
          a * ((1 - b) * g.at(x0 + 1, y0) + b * g.at(x0 + 1, y0 + 1));
  return true;
}

double middle_of(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

struct Normal {
  Eigen::Matrix<double, 5, 5> a;
  Eigen::Matrix<double, 5, 1> b;
};

}  // namespace

Eigen::Matrix3d rotation_by(const Eigen::Vector3d& vector) {
  const double angle = vector.norm();
  if (angle < 1e-14) return Eigen::Matrix3d::Identity();
  return Eigen::AngleAxisd(angle, vector / angle).toRotationMatrix();
}

Eigen::Vector3d vector_of(const Eigen::Matrix3d& rotation) {
  const Eigen::AngleAxisd turn(rotation);
  return turn.angle() * turn.axis();
}

GreyPyramid grey_pyramid(const Grid& luma) {
  GreyLevel first;
  first.width = luma.width;
  first.height = luma.height;
  first.values.resize(luma.values.size());
  for (int x = 0; x < luma.width; ++x)
    for (int y = 0; y < luma.height; ++y)
      first.values[static_cast<std::size_t>(y) * luma.width + x] = luma.at(x, y);
  // Noise of the sensor would be taken for drawing.
  std::vector<float> row(first.values);
  const auto index = [&](int x, int y) { return static_cast<std::size_t>(y) * first.width + x; };
  for (int y = 0; y < first.height; ++y)
    for (int x = 1; x + 1 < first.width; ++x)
      row[index(x, y)] = (first.at(x - 1, y) + 2 * first.at(x, y) + first.at(x + 1, y)) / 4;
  first.values = row;
  for (int y = 1; y + 1 < first.height; ++y)
    for (int x = 0; x < first.width; ++x)
      first.values[index(x, y)] =
          (row[index(x, y - 1)] + 2 * row[index(x, y)] + row[index(x, y + 1)]) / 4;
  // The lens is darker towards its edges and the exposure wanders: only the part by which a spot
  // differs from its neighbourhood counts.
  const Grid nearby = box_mean(luma, kNeighbourhood);
  for (int y = 0; y < first.height; ++y)
    for (int x = 0; x < first.width; ++x) {
      float& v = first.values[index(x, y)];
      v = 100 * v / (nearby.at(x, y) + kLeastLight);
    }
  GreyPyramid pyramid;
  pyramid.levels.push_back(std::move(first));
  while (pyramid.levels.size() < kLevels) pyramid.levels.push_back(halved(pyramid.levels.back()));
  return pyramid;
}

AlignReference align_reference(const GreyPyramid& frame,
                               const std::function<float(float, float)>& weight_at) {
  AlignReference reference;
  int cell = 8;
  for (const GreyLevel& level : frame.levels) {
    reference.levels.push_back(spots_of(level, cell, weight_at));
    cell = std::max(3, cell - 2);
  }
  return reference;
}

Alignment aligned(const AlignReference& first, const GreyPyramid& second, double focal_px,
                  const Eigen::Matrix3d& guess, int finest) {
  Alignment result;
  result.rotation = guess;
  for (int level = static_cast<int>(second.levels.size()) - 1; level >= finest; --level) {
    const GreyLevel& grey = second.levels[static_cast<std::size_t>(level)];
    const auto& spots = first.levels[static_cast<std::size_t>(level)];
    const double f = focal_px / (1 << level);
    std::vector<Eigen::Vector3d> rays, slopes;
    for (const AlignSpot& s : spots) {
      const Eigen::Vector3d ray(s.x / f, -s.y / f, 1);
      rays.push_back(ray);
      slopes.push_back(ray.cross(
          Eigen::Vector3d(s.gx * f, -s.gy * f, -s.gx * f * ray.x() + s.gy * f * ray.y())));
    }
    std::vector<double> off(spots.size());
    std::vector<bool> seen(spots.size());
    double gain = 0, offset = 0;
    for (int round = 0; round < kRounds; ++round) {
      std::vector<double> sizes, gradients;
      for (std::size_t i = 0; i < spots.size(); ++i) {
        const Eigen::Vector3d there = result.rotation * rays[i];
        float value = 0;
        seen[i] = there.z() > 0.2 &&
                  sampled(grey, f * there.x() / there.z(), -f * there.y() / there.z(), value);
        if (!seen[i]) continue;
        off[i] = value - spots[i].grey;
        if (spots[i].weight < kCounts) continue;
        sizes.push_back(std::abs(off[i] - gain * spots[i].grey - offset));
        gradients.push_back(std::hypot(spots[i].gx, spots[i].gy));
      }
      result.spots = static_cast<int>(sizes.size());
      result.good = false;
      if (result.spots < kLeastSpots / (1 << level)) return result;
      result.misfit = std::max(1.0, 1.4826 * middle_of(std::move(sizes)));
      result.contrast = middle_of(std::move(gradients));
      Normal n{Eigen::Matrix<double, 5, 5>::Zero(), Eigen::Matrix<double, 5, 1>::Zero()};
      double fit = 0;
      for (std::size_t i = 0; i < spots.size(); ++i) {
        if (!seen[i]) continue;
        const double left = (off[i] - gain * spots[i].grey - offset) / result.misfit;
        const double size = std::abs(left);
        fit += spots[i].weight >= kCounts && size < kFits;
        if (size > 2 * kFits) continue;
        const double w = spots[i].weight * (size > 1.5 ? 1.5 / size : 1.0);
        Eigen::Matrix<double, 5, 1> row;
        row << slopes[i], spots[i].grey, 1;
        n.a.noalias() += w * row * row.transpose();
        n.b += w * off[i] * row;
      }
      result.fitting = fit / result.spots;
      n.a.diagonal() += Eigen::Matrix<double, 5, 1>::Constant(1e-6);
      const Eigen::LDLT<Eigen::Matrix<double, 5, 5>> solver(n.a);
      const Eigen::Matrix<double, 5, 1> step = solver.solve(n.b);
      if (!step.allFinite()) return result;
      const Eigen::Vector3d turn = step.head<3>();
      if (turn.norm() > 0.2) return result;
      // Products of many rotations drift from being one.
      result.rotation =
          Eigen::Quaterniond(result.rotation * rotation_by(-turn)).normalized().toRotationMatrix();
      gain = step[3];
      offset = step[4];
      const Eigen::Matrix<double, 5, 5> inverse =
          solver.solve(Eigen::Matrix<double, 5, 5>::Identity());
      result.sigma_rad =
          result.misfit * std::sqrt(kAlike * inverse.topLeftCorner<3, 3>().trace() / 3);
      if (turn.norm() * f < 0.01) break;
    }
    result.good = result.misfit < kMostMisfit * result.contrast + 0.5 && std::abs(gain) < 0.7 &&
                  result.sigma_rad * f < 1;
  }
  return result;
}

}  // namespace horizon
