#include "horizon/ground/percolation.h"

#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

constexpr double kInch_mm = 25.4;
constexpr double kJumpNoticed_s = 2;  // two clocks of a device drift apart less than this in a test

std::string reading(size_t i) { return "reading " + std::to_string(i + 1); }

// How many of the last intervals are steady together: each within 10 % of their common rate, or
// within twice its own reading error.
size_t steady_tail(const std::vector<PercolationInterval>& all) {
  size_t best = 0;
  for (size_t n = 3; n <= all.size(); ++n) {
    double drop = 0, hours = 0;
    for (size_t i = all.size() - n; i < all.size(); ++i) {
      drop += all[i].drop_mm;
      hours += (all[i].to_utc_s - all[i].from_utc_s) / 3600;
    }
    const double rate = drop / hours;
    const bool agree =
        std::all_of(all.end() - static_cast<long>(n), all.end(), [&](const auto& one) {
          return std::abs(one.fall_mm_h - rate) <= std::max(0.1 * rate, 2 * one.fall_sigma_mm_h);
        });
    if (agree) best = n;
  }
  return best;
}

}  // namespace

Result<Elapsed> elapsed(const ClockMark& from, const ClockMark& to) {
  const double by_day = to.utc_s - from.utc_s;
  const bool same_run = !from.boot.empty() && from.boot == to.boot && from.since_boot_s &&
                        to.since_boot_s && *to.since_boot_s >= *from.since_boot_s;
  if (same_run) {
    Elapsed result{*to.since_boot_s - *from.since_boot_s, true, 0};
    const double jump = by_day - result.seconds;
    if (std::abs(jump) > kJumpNoticed_s) result.clock_jump_s = jump;
    return result;
  }
  if (!(by_day >= 0)) return fail(Code::bad_input, "error.clock_before_test");
  return Elapsed{by_day, false, 0};
}

Result<PercolationResult> percolation(const PercolationHole& hole,
                                      std::span<const WaterReading> readings) {
  if (!(hole.width_mm > 0)) return fail(Code::bad_input, "error.hole_width_needed", "hole");
  if (readings.size() < 2) return fail(Code::bad_input, "error.readings_needed", "readings");
  PercolationResult result;
  for (size_t i = 0; i < readings.size(); ++i) {
    const WaterReading& now = readings[i];
    if (!(std::isfinite(now.utc_s) && now.depth_mm >= 0))
      return fail(Code::bad_input, "error.reading_needs_time_and_depth", reading(i));
    if (now.refilled_to_mm && !(*now.refilled_to_mm >= now.depth_mm - 4 * hole.reading_sigma_mm))
      return fail(Code::bad_input, "error.refilled_below_reading", reading(i));
    if (i == 0) continue;
    const WaterReading& before = readings[i - 1];
    const double start_mm = before.refilled_to_mm.value_or(before.depth_mm);
    const double hours = (now.utc_s - before.utc_s) / 3600;
    if (!(hours > 0)) return fail(Code::bad_input, "error.reading_not_later", reading(i));
    if (hours < 1.0 / 60) return fail(Code::bad_input, "error.reading_too_soon", reading(i));
    PercolationInterval one{before.utc_s, now.utc_s, start_mm - now.depth_mm,
                            (start_mm + now.depth_mm) / 2};
    if (one.drop_mm < -4 * hole.reading_sigma_mm)
      return fail(Code::bad_input, "error.reading_higher", reading(i));
    // An empty hole says only that the water has gone before the reading.
    if (now.depth_mm == 0 && start_mm == 0)
      return fail(Code::bad_input, "error.hole_was_empty", reading(i));
    one.fall_mm_h = one.drop_mm / hours;
    one.fall_sigma_mm_h = hole.reading_sigma_mm * std::sqrt(2.0) / hours;
    result.intervals.push_back(one);
  }

  auto& all = result.intervals;
  const size_t tail = steady_tail(all);
  result.steady = tail > 0;
  for (size_t i = all.size() - tail; i < all.size(); ++i) all[i].steady = true;

  // Without a steady tail the last interval is the nearest to it, as good as the step before says.
  const size_t used = std::max<size_t>(tail, 1);
  double drop = 0, hours = 0, depth = 0;
  for (size_t i = all.size() - used; i < all.size(); ++i) {
    const double h = (all[i].to_utc_s - all[i].from_utc_s) / 3600;
    drop += all[i].drop_mm;
    hours += h;
    depth += all[i].mean_depth_mm * h;
  }
  result.fall_mm_h = std::max(0.0, drop / hours);
  double scatter = 0;
  if (used > 1) {
    for (size_t i = all.size() - used; i < all.size(); ++i)
      scatter += std::pow(all[i].fall_mm_h - result.fall_mm_h, 2);
    scatter = std::sqrt(scatter / static_cast<double>(used - 1) / static_cast<double>(used));
  } else if (all.size() > 1) {
    scatter = std::abs(all[all.size() - 2].fall_mm_h - result.fall_mm_h);
  }
  // Reading errors of n intervals without refills cancel but for the two ends: the larger counts.
  result.fall_sigma_mm_h = std::max(scatter, hole.reading_sigma_mm * std::sqrt(2.0) / hours);

  // Round or square, the bottom's area over the wetted perimeter is width / 4.
  const double mean_depth_mm = depth / hours;
  const double through = (hole.width_mm / 4) / (hole.width_mm / 4 + mean_depth_mm);
  result.infiltration_mm_h = result.fall_mm_h * through;
  result.infiltration_sigma_mm_h = result.fall_sigma_mm_h * through;
  result.soaked = hole.soaked_h >= (result.fall_mm_h < kInch_mm ? 12 : 4);

  const auto sure = [](auto verdict, double rate, double sigma) {
    return verdict(rate) == verdict(std::max(0.0, rate - 2 * sigma)) &&
           verdict(rate) == verdict(rate + 2 * sigma);
  };
  result.planting = planting_verdict(result.fall_mm_h);
  result.trench = trench_verdict(result.infiltration_mm_h);
  result.planting_sure = sure(planting_verdict, result.fall_mm_h, result.fall_sigma_mm_h);
  result.trench_sure =
      sure(trench_verdict, result.infiltration_mm_h, result.infiltration_sigma_mm_h);
  return result;
}

DrainsFor planting_verdict(double fall_mm_h) {
  const double inches_h = fall_mm_h / kInch_mm;
  if (inches_h < 0.5) return DrainsFor::too_slow;
  if (inches_h < 1) return DrainsFor::slow;
  if (inches_h <= 3) return DrainsFor::good;
  return inches_h <= 4 ? DrainsFor::fast : DrainsFor::too_fast;
}

DrainsFor trench_verdict(double infiltration_mm_h) {
  const double inches_h = infiltration_mm_h / kInch_mm;
  if (inches_h < 0.2) return DrainsFor::too_slow;
  return inches_h < 0.5 ? DrainsFor::slow : DrainsFor::good;
}

std::string_view name_of(DrainsFor verdict) {
  constexpr std::string_view kNames[] = {"too_slow", "slow", "good", "fast", "too_fast"};
  return kNames[static_cast<int>(verdict)];
}

std::string_view planting_words(DrainsFor verdict) {
  switch (verdict) {
    case DrainsFor::too_slow:
      return "Water stands: raise the beds and drain them.";
    case DrainsFor::slow:
      return "Drains poorly: raise the beds or loosen the subsoil.";
    case DrainsFor::good:
      return "Drains well: suits most plants.";
    case DrainsFor::fast:
      return "Drains fast: add compost and water more often.";
    case DrainsFor::too_fast:
      return "Drains too fast: holds little water for plants.";
  }
  return {};
}

std::string_view trench_words(DrainsFor verdict) {
  switch (verdict) {
    case DrainsFor::too_slow:
      return "A rubble trench would fill and stay full: it needs an outlet to daylight.";
    case DrainsFor::slow:
      return "A rubble trench empties slowly: an outlet to daylight is advised.";
    default:
      return "A rubble trench can empty into this ground.";
  }
}

DrainsFor emptied_verdict(double hours) {
  return hours <= 1 ? DrainsFor::good : hours <= 24 ? DrainsFor::slow : DrainsFor::too_slow;
}

}  // namespace horizon
