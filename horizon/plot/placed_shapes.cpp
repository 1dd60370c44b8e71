#include "horizon/plot/placed_shapes.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "horizon/light/uncertainty.h"
#include "horizon/plot/shape_problem.h"
#include "horizon/skyline/ridge_lines.h"

namespace horizon {
namespace {

constexpr double kEllipseNinety = 2.146;  // sigmas that hold 90 % of a plane's normal distribution
constexpr double kNinety = 1.6449;
constexpr int kChains = 10, kBurn = 250, kThin = 50;
constexpr double kAtOnce = 6;
constexpr int kTurns = 8;
constexpr double kMisfit = 3.3;  // sigmas
constexpr size_t kMostChoices = 4;
constexpr double kLeastWeight = 0.03, kLeastRival = 0.002;
constexpr double kEndSigmas = 3;
constexpr size_t kMostRivals = 2, kSweep = 16;

// Common practice: what stands about a plot, by a factor of about two.
SizePrior prior_of(const PlotObstacle& obstacle, ShapeForm form) {
  SizePrior prior;
  const auto set = [&](double height, double hs, double length, double ls, double width,
                       double ws) {
    prior = {std::log(height), hs, std::log(length), ls, std::log(width), ws, std::log(2.5), 0.6};
  };
  if (obstacle.what.kind == Kind::pole)
    set(8, 0.5, 0.3, 0.1, 0.3, 0.1);
  else if (form == ShapeForm::round)
    set(12, 0.6, 5, 0.6, 5, 0.6);
  else if (form == ShapeForm::row)
    set(10, 0.6, 25, 0.7, 4, 0.4);
  else if (form == ShapeForm::wall)
    set(3, 0.6, 12, 0.8, 0.4, 0.1);
  else
    set(6, 0.5, 12, 0.6, 7, 0.5);
  if (obstacle.radius_m && form == ShapeForm::round) {
    prior.ln_length = std::log(2 * *obstacle.radius_m);
    prior.ln_length_sigma = 0.15;
  }
  return prior;
}

std::vector<ShapeForm> forms_of(const PlotObstacle& obstacle, size_t most_marks) {
  switch (obstacle.what.kind) {
    case Kind::pole:
      return {ShapeForm::round};
    case Kind::evergreen:
    case Kind::leafy:
      if (obstacle.radius_m || most_marks < 3) return {ShapeForm::round};
      return {ShapeForm::round, ShapeForm::row};
    default:
      return {ShapeForm::gable, ShapeForm::flat, ShapeForm::wall};
  }
}

double middle_deg(const PlotOutline& outline) {
  const double from = outline.marks.front().azimuth.degrees();
  return from + wrap_360(outline.marks.back().azimuth.degrees() - from) / 2;
}

struct Candidate {
  Body body;
  double log_weight = 0;
  Shape shape;
  Eigen::VectorXd at;      // all unknowns of its own adjustment
  Eigen::MatrixXd normal;  // there
};

// What one thing could be: each form from several distances and turns.
class Search {
 public:
  Search(const PlotSurvey& survey, const std::vector<OutlineView>& views, int obstacle)
      : survey_(survey), views_(views), what_(survey.obstacles[static_cast<size_t>(obstacle)]) {
    for (size_t v = 0; v < views.size(); ++v) {
      if (views[v].outline->obstacle != obstacle) continue;
      mine_.push_back(static_cast<int>(v));
      most_ = std::max(most_, views[v].outline->marks.size());
    }
  }
  std::vector<Candidate> run() {
    base_ = mine_.front();
    for (const int v : mine_)
      if (view(v).outline->marks.size() > view(base_).outline->marks.size()) base_ = v;
    for (const ShapeForm form : forms_of(what_, most_))
      for (const double away : distances())
        if (form == ShapeForm::round)
          attempt(form, away, 0, 1);
        else
          for (int turn = 0; turn < kTurns; ++turn)
            attempt(form, away, turn * std::numbers::pi / kTurns, 0.6);
    return weighed();
  }

 private:
  const OutlineView& view(int v) const { return views_[static_cast<size_t>(v)]; }
  const Enu& eye(int v) const {
    return survey_.stations[static_cast<size_t>(view(v).outline->station)].eye;
  }

  std::vector<double> distances() const {
    for (const OutlineMark& mark : view(base_).outline->marks)
      if (mark.distance_m) return {*mark.distance_m};
    Eigen::Matrix2d normal = Eigen::Matrix2d::Zero();
    Eigen::Vector2d right = Eigen::Vector2d::Zero();
    for (const int v : mine_) {
      const double az = middle_deg(*view(v).outline) * kDegree;
      const Eigen::Vector2d across(std::cos(az), -std::sin(az));
      normal += across * across.transpose();
      right += across * across.dot(eye(v).head<2>());
    }
    if (normal.determinant() > 1e-4) {
      const Eigen::Vector2d at = normal.ldlt().solve(right) - eye(base_).head<2>();
      const double az = middle_deg(*view(base_).outline) * kDegree;
      const double away = at.dot(Eigen::Vector2d(std::sin(az), std::cos(az)));
      if (away > 1.5 && away < 500) return {away, 0.6 * away, 1.6 * away};
    }
    return {10, 25, 60};
  }

  void attempt(ShapeForm form, double away, double turn, double slim) {
    Candidate c;
    c.body.form = form;
    c.body.prior = prior_of(what_, form);
    c.body.base = eye(base_);
    c.body.views = mine_;
    const PlotOutline& outline = *view(base_).outline;
    const double wide = std::clamp(
        2 * away * std::tan(std::min(80.0, view(base_).width_deg / 2) * kDegree), 0.1, 200.0);
    Eigen::VectorXd p(Body::size_of(form));
    p(0) = middle_deg(outline) * kDegree;
    p(1) = std::log(away);
    p(2) =
        std::tan(outline.marks[static_cast<size_t>(view(base_).top)].elevation.degrees() * kDegree);
    if (form == ShapeForm::round) {
      p(3) = outline.marks.size() > 1 && what_.what.kind != Kind::pole ? std::log(wide)
                                                                       : c.body.prior.ln_length;
    } else {
      p(3) = turn;
      p(4) = std::log(std::max(1.0, wide));
      if (form != ShapeForm::wall) p(5) = std::log(std::max(1.0, slim * wide));
      if (form == ShapeForm::gable) p(6) = std::log(2);
    }
    c.body.start = p;
    const ShapeProblem problem(survey_, views_, {c.body});
    Eigen::VectorXd x = problem.start();
    Eigen::MatrixXd normal;
    if (!problem.descend(x, normal, 25)) return;
    const Eigen::LDLT<Eigen::MatrixXd> solver(normal);
    const Eigen::VectorXd pivots = solver.vectorD();
    if (!(pivots.minCoeff() > 0)) return;
    c.log_weight = -problem.energy(x) - 0.5 * pivots.array().log().sum() +
                   0.5 * std::log(2 * std::numbers::pi) * static_cast<double>(p.size());
    if (!std::isfinite(c.log_weight)) return;
    c.body.start = x.tail(p.size());
    c.shape = problem.shape(x, 0);
    c.at = x;
    c.normal = normal;
    found_.push_back(std::move(c));
  }

  // One hollow, come to from two sides: within two sigmas of the other's own normal distribution.
  static bool same(const Candidate& a, const Candidate& b) {
    if (a.body.form != b.body.form) return false;
    Eigen::VectorXd off = b.at - a.at;
    const Eigen::Index turn = off.size() - Body::size_of(a.body.form) + 3;
    if (a.body.form != ShapeForm::round)
      off(turn) -= std::numbers::pi * std::round(off(turn) / std::numbers::pi);
    return off.dot(a.normal * off) < 4;
  }

  std::vector<Candidate> weighed() {
    std::sort(found_.begin(), found_.end(),
              [](const auto& a, const auto& b) { return a.log_weight > b.log_weight; });
    std::vector<Candidate> kept;
    for (Candidate& c : found_) {
      if (!kept.empty() && c.log_weight < kept.front().log_weight + std::log(kLeastRival)) break;
      const auto of_form = [&](const Candidate& k) { return k.body.form == c.body.form; };
      if (kept.size() >= kMostChoices && std::any_of(kept.begin(), kept.end(), of_form)) continue;
      if (std::none_of(kept.begin(), kept.end(), [&](const Candidate& k) { return same(k, c); }))
        kept.push_back(std::move(c));
    }
    double sum = 0;
    const double most = kept.empty() ? 0 : kept.front().log_weight;
    for (const Candidate& c : kept) sum += std::exp(c.log_weight - most);
    for (Candidate& c : kept) c.log_weight = c.log_weight - most - std::log(sum);
    return kept;
  }

  const PlotSurvey& survey_;
  const std::vector<OutlineView>& views_;
  const PlotObstacle& what_;
  std::vector<int> mine_;
  std::vector<Candidate> found_;
  int base_ = 0;
  size_t most_ = 0;
};

// Draws from the posterior about one choice of forms.
void draw_chain(const ShapeProblem& problem, const Eigen::VectorXd& at,
                const Eigen::MatrixXd& normal, int draws, Gauss& gauss,
                std::vector<Eigen::VectorXd>& out) {
  const Eigen::LLT<Eigen::MatrixXd> factor(normal);
  const auto spread = [&](const Eigen::VectorXd& z) -> Eigen::VectorXd {
    return at + 1.15 * factor.matrixU().solve(z);
  };
  const Eigen::Index n = at.size();
  Eigen::VectorXd z(n), next(n);
  for (Eigen::Index i = 0; i < n; ++i) z(i) = 0.7 * gauss.next();
  const auto ratio = [&](const Eigen::VectorXd& w) {
    return problem.energy(spread(w)) - w.squaredNorm() / 2;
  };
  double here = ratio(z), step = 0.3;
  for (int i = 1; i <= kBurn + draws * kThin; ++i) {
    // All at once, as far as is mostly taken; or a few, far.
    const bool whole = gauss.even() < 0.5;
    const double turn = whole ? step : 0.6, keep = std::sqrt(1 - turn * turn);
    const double part = whole ? 1 : std::min(1.0, kAtOnce / static_cast<double>(n));
    for (Eigen::Index k = 0; k < n; ++k)
      next(k) = part >= 1 || gauss.even() < part ? keep * z(k) + turn * gauss.next() : z(k);
    const double there = ratio(next);
    const bool taken = std::log(gauss.even()) < here - there;
    if (whole && i <= kBurn) step = std::clamp(step * (taken ? 1.15 : 0.93), 0.02, 0.7);
    if (taken) {
      z = next;
      here = there;
    }
    if (i > kBurn && (i - kBurn) % kThin == 0) out.push_back(spread(z));
  }
}

// Draws of one chain remember one another; how many free ones tell as much follows from how far the
// chains' own means lie apart. `inverse`: of the draws' covariance.
double free_draws(const std::vector<Shape>& draws, const Eigen::Vector2d& middle,
                  const Eigen::Matrix2d& inverse) {
  constexpr size_t kEach = kWorldDraws / kChains;
  const size_t chains = draws.size() / kEach;
  if (chains < 2) return static_cast<double>(draws.size());
  double apart = 0;  // squared, in sigmas, of both axes
  for (size_t c = 0; c < chains; ++c) {
    Eigen::Vector2d mean = -middle;
    for (size_t d = c * kEach; d < (c + 1) * kEach; ++d) mean += draws[d].middle / kEach;
    apart += mean.dot(inverse * mean) / static_cast<double>(chains - 1);
  }
  const auto most = static_cast<double>(draws.size()), least = static_cast<double>(chains);
  return std::clamp(2 * least / std::max(apart, 1e-9), least, most);
}

// Sigmas within which one more lies 9 times in 10 when mean and covariance are those of n draws in the
// plane: Hotelling's T2, whose F of 2 and n - 2 degrees has a closed form.
double ninety_of(double n) {
  return std::sqrt((n * n - 1) / n * (std::pow(0.1, -2 / (n - 2)) - 1));
}

// Place, size and turn as numbers that draws differ in about normally; heights over the ground there.
using Traits = Eigen::Matrix<double, 7, 1>;
Traits traits_of(const Shape& s, const GroundPlane& ground, double about_rad) {
  const double turns = std::round((s.turn_rad - about_rad) / std::numbers::pi);
  const double foot = ground.up_at(s.middle.x(), s.middle.y());
  return Traits(s.middle.x(), s.middle.y(), std::log(s.length_m), std::log(s.width_m),
                s.top_up_m - foot, s.eave_up_m - foot, s.turn_rad - turns * std::numbers::pi);
}
Shape shape_of(ShapeForm form, const Traits& t, const GroundPlane& ground) {
  const double foot = ground.up_at(t(0), t(1));
  return {form, t.head<2>(), t(6), std::exp(t(2)), std::exp(t(3)), t(4) + foot, t(5) + foot};
}

// Of the form drawn most: nearer, farther and higher than the mean, each with what goes with that.
void add_ends(PlacedShape& out, const std::vector<GroundPlane>& grounds) {
  std::array<int, 5> count{};
  for (const Shape& s : out.draws) ++count[static_cast<size_t>(s.form)];
  const auto form =
      static_cast<ShapeForm>(std::max_element(count.begin(), count.end()) - count.begin());
  const GroundPlane ground = mean_of(grounds);
  std::vector<Traits> all;
  for (size_t d = 0; d < out.draws.size(); ++d)
    if (const Shape& s = out.draws[d]; s.form == form)
      all.push_back(traits_of(s, grounds[d], all.empty() ? s.turn_rad : all.front()(6)));
  const auto n = static_cast<double>(all.size());
  Traits mean = Traits::Zero();
  for (const Traits& t : all) mean += t / n;
  Eigen::Matrix<double, 7, 7> cov = Eigen::Matrix<double, 7, 7>::Zero();
  for (const Traits& t : all) cov += (t - mean) * (t - mean).transpose() / n;
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> axes(
      Eigen::Matrix2d(cov.topLeftCorner<2, 2>()));
  Traits along = Traits::Zero(), up = Traits::Unit(4);
  along.head<2>() = axes.eigenvectors().col(1);
  if (along.dot(mean) < 0) along = -along;  // things of one plot go the same way together
  for (const Traits& way : {Traits(-along), along, up}) {
    const Traits slope = cov * way / std::sqrt(std::max(1e-8, way.dot(cov * way)));
    out.ends.push_back(shape_of(form, mean + kEndSigmas * slope, ground));
  }
}

// Seen from one side, without a distance: draws know how far off it stands from how large such things
// commonly are, and a thing that recedes feigns one. From close by to twice as far as drawn, as large
// as it then must be.
void add_sweep(PlacedShape& out, const Enu& eye) {
  const Shape& likeliest = out.choices.front().shape;
  std::vector<double> away;
  for (const Shape& s : out.draws) away.push_back((s.middle - eye.head<2>()).norm());
  const double near = kNearest_m, far = std::max(2 * near, end_of_range(away, 0.95) * 2),
               here = std::max(0.1, (likeliest.middle - eye.head<2>()).norm());
  for (size_t k = 0; k < kSweep; ++k) {
    const double part = static_cast<double>(k) / (kSweep - 1);
    const double times = near * std::pow(far / near, part) / here;
    Shape s = likeliest;
    s.middle = eye.head<2>() + times * (s.middle - eye.head<2>());
    s.length_m *= times;
    s.width_m *= times;
    s.top_up_m = eye.z() + times * (s.top_up_m - eye.z());
    s.eave_up_m = eye.z() + times * (s.eave_up_m - eye.z());
    out.ends.push_back(s);
  }
}

// What else a thing may be: of another form first, then of the same in another hollow.
std::vector<Shape> rivals_of(const std::vector<Candidate>& candidates) {
  std::vector<Shape> out;
  for (const bool other : {true, false})
    for (size_t i = 1; i < candidates.size() && out.size() < kMostRivals; ++i)
      if ((candidates[i].body.form != candidates[0].body.form) == other)
        out.push_back(candidates[i].shape);
  return out;
}

// A thing is what it is likeliest to be in the worlds that are others' ends.
void all_ends(PlacedShapes& all, const std::vector<std::vector<Candidate>>& found) {
  size_t most = 0;
  const auto each = [&](auto&& add) {
    for (size_t b = 0; b < all.shapes.size(); ++b) {
      add(all.shapes[b], found[b]);
      most = std::max(most, all.shapes[b].ends.size());
    }
    for (PlacedShape& shape : all.shapes) shape.ends.resize(most, shape.choices.front().shape);
  };
  const auto one_sided = [](const PlacedShape& s) { return s.placing == Placing::direction; };
  each([&](PlacedShape& shape, const auto&) {
    if (!one_sided(shape)) add_ends(shape, all.grounds);
  });
  each([](PlacedShape& shape, const auto& candidates) {
    for (const Shape& rival : rivals_of(candidates)) shape.ends.push_back(rival);
  });
  each([&](PlacedShape& shape, const auto& candidates) {
    if (one_sided(shape)) add_sweep(shape, candidates.front().body.base);
  });
}

void summarise(PlacedShape& out, const std::vector<GroundPlane>& grounds, const Enu& base,
               bool alone) {
  if (out.draws.empty()) {  // no adjustment came to an end: no more is known than the direction
    out.middle = out.choices.front().shape.middle;
    return;
  }
  const auto n = static_cast<double>(out.draws.size());
  std::vector<double> heights;
  for (size_t d = 0; d < out.draws.size(); ++d) {
    const Shape& s = out.draws[d];
    out.middle += s.middle / n;
    heights.push_back(s.top_up_m - grounds[d].up_at(s.middle.x(), s.middle.y()));
  }
  Eigen::Matrix2d cov = Eigen::Matrix2d::Zero();
  for (const Shape& s : out.draws)
    cov += (s.middle - out.middle) * (s.middle - out.middle).transpose() / n;
  cov.diagonal().array() += 1e-8;
  const Eigen::Matrix2d inverse = cov.inverse();
  std::vector<double> away;
  for (const Shape& s : out.draws) {
    const Eigen::Vector2d off = s.middle - out.middle;
    away.push_back(std::sqrt(off.dot(inverse * off)));
  }
  // So wide that its 90 % hold 90 % of the draws, normal or not, and of what so few free ones leave.
  const double few = ninety_of(free_draws(out.draws, out.middle, inverse)) / kEllipseNinety;
  cov *= std::pow(few * end_of_range(away, 0.9) / kEllipseNinety, 2);
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> axes(cov);
  out.ellipse.minor_m = std::sqrt(std::max(0.0, axes.eigenvalues()(0)));
  out.ellipse.major_m = std::sqrt(std::max(0.0, axes.eigenvalues()(1)));
  const Eigen::Vector2d major = axes.eigenvectors().col(1);
  out.ellipse.major_azimuth =
      TrueAzimuth::degrees(std::fmod(wrap_360(std::atan2(major.x(), major.y()) / kDegree), 180.0));
  out.height_m = end_of_range(heights, 0.5);
  out.height_low_m = end_of_range(heights, 0.05);
  out.height_high_m = end_of_range(heights, 0.95);
  out.height_sigma_m = (out.height_high_m - out.height_low_m) / (2 * kNinety);
  const double distance = std::max(1.0, (out.middle - base.head<2>()).norm());
  out.placing = alone                                ? Placing::direction
                : out.ellipse.major_m < distance / 3 ? Placing::placed
                                                     : Placing::rough;
}

}  // namespace

namespace {
PlacedShapes placed_as_aimed(const PlotSurvey& survey, std::uint32_t seed) {
  PlacedShapes out;
  out.stations = survey.stations;
  std::vector<OutlineView> views;
  for (const PlotOutline& outline : survey.outlines)
    if (!outline.marks.empty()) views.push_back(outline_view(outline));
  std::vector<std::vector<Candidate>> found;
  for (size_t o = 0; o < survey.obstacles.size(); ++o) {
    const auto number = static_cast<int>(o);
    if (std::none_of(views.begin(), views.end(),
                     [&](const auto& v) { return v.outline->obstacle == number; }))
      continue;
    auto candidates = Search(survey, views, number).run();
    if (candidates.empty()) continue;
    PlacedShape placed;
    placed.obstacle = number;
    double told = 0;
    for (const Candidate& c : candidates)
      if (placed.choices.empty() || std::exp(c.log_weight) > kLeastWeight) {
        placed.choices.push_back({c.shape, std::exp(c.log_weight)});
        told += placed.choices.back().weight;
      }
    for (ShapeChoice& choice : placed.choices) choice.weight /= told;
    out.shapes.push_back(std::move(placed));
    found.push_back(std::move(candidates));
  }
  if (found.empty()) return out;
  Gauss gauss(seed);
  for (int chain = 0; chain < kChains; ++chain) {
    // The likeliest of all first: its own fit is what is drawn; then by weight.
    std::vector<Body> bodies;
    for (const auto& candidates : found) {
      size_t pick = 0;
      double left = gauss.even();
      if (chain > 0)
        while (pick + 1 < candidates.size() && (left -= std::exp(candidates[pick].log_weight)) > 0)
          ++pick;
      bodies.push_back(candidates[pick].body);
    }
    const ShapeProblem problem(survey, views, std::move(bodies));
    Eigen::VectorXd x = problem.start();
    Eigen::MatrixXd normal;
    if (!problem.descend(x, normal, 40)) continue;
    if (chain == 0) {
      out.stations = problem.stations(x);
      for (size_t b = 0; b < out.shapes.size(); ++b) {
        out.shapes[b].choices.front().shape = problem.shape(x, b);
        out.shapes[b].worst_residual = problem.worst_residual(x, b);
      }
    }
    std::vector<Eigen::VectorXd> draws;
    draw_chain(problem, x, normal, kWorldDraws / kChains, gauss, draws);
    for (const Eigen::VectorXd& draw : draws) {
      out.grounds.push_back(ground_plane(problem.stations(draw)));
      for (size_t b = 0; b < out.shapes.size(); ++b)
        out.shapes[b].draws.push_back(problem.shape(draw, b));
    }
  }
  for (size_t b = 0; b < out.shapes.size(); ++b) {
    std::vector<bool> from(survey.stations.size());
    bool measured = false;
    for (const OutlineView& view : views) {
      if (view.outline->obstacle != out.shapes[b].obstacle) continue;
      from[static_cast<size_t>(view.outline->station)] = true;
      for (const OutlineMark& mark : view.outline->marks) measured |= mark.distance_m.has_value();
    }
    out.shapes[b].stations = static_cast<int>(std::count(from.begin(), from.end(), true));
    summarise(out.shapes[b], out.grounds, found[b].front().body.base,
              out.shapes[b].stations < 2 && !measured);
  }
  if (!out.grounds.empty()) all_ends(out, found);
  return out;
}

}  // namespace

PlacedShapes place_shapes(const PlotSurvey& survey, std::uint32_t seed) {
  PlacedShapes first = placed_as_aimed(survey, seed);
  // What no shape explains within its errors is of another shape, or a mark is: its errors are as
  // large as they prove to be.
  PlotSurvey wider = survey;
  bool any = false;
  for (const PlacedShape& shape : first.shapes) {
    if (shape.worst_residual <= kMisfit) continue;
    any = true;
    for (PlotOutline& outline : wider.outlines)
      if (outline.obstacle == shape.obstacle)
        for (OutlineMark& mark : outline.marks) {
          mark.azimuth_sigma_deg *= shape.worst_residual / 2;
          mark.elevation_sigma_deg *= shape.worst_residual / 2;
        }
  }
  if (!any) return first;
  PlacedShapes second = placed_as_aimed(wider, seed);
  for (PlacedShape& shape : second.shapes)
    for (const PlacedShape& before : first.shapes)
      if (before.obstacle == shape.obstacle) shape.worst_residual = before.worst_residual;
  return second;
}

}  // namespace horizon
