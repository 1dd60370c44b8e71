#include "horizon/skyline/ridge_lines.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <numeric>
#include <unsupported/Eigen/FFT>

#include "horizon/angle.h"

namespace horizon {
namespace {

// Elevations are taken through asinh(el / 8): even near the level, by ratio higher up, as ridges
// stray more where they stand high.
constexpr double kBend_deg = 8;
double bent(double el_deg) { return std::asinh(el_deg / kBend_deg); }
double unbent(double y) { return kBend_deg * std::sinh(y); }
double bent_rate(double el_deg) { return 1 / std::hypot(kBend_deg, el_deg); }  // a degree

// What a skyline may be like before anything is sighted. Its level: 11 degrees, between 5 and 20
// two times in three. Over the shape of the valley lies a rougher line.
constexpr double kLevel = 1.12, kLevelSigma = 0.6;
constexpr double kValleyWidth_deg = 40;
// A V-shaped valley with walls of 30 degrees strays by 0.62; gentle land by half, gorges by more.
constexpr std::array kValley = {0.3, 0.65, 0.9};
constexpr std::array kStray = {0.05, 0.12, 0.25, 0.5};
constexpr std::array kWidth_deg = {6.0, 15.0, 40.0};
constexpr std::array kPower = {0.7, 1.1, 1.5, 1.9};
// How much it changes over 8 degrees of azimuth, within a factor of 2.2 or so.
constexpr double kChange = 0.14, kChangeLogSigma = 0.8;
constexpr double kTree = 1;  // a tree's height over the ridge behind it may be anything
constexpr int kBlock = 48;   // marks weighed together
constexpr double kLeastSigma_deg = 0.03;
constexpr double kSteepest = 3.1;  // bent: 88 degrees
constexpr double kOnBound = 1e-6;  // variance beside the line's own: keeps the matrix sound
constexpr double kLeastShape = 1e-4;
constexpr int kTriesToWeigh = 32, kTries = 4;  // the latter for each line that is kept

constexpr int kShapes = static_cast<int>(kWidth_deg.size() * kPower.size());
constexpr int kGrid = kRidgeSteps;

// Correlations by the angle between two azimuths, worked out once: of each width and power, and
// last the valley's.
class Tables {
 public:
  static const Tables& once() {
    static const Tables tables;
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
  Tables() {
    Eigen::FFT<double> fft;
    for (int which = 0; which <= kShapes; ++which) {
      std::vector<float> table;
      for (int i = 0; i <= 180 * kPerDegree; ++i)
        table.push_back(static_cast<float>(exact(which, static_cast<double>(i) / kPerDegree)));
      of_.push_back(std::move(table));
      std::vector<std::complex<double>> row(kGrid), waves;
      for (int i = 0; i < kGrid; ++i) row[i] = exact(which, i * kRidgeStep_deg);
      fft.fwd(waves, row);
      std::vector<double> power;
      for (const auto& wave : waves) power.push_back(std::max(0.0, wave.real()) / kGrid);
      power_.push_back(std::move(power));
    }
  }
  static double exact(int which, double apart_deg) {
    const double chord = 2 * std::abs(std::sin(apart_deg * kDegree / 2)) / kDegree;
    if (which == kShapes) {
      const double wide = chord / kValleyWidth_deg;
      return std::exp(-wide * wide / 2);
    }
    const double width = kWidth_deg[which / kPower.size()], power = kPower[which % kPower.size()];
    return std::exp(-std::pow(chord / width, power));
  }
  std::vector<std::vector<float>> of_;
  std::vector<std::vector<double>> power_;
};

struct Shape {
  double stray = 0, valley = 0;
  int which = 0;  // width and power
  double covariance(const Tables::Spot& apart) const {
    const Tables& tables = Tables::once();
    return stray * stray * tables.at(which, apart) + valley * valley * tables.at(kShapes, apart);
  }
  double change(double apart_deg) const {
    return std::sqrt(2 * (covariance(Tables::spot(0)) - covariance(Tables::spot(apart_deg))));
  }
};

// What the marks say about the ridge line.
struct Seen {
  double azimuth_deg = 0, bent = 0, variance = 0;
  int tree = -1;
};

double covariance(const Shape& shape, const Tables::Spot& apart, bool same_tree) {
  const double c = kLevelSigma * kLevelSigma + shape.covariance(apart);
  return same_tree ? c + kTree * kTree : c;
}

// How marks stand to each other, the same for all shapes.
class Pairs {
 public:
  explicit Pairs(std::span<const Seen> seen) : seen_(seen) {
    spots_.reserve(seen.size() * (seen.size() + 1) / 2);
    for (size_t j = 0; j < seen.size(); ++j)
      for (size_t i = j; i < seen.size(); ++i)
        spots_.push_back(Tables::spot(seen[i].azimuth_deg - seen[j].azimuth_deg));
  }
  std::span<const Seen> seen() const { return seen_; }
  // The lower half, all that a factoring looks at.
  Eigen::MatrixXd covariances(const Shape& shape) const {
    const auto n = static_cast<Eigen::Index>(seen_.size());
    Eigen::MatrixXd k = Eigen::MatrixXd::Zero(n, n);
    auto spot = spots_.begin();
    for (Eigen::Index j = 0; j < n; ++j) {
      for (Eigen::Index i = j; i < n; ++i)
        k(i, j) = covariance(shape, *spot++, seen_[i].tree >= 0 && seen_[i].tree == seen_[j].tree);
      k(j, j) += seen_[j].variance;
    }
    return k;
  }

 private:
  std::span<const Seen> seen_;
  std::vector<Tables::Spot> spots_;
};

double log_likelihood(const Shape& shape, std::span<const Pairs> blocks) {
  double sum = 0;
  for (const Pairs& block : blocks) {
    const Eigen::LLT<Eigen::MatrixXd> root(block.covariances(shape));
    if (root.info() != Eigen::Success) return -1e9;
    Eigen::VectorXd y(static_cast<Eigen::Index>(block.seen().size()));
    for (size_t i = 0; i < block.seen().size(); ++i)
      y[static_cast<Eigen::Index>(i)] = block.seen()[i].bent - kLevel;
    root.matrixL().solveInPlace(y);
    sum -= y.squaredNorm() / 2 + root.matrixLLT().diagonal().array().log().sum();
  }
  return sum;
}

struct Weighed {
  Shape shape;
  double weight = 0;
};
std::vector<Weighed> weighed(std::span<const Seen> seen) {
  std::vector<Pairs> blocks;
  for (size_t begin = 0; begin < seen.size(); begin += kBlock)
    blocks.emplace_back(seen.subspan(begin, std::min<size_t>(kBlock, seen.size() - begin)));
  std::vector<Weighed> all;
  double best = -1e300;
  for (int which = 0; which < kShapes; ++which)
    for (double stray : kStray)
      for (double valley : kValley) {
        const Shape shape{stray, valley, which};
        const double off = std::log(shape.change(8) / kChange) / kChangeLogSigma;
        const double log_weight = log_likelihood(shape, blocks) - off * off / 2;
        best = std::max(best, log_weight);
        all.push_back({shape, log_weight});
      }
  double total = 0;
  for (Weighed& w : all) total += w.weight = std::exp(w.weight - best);
  for (Weighed& w : all) w.weight /= total;
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

// Random lines of one shape, before any mark; two at a time.
class Spectrum {
 public:
  explicit Spectrum(const Shape& shape) : root_(kGrid) {
    const std::vector<double>&line = Tables::once().power(shape.which),
          &valley = Tables::once().power(kShapes);
    for (int i = 0; i < kGrid; ++i)
      root_[i] =
          std::sqrt(shape.stray * shape.stray * line[i] + shape.valley * shape.valley * valley[i]);
  }
  void draw(Gauss& gauss, Eigen::Ref<Eigen::VectorXd> a, Eigen::Ref<Eigen::VectorXd> b) {
    std::vector<std::complex<double>> in(kGrid), out;
    for (int i = 0; i < kGrid; ++i) {
      const double re = gauss.next(), im = gauss.next();
      in[i] = {re * root_[i], im * root_[i]};
    }
    fft_.fwd(out, in);
    for (int i = 0; i < kGrid; ++i) {
      a[i] = out[i].real();
      b[i] = out[i].imag();
    }
  }

 private:
  Eigen::FFT<double> fft_;
  std::vector<double> root_;
};

std::vector<Seen> seen_of(std::span<const RidgeMark> marks) {
  std::vector<Seen> seen;
  for (const RidgeMark& mark : marks) {
    const double sigma = std::max(kLeastSigma_deg, mark.sigma_deg) * bent_rate(mark.elevation_deg);
    const Seen one{mark.azimuth_deg, bent(mark.elevation_deg), sigma * sigma, mark.tree};
    // Marks closer than the grid are one.
    if (!seen.empty() && seen.back().tree == one.tree &&
        one.azimuth_deg - seen.back().azimuth_deg < kRidgeStep_deg) {
      Seen& last = seen.back();
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
std::vector<Tables::Spot> to_grid_of(std::span<const Seen> seen) {
  std::vector<Tables::Spot> spots;
  spots.reserve(seen.size() * kGrid);
  for (const Seen& one : seen)
    for (int i = 0; i < kGrid; ++i)
      spots.push_back(Tables::spot(i * kRidgeStep_deg - one.azimuth_deg));
  return spots;
}

// `count` lines of one shape through the marks, one a column. The last of `pairs` stand where each
// line has its own height: a row of `within`.
Eigen::MatrixXd lines_through(const Pairs& pairs, std::span<const Tables::Spot> to_grid,
                              const Shape& shape, int count, const Eigen::MatrixXd& within,
                              Gauss& gauss) {
  const std::span<const Seen> seen = pairs.seen();
  const auto m = static_cast<Eigen::Index>(seen.size());
  Spectrum spectrum(shape);
  Eigen::MatrixXd lines(kGrid, count + count % 2), miss(m, count);
  for (int d = 0; d < count; d += 2) spectrum.draw(gauss, lines.col(d), lines.col(d + 1));
  lines.conservativeResize(Eigen::NoChange, count);
  for (int d = 0; d < count; ++d) {
    lines.col(d).array() += kLevel + kLevelSigma * gauss.next();
    std::vector<std::pair<int, double>> trees;
    for (Eigen::Index j = 0; j < m; ++j) {
      double height = line_at(lines.col(d), seen[j].azimuth_deg);
      if (seen[j].tree >= 0) {
        auto at = std::find_if(trees.begin(), trees.end(),
                               [&](const auto& t) { return t.first == seen[j].tree; });
        if (at == trees.end()) at = trees.insert(at, {seen[j].tree, kTree * gauss.next()});
        height += at->second;
      }
      const Eigen::Index own = j - (m - within.rows());
      const double bent = own < 0 ? seen[j].bent : within(own, d);
      miss(j, d) = bent - height - std::sqrt(seen[j].variance) * gauss.next();
    }
  }
  if (m == 0) return lines;
  Eigen::LLT<Eigen::MatrixXd>(pairs.covariances(shape)).solveInPlace(miss);
  Eigen::MatrixXd spread(kGrid, m);
  std::ranges::transform(to_grid, spread.data(), [&](const Tables::Spot& apart) {
    return covariance(shape, apart, false);
  });
  lines.noalias() += spread * miss;
  return lines;
}

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

// Heights at the bounds that the lines of one shape could have, given the marks.
struct Bounded {
  std::vector<double> low, high;  // bent
  Eigen::VectorXd mean;
  Eigen::MatrixXd root;

  Bounded(const Shape& shape, std::span<const Seen> seen, std::span<const Seen> at,
          std::span<const RidgeBound> bounds) {
    const auto m = static_cast<Eigen::Index>(seen.size()), b = static_cast<Eigen::Index>(at.size());
    for (const RidgeBound& bound : bounds) {
      low.push_back(bent(bound.above_deg));
      high.push_back(bent(bound.below_deg));
    }
    mean = Eigen::VectorXd::Constant(b, kLevel);
    Eigen::MatrixXd cov = Pairs(at).covariances(shape);
    if (m > 0) {
      Eigen::MatrixXd to_marks(m, b);
      for (Eigen::Index i = 0; i < b; ++i)
        for (Eigen::Index j = 0; j < m; ++j)
          to_marks(j, i) =
              covariance(shape, Tables::spot(seen[j].azimuth_deg - at[i].azimuth_deg), false);
      const Eigen::LLT<Eigen::MatrixXd> marks(Pairs(seen).covariances(shape));
      Eigen::VectorXd off(m);
      for (Eigen::Index j = 0; j < m; ++j) off[j] = seen[j].bent - kLevel;
      mean += to_marks.transpose() * marks.solve(off);
      marks.matrixL().solveInPlace(to_marks);
      cov.noalias() -= to_marks.transpose() * to_marks;
    }
    root = Eigen::LLT<Eigen::MatrixXd>(cov).matrixL();
  }

  struct Tried {
    Eigen::MatrixXd heights;  // one line a column
    std::vector<double> weights;
    double log_mean = 0;  // of the weights
  };
  // One bound after the other: each height within its own ends given those before, the weight how
  // likely that was.
  Tried tried(int count, Gauss& gauss) const {
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
  // The likely ones, in even steps of the weights' sum.
  Eigen::MatrixXd picked(int count, Gauss& gauss) const {
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
};

void weigh_by_bounds(std::span<const Seen> seen, std::span<const Seen> at,
                     std::span<const RidgeBound> bounds, std::vector<Weighed>& shapes,
                     Gauss& gauss) {
  const double most = std::ranges::max(shapes, {}, &Weighed::weight).weight;
  double best = -1e300;
  std::vector<double> logs;
  for (const Weighed& w : shapes) {
    logs.push_back(-1e300);
    if (w.weight < kLeastShape * most) continue;
    logs.back() = std::log(w.weight) +
                  Bounded(w.shape, seen, at, bounds).tried(kTriesToWeigh, gauss).log_mean;
    best = std::max(best, logs.back());
  }
  double total = 0;
  for (size_t k = 0; k < shapes.size(); ++k) total += shapes[k].weight = std::exp(logs[k] - best);
  for (Weighed& w : shapes) w.weight /= total;
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
  std::vector<Seen> seen = seen_of(marks);
  std::vector<Weighed> shapes = weighed(seen);
  std::vector<Seen> at;  // the bounds, each line with its own height there
  for (const RidgeBound& b : bounds) at.push_back({b.azimuth_deg, 0, kOnBound, -1});
  if (!at.empty()) weigh_by_bounds(seen, at, bounds, shapes, gauss);
  std::vector<Seen> all = seen;
  all.insert(all.end(), at.begin(), at.end());
  const Pairs pairs(all);
  const std::vector<Tables::Spot> to_grid = to_grid_of(all);
  double passed = 0;
  int made = 0;
  for (const Weighed& w : shapes) {
    passed += w.weight;
    const int count = static_cast<int>(std::lround(passed * draws)) - made;
    if (count <= 0) continue;
    made += count;
    Eigen::MatrixXd within;
    if (!at.empty()) within = Bounded(w.shape, seen, at, bounds).picked(count, gauss);
    const Eigen::MatrixXd lines = lines_through(pairs, to_grid, w.shape, count, within, gauss);
    for (int d = 0; d < count; ++d) {
      out.emplace_back();
      for (int i = 0; i < kRidgeSteps; ++i)
        out.back()[i] = static_cast<float>(unbent(std::clamp(lines(i, d), -kSteepest, kSteepest)));
    }
  }
  return out;
}

}  // namespace horizon
