#include "horizon/skyline/plausible.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <span>
#include <unsupported/Eigen/FFT>

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
constexpr std::array kValley = {0.3, 0.65};
constexpr std::array kStray = {0.05, 0.12, 0.25, 0.5};
constexpr std::array kWidth_deg = {6.0, 15.0, 40.0};
constexpr std::array kPower = {0.7, 1.1, 1.5, 1.9};
// How much it changes over 8 degrees of azimuth, within a factor of 2.2 or so.
constexpr double kChange = 0.14, kChangeLogSigma = 0.8;
constexpr double kTree = 1;  // a tree's height over the ridge behind it may be anything
constexpr int kBlock = 48;   // marks weighed together
constexpr double kLeastSigma_deg = 0.03;

struct Shape {
  double stray = 0, width_deg = 0, power = 0, valley = 0;
  double covariance(double apart_deg) const {
    const double chord = 2 * std::abs(std::sin(apart_deg * kDegree / 2)) / kDegree;
    const double wide = chord / kValleyWidth_deg;
    return stray * stray * std::exp(-std::pow(chord / width_deg, power)) +
           valley * valley * std::exp(-wide * wide / 2);
  }
  double change(double apart_deg) const {
    return std::sqrt(2 * (covariance(0) - covariance(apart_deg)));
  }
};

// What the marks say about the ridge line.
struct Seen {
  double azimuth_deg = 0, bent = 0, variance = 0;
  int tree = -1;  // obstacle that stands before the ridge
};

double covariance(const Shape& shape, const Seen& a, const Seen& b) {
  double c = kLevelSigma * kLevelSigma + shape.covariance(a.azimuth_deg - b.azimuth_deg);
  if (a.tree >= 0 && a.tree == b.tree) c += kTree * kTree;
  return c;
}

Eigen::MatrixXd covariances(const Shape& shape, std::span<const Seen> seen) {
  const auto n = static_cast<Eigen::Index>(seen.size());
  Eigen::MatrixXd k(n, n);
  for (Eigen::Index i = 0; i < n; ++i) {
    for (Eigen::Index j = 0; j < i; ++j) k(i, j) = k(j, i) = covariance(shape, seen[i], seen[j]);
    k(i, i) = covariance(shape, seen[i], seen[i]) + seen[i].variance;
  }
  return k;
}

double log_likelihood(const Shape& shape, std::span<const Seen> seen) {
  double sum = 0;
  for (size_t begin = 0; begin < seen.size(); begin += kBlock) {
    const auto block = seen.subspan(begin, std::min<size_t>(kBlock, seen.size() - begin));
    const Eigen::LLT<Eigen::MatrixXd> root(covariances(shape, block));
    Eigen::VectorXd y(static_cast<Eigen::Index>(block.size()));
    for (size_t i = 0; i < block.size(); ++i)
      y[static_cast<Eigen::Index>(i)] = block[i].bent - kLevel;
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
  std::vector<Weighed> all;
  double best = -1e300;
  for (double stray : kStray)
    for (double width : kWidth_deg)
      for (double power : kPower)
        for (double valley : kValley) {
          const Shape shape{stray, width, power, valley};
          const double off = std::log(shape.change(8) / kChange) / kChangeLogSigma;
          const double log_weight = log_likelihood(shape, seen) - off * off / 2;
          best = std::max(best, log_weight);
          all.push_back({shape, log_weight});
        }
  double total = 0;
  for (Weighed& w : all) total += w.weight = std::exp(w.weight - best);
  for (Weighed& w : all) w.weight /= total;
  return all;
}

// Random lines of one shape, before any mark; two at a time.
class Spectrum {
 public:
  explicit Spectrum(const Shape& shape) : root_(kSteps) {
    std::vector<std::complex<double>> row(kSteps), power;
    for (int i = 0; i < kSteps; ++i) row[i] = shape.covariance(i * PlausibleLines::kStep_deg);
    fft_.fwd(power, row);
    for (int i = 0; i < kSteps; ++i) root_[i] = std::sqrt(std::max(0.0, power[i].real()) / kSteps);
  }
  void draw(Gauss& gauss, Eigen::VectorXd& a, Eigen::VectorXd& b) {
    std::vector<std::complex<double>> in(kSteps), out;
    for (int i = 0; i < kSteps; ++i) {
      const double re = gauss.next(), im = gauss.next();
      in[i] = {re * root_[i], im * root_[i]};
    }
    fft_.fwd(out, in);
    a.resize(kSteps);
    b.resize(kSteps);
    for (int i = 0; i < kSteps; ++i) {
      a[i] = out[i].real();
      b[i] = out[i].imag();
    }
  }

 private:
  static constexpr int kSteps = PlausibleLines::kSteps;
  Eigen::FFT<double> fft_;
  std::vector<double> root_;
};

template <class Line>
double at_azimuth(const Line& line, double azimuth_deg) {
  const double x = wrap_360(azimuth_deg) / PlausibleLines::kStep_deg;
  const int i = static_cast<int>(x) % PlausibleLines::kSteps;
  const double t = x - std::floor(x);
  return (1 - t) * line[i] + t * line[(i + 1) % PlausibleLines::kSteps];
}

bool near_kind(Kind kind) { return kind != Kind::ridge; }

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

PlausibleLines::PlausibleLines(const Skyline& sighted, double eye_height_sigma_m, int draws,
                               std::uint32_t seed)
    : sighted_(sighted), eye_height_sigma_m_(eye_height_sigma_m), seed_(seed) {
  for (size_t i = 0; i < sighted_.points.size(); ++i) {
    const SkylinePoint& point = sighted_.points[i];
    if (point.layer == 0 && sighted_.obstacles[point.obstacle].kind != Kind::pole)
      outline_.push_back(static_cast<int>(i));
  }
  std::stable_sort(outline_.begin(), outline_.end(), [&](int a, int b) {
    return sighted_.points[a].azimuth.degrees() < sighted_.points[b].azimuth.degrees();
  });
  of_ridge_.assign(sighted_.points.size(), 0);
  for (int i : outline_)
    of_ridge_[i] = sighted_.obstacles[sighted_.points[i].obstacle].kind == Kind::ridge;
  set_pieces();
  learn(draws, seed);
}

void PlausibleLines::set_pieces() {
  int ridge = -1;
  for (size_t o = 0; o < sighted_.obstacles.size() && ridge < 0; ++o)
    if (sighted_.obstacles[o].kind == Kind::ridge) ridge = static_cast<int>(o);
  if (ridge < 0) {
    ridge = static_cast<int>(sighted_.obstacles.size());
    sighted_.obstacles.push_back({Kind::ridge, ""});
  }
  const size_t n = outline_.size();
  std::vector<double> squares(sighted_.obstacles.size()), widths(sighted_.obstacles.size());
  for (size_t i = 0; i < std::max<size_t>(1, n); ++i) {
    Piece piece;
    piece.obstacle = ridge;
    piece.how = Piece::How::ridge;
    piece.width_deg = 360;
    if (n > 0) {
      piece.from = outline_[i];
      piece.to = outline_[(i + 1) % n];
      const SkylinePoint &a = sighted_.points[piece.from], &b = sighted_.points[piece.to];
      if (n > 1) piece.width_deg = wrap_360(b.azimuth.degrees() - a.azimuth.degrees());
      const Obstacle &from = sighted_.obstacles[a.obstacle], &to = sighted_.obstacles[b.obstacle];
      const bool same = a.obstacle == b.obstacle;
      const bool edge = same && from.edge == Edge::great_circle && piece.width_deg < 180;
      const bool open = piece.width_deg > sighted_.max_gap_deg && !edge;
      const bool ridges = from.kind == Kind::ridge && to.kind == Kind::ridge;
      if (from.kind == Kind::ridge)
        piece.obstacle = a.obstacle;
      else if (to.kind == Kind::ridge)
        piece.obstacle = b.obstacle;
      if (!open && (edge || !ridges)) {
        piece.how = Piece::How::straight;
        if (same && !edge && (from.kind == Kind::evergreen || from.kind == Kind::leafy)) {
          piece.how = Piece::How::crowns;
          piece.obstacle = a.obstacle;
          const double rise = b.elevation.degrees() - a.elevation.degrees();
          squares[a.obstacle] += rise * rise / 2;
          widths[a.obstacle] += piece.width_deg;
        }
      }
    }
    pieces_.push_back(piece);
  }
  // Ten degrees' worth of an ordinary row of trees beside what its own marks say.
  for (size_t o = 0; o < squares.size(); ++o)
    crowns_.push_back(std::clamp((squares[o] + 10 * 0.2) / (widths[o] + 10), 0.02, 2.0));
}

void PlausibleLines::learn(int draws, std::uint32_t seed) {
  std::vector<Seen> seen;
  const size_t n = outline_.size();
  for (size_t k = 0; k < n; ++k) {
    const SkylinePoint& p = sighted_.points[outline_[k]];
    const Kind kind = sighted_.obstacles[p.obstacle].kind;
    if (kind == Kind::building) continue;
    // The line's own slope turns an error of azimuth into one of elevation.
    double slope = 0;
    int sides = 0;
    for (const int way : {-1, 1})
      for (size_t step = 1; step < n; ++step) {
        const SkylinePoint& q = sighted_.points[outline_[(k + n + way * step + n) % n]];
        const double apart = std::abs(clockwise_deg(p.azimuth, q.azimuth));
        if (q.obstacle != p.obstacle || apart > 30) break;
        if (apart < 2 * p.azimuth_sigma_deg) continue;
        slope += std::abs(q.elevation.degrees() - p.elevation.degrees()) / apart;
        ++sides;
        break;
      }
    if (sides) slope /= sides;
    const double sigma = std::hypot(p.elevation_sigma_deg, slope * p.azimuth_sigma_deg);
    const double el = p.elevation.degrees();
    const double variance = std::pow(std::max(kLeastSigma_deg, sigma) * bent_rate(el), 2);
    const Seen one{p.azimuth.degrees(), bent(el), variance, kind == Kind::ridge ? -1 : p.obstacle};
    // Marks closer than the grid are one.
    if (!seen.empty() && seen.back().tree == one.tree &&
        one.azimuth_deg - seen.back().azimuth_deg < kStep_deg) {
      Seen& last = seen.back();
      const double w = one.variance / (last.variance + one.variance);
      last.azimuth_deg = w * last.azimuth_deg + (1 - w) * one.azimuth_deg;
      last.bent = w * last.bent + (1 - w) * one.bent;
      last.variance *= w;
      continue;
    }
    seen.push_back(one);
  }

  const std::vector<Weighed> shapes = weighed(seen);
  for (const Weighed& w : shapes) {
    const double c4 = w.shape.covariance(4), c8 = w.shape.covariance(8), c0 = w.shape.covariance(0);
    between_deg_ += w.weight * (c0 - 2 * c4 * c4 / (c0 + c8));
  }
  between_deg_ = std::sqrt(std::max(0.0, between_deg_));

  Gauss gauss(seed);
  const auto m = static_cast<Eigen::Index>(seen.size());
  double passed = 0;
  int made = 0;
  for (const Weighed& w : shapes) {
    passed += w.weight;
    const int until = static_cast<int>(std::lround(passed * draws));
    if (until <= made) continue;
    Spectrum spectrum(w.shape);
    Eigen::MatrixXd gain(kSteps, m);
    if (m > 0) {
      const Eigen::LLT<Eigen::MatrixXd> root(covariances(w.shape, seen));
      Eigen::MatrixXd to_grid(m, kSteps);
      for (int i = 0; i < kSteps; ++i)
        for (Eigen::Index j = 0; j < m; ++j)
          to_grid(j, i) = covariance(w.shape, seen[j], {i * kStep_deg, 0, 0, -1});
      gain = root.solve(to_grid).transpose();
    }
    Eigen::VectorXd two[2], miss(m);
    for (int which = 2; made < until; ++made) {
      if (which == 2) spectrum.draw(gauss, two[0], two[1]), which = 0;
      Eigen::VectorXd& line = two[which++];
      line.array() += kLevel + kLevelSigma * gauss.next();
      std::vector<std::pair<int, double>> trees;
      for (Eigen::Index j = 0; j < m; ++j) {
        double height = at_azimuth(line, seen[j].azimuth_deg);
        if (seen[j].tree >= 0) {
          auto at = std::find_if(trees.begin(), trees.end(),
                                 [&](const auto& t) { return t.first == seen[j].tree; });
          if (at == trees.end()) at = trees.insert(at, {seen[j].tree, kTree * gauss.next()});
          height += at->second;
        }
        miss[j] = seen[j].bent - height - std::sqrt(seen[j].variance) * gauss.next();
      }
      if (m > 0) line += gain * miss;
      lines_.emplace_back();
      for (int i = 0; i < kSteps; ++i) lines_.back()[i] = static_cast<float>(unbent(line[i]));
    }
  }
  for (int d = 0; d < draws; ++d) turn_deg_.push_back(sighted_.heading_sigma_deg * gauss.next());
}

double PlausibleLines::line_deg(int index, double azimuth_deg) const {
  return at_azimuth(lines_[index], azimuth_deg);
}

void PlausibleLines::add_points(const Piece& piece, int index, const std::vector<double>& lift_deg,
                                Gauss& gauss, Skyline& out) const {
  if (piece.how == Piece::How::straight) return;
  const bool marked = !outline_.empty();
  SkylinePoint point;
  if (marked) point = sighted_.points[piece.from];
  point.obstacle = piece.obstacle;
  const double from = marked ? point.azimuth.degrees() : 0;
  const double turn = point.computed ? 0 : turn_deg_[index];
  if (piece.how == Piece::How::ridge) {
    const double up0 = marked ? lift_deg[piece.from] : 0, up1 = marked ? lift_deg[piece.to] : 0;
    for (int i = static_cast<int>(from / kStep_deg) + 1;
         i * kStep_deg < from + piece.width_deg - 1e-6; ++i) {
      const double t = (i * kStep_deg - from) / piece.width_deg;
      point.azimuth = TrueAzimuth::degrees(i * kStep_deg + turn);
      const double el = lines_[index][i % kSteps] + (1 - t) * up0 + t * up1;
      point.elevation = Elevation::degrees(std::clamp(el, -30.0, 89.9));
      out.points.push_back(point);
    }
    return;
  }
  // Crowns: a random walk tied to both marks, about every degree.
  const SkylinePoint &a = out.points[piece.from], &b = out.points[piece.to];
  const double width = wrap_360(b.azimuth.degrees() - a.azimuth.degrees());
  const int steps = static_cast<int>(std::min(width, piece.width_deg * 2));
  double off = 0;
  const TrueAzimuth start = a.azimuth;
  const double low = a.elevation.degrees(), high = b.elevation.degrees();
  for (int i = 1; i < steps; ++i) {
    const double left = steps - i + 1, step = width / steps;
    off = off * (left - 1) / left +
          std::sqrt(crowns_[piece.obstacle] * step * (left - 1) / left) * gauss.next();
    point.azimuth = start.turned_by(i * step);
    const double el = low + (high - low) * i / steps + off;
    point.elevation = Elevation::degrees(std::clamp(el, -30.0, 89.9));
    out.points.push_back(point);
  }
}

Skyline PlausibleLines::draw(int index) const {
  Gauss gauss(seed_ + 7919u * static_cast<std::uint32_t>(index + 1));
  Skyline out = sighted_;
  const double lift_m = gauss.next() * eye_height_sigma_m_;
  // Near things whose distance nobody gave stand from 8 to 60 m away.
  std::vector<double> distance_m;
  for (const Obstacle& o : sighted_.obstacles)
    distance_m.push_back(near_kind(o.kind) ? 8 * std::pow(60.0 / 8, gauss.even()) : 0);
  std::vector<double> lift_deg(out.points.size());
  for (size_t i = 0; i < out.points.size(); ++i) {
    SkylinePoint& point = out.points[i];
    // A point from a terrain grid was never aimed at.
    const double shared = point.computed ? 0 : turn_deg_[index];
    double el = point.elevation.degrees(), turn = shared;
    const double distance = point.distance_m.value_or(distance_m[point.obstacle]);
    if (distance > 0) {
      const double c = std::cos(el * kDegree);
      lift_deg[i] = lift_m * c * c / distance / kDegree;
    }
    if (of_ridge_[i]) {
      el = line_deg(index, point.azimuth.degrees());
    } else {
      turn += gauss.next() * point.azimuth_sigma_deg;
      el += gauss.next() * point.elevation_sigma_deg;
    }
    point.azimuth = point.azimuth.turned_by(turn);
    point.elevation = Elevation::degrees(std::clamp(el + lift_deg[i], -89.9, 89.9));
  }
  for (const Piece& piece : pieces_) add_points(piece, index, lift_deg, gauss, out);
  // Drawn points leave no gap; what stays one is joined as before.
  return out;
}

}  // namespace horizon
