#include "horizon/photo/ring.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <string>

namespace horizon {
namespace {

constexpr double kStep_deg = 0.05;       // sampling of the skylines
constexpr double kLeastOverlap_deg = 4;  // below this a match is chance

// A skyline sampled evenly; azimuths unwrapped, growing.
struct Profile {
  double from_deg = 0;
  std::vector<double> el_deg;
  double to_deg() const { return from_deg + kStep_deg * (static_cast<double>(el_deg.size()) - 1); }
  double at(double az_deg) const {
    const double index = (az_deg - from_deg) / kStep_deg;
    const auto i =
        static_cast<size_t>(std::clamp(index, 0.0, static_cast<double>(el_deg.size()) - 1.001));
    const double part = index - static_cast<double>(i);
    return el_deg[i] + part * (el_deg[i + 1] - el_deg[i]);
  }
};

Profile profile_of(std::span<const Direction> line) {
  Profile profile;
  if (line.size() < 2) return profile;
  std::vector<double> az = {line[0].azimuth.degrees()}, el = {line[0].elevation.degrees()};
  for (size_t i = 1; i < line.size(); ++i) {
    const double next = az.back() + wrap_180(line[i].azimuth.degrees() - az.back());
    if (next <= az.back()) continue;  // an overhang of a tilted picture
    az.push_back(next);
    el.push_back(line[i].elevation.degrees());
  }
  profile.from_deg = az.front();
  size_t k = 0;
  for (double at = az.front(); at <= az.back(); at += kStep_deg) {
    while (k + 2 < az.size() && az[k + 1] < at) ++k;
    profile.el_deg.push_back(el[k] + (at - az[k]) / (az[k + 1] - az[k]) * (el[k + 1] - el[k]));
  }
  return profile;
}

struct Fit {
  double cost = 1e9, lift_deg = 0, overlap_deg = 0, spread_deg = 0;
};

// Mean absolute difference after the median lift: trees in one picture do not pull it.
Fit fit_of(const Profile& first, const Profile& second, double turn_deg,
           std::vector<double>& apart) {
  const double from = std::max(first.from_deg, second.from_deg + turn_deg);
  const double to = std::min(first.to_deg(), second.to_deg() + turn_deg);
  Fit fit;
  fit.overlap_deg = to - from;
  if (fit.overlap_deg < kLeastOverlap_deg) return fit;
  apart.clear();
  for (double az = from; az <= to; az += kStep_deg)
    apart.push_back(first.at(az) - second.at(az - turn_deg));
  const auto middle = apart.begin() + static_cast<std::ptrdiff_t>(apart.size() / 2);
  std::nth_element(apart.begin(), middle, apart.end());
  fit.lift_deg = *middle;
  double sum = 0, squares = 0;
  for (const double a : apart) {
    sum += std::abs(a - fit.lift_deg);
    squares += (a - fit.lift_deg) * (a - fit.lift_deg);
  }
  fit.cost = sum / static_cast<double>(apart.size());
  fit.spread_deg = std::sqrt(squares / static_cast<double>(apart.size()));
  return fit;
}

// How well the shape itself fixes the turn: the root mean square slope where they overlap.
double slope_of(const Profile& first, double from, double to) {
  double squares = 0;
  int n = 0;
  for (double az = from; az + 0.5 <= to; az += kStep_deg, ++n)
    squares += std::pow((first.at(az + 0.5) - first.at(az)) / 0.5, 2);
  return n > 0 ? std::sqrt(squares / n) : 0;
}

}  // namespace

Result<Turn> turn_between(std::span<const Direction> first_line,
                          std::span<const Direction> second_line, double reach_deg) {
  const Profile first = profile_of(first_line);
  Profile second = profile_of(second_line);
  if (first.el_deg.size() < 2 || second.el_deg.size() < 2)
    return fail(Code::bad_input, "error.photo_no_skyline");
  // The branch of azimuth that brings the two nearest.
  const double middle = (first.from_deg + first.to_deg()) / 2;
  const double other = (second.from_deg + second.to_deg()) / 2;
  second.from_deg += middle + wrap_180(other - middle) - other;

  std::vector<double> apart;
  double best_turn = 0;
  Fit best;
  for (double turn = -reach_deg; turn <= reach_deg; turn += 0.1) {
    const Fit fit = fit_of(first, second, turn, apart);
    if (fit.cost < best.cost) {
      best = fit;
      best_turn = turn;
    }
  }
  if (best.cost > 1e8) return fail(Code::bad_input, "error.photos_overlap_too_little");
  for (double step = 0.05; step > 0.001; step /= 2) {
    for (const double turn : {best_turn - step, best_turn + step}) {
      const Fit fit = fit_of(first, second, turn, apart);
      if (fit.cost < best.cost) {
        best = fit;
        best_turn = turn;
      }
    }
  }
  const double from = std::max(first.from_deg, second.from_deg + best_turn);
  const double slope = slope_of(first, from, from + best.overlap_deg);
  if (slope < 0.02) return fail(Code::bad_input, "error.photos_too_even");
  // Independent bits of skyline are about a degree wide.
  const double bits = std::max(1.0, best.overlap_deg);
  return Turn{best_turn, best.lift_deg, std::max(0.01, best.spread_deg / slope / std::sqrt(bits)),
              best.overlap_deg, best.spread_deg};
}

Result<Ring> closed_ring(std::span<const RingPhoto> photos, std::span<const RingStep> steps) {
  const auto n = static_cast<Eigen::Index>(photos.size());
  if (n == 0) return fail(Code::bad_input, "error.no_photo_to_join");
  if (std::none_of(photos.begin(), photos.end(), [](const RingPhoto& p) { return p.sigma_deg; }))
    return fail(Code::bad_input, "error.no_photo_with_marks");

  Ring ring;
  double sum = 0, variance = 0;
  for (const RingStep& step : steps) {
    if (step.from < 0 || step.to < 0 || step.from >= n || step.to >= n || step.from == step.to)
      return fail(Code::bad_input, "error.photo_step_unknown");
    sum += step.clockwise_deg;
    variance += step.sigma_deg * step.sigma_deg;
  }
  if (std::abs(sum - 360) < 60 && static_cast<Eigen::Index>(steps.size()) == n) {
    ring.misclosure_deg = sum - 360;
    if (std::abs(ring.misclosure_deg) > std::max(0.5, 4 * std::sqrt(variance)))
      return fail(Code::bad_input,
                  {"error.photo_ring_open", {Arg::figure(std::to_string(sum).substr(0, 5))}});
  }

  // Corrections to the guesses; each step and each marked photo is one weighted equation.
  Eigen::MatrixXd normal = Eigen::MatrixXd::Zero(n, n);
  Eigen::VectorXd right = Eigen::VectorXd::Zero(n);
  for (Eigen::Index i = 0; i < n; ++i)
    if (photos[i].sigma_deg) normal(i, i) += 1 / (*photos[i].sigma_deg * *photos[i].sigma_deg);
  for (const RingStep& step : steps) {
    const double weight = 1 / (step.sigma_deg * step.sigma_deg);
    const double missing = wrap_180(step.clockwise_deg -
                                    (photos[step.to].bearing_deg - photos[step.from].bearing_deg));
    normal(step.from, step.from) += weight;
    normal(step.to, step.to) += weight;
    normal(step.from, step.to) -= weight;
    normal(step.to, step.from) -= weight;
    right[step.to] += weight * missing;
    right[step.from] -= weight * missing;
  }
  const Eigen::FullPivLU<Eigen::MatrixXd> lu(normal);
  if (!lu.isInvertible()) return fail(Code::bad_input, "error.photo_alone");
  const Eigen::VectorXd correction = lu.solve(right);
  const Eigen::MatrixXd covariance = lu.inverse();
  for (Eigen::Index i = 0; i < n; ++i) {
    ring.bearing_deg.push_back(wrap_360(photos[i].bearing_deg + correction[i]));
    ring.sigma_deg.push_back(std::sqrt(covariance(i, i)));
  }
  return ring;
}

}  // namespace horizon
