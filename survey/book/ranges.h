// survey/book/ranges.h: what an entered quantity may be at all, and what it is likely to be.
// The one table that keypads, import, storage and check share, through the columns that use it.
// min, max:     a value outside is refused, wherever it comes from
// likely:       a value outside likely_low to likely_high is asked about ("really?") and listed by check; kept all the same
// Units:  in the names: degrees, metres, millimetres, hours, degrees Celsius
// Source: [common practice] for the likely limits; the hard ones are what the quantity can be by
//         its definition, or what no instrument or site on the Earth can give
#pragma once

#include <limits>
#include <optional>
#include <string_view>

namespace survey {

struct Range {
  double min = -std::numeric_limits<double>::infinity();
  double max = std::numeric_limits<double>::infinity();
  double likely_low = min, likely_high = max;

  constexpr bool holds(double value) const { return value >= min && value <= max; }
  constexpr bool likely(double value) const { return value >= likely_low && value <= likely_high; }
};

namespace range {

inline constexpr Range kLatitude_deg{-90, 90};
inline constexpr Range kLongitude_deg{-180, 180};
inline constexpr Range kHeight_m{-500, 9000, -430, 6000};  // of the ground above the sea
inline constexpr Range kBearing_deg{0, 360};
inline constexpr Range kSightingElevation_deg{-90, 90, -15, 75};
inline constexpr Range kElevation_deg{-90, 90};
inline constexpr Range kRoll_deg{-180, 180};
inline constexpr Range kViewWidth_deg{0, 360, 5, 120};
inline constexpr Range kSigma_deg{0, 180, 0.01, 10};
inline constexpr Range kDeclination_deg{-180, 180, -45, 45};  // past 90 only beside the poles
inline constexpr Range kConvergence_deg{-180, 180, -5, 5};
inline constexpr Range kMaxGap_deg{0.1, 360, 1, 45};
inline constexpr Range kMetres{0, 1e6};
inline constexpr Range kPositionSigma_m{0, 1e6, 0.01, 200};
inline constexpr Range kEyeHeight_m{0, 100, 0.2, 4};
inline constexpr Range kObstacleHeight_m{0, 1e4, 0.1, 120};
inline constexpr Range kDistance_m{0, 1e6, 0.5, 50000};
inline constexpr Range kPoleWidth_deg{0, 180, 0, 20};
inline constexpr Range kSatellites{0, 1000, 3, 60};
inline constexpr Range kLayer{0, 9};
inline constexpr Range kShare{0, 1};
inline constexpr Range kPercent{0, 100};
inline constexpr Range kMonthBits{0, 4095};
inline constexpr Range kOrientation{1, 8};
inline constexpr Range kPixels{0, 1e6, 16, 20000};
inline constexpr Range kPhotoBytes{1, 50'000'000};
inline constexpr Range kClockOffset_h{-24, 24, -12, 14};
inline constexpr Range kSlope_deg{0, 90, 0, 45};
inline constexpr Range kPitDepth_m{0, 100, 0, 5};
inline constexpr Range kAcidity_ph{0, 14, 3.5, 9.5};
inline constexpr Range kHole_m{0, 100, 0.05, 2};
inline constexpr Range kSoaked_h{0, 10000, 0, 100};
inline constexpr Range kWater_mm{0, 100000, 0, 2000};
inline constexpr Range kSinceBoot_s{0, 1e10};
inline constexpr Range kSeverity{1, 3};
inline constexpr Range kAir_c{-90, 60, -60, 50};
inline constexpr Range kReading_s{0, 3600, 0, 120};
inline constexpr Range kClockAhead_s{-86400, 86400, -300, 300};
inline constexpr Range kPressure_hpa{300, 1100, 500, 1060};
inline constexpr Range kSun_kwh_m2_day{0, 15, 0.1, 10};
inline constexpr Range kTurbidity{1, 15, 1.5, 8};
inline constexpr Range kWind_ms{0, 100, 0, 25};
inline constexpr Range kRain_mm{0, 20000, 0, 2000};
inline constexpr Range kHouse_m{0, 1000, 1, 60};
inline constexpr Range kTilt_deg{0, 90, 10, 90};
inline constexpr Range kYear{1600, 9999, 2000, 2100};

}  // namespace range

// Of a column that holds a number, by its table; nothing where there is no such column or no limit.
std::optional<Range> range_of(std::string_view table, std::string_view column);

}  // namespace survey
