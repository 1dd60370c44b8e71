// horizon/sun/sun_year.h: hours of sun at a station, day by day through a year, and what takes the rest.
// Units:    hours, seconds UTC, degrees; months 1 to 12, bit 0 of a set of months = January
// Frame:    local days at the path's offset from UTC; elevations as seen
// Valid:    1950 to 2100, all latitudes: polar day and night are answers
// Accuracy: of the arithmetic 0.01 s a window; the skyline's own errors are far larger
// Errors:   check_sun_year() in horizon/sun/sun.h
// Source:   direct sun = the disc's centre above everything opaque, see docs/decisions.md
#pragma once

#include <array>
#include <optional>
#include <span>
#include <vector>

#include "horizon/skyline/mask.h"
#include "horizon/sun/sun_path.h"

namespace horizon {

struct SunHoursSum {
  double direct_h = 0;          // in view of the whole skyline, leafy trees included
  double flat_h = 0;            // above elevation 0 on a flat horizon, same air
  double filtered_h = 0;        // behind leafy trees and nothing else
  double filtered_light_h = 0;  // the same, times the light let through in that month
  double open_h = 0;            // of direct_h: over a stretch of skyline that nobody sighted
  SunHoursSum& operator+=(const SunHoursSum& other);
};

struct SunYearDay {
  Date date;
  SunWindows direct;        // of the centre, cut at local midnight
  SunWindows upper, lower;  // of the disc's highest and lowest point
  SunHoursSum hours;
};

// A day with less than this much direct sun counts as one without.
inline constexpr double kDayWithSun_h = 1.0 / 60;

// Days on end without direct sun. One over New Year begins in this year's autumn and ends in the
// next year's spring, worked out from that year's sun.
struct SunlessSpell {
  Date first, last;
  int days = 0;
};

struct DayEnds {
  std::optional<double> first_utc_s, last_utc_s;  // none on a day without direct sun
};

struct SunYear {
  int year = 0;
  std::vector<SunYearDay> days;  // 365 or 366
  std::array<SunHoursSum, 12> months;
  unsigned winter_months = 0;
  SunHoursSum winter, whole;
  std::vector<SunlessSpell> without_direct_sun;  // longest first
  std::array<DayEnds, 12> on_the_21st;
};

// November to February; in the south May to August.
unsigned default_winter_months(bool southern);

// `path` covers one calendar year. winter_months 0 takes the default. Obstacles as in the skyline,
// for what they let through.
SunYear sun_year(const SunPath& path, const Masks& masks, std::span<const Obstacle> obstacles,
                 unsigned winter_months = 0);

enum class SightOfSun { below_horizon, hidden, filtered, in_view };
struct SunSight {
  SightOfSun sight = SightOfSun::below_horizon;
  int obstacle = -1;  // what hides or filters it; -1 where nothing was sighted
  bool open = false;  // the line below or before the sun is a guess across an open stretch
  double light = 0;   // share of the beam that comes: 1 in view, less behind leaves
  double azimuth_deg = 0, elevation_deg = 0;  // as seen
  double disc_in_view = 0;                    // 0 to 1, over `masks.all`
};
SunSight sun_sight(const SunPath& path, const Masks& masks, std::span<const Obstacle> obstacles,
                   double utc_s);

}  // namespace horizon
