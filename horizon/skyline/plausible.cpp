#include "horizon/skyline/plausible.h"

#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

bool near_kind(Kind kind) { return kind != Kind::ridge; }

}  // namespace

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
    sighted_.obstacles.emplace_back();  // an unnamed ridge
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
  if (draws <= 0) return;
  std::vector<RidgeMark> marks;
  const size_t n = outline_.size();
  for (size_t k = 0; k < n; ++k) {
    const SkylinePoint& p = sighted_.points[outline_[k]];
    const Kind kind = sighted_.obstacles[p.obstacle].kind;
    if (kind == Kind::building || p.only_bound()) continue;  // no mark of the ridge
    // The line's own slope turns an error of azimuth into one of elevation.
    double slope = 0;
    int sides = 0;
    for (const int way : {-1, 1})
      for (size_t step = 1; step < n; ++step) {
        const SkylinePoint& q = sighted_.points[outline_[(k + (way < 0 ? n - step : step)) % n]];
        const double apart = std::abs(clockwise_deg(p.azimuth, q.azimuth));
        if (q.obstacle != p.obstacle || apart > 30) break;
        if (apart < 2 * p.azimuth_sigma_deg || apart < 1e-6) continue;
        slope += std::abs(q.elevation.degrees() - p.elevation.degrees()) / apart;
        ++sides;
        break;
      }
    if (sides) slope /= sides;
    const double sigma = std::hypot(p.elevation_sigma_deg, slope * p.azimuth_sigma_deg);
    marks.push_back(
        {p.azimuth.degrees(), p.elevation.degrees(), sigma, kind == Kind::ridge ? -1 : p.obstacle});
  }
  Gauss gauss(seed);
  std::vector<RidgeBound> bounds;
  for (const int i : outline_) {
    const SkylinePoint& p = sighted_.points[i];
    if (!p.only_bound()) continue;
    RidgeBound bound{p.azimuth.degrees()};
    if (p.below_deg) bound.below_deg = *p.below_deg;
    if (p.above_deg) bound.above_deg = *p.above_deg;
    if (bound.below_deg > bound.above_deg) bounds.push_back(bound);
  }
  lines_ = ridge_lines(marks, bounds, draws, gauss);
  if (!bounds.empty()) keep_bounds();
  for (int d = 0; d < draws; ++d) turn_deg_.push_back(sighted_.heading_sigma_deg * gauss.next());
  const bool level =
      std::ranges::any_of(sighted_.points, [](const auto& p) { return p.level_sigma_deg > 0; });
  for (int d = 0; d < draws; ++d) level_.push_back(level ? gauss.next() : 0);
  const bool land = std::ranges::any_of(
      sighted_.points, [](const auto& p) { return p.computed && p.level_sigma_deg > 0; });
  for (int d = 0; d < draws; ++d) land_.push_back(land ? gauss.next() : 0);
}

// What crosses the sun's way between two of its bounds is folded back over it.
void PlausibleLines::keep_bounds() {
  constexpr double kNone = 1e9, kJoined_deg = 3;
  std::vector<double> below(kRidgeSteps, kNone), above(kRidgeSteps, -kNone);
  const size_t n = outline_.size();
  for (size_t k = 0; k < n; ++k) {
    const SkylinePoint& a = sighted_.points[outline_[k]];
    const SkylinePoint& b = sighted_.points[outline_[(k + 1) % n]];
    if (!a.only_bound()) continue;
    const double from = a.azimuth.degrees(), width = clockwise_deg(a.azimuth, b.azimuth);
    const bool joined = b.only_bound() && width > 0 && width < kJoined_deg;
    const int first = static_cast<int>(std::round(from / kRidgeStep_deg));
    const int last = joined ? static_cast<int>(std::round((from + width) / kRidgeStep_deg)) : first;
    for (int i = first; i <= last; ++i) {
      const double t = joined ? std::clamp((i * kRidgeStep_deg - from) / width, 0.0, 1.0) : 0;
      const int at = i % kRidgeSteps;
      if (a.below_deg)
        below[at] = *a.below_deg + (joined && b.below_deg ? t * (*b.below_deg - *a.below_deg) : 0);
      if (a.above_deg)
        above[at] = *a.above_deg + (joined && b.above_deg ? t * (*b.above_deg - *a.above_deg) : 0);
    }
  }
  for (RidgeLine& line : lines_)
    for (int i = 0; i < kRidgeSteps; ++i) {
      double el = line[i];
      if (el > below[i]) el = 2 * below[i] - el;
      if (el < above[i]) el = 2 * above[i] - el;
      line[i] = static_cast<float>(std::clamp(el, above[i], std::max(above[i], below[i])));
    }
}

void PlausibleLines::add_points(const Piece& piece, int index, const std::vector<double>& lift_deg,
                                Gauss& gauss, Skyline& out) const {
  if (piece.how == Piece::How::straight) return;
  const bool marked = !outline_.empty();
  SkylinePoint point;
  if (marked) point = sighted_.points[piece.from];
  point.obstacle = piece.obstacle;
  const double from = marked ? point.azimuth.degrees() : 0;
  const bool aimed = !point.computed && point.contact < 0;
  const double turn = aimed ? turn_deg_[index] : 0;
  if (piece.how == Piece::How::ridge) {
    const double up0 = marked ? lift_deg[piece.from] : 0, up1 = marked ? lift_deg[piece.to] : 0;
    for (int i = static_cast<int>(from / kRidgeStep_deg) + 1;
         i * kRidgeStep_deg < from + piece.width_deg - 1e-6; ++i) {
      const double t = (i * kRidgeStep_deg - from) / piece.width_deg;
      point.azimuth = TrueAzimuth::degrees(i * kRidgeStep_deg + turn);
      const double el = lines_[index][i % kRidgeSteps] + (1 - t) * up0 + t * up1;
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
    const bool aimed = !point.computed && point.contact < 0;
    double el = point.elevation.degrees(), turn = aimed ? turn_deg_[index] : 0;
    const double distance = point.distance_m.value_or(distance_m[point.obstacle]);
    if (distance > 0) {
      const double c = std::cos(el * kDegree);
      lift_deg[i] = lift_m * c * c / distance / kDegree;
    }
    if (of_ridge_[i]) {
      el = line_at(lines_[index], point.azimuth.degrees());
    } else {
      turn += gauss.next() * point.azimuth_sigma_deg;
      el += gauss.next() * point.elevation_sigma_deg;
    }
    // What the aims share leaves the land alone, and the grid's error the aims.
    lift_deg[i] += point.level_sigma_deg * (point.computed ? land_[index] : level_[index]);
    point.azimuth = point.azimuth.turned_by(turn);
    point.elevation = Elevation::degrees(std::clamp(el + lift_deg[i], -89.9, 89.9));
  }
  for (const Piece& piece : pieces_) add_points(piece, index, lift_deg, gauss, out);
  // Drawn points leave no gap; what stays one is joined as before.
  return out;
}

}  // namespace horizon
