#include "app/touch/practice/score.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include "horizon/skyline/mask.h"

namespace app {
namespace {

constexpr int kSteps = 720;  // half a degree each
constexpr double kStep_deg = 360.0 / kSteps;
constexpr double kTurnNamed_deg = 1.5, kHeightNamed_deg = 1.5, kStretchNamed_deg = 3;

double at(int i) { return (i + 0.5) * kStep_deg; }

horizon::Kind kind_at(const horizon::Skyline& skyline, const horizon::Mask& mask, double az) {
  const int obstacle = mask.piece_at(horizon::wrap_360(az)).obstacle;
  return obstacle < 0 ? horizon::Kind::ridge : skyline.obstacles[std::size_t(obstacle)].kind;
}

// The turn that leaves the least between the two, over what is closed.
double turn_of(const horizon::Mask& truth, const horizon::Mask& marked) {
  double best = 0, least = 1e18;
  for (double turn = -30; turn <= 30; turn += 0.25) {
    double sum = 0;
    int count = 0;
    for (int i = 0; i < kSteps; ++i) {
      const double az = at(i);
      if (marked.piece_at(az).open) continue;
      const double off =
          marked.elevation_deg(az) - truth.elevation_deg(horizon::wrap_360(az - turn));
      sum += std::min(off * off, 25.0);  // a thing left out does not turn the rest
      ++count;
    }
    // A quarter of a degree either way must be earned.
    const double rest = count ? sum / count + 1e-4 * std::fabs(turn) : 1e18;
    if (rest < least) {
      least = rest;
      best = turn;
    }
  }
  return best;
}

horizon::Skyline turned(const horizon::Skyline& skyline, double by_deg) {
  horizon::Skyline out = skyline;
  for (auto& p : out.points)
    p.azimuth = horizon::TrueAzimuth::degrees(horizon::wrap_360(p.azimuth.degrees() + by_deg));
  return out;
}

bool within(double az, double from, double to) {
  if (to - from >= 360) return true;
  return horizon::wrap_360(az - from) <= horizon::wrap_360(to - from);
}

// The truth, but as it was marked over one stretch.
horizon::Skyline with_stretch(const horizon::Skyline& truth, const horizon::Mask& marked,
                              double from, double to) {
  horizon::Skyline out = truth;
  for (auto& p : out.points) {
    const double az = p.azimuth.degrees();
    if (within(az, from, to)) p.elevation = horizon::Elevation::degrees(marked.elevation_deg(az));
  }
  return out;
}

// Stretches round the compass where `is` holds, at least so wide.
std::vector<std::pair<double, double>> stretches(const std::function<bool(int)>& is) {
  int begin = 0;
  while (begin < kSteps && is(begin)) ++begin;  // from a step where it does not hold
  std::vector<std::pair<double, double>> out;
  if (begin == kSteps) return {{0, 360}};
  for (int i = 0, run = 0; i <= kSteps; ++i) {
    const int step = (begin + i) % kSteps;
    if (i < kSteps && is(step)) {
      ++run;
      continue;
    }
    if (run * kStep_deg >= kStretchNamed_deg)
      out.emplace_back(horizon::wrap_360(at(step) - (run + 0.5) * kStep_deg),
                       horizon::wrap_360(at(step) - 0.5 * kStep_deg));
    run = 0;
  }
  return out;
}

double width_of(const MissFound& m) {
  return m.to_deg - m.from_deg >= 360 ? 360 : horizon::wrap_360(m.to_deg - m.from_deg);
}

double points_lost(const MissFound& m) {
  switch (m.miss) {
    case Miss::turned:
      return std::min(40.0, 3 * std::fabs(m.by_deg));
    case Miss::open:
      return std::min(90.0, 5 + width_of(m) / 2);
    case Miss::kind:
      return 10;
    case Miss::high:
    case Miss::low:
      break;
  }
  return std::min(20.0, 4 + std::fabs(m.by_deg));
}

}  // namespace

Score score_of(const horizon::Skyline& truth, const horizon::Skyline& marked,
               const horizon::StationInput& station) {
  const horizon::LiveStation live(station);
  const auto hours = [&](const horizon::Skyline& skyline) {
    return live.update(skyline, 0).winter_h;
  };
  Score score;
  score.true_h = hours(truth);
  score.told_h = hours(marked);
  const auto add = [&](MissFound miss, const horizon::Skyline& only) {
    miss.cost_h = hours(only) - score.true_h;
    score.misses.push_back(miss);
  };
  const horizon::Mask real(truth), first(marked);
  const double turn = turn_of(real, first);
  const bool named = std::fabs(turn) >= kTurnNamed_deg;
  if (named) add({Miss::turned, 0, 360, turn, {}, {}, 0}, turned(truth, turn));
  const horizon::Skyline back = named ? turned(marked, -turn) : marked;
  const horizon::Mask mask(back);
  const auto open = [&](int i) { return mask.piece_at(at(i)).open; };
  for (const auto& [from, to] : stretches(open))
    add({Miss::open, from, to, 0, {}, {}, 0}, with_stretch(truth, mask, from, to));
  for (int w = 0; w < horizon::kKindCount; ++w)
    for (int m = 0; m < horizon::kKindCount; ++m) {
      if (w == m) continue;
      const auto was = horizon::Kind(w), is = horizon::Kind(m);
      for (const auto& [from, to] : stretches([&](int i) {
             return !open(i) && kind_at(truth, real, at(i)) == was &&
                    kind_at(back, mask, at(i)) == is;
           })) {
        horizon::Skyline only = truth;
        for (auto& p : only.points)
          if (within(p.azimuth.degrees(), from, to)) p.obstacle = m;
        add({Miss::kind, from, to, 0, was, is, 0},
            truth.obstacles.size() > std::size_t(m) ? only : truth);
      }
    }
  for (const int sign : {1, -1}) {
    const auto off = [&](int i) {
      return sign * (mask.elevation_deg(at(i)) - real.elevation_deg(at(i)));
    };
    for (const auto& [from, to] :
         stretches([&](int i) { return !open(i) && off(i) > kHeightNamed_deg; })) {
      double most = 0;
      for (int i = 0; i < kSteps; ++i)
        if (within(at(i), from, to)) most = std::max(most, off(i));
      add({sign > 0 ? Miss::high : Miss::low, from, to, most, {}, {}, 0},
          with_stretch(truth, mask, from, to));
    }
  }
  double lost = 0;
  for (const auto& miss : score.misses) lost += points_lost(miss);
  score.points = int(std::lround(std::max(0.0, 100 - lost)));
  std::stable_sort(score.misses.begin(), score.misses.end(),
                   [](const auto& a, const auto& b) { return points_lost(a) > points_lost(b); });
  return score;
}

}  // namespace app
