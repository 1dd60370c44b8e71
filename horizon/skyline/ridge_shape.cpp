#include "horizon/skyline/ridge_shape.h"

#include <algorithm>
#include <array>
#include <complex>
#include <unsupported/Eigen/FFT>

namespace horizon {
namespace {

constexpr double kValleyWidth_deg = 40;
// A V-shaped valley with walls of 30 degrees strays by 0.62; gentle land by half, gorges by more.
constexpr std::array kValley = {0.3, 0.65, 0.9};
constexpr std::array kStray = {0.05, 0.12, 0.25, 0.5};
constexpr std::array kWidth_deg = {6.0, 15.0, 40.0};
constexpr std::array kPower = {0.7, 1.1, 1.5, 1.9};
static_assert(kWidth_deg.size() * kPower.size() == kRidgeShapes);
// How much it changes over 8 degrees of azimuth, within a factor of 2.2 or so.
constexpr double kChange = 0.14, kChangeLogSigma = 0.8;
constexpr int kBlock = 48;  // marks weighed together

double log_likelihood(const RidgeShape& shape, std::span<const RidgePairs> blocks) {
  double sum = 0;
  for (const RidgePairs& block : blocks) {
    const Eigen::LLT<Eigen::MatrixXd> root(block.covariances(shape));
    if (root.info() != Eigen::Success) return -1e9;
    Eigen::VectorXd y(static_cast<Eigen::Index>(block.seen().size()));
    for (size_t i = 0; i < block.seen().size(); ++i)
      y[static_cast<Eigen::Index>(i)] = block.seen()[i].bent - kRidgeLevel;
    root.matrixL().solveInPlace(y);
    sum -= y.squaredNorm() / 2 + root.matrixLLT().diagonal().array().log().sum();
  }
  return sum;
}

double exact(int which, double apart_deg) {
  const double chord = 2 * std::abs(std::sin(apart_deg * kDegree / 2)) / kDegree;
  if (which == kRidgeShapes) {
    const double wide = chord / kValleyWidth_deg;
    return std::exp(-wide * wide / 2);
  }
  const double width = kWidth_deg[which / kPower.size()], power = kPower[which % kPower.size()];
  return std::exp(-std::pow(chord / width, power));
}

}  // namespace

RidgeTables::RidgeTables() {
  Eigen::FFT<double> fft;
  for (int which = 0; which <= kRidgeShapes; ++which) {
    std::vector<float> table;
    for (int i = 0; i <= 180 * kPerDegree; ++i)
      table.push_back(static_cast<float>(exact(which, static_cast<double>(i) / kPerDegree)));
    of_.push_back(std::move(table));
    std::vector<std::complex<double>> row(kRidgeSteps), waves;
    for (int i = 0; i < kRidgeSteps; ++i) row[i] = exact(which, i * kRidgeStep_deg);
    fft.fwd(waves, row);
    std::vector<double> power;
    for (const auto& wave : waves) power.push_back(std::max(0.0, wave.real()) / kRidgeSteps);
    power_.push_back(std::move(power));
  }
}

RidgePairs::RidgePairs(std::span<const RidgeSeen> seen) : seen_(seen) {
  spots_.reserve(seen.size() * (seen.size() + 1) / 2);
  for (size_t j = 0; j < seen.size(); ++j)
    for (size_t i = j; i < seen.size(); ++i)
      spots_.push_back(RidgeTables::spot(seen[i].azimuth_deg - seen[j].azimuth_deg));
}

Eigen::MatrixXd RidgePairs::covariances(const RidgeShape& shape) const {
  const auto n = static_cast<Eigen::Index>(seen_.size());
  Eigen::MatrixXd k = Eigen::MatrixXd::Zero(n, n);
  auto spot = spots_.begin();
  for (Eigen::Index j = 0; j < n; ++j) {
    for (Eigen::Index i = j; i < n; ++i)
      k(i, j) =
          ridge_covariance(shape, *spot++, seen_[i].tree >= 0 && seen_[i].tree == seen_[j].tree);
    k(j, j) += seen_[j].variance;
  }
  return k;
}

std::vector<WeighedRidge> weighed_ridges(std::span<const RidgeSeen> seen) {
  std::vector<RidgePairs> blocks;
  for (size_t begin = 0; begin < seen.size(); begin += kBlock)
    blocks.emplace_back(seen.subspan(begin, std::min<size_t>(kBlock, seen.size() - begin)));
  std::vector<WeighedRidge> all;
  double best = -1e300;
  for (int which = 0; which < kRidgeShapes; ++which)
    for (double stray : kStray)
      for (double valley : kValley) {
        const RidgeShape shape{stray, valley, which};
        const double off = std::log(shape.change(8) / kChange) / kChangeLogSigma;
        const double log_weight = log_likelihood(shape, blocks) - off * off / 2;
        best = std::max(best, log_weight);
        all.push_back({shape, log_weight});
      }
  double total = 0;
  for (WeighedRidge& w : all) total += w.weight = std::exp(w.weight - best);
  for (WeighedRidge& w : all) w.weight /= total;
  // A wall seen on one side cannot tell how far the valley opens on the other: how much it strays as
  // a whole is not learned.
  const size_t n = kValley.size();
  for (size_t k = 0; k < all.size(); k += n) {
    double sum = 0;
    for (size_t i = 0; i < n; ++i) sum += all[k + i].weight;
    for (size_t i = 0; i < n; ++i) all[k + i].weight = sum / static_cast<double>(n);
  }
  return all;
}

}  // namespace horizon
