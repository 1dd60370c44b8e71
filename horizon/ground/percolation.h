// horizon/ground/percolation.h: how fast water leaves a test hole, and what that means.
// Units:    mm, seconds UTC, hours, mm/h
// Frame:    water depth above the bottom of the hole
// Valid:    readings in order of time; a rise of the water is refused
// Accuracy: the rate carries the reading error and the scatter of the steady intervals
// Errors:   bad_input names the reading; times that run backwards name the clock
// Source:   falling-head percolation test; rate through the walls after Porchet; planting limits
//           1 to 4 in/h of horticultural advice; steady = the trade's "within 10 %"
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "horizon/result.h"

namespace horizon {

// What a device's two clocks say. The time of day can be set; the time since the device was
// switched on cannot, but starts again with it. Store both with every mark: then a test goes on
// after the program was killed, and a changed clock is seen.
struct ClockMark {
  double utc_s = 0;
  std::optional<double> since_boot_s;  // counts through sleep
  std::string boot;                    // names this running of the device; empty: not known
};
struct Elapsed {
  double seconds = 0;
  bool checked = false;     // by the clock that cannot be set
  double clock_jump_s = 0;  // the time of day was set forward by this much meanwhile; 0 under 2 s
};
// Bad input if the device was restarted and its time of day now lies before the first mark.
Result<Elapsed> elapsed(const ClockMark& from, const ClockMark& to);

struct WaterReading {
  double utc_s = 0;
  double depth_mm = 0;
  std::optional<double> refilled_to_mm;  // topped up right after the reading
};

struct PercolationHole {
  double width_mm = 300;  // diameter, or side of a square hole
  bool square = false;
  double soaked_h = 0;            // stood wet before the first reading
  double reading_sigma_mm = 1.5;  // one standard deviation of one reading
};

struct PercolationInterval {
  double from_utc_s = 0, to_utc_s = 0;
  double drop_mm = 0, mean_depth_mm = 0;
  double fall_mm_h = 0, fall_sigma_mm_h = 0;
  bool steady = false;
};

enum class DrainsFor : std::uint8_t { too_slow, slow, good, fast, too_fast };

struct PercolationResult {
  std::vector<PercolationInterval> intervals;
  bool steady = false;  // at least three last intervals agree within 10 % or their errors
  bool soaked = false;  // long enough: 4 h, or 12 h where the last rate is under 25 mm/h
  double fall_mm_h = 0, fall_sigma_mm_h = 0;  // of the level; of the steady part where there is one
  double infiltration_mm_h = 0, infiltration_sigma_mm_h = 0;  // through bottom and walls
  double minutes_per_inch() const { return 60 * 25.4 / fall_mm_h; }
  DrainsFor planting = DrainsFor::good, trench = DrainsFor::good;
  bool planting_sure = false, trench_sure = false;  // two sigmas do not reach the next verdict
};
// Two readings or more that make an interval of at least a minute.
Result<PercolationResult> percolation(const PercolationHole& hole,
                                      std::span<const WaterReading> readings);

// Planting beds: under 13 mm/h too slow, 25 slow, to 76 good, to 102 fast, above too fast.
DrainsFor planting_verdict(double fall_mm_h);
// A rubble trench with the ground as its only outlet, by infiltration: under 5 mm/h too slow (lead
// it to daylight), 13 slow (daylight outlet advised), above good. Never too fast.
DrainsFor trench_verdict(double infiltration_mm_h);
std::string_view name_of(DrainsFor verdict);  // as "too_slow"
std::string_view planting_words(DrainsFor verdict);
std::string_view trench_words(DrainsFor verdict);

// A hole 18 inches deep filled once more after soaking: within 1 h good, within a day fair,
// longer poor. Given as good, slow, too_slow.
DrainsFor emptied_verdict(double hours_to_empty);

}  // namespace horizon
