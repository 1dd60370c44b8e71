#include "horizon/plot/shape_problem.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace horizon {
namespace {

constexpr double kLnDistance = 3.5, kLnDistanceSigma = 1.0;  // 33 m, by a factor of e
constexpr double kHeadingStep = 1e-3;
constexpr double kLoneOdds = 1.1;  // log of three to one

double step_of(Eigen::Index k) { return k == 0 || k == 2 ? 1e-5 : 1e-4; }
double longest_step(Eigen::Index k) { return k == 0 || k == 2 ? 0.3 : k == 3 ? 0.5 : 0.7; }

}  // namespace

int Body::size_of(ShapeForm form) {
  constexpr int sizes[] = {4, 6, 6, 7, 5};
  return sizes[static_cast<int>(form)];
}

Shape Body::shape(const Eigen::Ref<const Eigen::VectorXd>& p) const {
  constexpr double kWall_m = 0.4, kCrownShare = 0.25, kEye_m = 1.6;
  const double away = std::exp(std::clamp(p(1), -1.5, 9.0));
  Shape s;
  s.form = form;
  s.middle = base.head<2>() + away * Eigen::Vector2d(std::sin(p(0)), std::cos(p(0)));
  s.top_up_m = s.eave_up_m = base.z() + away * p(2);
  if (form == ShapeForm::round) {
    s.length_m = s.width_m = std::exp(std::clamp(p(3), -4.0, 6.0));
    return s;
  }
  s.turn_rad = p(3);
  s.length_m = std::exp(std::clamp(p(4), -3.0, 7.0));
  s.width_m = form == ShapeForm::wall ? kWall_m : std::exp(std::clamp(p(5), -3.0, 7.0));
  if (form == ShapeForm::row) s.eave_up_m -= kCrownShare * (s.top_up_m - base.z() + kEye_m);
  if (form == ShapeForm::gable) s.eave_up_m -= std::exp(std::clamp(p(6), -6.0, 5.0));
  return s;
}

ShapeProblem::ShapeProblem(const PlotSurvey& survey, const std::vector<OutlineView>& views,
                           std::vector<Body> bodies)
    : survey_(survey),
      views_(views),
      bodies_(std::move(bodies)),
      station_at_(survey.stations.size(), -1),
      ground_(ground_plane(survey.stations)) {
  for (const Body& body : bodies_)
    for (const int v : body.views) {
      const int s = views_[static_cast<size_t>(v)].outline->station;
      if (station_at_[static_cast<size_t>(s)] >= 0) continue;
      station_at_[static_cast<size_t>(s)] = static_cast<int>(active_.size());
      active_.push_back(s);
    }
  size_ = static_cast<Eigen::Index>(4 * active_.size());
  for (const Body& body : bodies_) {
    offsets_.push_back(size_);
    size_ += Body::size_of(body.form);
  }
}

Eigen::VectorXd ShapeProblem::start() const {
  Eigen::VectorXd x = Eigen::VectorXd::Zero(size_);
  for (size_t b = 0; b < bodies_.size(); ++b)
    x.segment(offsets_[b], bodies_[b].start.size()) = bodies_[b].start;
  return x;
}

Shape ShapeProblem::shape(const Eigen::VectorXd& x, size_t body) const {
  return bodies_[body].shape(x.segment(offsets_[body], Body::size_of(bodies_[body].form)));
}

std::vector<PlotStation> ShapeProblem::stations(const Eigen::VectorXd& x) const {
  std::vector<PlotStation> all = survey_.stations;
  for (size_t a = 0; a < active_.size(); ++a)
    all[static_cast<size_t>(active_[a])].eye += x.segment<3>(static_cast<Eigen::Index>(4 * a));
  return all;
}

void ShapeProblem::residuals(const Eigen::VectorXd& x, size_t body, int view,
                             Residuals& out) const {
  const OutlineView& one = views_[static_cast<size_t>(view)];
  const auto s = static_cast<size_t>(one.outline->station);
  const auto at = static_cast<Eigen::Index>(4 * station_at_[s]);
  const Shape seen = shape(x, body);
  outline_residuals(one, seen, survey_.stations[s].eye + x.segment<3>(at), x(at + 3),
                    ground_.up_at(seen.middle.x(), seen.middle.y()), out);
}

void ShapeProblem::prior(const Eigen::VectorXd& x, size_t body, Residuals& out,
                         double* extra) const {
  const Body& b = bodies_[body];
  const auto p = x.segment(offsets_[body], Body::size_of(b.form));
  const Shape s = shape(x, body);
  const double height = std::max(0.05, s.top_up_m - ground_.up_at(s.middle.x(), s.middle.y()));
  const double low = s.top_up_m - ground_.up_at(s.middle.x(), s.middle.y());
  out.add(p(1) - kLnDistance, kLnDistanceSigma);
  out.add(std::log(height) - b.prior.ln_height, b.prior.ln_height_sigma);
  // Nothing stands lower than the ground.
  out.add(std::max(0.0, 0.05 - low), 0.05);
  if (b.form == ShapeForm::round) {
    out.add(p(3) - b.prior.ln_length, b.prior.ln_length_sigma);
    // A crown does not begin in the ground.
    out.add(std::max(0.0, s.length_m / 2 / height - 0.9), 0.1);
    out.log_sigmas -= std::log(0.1);
  } else {
    out.add(p(4) - b.prior.ln_length, b.prior.ln_length_sigma);
    if (b.form != ShapeForm::wall) out.add(p(5) - b.prior.ln_width, b.prior.ln_width_sigma);
  }
  if (b.form == ShapeForm::row) {
    // Longer than it is wide, and rarer than a tree that stands alone.
    out.add(std::max(0.0, p(5) + std::log(2.0) - p(4)), 0.2);
    out.log_sigmas += std::log(1 / 0.2) + kLoneOdds;
  }
  *extra = std::log(height) - p(1);  // the height's own density, of the tangent
  if (b.form == ShapeForm::gable) {
    out.add(p(6) - b.prior.ln_rise, b.prior.ln_rise_sigma);
    const double eave = s.eave_up_m - ground_.up_at(s.middle.x(), s.middle.y());
    out.add(std::max(0.0, 0.5 - eave), 0.3);
  }
  // Constants that differ by form: the turn's even chance, and the normal density's own.
  if (b.form != ShapeForm::round) *extra += std::log(std::numbers::pi);
  *extra += 0.5 * std::log(2 * std::numbers::pi) * static_cast<double>(p.size());
}

double ShapeProblem::energy(const Eigen::VectorXd& x) const {
  double sum = 0;
  for (size_t a = 0; a < active_.size(); ++a) {
    const PlotStation& s = survey_.stations[static_cast<size_t>(active_[a])];
    const double sigmas[] = {s.horizontal_sigma_m, s.horizontal_sigma_m, s.up_sigma_m,
                             s.heading_sigma_deg};
    for (int k = 0; k < 4; ++k) {
      const double v = x(static_cast<Eigen::Index>(4 * a) + k) / sigmas[k];
      sum += v * v / 2;
    }
  }
  Residuals all;
  for (size_t b = 0; b < bodies_.size(); ++b) {
    double extra = 0;
    prior(x, b, all, &extra);
    sum += extra;
    for (const int v : bodies_[b].views) residuals(x, b, v, all);
  }
  return sum + all.energy();
}

void ShapeProblem::assemble(const Eigen::VectorXd& x, Eigen::MatrixXd& normal,
                            Eigen::VectorXd& right) const {
  normal.setZero(size_, size_);
  right.setZero(size_);
  for (size_t a = 0; a < active_.size(); ++a) {
    const PlotStation& s = survey_.stations[static_cast<size_t>(active_[a])];
    const double sigmas[] = {s.horizontal_sigma_m, s.horizontal_sigma_m, s.up_sigma_m,
                             s.heading_sigma_deg};
    for (int k = 0; k < 4; ++k) {
      const auto i = static_cast<Eigen::Index>(4 * a) + k;
      normal(i, i) += 1 / (sigmas[k] * sigmas[k]);
      right(i) -= x(i) / (sigmas[k] * sigmas[k]);
    }
  }
  Eigen::VectorXd moved = x;
  for (size_t b = 0; b < bodies_.size(); ++b) {
    const Eigen::Index size = Body::size_of(bodies_[b].form);
    for (int v = -1; v < static_cast<int>(bodies_[b].views.size()); ++v) {
      std::vector<Eigen::Index> where;
      if (v >= 0) {
        const int s =
            views_[static_cast<size_t>(bodies_[b].views[static_cast<size_t>(v)])].outline->station;
        for (int k = 0; k < 4; ++k) where.push_back(4 * station_at_[static_cast<size_t>(s)] + k);
      }
      for (Eigen::Index k = 0; k < size; ++k) where.push_back(offsets_[b] + k);
      double extra = 0;
      const auto values = [&](Residuals& out) {
        if (v < 0)
          prior(moved, b, out, &extra);
        else
          residuals(moved, b, bodies_[b].views[static_cast<size_t>(v)], out);
      };
      Residuals here;
      values(here);
      const double extra_here = extra;
      const auto rows = static_cast<Eigen::Index>(here.values.size());
      Eigen::MatrixXd j(rows, static_cast<Eigen::Index>(where.size()));
      Eigen::VectorXd log_slope = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(where.size()));
      for (size_t c = 0; c < where.size(); ++c) {
        const Eigen::Index i = where[c];
        const double step = i >= offsets_[b] ? step_of(i - offsets_[b]) : kHeadingStep;
        moved(i) += step;
        Residuals there;
        values(there);
        moved(i) = x(i);
        const auto col = static_cast<Eigen::Index>(c);
        for (Eigen::Index r = 0; r < rows; ++r)
          j(r, col) =
              (there.values[static_cast<size_t>(r)] - here.values[static_cast<size_t>(r)]) / step;
        log_slope(col) =
            (there.log_sigmas - here.log_sigmas + (v < 0 ? extra - extra_here : 0)) / step;
      }
      const Eigen::Map<const Eigen::VectorXd> off(here.values.data(), rows);
      const Eigen::MatrixXd square = j.transpose() * j;
      const Eigen::VectorXd down = j.transpose() * off + log_slope;
      for (size_t p = 0; p < where.size(); ++p) {
        right(where[p]) -= down(static_cast<Eigen::Index>(p));
        for (size_t q = 0; q < where.size(); ++q)
          normal(where[p], where[q]) +=
              square(static_cast<Eigen::Index>(p), static_cast<Eigen::Index>(q));
      }
    }
  }
}

bool ShapeProblem::descend(Eigen::VectorXd& x, Eigen::MatrixXd& normal, int rounds) const {
  double least = energy(x), damping = 1e-2;
  if (!std::isfinite(least)) return false;
  Eigen::VectorXd right;
  for (int round = 0; round < rounds; ++round) {
    assemble(x, normal, right);
    bool better = false;
    for (int attempt = 0; attempt < 7 && !better; ++attempt) {
      Eigen::MatrixXd damped = normal;
      damped.diagonal() *= 1 + damping;
      damped.diagonal().array() += 1e-9;
      Eigen::VectorXd step = damped.ldlt().solve(right);
      if (!step.allFinite()) return false;
      for (size_t b = 0; b < bodies_.size(); ++b)
        for (Eigen::Index k = 0; k < Body::size_of(bodies_[b].form); ++k)
          step(offsets_[b] + k) =
              std::clamp(step(offsets_[b] + k), -longest_step(k), longest_step(k));
      const Eigen::VectorXd there = x + step;
      const double at = energy(there);
      if (at < least) {
        better = true;
        const bool done = least - at < 1e-5;
        x = there;
        least = at;
        damping = std::max(1e-7, damping / 6);
        if (done) round = rounds;
      } else {
        damping *= 8;
      }
    }
    if (!better) break;
  }
  assemble(x, normal, right);
  return normal.allFinite();
}

double ShapeProblem::worst_residual(const Eigen::VectorXd& x, size_t body) const {
  double worst = 0;
  for (const int v : bodies_[body].views) {
    Residuals all;
    residuals(x, body, v, all);
    for (const double value : all.values) worst = std::max(worst, std::abs(value));
  }
  return worst;
}

}  // namespace horizon
