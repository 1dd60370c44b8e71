#include "horizon/light/aim_next.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "horizon/light/sun_steps.h"

namespace horizon {
namespace {

constexpr int kBins = 720;  // half a degree of azimuth
constexpr double kBin_deg = 360.0 / kBins;
constexpr double kWidest_deg = 16;  // of one piece of advice: what a person takes in at one glance
constexpr double kLeast_deg = 4;
constexpr size_t kMost = 5;

// Between two neighbouring marks of the outline.
struct Stretch {
  double from_deg = 0, width_deg = 0;
  int from_point = 0, to_point = 0;
  bool open = false;
  double bridge_h = 0;          // from not knowing the line between the marks
  double from_h = 0, to_h = 0;  // hours per degree of the marks' elevations
  double variance_h2 = 0;
  double reach_from_deg = 0, reach_to_deg = 0;  // where the winter sun comes near, from from_deg
  unsigned months = 0;
  double lowest_deg = 90, highest_deg = 0;
};

struct SunNear {
  double hours_per_deg = 0;
  unsigned months = 0;
  double lowest_deg = 90, highest_deg = 0;
};

// How fast a skyline's height wanders: degrees squared per degree of azimuth, from the marks
// themselves; a quarter, a rough ridge, where there are too few.
double roughness(const std::vector<const SkylinePoint*>& outline, double max_gap_deg) {
  double squares = 0, width = 0;
  for (size_t i = 0; i < outline.size(); ++i) {
    const SkylinePoint &a = *outline[i], &b = *outline[(i + 1) % outline.size()];
    const double gap = wrap_360(b.azimuth.degrees() - a.azimuth.degrees());
    if (gap < 0.5 || gap > max_gap_deg || a.obstacle != b.obstacle) continue;
    const double rise = b.elevation.degrees() - a.elevation.degrees();
    // A steady rise is drawn right; take half the change for it.
    squares += rise * rise / 2;
    width += gap;
  }
  if (width < 30) return 0.25;
  return std::clamp(squares / width, 0.02, 1.0);
}

// The sun's winter hours for each degree that the line moves, by azimuth. `half_deg` is how far off
// the line the sun still counts.
std::array<SunNear, kBins> sun_near(const SunSteps& winter, const Mask& mask,
                                    const std::array<double, kBins>& half_deg) {
  std::array<SunNear, kBins> near{};
  for (const SunStep& step : winter.steps) {
    const SunNode &a = winter.nodes[step.node], &b = winter.nodes[step.node + 1];
    const double azimuth = wrap_360(a.azimuth_deg + wrap_180(b.azimuth_deg - a.azimuth_deg) / 2);
    const int bin = std::min(kBins - 1, static_cast<int>(azimuth / kBin_deg));
    const double half = half_deg[bin];
    const double d0 = a.seen_deg - std::max(0.0, mask.elevation_deg(a.azimuth_deg));
    const double d1 = b.seen_deg - std::max(0.0, mask.elevation_deg(b.azimuth_deg));
    const double share = share_above(d0 + half, d1 + half) - share_above(d0 - half, d1 - half);
    if (share <= 0) continue;
    SunNear& n = near[bin];
    n.hours_per_deg += share * winter.step_h / (2 * half);
    n.months |= 1u << step.month;
    n.lowest_deg = std::min({n.lowest_deg, a.seen_deg, b.seen_deg});
    n.highest_deg = std::max({n.highest_deg, a.seen_deg, b.seen_deg});
  }
  // A step is wider than a bin: share its hours with the neighbours.
  std::array<SunNear, kBins> smooth = near;
  for (int i = 0; i < kBins; ++i) {
    double total = 0;
    for (int k = -2; k <= 2; ++k) total += near[(i + k + kBins) % kBins].hours_per_deg;
    smooth[i].hours_per_deg = total / 5 / kBin_deg;  // per degree of azimuth
  }
  return smooth;
}

double hours_of(const SunSteps& winter, const Mask& mask, double turned_deg) {
  double hours = 0;
  for (const SunStep& step : winter.steps) {
    const SunNode &a = winter.nodes[step.node], &b = winter.nodes[step.node + 1];
    const double d0 = a.seen_deg - std::max(0.0, mask.elevation_deg(a.azimuth_deg - turned_deg));
    const double d1 = b.seen_deg - std::max(0.0, mask.elevation_deg(b.azimuth_deg - turned_deg));
    hours += share_above(d0, d1) * winter.step_h;
  }
  return hours;
}

Advice advice_for(const std::vector<Stretch>& group) {
  Advice advice;
  const Stretch &first = group.front(), &last = group.back();
  advice.from_deg = wrap_360(first.from_deg + first.reach_from_deg);
  advice.to_deg = wrap_360(last.from_deg + last.reach_to_deg);
  advice.lowest_sun_deg = 90;
  double variance = 0;
  for (const Stretch& s : group) {
    variance += s.variance_h2;
    advice.months |= s.months;
    advice.open = advice.open || s.open;
    advice.lowest_sun_deg = std::min(advice.lowest_sun_deg, s.lowest_deg);
    advice.highest_sun_deg = std::max(advice.highest_sun_deg, s.highest_deg);
  }
  advice.error_h = std::sqrt(variance);
  // Whole degrees, wide enough to aim into.
  const double width = wrap_360(advice.to_deg - advice.from_deg);
  if (width < kLeast_deg) {
    advice.from_deg -= (kLeast_deg - width) / 2;
    advice.to_deg += (kLeast_deg - width) / 2;
  }
  const double wide = std::ceil(std::max(width, kLeast_deg) - 1e-9);
  advice.from_deg = wrap_360(std::floor(advice.from_deg));
  advice.to_deg = wrap_360(advice.from_deg + std::min(359.0, wide));
  return advice;
}

}  // namespace

AimNext aim_next(const SunSteps& winter, const Skyline& skyline, const Mask& mask) {
  AimNext result;
  std::vector<const SkylinePoint*> outline;
  for (const SkylinePoint& point : skyline.points)
    if (point.layer == 0 && skyline.obstacles[point.obstacle].kind != Kind::pole)
      outline.push_back(&point);
  std::sort(outline.begin(), outline.end(),
            [](auto* a, auto* b) { return a->azimuth.degrees() < b->azimuth.degrees(); });

  // With no mark at all, the whole turn is one stretch with nothing at its ends.
  const int count = static_cast<int>(outline.size());
  const double rough = roughness(outline, skyline.max_gap_deg);
  std::vector<Stretch> stretches;
  for (int i = 0; i < std::max(1, count); ++i) {
    Stretch s;
    s.from_point = i;
    s.to_point = count ? (i + 1) % count : 0;
    s.from_deg = count ? outline[i]->azimuth.degrees() : 0;
    s.width_deg = count < 2 ? 360 : wrap_360(outline[s.to_point]->azimuth.degrees() - s.from_deg);
    if (s.width_deg <= 0) continue;
    const Obstacle* same = count > 1 && outline[i]->obstacle == outline[s.to_point]->obstacle
                               ? &skyline.obstacles[outline[i]->obstacle]
                               : nullptr;
    const bool straight = same && same->edge == Edge::great_circle;
    s.open = s.width_deg > skyline.max_gap_deg && !straight;
    s.bridge_h = straight ? 0 : 1;
    stretches.push_back(s);
  }

  // How far off the line may be, by azimuth: the marks' errors and the walk between them.
  std::array<double, kBins> half{};
  half.fill(0.5);
  const auto bins_in = [&](const Stretch& s, auto&& visit) {
    const int first = static_cast<int>(std::ceil(s.from_deg / kBin_deg - 0.5));
    for (int b = first; (b + 0.5) * kBin_deg < s.from_deg + s.width_deg; ++b)
      visit((b % kBins + kBins) % kBins, (b + 0.5) * kBin_deg - s.from_deg);
  };
  const auto walk_variance = [&](const Stretch& s, double at) {
    return s.bridge_h * rough * at * (s.width_deg - at) / s.width_deg;
  };
  for (const Stretch& s : stretches)
    bins_in(s, [&](int bin, double at) {
      const double mark = count ? outline[s.from_point]->elevation_sigma_deg : 0;
      half[bin] = std::clamp(std::sqrt(mark * mark + walk_variance(s, at)), 0.5, 15.0);
    });
  const std::array<SunNear, kBins> near = sun_near(winter, mask, half);

  std::vector<double> per_mark(std::max(1, count));
  double total_variance = 0;
  for (Stretch& s : stretches) {
    s.reach_from_deg = s.width_deg;
    // Variance of the integral of a tied random walk times the sun's hours: with the hours to the
    // left and right of each place, cov(a, b) = a (w - b) / w.
    std::vector<std::pair<double, double>> weights;
    bins_in(s, [&](int bin, double at) {
      const SunNear& n = near[bin];
      if (n.hours_per_deg <= 0) return;
      const double h = n.hours_per_deg * kBin_deg, t = at / s.width_deg;
      // Where something nearer stands above the outline, the outline does not matter.
      const double line = count > 1 ? outline[s.from_point]->elevation.degrees() * (1 - t) +
                                          outline[s.to_point]->elevation.degrees() * t
                                    : 0;
      const MaskPiece& piece = mask.piece_at((bin + 0.5) * kBin_deg);
      if (count > 1 && piece.edge == Edge::straight &&
          piece.elevation_deg((bin + 0.5) * kBin_deg) > line + 0.2)
        return;
      s.from_h += h * (1 - t);
      s.to_h += h * t;
      weights.emplace_back(at, h);
      s.reach_from_deg = std::min(s.reach_from_deg, std::max(0.0, at - kBin_deg / 2));
      s.reach_to_deg = std::max(s.reach_to_deg, std::min(s.width_deg, at + kBin_deg / 2));
      s.months |= n.months;
      s.lowest_deg = std::min(s.lowest_deg, n.lowest_deg);
      s.highest_deg = std::max(s.highest_deg, n.highest_deg);
    });
    double left = 0, walk = 0;  // sum of h a over the bins so far
    for (const auto& [at, h] : weights) {
      const double right = (s.width_deg - at) / s.width_deg;
      walk += h * right * (2 * left + h * at);
      left += h * at;
    }
    s.variance_h2 = s.bridge_h * rough * walk;
    total_variance += s.variance_h2;
    if (count) {
      per_mark[s.from_point] += s.from_h;
      per_mark[s.to_point] += s.to_h;
    }
  }
  for (Stretch& s : stretches) {
    const auto mark_sigma = [&](int point) {
      const SkylinePoint& p = *outline[point];
      const double slope = std::min(5.0, std::abs(outline[s.to_point]->elevation.degrees() -
                                                  outline[s.from_point]->elevation.degrees()) /
                                             s.width_deg);
      return std::hypot(p.elevation_sigma_deg, slope * p.azimuth_sigma_deg);
    };
    if (count)
      s.variance_h2 += std::pow(s.from_h * mark_sigma(s.from_point), 2) +
                       std::pow(s.to_h * mark_sigma(s.to_point), 2);
  }
  for (int i = 0; i < count; ++i)
    total_variance += std::pow(per_mark[i] * outline[i]->elevation_sigma_deg, 2);
  double by_level = 0;  // hours that the level moves together
  for (int i = 0; i < count; ++i) by_level += per_mark[i] * outline[i]->level_sigma_deg;
  total_variance += by_level * by_level;
  if (skyline.heading_sigma_deg > 0) {
    const double per_deg = hours_of(winter, mask, 0.5) - hours_of(winter, mask, -0.5);
    total_variance += std::pow(per_deg * skyline.heading_sigma_deg, 2);
  }
  result.sigma_h = std::sqrt(total_variance);

  // The worst stretch first, with such neighbours as one look takes in.
  const int n = static_cast<int>(stretches.size());
  std::vector<char> used(n);
  while (result.advice.size() < kMost) {
    int worst = -1;
    for (int i = 0; i < n; ++i)
      if (!used[i] && (worst < 0 || stretches[i].variance_h2 > stretches[worst].variance_h2))
        worst = i;
    if (worst < 0 || stretches[worst].variance_h2 <= 0) break;
    std::vector<Stretch> group{stretches[worst]};
    used[worst] = 1;
    const double enough = stretches[worst].variance_h2 / 10;
    double width = group[0].reach_to_deg - group[0].reach_from_deg;
    const auto take = [&](int i, bool front) {
      if (used[i] || stretches[i].variance_h2 < enough ||
          width + stretches[i].width_deg > kWidest_deg)
        return false;
      used[i] = 1;
      width += stretches[i].width_deg;
      group.insert(front ? group.begin() : group.end(), stretches[i]);
      return true;
    };
    int left = worst, right = worst;
    for (bool more = true; more;) {
      more = false;
      if (take((right + 1) % n, false)) right = (right + 1) % n, more = true;
      if (take((left + n - 1) % n, true)) left = (left + n - 1) % n, more = true;
    }
    result.advice.push_back(advice_for(group));
  }
  return result;
}

void AimNext::fit_to(double drawn_sigma_h) {
  double open = 0;
  for (const Advice& a : advice)
    if (a.open) open += a.error_h * a.error_h;
  const double more = drawn_sigma_h * drawn_sigma_h - sigma_h * sigma_h;
  if (sigma_h <= 0 || (open > 0 && more <= 0)) return;
  const double share = open > 0 ? std::sqrt(1 + more / open) : drawn_sigma_h / sigma_h;
  for (Advice& a : advice)
    if (a.open || open == 0) a.error_h *= share;
  std::ranges::stable_sort(advice, std::ranges::greater{}, &Advice::error_h);
  sigma_h = drawn_sigma_h;
}

std::string in_words(const Advice& advice) {
  static constexpr const char* kNames[12] = {"January",   "February", "March",    "April",
                                             "May",       "June",     "July",     "August",
                                             "September", "October",  "November", "December"};
  std::vector<const char*> months;
  for (int m = 0; m < 12; ++m)
    if (advice.months >> m & 1) months.push_back(kNames[m]);
  std::string when;
  if (months.size() == 1) {
    when = std::string("the ") + months[0] + " sun crosses it";
  } else if (months.size() == 2) {
    when = std::string("the ") + months[0] + " and " + months[1] + " sun crosses it";
  } else {
    when = "the winter sun crosses it";
  }
  char text[160];
  std::snprintf(text, sizeof text, "Aim between %.0f\u00b0 and %.0f\u00b0: %s%s.", advice.from_deg,
                advice.to_deg, when.c_str(),
                advice.open ? ", and nothing has been sighted there yet" : "");
  return text;
}

}  // namespace horizon
