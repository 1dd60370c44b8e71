#include "horizon/plot/outline_fit.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace horizon {
namespace {

// A true crown is not a ball, nor a row of trees level: shares of what is seen of them.
constexpr double kCrownSide = 0.04, kCrownTop = 0.25, kRoughTop = 0.08;
constexpr double kCrownRound = 0.4, kCrownRough = 0.05;  // of its drop from the top; of its height
constexpr double kUnmarked_deg = 0.5;
constexpr double kInside = 40;  // sigmas: an eye inside the thing

double degrees(double rad) { return rad / kDegree; }
double elevation(double tangent) { return std::atan(tangent) / kDegree; }

void distances(const OutlineMark& mark, double flat_m, Residuals& out) {
  if (!mark.distance_m) return;
  const double sigma = mark.distance_sigma_m.value_or(0.1 * *mark.distance_m);
  out.values.push_back((flat_m - *mark.distance_m) / sigma);
}

// How the line falls from the top: a crown as a whole is rounder or more pointed than a ball, so
// that these marks err together. `offs` from a ball's line, `drops` of that line; one factor that all
// share is integrated out.
void crown_line(const std::vector<double>& offs, const std::vector<double>& drops, double sigma_deg,
                Residuals& out) {
  double square = 1e-12, along = 0;
  for (size_t i = 0; i < offs.size(); ++i) {
    square += drops[i] * drops[i];
    along += drops[i] * offs[i];
  }
  const double wider = std::sqrt(1 + square * std::pow(kCrownRound / sigma_deg, 2));
  for (size_t i = 0; i < offs.size(); ++i)
    out.add(offs[i] - (1 - 1 / wider) * along / square * drops[i], sigma_deg);
  if (!offs.empty()) out.log_sigmas += std::log(wider);
}

void round_residuals(const OutlineView& view, const Shape& shape, const Enu& eye,
                     double heading_deg, double foot_up_m, Residuals& out) {
  const auto& marks = view.outline->marks;
  const CrownSeen seen = crown_seen(shape, eye);
  const double middle = degrees(seen.azimuth_rad), half = degrees(seen.half_width_rad);
  const double away = (shape.middle - eye.head<2>()).norm();
  const double tall = elevation(seen.top_tan) - elevation(seen.wide_tan);
  const double over_foot = elevation(seen.top_tan) - elevation((foot_up_m - eye.z()) / away);
  const int last = static_cast<int>(marks.size()) - 1;
  std::vector<double> offs, drops;
  for (int i = 0; i <= last; ++i) {
    const OutlineMark& mark = marks[static_cast<size_t>(i)];
    const double off = wrap_180(mark.azimuth.degrees() - heading_deg - middle);
    const double el = mark.elevation.degrees();
    distances(mark, away, out);
    const bool top = i == view.top;
    const double share =
        view.width_deg > 0
            ? std::clamp(2 * wrap_360(mark.azimuth.degrees() - marks[0].azimuth.degrees()) /
                                 view.width_deg -
                             1,
                         -1.0, 1.0)
            : 0;
    if (last == 0) {
      out.add(off, mark.azimuth_sigma_deg);
      out.add(el - elevation(seen.top_tan), mark.elevation_sigma_deg);
      continue;
    }
    // How far up the crown it lies: 0 at the widest part, 1 at the top.
    const double up = std::clamp((el - elevation(seen.wide_tan)) / std::max(0.01, tall), 0.0, 0.98);
    const double reach = half * std::sqrt(1 - up * up);
    const bool side =
        (i == 0 && view.outline->first_is_side) || (i == last && view.outline->last_is_side);
    if (side && !(top && last > 1))
      out.add(off - (i == 0 ? -reach : reach),
              std::hypot(mark.azimuth_sigma_deg, half * (kCrownSide + 0.4 * up * up)));
    else if (top)
      out.add(off, std::hypot(mark.azimuth_sigma_deg, kCrownTop * half));
    else
      out.anywhere(view.width_deg, mark.azimuth_sigma_deg);
    if (top)
      out.add(el - elevation(seen.top_tan),
              std::hypot(mark.elevation_sigma_deg, last == 1 ? 0.2 * tall : 0.0));
    else if (side)
      out.anywhere(std::max(0.0, over_foot), mark.elevation_sigma_deg);
    else {  // on the crown, by its own place between the sides
      drops.push_back(tall * (1 - std::sqrt(1 - share * share)));
      offs.push_back(el - elevation(seen.top_tan) + drops.back());
    }
  }
  crown_line(offs, drops, std::hypot(marks[0].elevation_sigma_deg, kCrownRough * tall), out);
}

// The corners as they are seen, about the middle's azimuth.
struct Seen {
  std::array<double, 6> az{}, tan{}, flat{};
  ShapeCorners corners;
  double middle_deg = 0, low = 1e9, high = -1e9;
  int first = 0, last = 0;

  Seen(const Shape& shape, const Enu& eye) : corners(corners_of(shape)) {
    const Eigen::Vector2d to = shape.middle - eye.head<2>();
    middle_deg = degrees(std::atan2(to.x(), to.y()));
    for (int c = 0; c < corners.count; ++c) {
      const auto i = static_cast<size_t>(c);
      const Enu v = corners.at[i] - eye;
      flat[i] = std::max(0.01, std::hypot(v.x(), v.y()));
      az[i] = wrap_180(degrees(std::atan2(v.x(), v.y())) - middle_deg);
      tan[i] = v.z() / flat[i];
      if (az[i] < low) low = az[i], first = c;
      if (az[i] > high) high = az[i], last = c;
    }
  }
  double line_tan(double at) const {
    double best = -1e9;
    at = std::clamp(at, low, high);
    for (int e = 0; e < corners.edge_count; ++e) {
      auto [p, q] = corners.edges[static_cast<size_t>(e)];
      if (az[static_cast<size_t>(p)] > az[static_cast<size_t>(q)]) std::swap(p, q);
      const auto i = static_cast<size_t>(p), j = static_cast<size_t>(q);
      if (at < az[i] || at > az[j]) continue;
      const double wide = std::sin((az[j] - az[i]) * kDegree);
      const double t = wide < 1e-6 ? std::max(tan[i], tan[j])
                                   : (tan[i] * std::sin((az[j] - at) * kDegree) +
                                      tan[j] * std::sin((at - az[i]) * kDegree)) /
                                         wide;
      best = std::max(best, t);
    }
    return best;
  }
};

// How far the axis of a row of trees, where its tops are, stands at a bearing.
double row_away(const Shape& shape, const Enu& eye, double azimuth_deg) {
  const Eigen::Vector2d along(std::sin(shape.turn_rad), std::cos(shape.turn_rad));
  const Eigen::Vector2d sight(std::sin(azimuth_deg * kDegree), std::cos(azimuth_deg * kDegree));
  const Eigen::Vector2d to = shape.middle - eye.head<2>();
  const double cross = sight.x() * along.y() - sight.y() * along.x();
  const double half = shape.length_m / 2;
  double s = to.dot(along) > 0 ? -half : half;  // end on: the near end
  if (std::abs(cross) > 0.02)
    s = std::clamp((to.x() * sight.y() - to.y() * sight.x()) / cross, -half, half);
  return std::max(0.5, (to + s * along).norm());
}

// A corner in view that nobody marked lies on the line between the marks, or it would have been.
void unmarked(const std::vector<OutlineMark>& marks, const Seen& seen, double heading_deg,
              Residuals& out) {
  for (int c = 0; c < seen.corners.count; ++c) {
    const auto k = static_cast<size_t>(c);
    double off = 0;
    if (seen.tan[k] >= seen.line_tan(seen.az[k]) - 1e-4)
      for (int i = 0; i + 1 < static_cast<int>(marks.size()); ++i) {
        const OutlineMark &a = marks[static_cast<size_t>(i)],
                          &b = marks[static_cast<size_t>(i + 1)];
        const double from = wrap_180(a.azimuth.degrees() - heading_deg - seen.middle_deg),
                     wide = wrap_360(b.azimuth.degrees() - a.azimuth.degrees());
        const double part = wide > 0.01 ? (seen.az[k] - from) / wide : -1;
        if (part < 0 || part > 1) continue;
        off = elevation(seen.tan[k]) - a.elevation.degrees() -
              part * (b.elevation.degrees() - a.elevation.degrees());
      }
    out.values.push_back(off / (kUnmarked_deg + 2 * marks[0].elevation_sigma_deg));
  }
}

void straight_residuals(const OutlineView& view, const Shape& shape, const Enu& eye,
                        double heading_deg, double foot_up_m, Residuals& out) {
  const auto& marks = view.outline->marks;
  const int last = static_cast<int>(marks.size()) - 1;
  const Seen seen(shape, eye);
  const bool row = shape.form == ShapeForm::row;
  const double width = seen.high - seen.low;
  const double away = (shape.middle - eye.head<2>()).norm();
  const double rough_m = row ? kRoughTop * std::max(1.0, shape.top_up_m - foot_up_m) : 0;
  for (int i = 0; i <= last; ++i) {
    const OutlineMark& mark = marks[static_cast<size_t>(i)];
    const double off = wrap_180(mark.azimuth.degrees() - heading_deg - seen.middle_deg);
    const double el = mark.elevation.degrees();
    const double az_sigma = mark.azimuth_sigma_deg;
    const double there = row ? row_away(shape, eye, off + seen.middle_deg) : away;
    const double rough_deg = degrees(rough_m / std::max(1.0, there));
    const double el_sigma = std::hypot(mark.elevation_sigma_deg, rough_deg);
    if (last == 0) {  // its highest point, wherever along it
      double top = -1e9;
      for (int c = 0; c < seen.corners.count; ++c)
        top = std::max(top, seen.tan[static_cast<size_t>(c)]);
      out.add(off, std::hypot(az_sigma, width / 3));
      out.add(el - elevation(top), el_sigma);
      distances(mark, away, out);
      continue;
    }
    const bool first_side = i == 0 && view.outline->first_is_side;
    if (first_side || (i == last && view.outline->last_is_side)) {
      const auto c = static_cast<size_t>(first_side ? seen.first : seen.last);
      const double at = first_side ? seen.low : seen.high;
      out.add(off - at, row ? std::hypot(az_sigma, 0.03 * width) : az_sigma);
      if (row)  // its crowns fall away at the ends
        out.anywhere(
            std::max(0.0, elevation(seen.tan[c]) - elevation((foot_up_m - eye.z()) / seen.flat[c])),
            mark.elevation_sigma_deg);
      else
        out.add(el - elevation(seen.tan[c]), el_sigma);
      distances(mark, seen.flat[c], out);
      continue;
    }
    if (view.bends[static_cast<size_t>(i)] && !row) {
      double nearest = 1e18, d_az = 0, d_el = 0, flat = away;
      int in_view = 0;
      for (int c = 0; c < seen.corners.count; ++c) {
        const auto k = static_cast<size_t>(c);
        if (seen.tan[k] < seen.line_tan(seen.az[k]) - 1e-4) continue;
        ++in_view;
        const double a = (off - seen.az[k]) / az_sigma,
                     e = (el - elevation(seen.tan[k])) / el_sigma;
        if (a * a + e * e >= nearest) continue;
        nearest = a * a + e * e;
        d_az = off - seen.az[k];
        d_el = el - elevation(seen.tan[k]);
        flat = seen.flat[k];
      }
      out.add(d_az, az_sigma);
      out.add(d_el, el_sigma);
      out.log_sigmas += std::log(std::max(1, in_view));
      distances(mark, flat, out);
      continue;
    }
    out.anywhere(view.width_deg, az_sigma, std::max({0.0, seen.low - off, off - seen.high}));
    out.add(el - elevation(seen.line_tan(off)), el_sigma);
    distances(mark, away, out);
  }
  if (!row && last > 0) unmarked(marks, seen, heading_deg, out);
}

}  // namespace

double Residuals::energy() const {
  double sum = log_sigmas;
  for (const double v : values) sum += v * v / 2;
  return sum;
}

OutlineView outline_view(const PlotOutline& outline) {
  OutlineView view{&outline, std::vector<bool>(outline.marks.size()), 0, 0};
  const auto& marks = outline.marks;
  for (size_t i = 0; i < marks.size(); ++i)
    if (marks[i].elevation.degrees() > marks[static_cast<size_t>(view.top)].elevation.degrees())
      view.top = static_cast<int>(i);
  if (marks.size() > 1)
    view.width_deg = wrap_360(marks.back().azimuth.degrees() - marks.front().azimuth.degrees());
  for (size_t i = 1; i + 1 < marks.size(); ++i) {
    const OutlineMark &a = marks[i - 1], &b = marks[i], &c = marks[i + 1];
    const double ab = wrap_180(b.azimuth.degrees() - a.azimuth.degrees()),
                 ac = wrap_180(c.azimuth.degrees() - a.azimuth.degrees());
    const double part = ac > 0.01 ? ab / ac : 0.5;
    const double chord =
        a.elevation.degrees() + part * (c.elevation.degrees() - a.elevation.degrees());
    const double slope = ac > 0.01 ? (c.elevation.degrees() - a.elevation.degrees()) / ac : 0;
    const double sigma = std::hypot(1.4 * b.elevation_sigma_deg, slope * 1.4 * b.azimuth_sigma_deg);
    view.bends[i] = std::abs(b.elevation.degrees() - chord) > 2 * sigma;
  }
  return view;
}

void outline_residuals(const OutlineView& view, const Shape& shape, const Enu& eye,
                       double heading_deg, double foot_up_m, Residuals& out) {
  if (shape.covers(eye.x(), eye.y())) {
    const double depth = 1 + shape.length_m - (shape.middle - eye.head<2>()).norm();
    for (const OutlineMark& mark : view.outline->marks) {
      out.values.push_back(kInside + depth);
      out.values.push_back(kInside + depth);
      if (mark.distance_m) out.values.push_back(kInside);
    }
    if (shape.form != ShapeForm::round && shape.form != ShapeForm::row &&
        view.outline->marks.size() > 1)
      out.values.insert(out.values.end(), static_cast<size_t>(corners_of(shape).count), 0.0);
    return;
  }
  if (shape.form == ShapeForm::round)
    round_residuals(view, shape, eye, heading_deg, foot_up_m, out);
  else
    straight_residuals(view, shape, eye, heading_deg, foot_up_m, out);
}

}  // namespace horizon
