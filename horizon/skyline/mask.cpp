#include "horizon/skyline/mask.h"

#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

constexpr std::string_view kKindNames[kKindCount] = {"ridge", "evergreen", "leafy", "building",
                                                     "pole"};
constexpr double kPoleWidth_m = 0.3;
constexpr double kPoleWidth_deg = 0.5;

using Line = std::vector<MaskPiece>;  // in azimuth order, may have gaps

bool further_west(const MaskPiece& a, const MaskPiece& b) { return a.from_deg < b.from_deg; }

double great_circle_el_deg(const MaskPiece& p, double azimuth_deg) {
  const double az = azimuth_deg * kDegree;
  return std::atan(p.a * std::cos(az) + p.b * std::sin(az)) / kDegree;
}

// Adds the piece, cut at north where it runs over it. `to` may exceed 360.
void add_piece(Line& line, MaskPiece piece) {
  if (piece.to_deg <= piece.from_deg) return;
  if (piece.from_deg >= 360) {
    piece.from_deg -= 360;
    piece.to_deg -= 360;
  }
  if (piece.to_deg <= 360) {
    line.push_back(piece);
    return;
  }
  MaskPiece before = piece, after = piece;
  before.to_deg = 360;
  before.to_el_deg = piece.elevation_deg(360);
  after.from_deg = 0;
  after.to_deg = piece.to_deg - 360;
  after.from_el_deg = before.to_el_deg;
  line.push_back(before);
  line.push_back(after);
}

// The part of the piece between two azimuths inside it.
MaskPiece part_of(const MaskPiece& piece, double from_deg, double to_deg) {
  MaskPiece part = piece;
  part.from_deg = from_deg;
  part.to_deg = to_deg;
  part.from_el_deg = piece.elevation_deg(from_deg);
  part.to_el_deg = piece.elevation_deg(to_deg);
  return part;
}

void join(Line& line, const Skyline& skyline, const SkylinePoint& from, const SkylinePoint& to,
          double gap_deg) {
  const Obstacle& obstacle = skyline.obstacles[from.obstacle];
  const bool same = from.obstacle == to.obstacle;
  MaskPiece piece;
  piece.from_deg = from.azimuth.degrees();
  piece.to_deg = piece.from_deg + gap_deg;
  piece.from_el_deg = from.elevation.degrees();
  piece.to_el_deg = to.elevation.degrees();
  if (same && obstacle.edge == Edge::great_circle && gap_deg < 180) {
    // tan(el) = a cos(az) + b sin(az) through both ends.
    const double az1 = from.azimuth.radians(), az2 = az1 + gap_deg * kDegree;
    const double t1 = std::tan(from.elevation.radians()), t2 = std::tan(to.elevation.radians());
    const double det = std::sin(az2 - az1);
    if (det > 1e-12) {
      piece.edge = Edge::great_circle;
      piece.a = (t1 * std::sin(az2) - t2 * std::sin(az1)) / det;
      piece.b = (t2 * std::cos(az1) - t1 * std::cos(az2)) / det;
    }
  }
  piece.open = gap_deg > skyline.max_gap_deg && piece.edge == Edge::straight;
  const auto is_ridge = [&](int o) { return skyline.obstacles[o].kind == Kind::ridge; };
  if (same) {
    piece.obstacle = from.obstacle;
  } else if (piece.open) {
    piece.obstacle = -1;
  } else if (is_ridge(from.obstacle) != is_ridge(to.obstacle)) {
    piece.obstacle = is_ridge(from.obstacle) ? to.obstacle : from.obstacle;
  } else {
    const double middle = piece.from_deg + gap_deg / 2;
    MaskPiece first = part_of(piece, piece.from_deg, middle);
    MaskPiece second = part_of(piece, middle, piece.to_deg);
    first.obstacle = from.obstacle;
    second.obstacle = to.obstacle;
    add_piece(line, first);
    add_piece(line, second);
    return;
  }
  add_piece(line, piece);
}

// Points with the same azimuth make a vertical step; put each such pair the way the line runs.
void order_steps(std::vector<const SkylinePoint*>& chain) {
  const size_t n = chain.size();
  const auto el = [&](size_t i) { return chain[i % n]->elevation.degrees(); };
  for (size_t i = 0; i + 1 < n; ++i) {
    if (chain[i]->azimuth != chain[i + 1]->azimuth || n < 4) continue;
    const double before = el(i + n - 1), after = el(i + 2);
    const double as_is = std::abs(before - el(i)) + std::abs(el(i + 1) - after);
    const double swapped = std::abs(before - el(i + 1)) + std::abs(el(i) - after);
    if (swapped < as_is) std::swap(chain[i], chain[i + 1]);
    ++i;
  }
}

Line line_of_layer(const Skyline& skyline, std::vector<const SkylinePoint*> chain, bool all_round) {
  Line line;
  if (chain.empty()) return line;
  std::stable_sort(chain.begin(), chain.end(), [](const SkylinePoint* a, const SkylinePoint* b) {
    return a->azimuth.degrees() < b->azimuth.degrees();
  });
  order_steps(chain);
  for (size_t i = 0; i < chain.size(); ++i) {
    const bool last = i + 1 == chain.size();
    const SkylinePoint& from = *chain[i];
    const SkylinePoint& to = *chain[last ? 0 : i + 1];
    double gap = to.azimuth.degrees() - from.azimuth.degrees();
    if (last) gap += 360;
    if (all_round || gap <= skyline.max_gap_deg ||
        (from.obstacle == to.obstacle &&
         skyline.obstacles[from.obstacle].edge == Edge::great_circle && gap < 180))
      join(line, skyline, from, to, gap);
  }
  // In order but for what was cut at north.
  std::rotate(line.begin(), std::is_sorted_until(line.begin(), line.end(), further_west),
              line.end());
  if (!std::is_sorted(line.begin(), line.end(), further_west))
    std::sort(line.begin(), line.end(), further_west);
  return line;
}

Line line_of_pole(const Skyline& skyline, const SkylinePoint& point) {
  const Obstacle& obstacle = skyline.obstacles[point.obstacle];
  double width = kPoleWidth_deg;
  if (obstacle.width_deg) {
    width = *obstacle.width_deg;
  } else if (point.distance_m && *point.distance_m > 0) {
    width = 2 * std::atan(kPoleWidth_m / 2 / *point.distance_m) / kDegree;
  }
  MaskPiece piece;
  piece.from_deg = wrap_360(point.azimuth.degrees() - width / 2);
  piece.to_deg = piece.from_deg + width;
  piece.from_el_deg = piece.to_el_deg = point.elevation.degrees();
  piece.obstacle = point.obstacle;
  Line line;
  add_piece(line, piece);
  std::sort(line.begin(), line.end(), further_west);
  return line;
}

// Azimuths strictly inside (from, to) where the two pieces cross.
void add_crossings(const MaskPiece& p, const MaskPiece& q, double from, double to,
                   std::vector<double>& cuts) {
  const auto difference = [&](double az) { return p.elevation_deg(az) - q.elevation_deg(az); };
  // Two straight pieces cross once; a great circle against anything at most twice, and its bend
  // over a tenth of a degree is far below 1e-9.
  const int steps = p.edge == Edge::straight && q.edge == Edge::straight
                        ? 1
                        : std::max(2, static_cast<int>((to - from) * 10));
  double left = from, d_left = difference(left);
  for (int i = 1; i <= steps; ++i) {
    const double right = from + (to - from) * i / steps, d_right = difference(right);
    if (d_left * d_right < 0) {
      double lo = left, hi = right;
      for (int k = 0; k < 60 && hi - lo > 1e-12; ++k) {
        const double middle = (lo + hi) / 2;
        (difference(middle) * d_left > 0 ? lo : hi) = middle;
      }
      const double cut = (lo + hi) / 2;
      if (cut > from && cut < to) cuts.push_back(cut);
    }
    left = right;
    d_left = d_right;
  }
}

// The upper envelope of the lines. lines[0] covers the full turn.
Line envelope(const std::vector<Line>& lines) {
  if (lines.size() == 1) return lines[0];
  std::vector<double> breaks;
  for (const Line& line : lines)
    for (const MaskPiece& p : line) breaks.insert(breaks.end(), {p.from_deg, p.to_deg});
  std::sort(breaks.begin(), breaks.end());
  breaks.erase(std::unique(breaks.begin(), breaks.end()), breaks.end());

  // Every piece by where it begins, and those that reach the stretch at hand, one a line, in the
  // order of the lines: thousands of poles stand apart.
  struct Reaching {
    size_t line;
    const MaskPiece* piece;
  };
  std::vector<Reaching> begins, active;
  for (size_t l = 0; l < lines.size(); ++l)
    for (const MaskPiece& p : lines[l]) begins.push_back({l, &p});
  std::stable_sort(begins.begin(), begins.end(), [](const Reaching& a, const Reaching& b) {
    return a.piece->from_deg < b.piece->from_deg;
  });
  size_t begun = 0;

  Line result;
  std::vector<const MaskPiece*> over;
  std::vector<double> cuts;
  const MaskPiece* previous = nullptr;
  for (size_t b = 0; b + 1 < breaks.size(); ++b) {
    const double from = breaks[b], to = breaks[b + 1];
    std::erase_if(active, [&](const Reaching& r) { return r.piece->to_deg <= from; });
    for (; begun < begins.size() && begins[begun].piece->from_deg <= from; ++begun)
      if (begins[begun].piece->to_deg > from)
        active.insert(
            std::upper_bound(active.begin(), active.end(), begins[begun],
                             [](const Reaching& x, const Reaching& y) { return x.line < y.line; }),
            begins[begun]);
    over.clear();
    for (size_t i = 0; i < active.size(); ++i)
      if (i == 0 || active[i].line != active[i - 1].line) over.push_back(active[i].piece);
    cuts.assign({from, to});
    for (size_t i = 0; i < over.size(); ++i)
      for (size_t j = i + 1; j < over.size(); ++j)
        add_crossings(*over[i], *over[j], from, to, cuts);
    std::sort(cuts.begin(), cuts.end());
    for (size_t c = 0; c + 1 < cuts.size(); ++c) {
      if (cuts[c + 1] <= cuts[c]) continue;
      const double middle = (cuts[c] + cuts[c + 1]) / 2;
      const MaskPiece* best =
          *std::max_element(over.begin(), over.end(), [&](const MaskPiece* p, const MaskPiece* q) {
            return p->elevation_deg(middle) < q->elevation_deg(middle);
          });
      if (best == previous && !result.empty()) {
        result.back().to_deg = cuts[c + 1];
        result.back().to_el_deg = best->elevation_deg(cuts[c + 1]);
      } else {
        result.push_back(part_of(*best, cuts[c], cuts[c + 1]));
      }
      previous = best;
    }
  }
  return result;
}

// Two open stretches with a mark between them stay two; the cut at north is no mark.
std::vector<OpenStretch> open_stretches_of(const Line& pieces, bool mark_at_north) {
  std::vector<OpenStretch> open;
  for (const MaskPiece& p : pieces)
    if (p.open) open.push_back({p.from_deg, p.to_deg});
  if (mark_at_north || open.empty() || open.front().from_deg != 0 || open.back().to_deg != 360)
    return open;
  if (open.size() == 1) return {{0, 0}};
  open.back().to_deg = open.front().to_deg;
  open.erase(open.begin());
  return open;
}

MaskPiece flat_piece() {
  MaskPiece piece;
  piece.to_deg = 360;
  piece.open = true;
  return piece;
}

}  // namespace

std::string_view name_of(Kind kind) { return kKindNames[static_cast<int>(kind)]; }

std::optional<Kind> kind_named(std::string_view name) {
  for (int i = 0; i < kKindCount; ++i)
    if (kKindNames[i] == name) return static_cast<Kind>(i);
  return std::nullopt;
}

double light_through(const Foliage& foliage, int month, bool southern) {
  constexpr unsigned kMayToOctober = 0x3F0, kNovemberToApril = 0xC0F;
  const unsigned months =
      foliage.leaf_months ? foliage.leaf_months : (southern ? kNovemberToApril : kMayToOctober);
  return months >> (month - 1) & 1 ? foliage.light_through_in_leaf : foliage.light_through_bare;
}

double MaskPiece::elevation_deg(double azimuth_deg) const {
  if (edge == Edge::great_circle) return great_circle_el_deg(*this, azimuth_deg);
  if (from_el_deg == to_el_deg) return from_el_deg;
  const double part = (azimuth_deg - from_deg) / (to_deg - from_deg);
  return from_el_deg + part * (to_el_deg - from_el_deg);
}

double OpenStretch::width_deg() const {
  // Both ends at one mark are equal but for rounding: all round, not nothing.
  return to_deg > from_deg + 1e-9 ? to_deg - from_deg : to_deg - from_deg + 360;
}

Mask::Mask() : pieces_{flat_piece()}, open_{{0, 0}} { index(); }

Mask::Mask(const Skyline& skyline, std::span<const int> without) {
  const auto dropped = [&](int obstacle) {
    return std::find(without.begin(), without.end(), obstacle) != without.end();
  };
  std::vector<std::vector<const SkylinePoint*>> layers(1);
  std::vector<Line> lines(1);
  for (const SkylinePoint& point : skyline.points) {
    if (dropped(point.obstacle)) continue;
    if (skyline.obstacles[point.obstacle].kind == Kind::pole) {
      lines.push_back(line_of_pole(skyline, point));
      continue;
    }
    const size_t layer = std::max(0, point.layer);
    if (layer >= layers.size()) layers.resize(layer + 1);
    layers[layer].push_back(&point);
  }
  lines[0] = line_of_layer(skyline, layers[0], true);
  if (lines[0].empty()) lines[0] = {flat_piece()};
  for (size_t l = 1; l < layers.size(); ++l)
    if (!layers[l].empty()) lines.push_back(line_of_layer(skyline, layers[l], false));
  pieces_ = envelope(lines);
  open_ = open_stretches_of(pieces_, std::any_of(layers[0].begin(), layers[0].end(), [](auto* p) {
                              return p->azimuth.degrees() == 0;
                            }));
  index();
}

void Mask::index() {
  highest_ = -90;
  for (const MaskPiece& p : pieces_) {
    highest_ = std::max({highest_, p.from_el_deg, p.to_el_deg});
    if (p.edge == Edge::great_circle) {
      // The top of the great circle, if it lies inside the piece.
      const double top = wrap_360(std::atan2(p.b, p.a) / kDegree);
      if (top > p.from_deg && top < p.to_deg) highest_ = std::max(highest_, p.elevation_deg(top));
    }
  }
  int piece = 0;
  const int last = static_cast<int>(pieces_.size()) - 1;
  for (int bin = 0; bin <= kBins; ++bin) {
    const double azimuth = bin * (360.0 / kBins);
    while (piece < last && pieces_[piece].to_deg <= azimuth) ++piece;
    first_[bin] = piece;
  }
}

int Mask::piece_index_at(double azimuth_deg) const {
  const double azimuth = wrap_360(azimuth_deg);
  const int bin = static_cast<int>(azimuth * (kBins / 360.0));
  int piece = first_[std::max(0, bin - (bin > 0))];  // one bin back: rounding may overshoot
  const int last = static_cast<int>(pieces_.size()) - 1;
  while (piece < last && pieces_[piece].to_deg <= azimuth) ++piece;
  return piece;
}

const MaskPiece& Mask::piece_at(double azimuth_deg) const {
  return pieces_[piece_index_at(azimuth_deg)];
}

double Mask::closed_fraction() const {
  double open = 0;
  for (const OpenStretch& stretch : open_) open += stretch.width_deg();
  return 1 - open / 360;
}

Masks masks_of(const Skyline& skyline, std::span<const int> without) {
  Masks masks{Mask(skyline, without), {}, false};
  std::vector<int> gone(without.begin(), without.end());
  for (size_t i = 0; i < skyline.obstacles.size(); ++i) {
    if (skyline.obstacles[i].kind != Kind::leafy) continue;
    masks.has_leafy = true;
    gone.push_back(static_cast<int>(i));
  }
  masks.solid = masks.has_leafy ? Mask(skyline, gone) : masks.all;
  return masks;
}

}  // namespace horizon
