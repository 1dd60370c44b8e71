// horizon/skyline/ridge_shape.h: what a ridge line may be like before and after marks: of which level, size,
// width and roughness, and how alike two of its azimuths are. Of horizon/skyline/ridge_lines.h alone.
// Units:  degrees; "bent": elevations through asinh
// Source: as ridge_lines.h
#pragma once

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

#include "horizon/angle.h"
#include "horizon/skyline/ridge_lines.h"

namespace horizon {

// Elevations are taken through asinh(el / 8): even near the level, by ratio higher up, as ridges
// stray more where they stand high.
inline constexpr double kRidgeBend_deg = 8;
inline double ridge_bent(double el_deg) { return std::asinh(el_deg / kRidgeBend_deg); }
inline double ridge_unbent(double y) { return kRidgeBend_deg * std::sinh(y); }
// Bent, a degree.
inline double ridge_bent_rate(double el_deg) { return 1 / std::hypot(kRidgeBend_deg, el_deg); }

// What a skyline may be like before anything is sighted. Its level: 11 degrees, between 5 and 20
// two times in three. Over the shape of the valley lies a rougher line.
inline constexpr double kRidgeLevel = 1.12, kRidgeLevelSigma = 0.6;
inline constexpr double kRidgeTree = 1;  // a tree's height over the ridge behind it may be anything
inline constexpr int kRidgeShapes = 12;  // widths and powers

// Correlations by the angle between two azimuths, worked out once: of each width and power, and
// last the valley's.
class RidgeTables {
 public:
  static const RidgeTables& once() {
    static const RidgeTables tables;
    return tables;
  }
  // Where an angle stands in them, for all shapes alike.
  struct Spot {
    int step = 0;
    double beyond = 0;
  };
  static Spot spot(double apart_deg) {
    const double x = std::abs(wrap_180(apart_deg)) * kPerDegree;
    const int i = std::min(static_cast<int>(x), 180 * kPerDegree - 1);
    return {i, x - i};
  }
  double at(int which, const Spot& s) const {
    const float* t = of_[which].data() + s.step;
    return t[0] + s.beyond * (t[1] - t[0]);
  }
  // Power of each wave round the half-degree grid.
  const std::vector<double>& power(int which) const { return power_[which]; }

 private:
  static constexpr int kPerDegree = 20;
  RidgeTables();
  std::vector<std::vector<float>> of_;
  std::vector<std::vector<double>> power_;
};

struct RidgeShape {
  double stray = 0, valley = 0;
  int which = 0;  // width and power
  double covariance(const RidgeTables::Spot& apart) const {
    const RidgeTables& tables = RidgeTables::once();
    return stray * stray * tables.at(which, apart) +
           valley * valley * tables.at(kRidgeShapes, apart);
  }
  double change(double apart_deg) const {
    return std::sqrt(2 *
                     (covariance(RidgeTables::spot(0)) - covariance(RidgeTables::spot(apart_deg))));
  }
};

// What the marks say about the ridge line.
struct RidgeSeen {
  double azimuth_deg = 0, bent = 0, variance = 0;
  int tree = -1;
};

inline double ridge_covariance(const RidgeShape& shape, const RidgeTables::Spot& apart,
                               bool same_tree) {
  const double c = kRidgeLevelSigma * kRidgeLevelSigma + shape.covariance(apart);
  return same_tree ? c + kRidgeTree * kRidgeTree : c;
}

// How marks stand to each other, the same for all shapes.
class RidgePairs {
 public:
  explicit RidgePairs(std::span<const RidgeSeen> seen);
  std::span<const RidgeSeen> seen() const { return seen_; }
  // The lower half, all that a factoring looks at.
  Eigen::MatrixXd covariances(const RidgeShape& shape) const;

 private:
  std::span<const RidgeSeen> seen_;
  std::vector<RidgeTables::Spot> spots_;
};

struct WeighedRidge {
  RidgeShape shape;
  double weight = 0;
};
// All shapes, by how well they explain the marks; the weights make 1.
std::vector<WeighedRidge> weighed_ridges(std::span<const RidgeSeen> seen);

}  // namespace horizon
