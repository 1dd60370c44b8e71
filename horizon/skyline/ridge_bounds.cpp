#include "horizon/skyline/ridge_bounds.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

namespace horizon {
namespace {

constexpr double kLeastShape = 1e-4;
constexpr int kTriesToWeigh = 32, kTries = 4;  // the latter for each line that is kept

// A standard normal deviate between two ends (Robert 1995).
double between(double low, double high, Gauss& gauss) {
  if (high < 0) return -between(-high, -low, gauss);
  if (high - low < 1 && low < 3) {  // evenly, kept by the density
    const double top = low > 0 ? low : 0;
    while (true) {
      const double z = low + (high - low) * gauss.even();
      if (gauss.even() <= std::exp((top * top - z * z) / 2)) return z;
    }
  }
  if (low < 0.5) {
    while (true)
      if (const double z = gauss.next(); z >= low && z <= high) return z;
  }
  const double rate = (low + std::sqrt(low * low + 4)) / 2;  // the tail by an exponential
  const double share = 1 - std::exp(-rate * (high - low));
  while (true) {
    const double z = low - std::log(1 - share * gauss.even() * (1 - 1e-12)) / rate;
    if (gauss.even() <= std::exp(-(z - rate) * (z - rate) / 2)) return std::min(z, high);
  }
}

double log_share(double low, double high) {
  if (high < 0) return log_share(-high, -low);
  const double root = std::numbers::sqrt2 / 2;
  return std::log(std::max(1e-300, (std::erfc(low * root) - std::erfc(high * root)) / 2));
}

}  // namespace

BoundedRidge::BoundedRidge(const RidgeShape& shape, std::span<const RidgeSeen> seen,
                           std::span<const RidgeSeen> at, std::span<const RidgeBound> bounds) {
  const auto m = static_cast<Eigen::Index>(seen.size()), b = static_cast<Eigen::Index>(at.size());
  for (const RidgeBound& bound : bounds) {
    low.push_back(ridge_bent(bound.above_deg));
    high.push_back(ridge_bent(bound.below_deg));
  }
  mean = Eigen::VectorXd::Constant(b, kRidgeLevel);
  Eigen::MatrixXd cov = RidgePairs(at).covariances(shape);
  if (m > 0) {
    Eigen::MatrixXd to_marks(m, b);
    for (Eigen::Index i = 0; i < b; ++i)
      for (Eigen::Index j = 0; j < m; ++j)
        to_marks(j, i) = ridge_covariance(
            shape, RidgeTables::spot(seen[j].azimuth_deg - at[i].azimuth_deg), false);
    const Eigen::LLT<Eigen::MatrixXd> marks(RidgePairs(seen).covariances(shape));
    Eigen::VectorXd off(m);
    for (Eigen::Index j = 0; j < m; ++j) off[j] = seen[j].bent - kRidgeLevel;
    mean += to_marks.transpose() * marks.solve(off);
    marks.matrixL().solveInPlace(to_marks);
    cov.noalias() -= to_marks.transpose() * to_marks;
  }
  root = Eigen::LLT<Eigen::MatrixXd>(cov).matrixL();
}

BoundedRidge::Tried BoundedRidge::tried(int count, Gauss& gauss) const {
  const auto b = static_cast<Eigen::Index>(low.size());
  Eigen::MatrixXd z(b, count);
  std::vector<double> logs(count);
  for (int d = 0; d < count; ++d)
    for (Eigen::Index i = 0; i < b; ++i) {
      const double so_far = mean[i] + root.row(i).head(i).dot(z.col(d).head(i));
      const double from = (low[i] - so_far) / root(i, i), to = (high[i] - so_far) / root(i, i);
      logs[d] += log_share(from, to);
      z(i, d) = between(from, to, gauss);
    }
  const double most = *std::ranges::max_element(logs);
  Tried out;
  double sum = 0;
  for (const double l : logs) sum += out.weights.emplace_back(std::exp(l - most));
  out.heights = (root * z).colwise() + mean;
  out.log_mean = most + std::log(sum / count);
  return out;
}

Eigen::MatrixXd BoundedRidge::picked(int count, Gauss& gauss) const {
  const Tried all = tried(kTries * count, gauss);
  const double total = std::accumulate(all.weights.begin(), all.weights.end(), 0.0),
               first = gauss.even();
  Eigen::MatrixXd out(mean.size(), count);
  double passed = all.weights[0];
  size_t k = 0;
  for (int d = 0; d < count; ++d) {
    while (passed < (d + first) / count * total && k + 1 < all.weights.size())
      passed += all.weights[++k];
    out.col(d) = all.heights.col(static_cast<Eigen::Index>(k));
  }
  return out;
}

void weigh_by_bounds(std::span<const RidgeSeen> seen, std::span<const RidgeSeen> at,
                     std::span<const RidgeBound> bounds, std::vector<WeighedRidge>& shapes,
                     Gauss& gauss) {
  const double most = std::ranges::max(shapes, {}, &WeighedRidge::weight).weight;
  double best = -1e300;
  std::vector<double> logs;
  for (const WeighedRidge& w : shapes) {
    logs.push_back(-1e300);
    if (w.weight < kLeastShape * most) continue;
    logs.back() = std::log(w.weight) +
                  BoundedRidge(w.shape, seen, at, bounds).tried(kTriesToWeigh, gauss).log_mean;
    best = std::max(best, logs.back());
  }
  double total = 0;
  for (size_t k = 0; k < shapes.size(); ++k) total += shapes[k].weight = std::exp(logs[k] - best);
  for (WeighedRidge& w : shapes) w.weight /= total;
}

}  // namespace horizon
