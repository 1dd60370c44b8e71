#include "horizon/light/facing.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <mutex>

#include "horizon/light/plane_light.h"

namespace horizon {
namespace {

using Gains = Sources::Gains;

Plane plane_at(int facing, int tilt) {
  return {TrueAzimuth::degrees(facing * kFacingStep_deg), tilt * kTiltStep_deg};
}

std::array<unsigned, kSeasonCount> season_months(bool southern) {
  return {months_of(Season::winter_half, southern), months_of(Season::shoulder, southern),
          months_of(Season::year, southern)};
}

// Walks from the best until the gain falls under `least`; the edge to 0.05. None within `limit`.
std::optional<double> edge_from(double best, double step, double limit, double least,
                                const std::function<double(double)>& gain_at) {
  double inside = 0;
  while (inside < limit) {
    const double next = std::min(limit, inside + std::abs(step));
    if (gain_at(best + std::copysign(next, step)) < least) {
      double outside = next;
      while (outside - inside > 0.05) {
        const double middle = (inside + outside) / 2;
        (gain_at(best + std::copysign(middle, step)) < least ? outside : inside) = middle;
      }
      return best + std::copysign(inside, step);
    }
    inside = next;
  }
  return std::nullopt;
}

}  // namespace

unsigned months_of(Season season, bool southern) {
  switch (season) {
    case Season::winter_half:
      return southern ? 0x1F8 : 0xE07;  // October-March, April-September
    case Season::shoulder:
      return 0x30C;  // March, April, September, October
    default:
      return 0xFFF;
  }
}

double FacingBand::width_deg() const {
  return from == to ? 360 : wrap_360(clockwise_deg(from, to));
}

double GainSurface::interpolated(const Plane& plane) const {
  const double x = plane.facing.degrees() / kFacingStep_deg;
  const double y = std::clamp(plane.tilt_deg / kTiltStep_deg, 0.0, kTilts - 1.0);
  const int i = static_cast<int>(x) % kFacings, j = std::min(static_cast<int>(y), kTilts - 2);
  const double u = x - std::floor(x), v = y - j;
  const int next = (i + 1) % kFacings;
  return (1 - u) * ((1 - v) * at(i, j) + v * at(i, j + 1)) +
         u * ((1 - v) * at(next, j) + v * at(next, j + 1));
}

Sources::Passed::Passed(const TransmittanceCurve& glazing) {
  constexpr int kPoints = 256;
  Eigen::MatrixXd powers(kPoints, kTerms);
  Eigen::VectorXd values(kPoints);
  for (int i = 0; i < kPoints; ++i) {
    const double c = 0.5 - 0.5 * std::cos(std::numbers::pi * (i + 0.5) / kPoints);
    values[i] = c * glazing(c);
    for (int k = 0; k < kTerms; ++k) powers(i, k) = std::pow(c, k + 1);
  }
  const Eigen::VectorXd fitted = powers.colPivHouseholderQr().solve(values);
  for (int k = 0; k < kTerms; ++k) factor[k] = static_cast<float>(fitted[k]);
  error_ = (powers * fitted - values).cwiseAbs().maxCoeff();
}

Sources::Sources(const SiteLight& light) {
  const auto seasons = season_months(light.sun().place.latitude_deg < 0);
  for (const Patch& patch : light.patches()) {
    Gains kwh{};
    for (int m = 0; m < 12; ++m)
      for (int s = 0; s < kSeasonCount; ++s)
        if (seasons[s] >> m & 1) kwh[s] += patch.weight * light.patch_kwh_m2(patch, m);
    add(patch.east, patch.north, patch.up, kwh);
  }
  without_sun_ = east_.size();
}

void Sources::add(double east, double north, double up, const Gains& kwh_m2) {
  east_.push_back(static_cast<float>(east));
  north_.push_back(static_cast<float>(north));
  up_.push_back(static_cast<float>(up));
  for (int s = 0; s < kSeasonCount; ++s) kwh_m2_[s].push_back(static_cast<float>(kwh_m2[s]));
}

void Sources::clear_sun() {
  for (std::vector<float>* v : {&east_, &north_, &up_, &kwh_m2_[0], &kwh_m2_[1], &kwh_m2_[2]})
    v->resize(without_sun_);
}

SunBins bins_of(const SunSteps& sun, double bin_deg) {
  const int columns = static_cast<int>(std::lround(360 / bin_deg));
  const int rows = static_cast<int>(std::ceil(92 / bin_deg)) + 1;
  std::vector<int> place(static_cast<size_t>(columns) * rows, -1);
  SunBins bins;
  bins.of_step.resize(sun.steps.size());
  for (size_t i = 0; i < sun.steps.size(); ++i) {
    const SunNode& node = sun.nodes[sun.steps[i].node];
    const int column = static_cast<int>(node.azimuth_deg / bin_deg) % columns;
    const int row = std::clamp(static_cast<int>((node.el_deg + 1) / bin_deg), 0, rows - 1);
    int& at = place[static_cast<size_t>(row) * columns + column];
    if (at < 0) at = bins.count++;
    bins.of_step[i] = at;
  }
  return bins;
}

struct Sources::Rest {
  template <class Make>
  double of(const Plane& plane, Make make) {
    const std::pair key(plane.facing.radians(), plane.tilt_deg);
    {
      const std::lock_guard hold(lock);
      if (const auto at = known.find(key); at != known.end()) return at->second;
    }
    const double made = make();
    const std::lock_guard hold(lock);
    return known.emplace(key, made).first->second;
  }
  std::mutex lock;
  std::map<std::pair<double, double>, double> known;
};

void Sources::remember_rest() { rest_ = std::make_shared<Rest>(); }

void Sources::add_bins(const std::vector<Bin>& bins) {
  for (const Bin& bin : bins) {
    const double length = std::sqrt(bin.east * bin.east + bin.north * bin.north + bin.up * bin.up);
    const bool brings = bin.kwh_m2[0] > 0 || bin.kwh_m2[1] > 0 || bin.kwh_m2[2] > 0;
    if (length > 0 && brings)
      add(bin.east / length, bin.north / length, bin.up / length, bin.kwh_m2);
  }
}

void Sources::add_sun(const SiteLight& light, const std::vector<float>& seen, double bin_deg) {
  const SunSteps& sun = light.sun();
  const SunBins where = bins_of(sun, bin_deg);
  std::vector<Bin> bins(where.count);
  const auto seasons = season_months(sun.place.latitude_deg < 0);
  const double kwh = sun.step_h / 1000;
  for (size_t i = 0; i < sun.steps.size(); ++i) {
    const double energy = light.sky()[i].sun_normal * seen[i] * kwh;
    if (!(energy > 0)) continue;
    const SunStep& step = sun.steps[i];
    Bin& bin = bins[where.of_step[i]];
    bin.east += energy * step.east;
    bin.north += energy * step.north;
    bin.up += energy * step.up;
    for (int s = 0; s < kSeasonCount; ++s)
      if (seasons[s] >> step.month & 1) bin.kwh_m2[s] += energy;
  }
  add_bins(bins);
}

template <class F>
void Sources::each_block(const Plane& plane, const Passed& passed, size_t from, size_t to,
                         F&& add_to) const {
  // Small blocks stay in the nearest cache; Eigen works on four or eight directions at once.
  constexpr Eigen::Index kBlock = 256;
  using Block = Eigen::Array<float, Eigen::Dynamic, 1, 0, kBlock, 1>;
  using Numbers = Eigen::Map<const Eigen::ArrayXf>;
  const double tilt = plane.tilt_deg * kDegree;
  const auto east = static_cast<float>(std::sin(tilt) * std::sin(plane.facing.radians()));
  const auto north = static_cast<float>(std::sin(tilt) * std::cos(plane.facing.radians()));
  const auto up = static_cast<float>(std::cos(tilt));
  const auto n = static_cast<Eigen::Index>(to);
  for (auto begin = static_cast<Eigen::Index>(from); begin < n; begin += kBlock) {
    const Eigen::Index count = std::min(kBlock, n - begin);
    const Block c = (Numbers(&east_[begin], count) * east + Numbers(&north_[begin], count) * north +
                     Numbers(&up_[begin], count) * up)
                        .max(0.0f);
    Block p = Block::Constant(count, passed.factor[Passed::kTerms - 1]);
    for (int k = Passed::kTerms - 2; k >= 0; --k) p = p * c + passed.factor[k];
    p *= c;
    add_to(
        [&](int season) -> double { return (Numbers(&kwh_m2_[season][begin], count) * p).sum(); });
  }
}

Sources::Gains Sources::gain(const Plane& plane, const Passed& passed) const {
  Gains total{};
  each_block(plane, passed, 0, east_.size(), [&](const auto& sum) {
    for (int s = 0; s < kSeasonCount; ++s) total[s] += sum(s);
  });
  return total;
}

double Sources::gain(const Plane& plane, const Passed& passed, Season season) const {
  const auto between = [&](size_t from, size_t to) {
    double total = 0;
    each_block(plane, passed, from, to,
               [&](const auto& sum) { total += sum(static_cast<int>(season)); });
    return total;
  };
  if (!rest_) return between(0, east_.size());
  const double rest = rest_->of(plane, [&] { return between(0, without_sun_); });
  return rest + between(without_sun_, east_.size());
}

PlaneGain climb(const Sources& sources, const Sources::Passed& passed, Season season, Plane start,
                bool turn, bool tip, double lowest_tilt_deg) {
  PlaneGain best{start, sources.gain(start, passed, season), 0};
  const auto try_plane = [&](double turned, double tipped) {
    const Plane plane{best.plane.facing.turned_by(turned),
                      std::clamp(best.plane.tilt_deg + tipped, lowest_tilt_deg, 90.0)};
    const double kwh = sources.gain(plane, passed, season);
    if (!(kwh > best.kwh_m2)) return false;
    best = {plane, kwh, 0};
    return true;
  };
  for (double step = 4; step > 0.06; step /= 2)
    for (bool better = true; better;) {
      better = false;
      if (turn) better |= try_plane(step, 0) || try_plane(-step, 0);
      if (tip) better |= try_plane(0, step) || try_plane(0, -step);
    }
  // The top is so flat that single precision wanders on it: a parabola's, round itself until it
  // stays, and to a hundredth of a degree, so that every machine finds the same.
  constexpr double kReach_deg = 3, kStays_deg = 0.002;
  const auto gain_at = [&](const Plane& plane) { return sources.gain(plane, passed, season); };
  const auto step_to_top = [](double left, double middle, double right) {
    const double bend = left + right - 2 * middle;
    return bend < 0 ? std::clamp(kReach_deg * (left - right) / (2 * bend), -1.0, 1.0) : 0.0;
  };
  const auto hundredths = [](double degrees) { return std::round(degrees * 100) / 100; };
  Plane top = best.plane;
  for (int i = 0; i < 6; ++i) {
    const double middle = gain_at(top), facing = top.facing.degrees(), tilt = top.tilt_deg;
    double turned = 0, tipped = 0;
    if (turn)
      turned = step_to_top(gain_at({top.facing.turned_by(-kReach_deg), tilt}), middle,
                           gain_at({top.facing.turned_by(kReach_deg), tilt}));
    if (tip && tilt > lowest_tilt_deg + kReach_deg && tilt < 90 - kReach_deg)
      tipped = step_to_top(gain_at({top.facing, tilt - kReach_deg}), middle,
                           gain_at({top.facing, tilt + kReach_deg}));
    top = {TrueAzimuth::degrees(facing + turned), tilt + tipped};
    if (std::max(std::abs(turned), std::abs(tipped)) < kStays_deg) break;
  }
  top = {TrueAzimuth::degrees(turn ? hundredths(top.facing.degrees()) : top.facing.degrees()),
         tip ? hundredths(top.tilt_deg) : top.tilt_deg};
  const double kwh = gain_at(top);
  if (kwh > best.kwh_m2 * (1 - 1e-5)) best = {top, std::max(kwh, best.kwh_m2), 0};
  return best;
}

std::array<FacingFinding, kSeasonCount> facings_of(const SiteLight& light,
                                                   const TransmittanceCurve& glazing,
                                                   const std::optional<Plane>& chosen) {
  const bool southern = light.sun().place.latitude_deg < 0;
  const TrueAzimuth equator = TrueAzimuth::degrees(southern ? 0 : 180);
  Sources sources(light);
  sources.add_sun(light, light.seen().light);
  const Sources::Passed passed(glazing);

  std::array<FacingFinding, kSeasonCount> findings;
  for (FacingFinding& f : findings) f.surface.kwh_m2.resize(kFacings * kTilts);
  for (int f = 0; f < kFacings; ++f)
    for (int t = 0; t < kTilts; ++t) {
      const Gains g = sources.gain(plane_at(f, t), passed);
      for (int s = 0; s < kSeasonCount; ++s)
        findings[s].surface.kwh_m2[f * kTilts + t] = static_cast<float>(g[s]);
    }

  for (int s = 0; s < kSeasonCount; ++s) {
    FacingFinding& found = findings[s];
    found.season = static_cast<Season>(s);
    found.months = months_of(found.season, southern);
    const auto gain_of = [&](const Plane& plane) {
      return sources.gain(plane, passed, found.season);
    };
    // The best of the grid with this tilt or steeper, then uphill from there.
    const auto best_from = [&](int lowest, int highest, bool tip) {
      int best_f = 0, best_t = lowest;
      for (int f = 0; f < kFacings; ++f)
        for (int t = lowest; t <= highest; ++t)
          if (found.surface.at(f, t) > found.surface.at(best_f, best_t)) {
            best_f = f;
            best_t = t;
          }
      return climb(sources, passed, found.season, plane_at(best_f, best_t), true, tip,
                   lowest * kTiltStep_deg);
    };
    const int thirty = static_cast<int>(30 / kTiltStep_deg);
    found.best = best_from(0, kTilts - 1, true);
    const double top = found.best.kwh_m2;
    const auto with_loss = [&](PlaneGain g) {
      g.loss = top > 0 ? std::max(0.0, 1 - g.kwh_m2 / top) : 0;
      return g;
    };
    found.best_from_30 = with_loss(
        found.best.plane.tilt_deg >= 30 ? found.best : best_from(thirty, kTilts - 1, true));
    found.tilt_30 = with_loss(best_from(thirty, thirty, false));
    found.solar_south = with_loss(
        climb(sources, passed, found.season, {equator, found.best.plane.tilt_deg}, false, true));
    if (chosen) found.chosen = with_loss({*chosen, gain_of(*chosen), 0});
    for (int t = 0; t < kTilts; ++t) {
      double most = 0;
      for (int f = 0; f < kFacings; ++f) most = std::max(most, found.surface.at(f, t));
      found.loss_by_tilt[t] = top > 0 ? std::max(0.0, 1 - most / top) : 0;
    }

    const auto facing_band = [&](double least) {
      const double at = found.best.plane.facing.degrees();
      const auto turned = [&](double degrees) {
        return gain_of({TrueAzimuth::degrees(degrees), found.best.plane.tilt_deg});
      };
      const auto left = edge_from(at, -5, 180, least, turned);
      const auto right = edge_from(at, 5, 180, least, turned);
      if (!left || !right) return FacingBand{TrueAzimuth::degrees(0), TrueAzimuth::degrees(0)};
      return FacingBand{TrueAzimuth::degrees(*left), TrueAzimuth::degrees(*right)};
    };
    const auto tilt_band = [&](double least) {
      const double at = found.best.plane.tilt_deg;
      const auto tipped = [&](double tilt) { return gain_of({found.best.plane.facing, tilt}); };
      return TiltBand{edge_from(at, -2.5, at, least, tipped).value_or(0),
                      edge_from(at, 2.5, 90 - at, least, tipped).value_or(90)};
    };
    found.within_2 = facing_band(0.98 * top);
    found.within_5 = facing_band(0.95 * top);
    found.tilt_within_2 = tilt_band(0.98 * top);
    found.tilt_within_5 = tilt_band(0.95 * top);
  }
  return findings;
}

}  // namespace horizon
