#include "horizon/skyline/ridge_lines.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <unsupported/Eigen/FFT>

#include "horizon/skyline/ridge_bounds.h"
#include "horizon/skyline/ridge_shape.h"

namespace horizon {
namespace {

constexpr double kLeastSigma_deg = 0.03;
constexpr double kSteepest = 3.1;  // bent: 88 degrees
constexpr double kOnBound = 1e-6;  // variance beside the line's own: keeps the matrix sound

// Random lines of one shape, before any mark; two at a time.
class Spectrum {
 public:
  explicit Spectrum(const RidgeShape& shape) : root_(kRidgeSteps) {
    const std::vector<double>&line = RidgeTables::once().power(shape.which),
          &valley = RidgeTables::once().power(kRidgeShapes);
    for (int i = 0; i < kRidgeSteps; ++i)
      root_[i] =
          std::sqrt(shape.stray * shape.stray * line[i] + shape.valley * shape.valley * valley[i]);
  }
  void draw(Gauss& gauss, Eigen::Ref<Eigen::VectorXd> a, Eigen::Ref<Eigen::VectorXd> b) {
    std::vector<std::complex<double>> in(kRidgeSteps), out;
    for (int i = 0; i < kRidgeSteps; ++i) {
      const double re = gauss.next(), im = gauss.next();
      in[i] = {re * root_[i], im * root_[i]};
    }
    fft_.fwd(out, in);
    for (int i = 0; i < kRidgeSteps; ++i) {
      a[i] = out[i].real();
      b[i] = out[i].imag();
    }
  }

 private:
  Eigen::FFT<double> fft_;
  std::vector<double> root_;
};

std::vector<RidgeSeen> seen_of(std::span<const RidgeMark> marks) {
  std::vector<RidgeSeen> seen;
  for (const RidgeMark& mark : marks) {
    const double sigma =
        std::max(kLeastSigma_deg, mark.sigma_deg) * ridge_bent_rate(mark.elevation_deg);
    const RidgeSeen one{mark.azimuth_deg, ridge_bent(mark.elevation_deg), sigma * sigma, mark.tree};
    // Marks closer than the grid are one.
    if (!seen.empty() && seen.back().tree == one.tree &&
        one.azimuth_deg - seen.back().azimuth_deg < kRidgeStep_deg) {
      RidgeSeen& last = seen.back();
      const double w = one.variance / (last.variance + one.variance);
      last.azimuth_deg = w * last.azimuth_deg + (1 - w) * one.azimuth_deg;
      last.bent = w * last.bent + (1 - w) * one.bent;
      last.variance *= w;
      continue;
    }
    seen.push_back(one);
  }
  return seen;
}

// How marks stand to the grid, the same for all shapes: a column each.
std::vector<RidgeTables::Spot> to_grid_of(std::span<const RidgeSeen> seen) {
  std::vector<RidgeTables::Spot> spots;
  spots.reserve(seen.size() * kRidgeSteps);
  for (const RidgeSeen& one : seen)
    for (int i = 0; i < kRidgeSteps; ++i)
      spots.push_back(RidgeTables::spot(i * kRidgeStep_deg - one.azimuth_deg));
  return spots;
}

// `count` lines of one shape through the marks, one a column. The last of `pairs` stand where each
// line has its own height: a row of `within`.
Eigen::MatrixXd lines_through(const RidgePairs& pairs, std::span<const RidgeTables::Spot> to_grid,
                              const RidgeShape& shape, int count, const Eigen::MatrixXd& within,
                              Gauss& gauss) {
  const std::span<const RidgeSeen> seen = pairs.seen();
  const auto m = static_cast<Eigen::Index>(seen.size());
  Spectrum spectrum(shape);
  Eigen::MatrixXd lines(kRidgeSteps, count + count % 2), miss(m, count);
  for (int d = 0; d < count; d += 2) spectrum.draw(gauss, lines.col(d), lines.col(d + 1));
  lines.conservativeResize(Eigen::NoChange, count);
  for (int d = 0; d < count; ++d) {
    lines.col(d).array() += kRidgeLevel + kRidgeLevelSigma * gauss.next();
    std::vector<std::pair<int, double>> trees;
    for (Eigen::Index j = 0; j < m; ++j) {
      double height = line_at(lines.col(d), seen[j].azimuth_deg);
      if (seen[j].tree >= 0) {
        auto at = std::find_if(trees.begin(), trees.end(),
                               [&](const auto& t) { return t.first == seen[j].tree; });
        if (at == trees.end()) at = trees.insert(at, {seen[j].tree, kRidgeTree * gauss.next()});
        height += at->second;
      }
      const Eigen::Index own = j - (m - within.rows());
      const double bent = own < 0 ? seen[j].bent : within(own, d);
      miss(j, d) = bent - height - std::sqrt(seen[j].variance) * gauss.next();
    }
  }
  if (m == 0) return lines;
  Eigen::LLT<Eigen::MatrixXd>(pairs.covariances(shape)).solveInPlace(miss);
  Eigen::MatrixXd spread(kRidgeSteps, m);
  std::ranges::transform(to_grid, spread.data(), [&](const RidgeTables::Spot& apart) {
    return ridge_covariance(shape, apart, false);
  });
  lines.noalias() += spread * miss;
  return lines;
}

}  // namespace

double Gauss::even() { return (static_cast<double>(bits_() >> 11) + 1) / 9007199254740992.0; }

double Gauss::next() {
  if (has_kept_) {
    has_kept_ = false;
    return kept_;
  }
  // Box & Muller 1958. 53 bits in (0, 1].
  const double u = even();
  const double v = even() - 1 / 9007199254740992.0;
  const double radius = std::sqrt(-2 * std::log(u)), angle = 2 * std::numbers::pi * v;
  kept_ = radius * std::sin(angle);
  has_kept_ = true;
  return radius * std::cos(angle);
}

std::vector<RidgeLine> ridge_lines(std::span<const RidgeMark> marks,
                                   std::span<const RidgeBound> bounds, int draws, Gauss& gauss) {
  std::vector<RidgeLine> out;
  std::vector<RidgeSeen> seen = seen_of(marks);
  std::vector<WeighedRidge> shapes = weighed_ridges(seen);
  std::vector<RidgeSeen> at;  // the bounds, each line with its own height there
  for (const RidgeBound& b : bounds) at.push_back({b.azimuth_deg, 0, kOnBound, -1});
  if (!at.empty()) weigh_by_bounds(seen, at, bounds, shapes, gauss);
  std::vector<RidgeSeen> all = seen;
  all.insert(all.end(), at.begin(), at.end());
  const RidgePairs pairs(all);
  const std::vector<RidgeTables::Spot> to_grid = to_grid_of(all);
  double passed = 0;
  int made = 0;
  for (const WeighedRidge& w : shapes) {
    passed += w.weight;
    const int count = static_cast<int>(std::lround(passed * draws)) - made;
    if (count <= 0) continue;
    made += count;
    Eigen::MatrixXd within;
    if (!at.empty()) within = BoundedRidge(w.shape, seen, at, bounds).picked(count, gauss);
    const Eigen::MatrixXd lines = lines_through(pairs, to_grid, w.shape, count, within, gauss);
    for (int d = 0; d < count; ++d) {
      out.emplace_back();
      for (int i = 0; i < kRidgeSteps; ++i)
        out.back()[i] =
            static_cast<float>(ridge_unbent(std::clamp(lines(i, d), -kSteepest, kSteepest)));
    }
  }
  return out;
}

}  // namespace horizon
