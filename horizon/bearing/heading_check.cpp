#include "horizon/bearing/heading_check.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace horizon {
namespace {

constexpr std::array<std::string_view, kCheckKindCount> kNames = {
    "landmark", "sun_shadow", "back_bearing", "terrain", "entered", "contact"};

struct Kept {
  int index;
  double offset_deg;
  double variance;
};

// |z| that a standard normal variate exceeds with the given probability, both tails together.
double two_sided_limit(double probability) {
  double low = 0, high = 40;
  for (int i = 0; i < 80; ++i) {
    const double middle = (low + high) / 2;
    (std::erfc(middle / std::numbers::sqrt2) > probability ? low : high) = middle;
  }
  return low;
}

struct Mean {
  double offset_deg;
  double variance;
};

// Offsets of 179 and -179 mean 180, so they are averaged as differences from their middle one.
Mean weighted_mean(const std::vector<Kept>& kept) {
  double east = 0, north = 0;
  for (const Kept& k : kept) {
    east += std::sin(k.offset_deg * kDegree) / k.variance;
    north += std::cos(k.offset_deg * kDegree) / k.variance;
  }
  const double base = std::atan2(east, north) / kDegree;
  double sum = 0, weights = 0;
  for (const Kept& k : kept) {
    sum += wrap_180(k.offset_deg - base) / k.variance;
    weights += 1 / k.variance;
  }
  return {wrap_180(base + sum / weights), 1 / weights};
}

// The sigma reaches as far as the checks do, but not further than the instrument can be off.
void turn_nothing(const std::vector<Kept>& all, const HeadingRules& rules, bool beyond,
                  std::vector<Kept>& kept, HeadingCorrection& result) {
  if (beyond) {
    result.rejected.push_back(
        {.index = all[0].index,
         .off_deg = all[0].offset_deg,
         .normalised = std::abs(all[0].offset_deg) / std::sqrt(all[0].variance),
         .beyond = true});
    kept.clear();
  }
  const double from = rules.most_off_deg ? 0 : all[0].offset_deg;
  double furthest = 0;
  for (const Kept& k : all) {
    const double off = std::abs(wrap_180(k.offset_deg - from));
    furthest = std::max(furthest, rules.most_off_deg ? std::min(off, *rules.most_off_deg) : off);
  }
  result.offset_deg = from;
  result.sigma_deg = std::max(rules.unchecked_sigma_deg, furthest);
  if (rules.most_off_deg)
    kept.clear();
  else
    kept.assign(1, all[0]);
}

}  // namespace

std::string_view name_of(CheckKind kind) { return kNames[static_cast<size_t>(kind)]; }

std::optional<CheckKind> check_kind_named(std::string_view name) {
  const auto found = std::find(kNames.begin(), kNames.end(), name);
  if (found == kNames.end()) return std::nullopt;
  return static_cast<CheckKind>(found - kNames.begin());
}

HeadingCorrection heading_correction(std::span<const HeadingCheck> checks,
                                     const HeadingRules& rules) {
  HeadingCorrection result;
  std::vector<Kept> kept;
  for (size_t i = 0; i < checks.size(); ++i) {
    const HeadingCheck& c = checks[i];
    const double variance = c.measured_sigma_deg * c.measured_sigma_deg +
                            c.known_sigma_deg * c.known_sigma_deg +
                            rules.direction_sigma_deg * rules.direction_sigma_deg;
    const double offset = clockwise_deg(c.measured, c.known);
    if (std::isfinite(offset) && std::isfinite(variance) && variance > 0)
      kept.push_back({static_cast<int>(i), offset, variance});
    else
      result.rejected.push_back({.index = static_cast<int>(i), .unreadable = true});
  }
  if (kept.empty()) {
    result.sigma_deg = rules.unchecked_sigma_deg;
    result.residual_deg.assign(checks.size(), 0);
    return result;
  }

  const std::vector<Kept> all = kept;
  Mean mean = weighted_mean(kept);
  while (kept.size() >= 3) {
    const double limit = two_sided_limit(rules.false_alarm / static_cast<double>(kept.size()));
    size_t worst = 0;
    RejectedCheck suspect;
    for (size_t i = 0; i < kept.size(); ++i) {
      // Tested against the mean of the others: its own weight must not hide it.
      std::vector<Kept> others = kept;
      others.erase(others.begin() + static_cast<std::ptrdiff_t>(i));
      const Mean rest = weighted_mean(others);
      const double off = wrap_180(kept[i].offset_deg - rest.offset_deg);
      const double normalised = std::abs(off) / std::sqrt(kept[i].variance + rest.variance);
      if (normalised > suspect.normalised) {
        suspect = {.index = kept[i].index, .off_deg = off, .normalised = normalised};
        worst = i;
      }
    }
    if (suspect.normalised <= limit) break;
    suspect.limit = limit;
    result.rejected.push_back(suspect);
    kept.erase(kept.begin() + static_cast<std::ptrdiff_t>(worst));
    mean = weighted_mean(kept);
  }

  double chi_squared = 0;
  for (const Kept& k : kept)
    chi_squared += std::pow(wrap_180(k.offset_deg - mean.offset_deg), 2) / k.variance;
  if (kept.size() > 1) result.scatter = chi_squared / static_cast<double>(kept.size() - 1);
  result.offset_deg = mean.offset_deg;
  result.sigma_deg = std::sqrt(mean.variance * std::max(1.0, result.scatter));
  const bool apart =
      kept.size() == 2 &&
      std::abs(wrap_180(kept[0].offset_deg - kept[1].offset_deg)) >
          two_sided_limit(rules.false_alarm) * std::sqrt(kept[0].variance + kept[1].variance);
  // As many against as for: which camp is right, nobody can tell.
  const bool outnumbered = 2 * kept.size() <= all.size();
  const bool beyond = rules.most_off_deg && kept.size() == 1 && all.size() == 1 &&
                      std::abs(mean.offset_deg) > *rules.most_off_deg;
  result.disputed = apart || outnumbered || beyond;
  if (result.disputed) turn_nothing(all, rules, beyond, kept, result);
  result.used = static_cast<int>(kept.size());
  for (const HeadingCheck& c : checks)
    result.residual_deg.push_back(wrap_180(clockwise_deg(c.measured, c.known) - result.offset_deg));
  return result;
}

}  // namespace horizon
