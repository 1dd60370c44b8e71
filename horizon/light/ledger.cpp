#include "horizon/light/ledger.h"

#include <algorithm>
#include <limits>
#include <map>

#include "horizon/light/sun_steps.h"
#include "horizon/parallel.h"

namespace horizon {
namespace {

struct Taken {
  double hours = 0, kwh = 0;
};

struct Account {
  double in_view_h = 0, kwh = 0;
  std::map<int, Taken> taken;  // by obstacle; -1 = open stretches
};

Account account_of(const SunSteps& sun, const Skyline& skyline, const Masks& masks,
                   const std::vector<float>& beam) {
  const SunSeen seen = sun_seen(sun, skyline, masks);
  Account account;
  for (size_t i = 0; i < sun.steps.size(); ++i) {
    const SunNode &a = sun.nodes[sun.steps[i].node], &b = sun.nodes[sun.steps[i].node + 1];
    account.in_view_h += seen.in_view[i] * sun.step_h;
    account.kwh += seen.light[i] * beam[i];
    const double hidden_h = (share_above(a.seen_deg, b.seen_deg) - seen.in_view[i]) * sun.step_h;
    const double hidden_kwh = (1 - seen.light[i]) * beam[i];
    if (hidden_h < 1e-9 && hidden_kwh < 1e-12) continue;
    // The end that stands deeper behind the line names what hides it.
    const double over_a = a.seen_deg - masks.all.elevation_deg(a.azimuth_deg);
    const double over_b = b.seen_deg - masks.all.elevation_deg(b.azimuth_deg);
    const MaskPiece& piece = masks.all.piece_at(over_a < over_b ? a.azimuth_deg : b.azimuth_deg);
    Taken& taken = account.taken[piece.open ? -1 : piece.obstacle];
    taken.hours += hidden_h;
    taken.kwh += hidden_kwh;
  }
  return account;
}

// The shortest arc that holds all of an obstacle's pieces.
void set_stretch(LedgerRow& row, const Mask& mask) {
  std::vector<std::pair<double, double>> held;
  for (const MaskPiece& piece : mask.pieces())
    if ((piece.open ? -1 : piece.obstacle) == row.obstacle)
      held.emplace_back(piece.from_deg, piece.to_deg);
  if (held.empty()) return;
  double widest = -1;
  for (size_t i = 0; i < held.size(); ++i) {
    const bool last = i + 1 == held.size();
    const double next = last ? held.front().first + 360 : held[i + 1].first;
    if (next - held[i].second > widest) {
      widest = next - held[i].second;
      row.to_deg = wrap_360(held[i].second);
      row.from_deg = wrap_360(next);
    }
  }
}

}  // namespace

Skyline felled(const Skyline& skyline, int obstacle) {
  std::vector<const SkylinePoint*> outline;
  for (const SkylinePoint& point : skyline.points)
    if (point.layer == 0 && skyline.obstacles[point.obstacle].kind != Kind::pole)
      outline.push_back(&point);
  std::sort(outline.begin(), outline.end(),
            [](auto* a, auto* b) { return a->azimuth.degrees() < b->azimuth.degrees(); });
  // The gaps it leaves in the outline: from the mark before to the mark after.
  struct Gap {
    double from_deg, width_deg;
    int layer = std::numeric_limits<int>::max();  // the nearest that has a mark inside
  };
  std::vector<Gap> gaps;
  const size_t n = outline.size();
  for (size_t i = 0; i < n; ++i) {
    if (outline[i]->obstacle == obstacle || outline[(i + 1) % n]->obstacle != obstacle) continue;
    size_t next = (i + 1) % n;
    while (outline[next]->obstacle == obstacle) next = (next + 1) % n;
    const double from = outline[i]->azimuth.degrees();
    const double width = wrap_360(outline[next]->azimuth.degrees() - from);
    gaps.push_back({from, next == i ? 360 : width});
  }
  Skyline left = skyline;
  std::erase_if(left.points, [&](const SkylinePoint& p) { return p.obstacle == obstacle; });
  const auto inside = [](const Gap& gap, const SkylinePoint& p) {
    const double at = wrap_360(p.azimuth.degrees() - gap.from_deg);
    return at > 0 && at < gap.width_deg;
  };
  for (Gap& gap : gaps)
    for (const SkylinePoint& p : left.points)
      if (p.layer > 0 && inside(gap, p)) gap.layer = std::min(gap.layer, p.layer);
  for (SkylinePoint& p : left.points)
    for (const Gap& gap : gaps)
      if (p.layer > 0 && p.layer == gap.layer && inside(gap, p)) p.layer = 0;
  return left;
}

std::vector<LedgerRow> ledger_of(const SunSteps& year, const Skyline& skyline, unsigned months,
                                 const std::vector<float>& beam_kwh_m2) {
  std::vector<int> original;
  const SunSteps sun = in_months(year, months, &original);
  std::vector<float> beam(sun.steps.size());
  for (size_t i = 0; i < beam.size(); ++i) beam[i] = beam_kwh_m2[original[i]];

  const Masks masks = masks_of(skyline);
  const Account now = account_of(sun, skyline, masks, beam);
  const int count = static_cast<int>(skyline.obstacles.size());
  std::vector<LedgerRow> rows(static_cast<size_t>(count));
  in_parallel(count, [&](int k) {
    LedgerRow& row = rows[static_cast<size_t>(k)];
    row.obstacle = k;
    row.label = skyline.obstacles[k].label;
    row.kind = skyline.obstacles[k].kind;
    set_stretch(row, masks.all);
    if (const auto it = now.taken.find(k); it != now.taken.end()) {
      row.takes_h = it->second.hours;
      row.takes_kwh_m2 = it->second.kwh;
    }
    const Skyline left = felled(skyline, k);
    const Account without = account_of(sun, left, masks_of(left), beam);
    row.returns_h = std::max(0.0, without.in_view_h - now.in_view_h);
    row.returns_kwh_m2 = std::max(0.0, without.kwh - now.kwh);

    std::vector<int> others;
    for (int other = 0; other < count; ++other)
      if (other != k) others.push_back(other);
    const Account alone = account_of(sun, skyline, masks_of(skyline, others), beam);
    const auto it = alone.taken.find(k);
    // A lone mark has no width of its own; it hides at least what it hides among its neighbours.
    row.alone_h = std::max(row.takes_h, it == alone.taken.end() ? 0 : it->second.hours);
    row.alone_kwh_m2 = std::max(row.takes_kwh_m2, it == alone.taken.end() ? 0 : it->second.kwh);
  });
  if (const auto it = now.taken.find(-1); it != now.taken.end() && it->second.hours > 0) {
    LedgerRow open;
    set_stretch(open, masks.all);
    open.alone_h = open.takes_h = it->second.hours;
    open.alone_kwh_m2 = open.takes_kwh_m2 = it->second.kwh;
    rows.push_back(open);
  }
  return rows;
}

}  // namespace horizon
