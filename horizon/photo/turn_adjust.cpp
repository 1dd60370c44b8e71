#include "horizon/photo/turn_adjust.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <span>

#include "horizon/angle.h"
#include "horizon/photo/turn_align.h"

namespace horizon {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;
using Eigen::VectorXd;

constexpr int kCommon = 5;  // log focal factor, mounting up and roll, zero of the sensors, drift
constexpr int kRounds = 6;

// Small angles of a link that remain, in the axes of its first frame.
Vector3d link_rest(const TurnLink& link, const Matrix3d& from, const Matrix3d& to, double log_f) {
  Vector3d measured = vector_of(link.rotation.transpose());
  if (link.by_picture) {  // what was measured across the picture goes with the focal length
    const double part = std::exp(-log_f);
    measured.x() *= part;
    measured.y() *= part;
  }
  return vector_of(rotation_by(measured).transpose() * from.transpose() * to) / link.sigma_rad;
}

// What the sensors say of a node: two of level, one of azimuth.
Vector3d sensed_rest(const TurnNode& node, const Matrix3d& rotation, const VectorXd& common,
                     double since_s, double azimuth_sigma, double level_sigma) {
  const Matrix3d mounted = rotation * rotation_by(Vector3d(common[1], 0, common[2]));
  const Vector3d up_sensed = node.sensed.transpose().col(2), up = mounted.transpose().col(2);
  const Vector3d tilt = up_sensed.cross(up);  // about the camera's axes
  const TurnAim sensed = aim_of(node.sensed), here = aim_of(rotation);
  const double off =
      wrap_180(sensed.bearing_deg - here.bearing_deg) * kDegree - common[3] - common[4] * since_s;
  return {tilt.x() / level_sigma, tilt.z() / level_sigma, off / azimuth_sigma};
}

// The derivative of three values by one unknown, by a small step.
template <class F>
Vector3d slope(const F& values, const Vector3d& at) {
  constexpr double kStep = 1e-6;
  return (values(kStep) - at) / kStep;
}

class Adjustment {
 public:
  Adjustment(std::vector<TurnNode>& nodes, const std::vector<TurnLink>& links,
             const TurnPriors& priors)
      : nodes_(nodes), links_(links), priors_(priors), n_(static_cast<int>(nodes.size())) {}

  TurnAdjusted run() {
    for (int round = 0; round < kRounds; ++round) {
      build();
      const VectorXd step = a_.ldlt().solve(-b_);
      if (!step.allFinite()) break;
      for (int i = 0; i < n_; ++i)
        nodes_[i].rotation = nodes_[i].rotation * rotation_by(step.segment<3>(3 * i));
      common_ += step.tail(kCommon);
      if (step.cwiseAbs().maxCoeff() < 1e-8) break;
    }
    build();
    const Eigen::MatrixXd inverse =
        a_.ldlt().solve(Eigen::MatrixXd::Identity(a_.rows(), a_.cols()));
    TurnAdjusted result;
    result.focal_factor = std::exp(common_[0]);
    result.focal_sigma_part = std::sqrt(inverse(3 * n_, 3 * n_));
    result.mounting_up_deg = common_[1] / kDegree;
    result.mounting_roll_deg = common_[2] / kDegree;
    result.mounting_sigma_deg = std::sqrt(inverse(3 * n_ + 1, 3 * n_ + 1)) / kDegree;
    result.drift_deg_per_s = common_[4] / kDegree;
    double square = 0;
    for (const TurnLink& link : links_)
      square += link_rest(link, nodes_[link.from].rotation, nodes_[link.to].rotation, common_[0])
                    .squaredNorm();
    result.spread = links_.empty() ? 0 : std::sqrt(square / (3.0 * links_.size()));
    return result;
  }

 private:
  void add(const Vector3d& rest, std::span<const std::pair<int, Vector3d>> slopes) {
    for (const auto& [i, one] : slopes) {
      b_[i] += one.dot(rest);
      for (const auto& [j, other] : slopes) a_(i, j) += one.dot(other);
    }
  }
  void add_link(const TurnLink& link) {
    const Matrix3d &from = nodes_[link.from].rotation, &to = nodes_[link.to].rotation;
    const Vector3d rest = link_rest(link, from, to, common_[0]);
    std::vector<std::pair<int, Vector3d>> slopes;
    for (int axis = 0; axis < 3; ++axis) {
      const auto turned = [&](double h) { return rotation_by(h * Vector3d::Unit(axis)); };
      slopes.emplace_back(
          3 * link.from + axis,
          slope([&](double h) { return link_rest(link, from * turned(h), to, common_[0]); }, rest));
      slopes.emplace_back(
          3 * link.to + axis,
          slope([&](double h) { return link_rest(link, from, to * turned(h), common_[0]); }, rest));
    }
    slopes.emplace_back(
        3 * n_, slope([&](double h) { return link_rest(link, from, to, common_[0] + h); }, rest));
    add(rest, slopes);
  }
  void add_sensed(int i) {
    const TurnNode& node = nodes_[i];
    // Errors of a compass go with the bearing and do not average out over the frames.
    const double azimuth = priors_.azimuth_deg * kDegree * std::sqrt(static_cast<double>(n_));
    const auto rest_of = [&](const Matrix3d& rotation, const VectorXd& common) {
      return sensed_rest(node, rotation, common, node.time_s - nodes_[0].time_s, azimuth,
                         priors_.level_deg * kDegree);
    };
    const Vector3d rest = rest_of(node.rotation, common_);
    std::vector<std::pair<int, Vector3d>> slopes;
    for (int axis = 0; axis < 3; ++axis)
      slopes.emplace_back(3 * i + axis,
                          slope(
                              [&](double h) {
                                return rest_of(
                                    node.rotation * rotation_by(h * Vector3d::Unit(axis)), common_);
                              },
                              rest));
    for (int c = 1; c < kCommon; ++c)
      slopes.emplace_back(3 * n_ + c, slope(
                                          [&](double h) {
                                            VectorXd moved = common_;
                                            moved[c] += h;
                                            return rest_of(node.rotation, moved);
                                          },
                                          rest));
    add(rest, slopes);
  }
  void build() {
    const int size = 3 * n_ + kCommon;
    a_ = Eigen::MatrixXd::Zero(size, size);
    b_ = VectorXd::Zero(size);
    for (const TurnLink& link : links_) add_link(link);
    for (int i = 0; i < n_; ++i) add_sensed(i);
    // The zero of the turn is the sensors' own: what they are off by is not known here.
    const double sigmas[kCommon] = {priors_.focal_part, priors_.mounting_deg * kDegree,
                                    priors_.mounting_deg * kDegree, 1e-4,
                                    priors_.drift_deg_per_s * kDegree};
    for (int c = 0; c < kCommon; ++c) {
      const double weight = 1 / (sigmas[c] * sigmas[c]);
      a_(3 * n_ + c, 3 * n_ + c) += weight;
      b_[3 * n_ + c] += weight * common_[c];
    }
  }

  std::vector<TurnNode>& nodes_;
  const std::vector<TurnLink>& links_;
  const TurnPriors& priors_;
  int n_;
  VectorXd common_ = VectorXd::Zero(kCommon), b_;
  Eigen::MatrixXd a_;
};

}  // namespace

TurnAim aim_of(const Matrix3d& r) {
  const Vector3d forward = r.col(2), right = r.col(0);
  const double b = std::atan2(forward.x(), forward.y());
  const Vector3d level_right(std::cos(b), -std::sin(b), 0);
  const Vector3d level_up = level_right.cross(forward);
  return {b / kDegree, std::asin(std::clamp(forward.z(), -1.0, 1.0)) / kDegree,
          std::atan2(-right.dot(level_up), right.dot(level_right)) / kDegree};
}

Matrix3d rotation_of(const TurnAim& aim) {
  const double b = aim.bearing_deg * kDegree, t = aim.tilt_deg * kDegree,
               r = aim.roll_deg * kDegree;
  const Vector3d forward(std::cos(t) * std::sin(b), std::cos(t) * std::cos(b), std::sin(t));
  const Vector3d right(std::cos(b), -std::sin(b), 0), up = right.cross(forward);
  Matrix3d rotation;
  rotation.col(0) = std::cos(r) * right - std::sin(r) * up;
  rotation.col(1) = std::sin(r) * right + std::cos(r) * up;
  rotation.col(2) = forward;
  return rotation;
}

TurnAdjusted adjust_turn(std::vector<TurnNode>& nodes, const std::vector<TurnLink>& links,
                         const TurnPriors& priors) {
  return Adjustment(nodes, links, priors).run();
}

}  // namespace horizon
