// horizon/light/findings.h: everything the sun is worth at one station, in one call.
// Units:    in the names; months and days count from 1 in days, from 0 (January) in arrays
// Frame:    true azimuths; compass and grid bearings are named so
// Valid:    any latitude; the year 1950 to 2100
// Accuracy: ranges are 5 to 95 % over all that the skyline may be: the aims' own errors, the shared
//           heading error, the eye height, the line between marks and where nobody aimed
//           (docs/uncertainty.md); the weather's changes from year to year are in `years` alone
// Errors:   check_station names the field and the cure
// Cost:     under 0.5 s a station with 200 draws on one core; 0.1 s with none; live_findings 16 ms
#pragma once

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "horizon/light/aim_next.h"
#include "horizon/light/facing.h"
#include "horizon/light/glazing.h"
#include "horizon/light/growing_light.h"
#include "horizon/light/ledger.h"
#include "horizon/light/light_years.h"
#include "horizon/light/sky_input.h"
#include "horizon/place.h"
#include "horizon/result.h"
#include "horizon/skyline/skyline.h"
#include "horizon/time.h"

namespace horizon {

struct StationInput {
  Place place;
  bool height_known = true;  // else place.height_m holds only the eye's height above the ground
  double utc_offset_h = 0;   // of the clock times shown
  int year = 2026;
  Skyline skyline;
  double eye_height_sigma_m = 0.1;        // moves only marks whose distance is known
  std::optional<double> declination_deg;  // today's, east positive; without it no compass bearing
  // Of the compass at hand: what its heading checks add to its readings to make them true.
  std::optional<double> compass_offset_deg;
  std::optional<double> convergence_deg;  // east positive; without it no grid bearing
  GroundSlope slope;
  SkyInput sky;
  Monthly albedo = kGrassAlbedo;
  double skyline_albedo = 0.2;  // of the hillsides and trees that hide the sky
  Glazing glazing = twin_wall_polycarbonate();
  double frames_and_dirt = 0.85;  // share of light that bars, dirt and condensation leave
  std::optional<Plane> chosen;    // the user's own facing and tilt
  unsigned winter_months = 0;     // bit 0 = January; 0 = November to February (south: May-August)
  Season season = Season::winter_half;  // the one that the headline facing is for
  std::vector<CropNeed> needs = default_crop_needs();
  int draws = 200;  // 0 = no ranges
  std::uint32_t seed = 1;
};
Result<void> check_station(const StationInput& input);

// low and high hold 90 % of the draws; equal to value where there were none. `value` is of the
// skyline as sighted, open stretches joined straight.
struct Ranged {
  double value = 0, low = 0, high = 0;
  // A headline tells the value where the range is no wider than this share of it, or than `least`;
  // else the range alone.
  bool bears_a_number(double least = 0) const {
    return high - low <= std::max(kBearable * std::abs(value), least);
  }
  static constexpr double kBearable = 0.3;
};
struct RangedAzimuth {
  TrueAzimuth value, low, high;  // clockwise from low to high
};

struct DayWindow {
  double from_utc_s = 0, to_utc_s = 0;  // the sun's centre is in view
};

// A stretch of dates without direct sun (sun_year.h says what counts); low and high days are
// 5-95 %, 0 where fewer than half of the draws have such a stretch.
struct NoSunSpell {
  Date first, last;
  int first_low_day = 0, first_high_day = 0, last_low_day = 0, last_high_day = 0;  // of the year
  int days = 0;
};

struct SunHours {
  Ranged shortest_day_h;  // direct sun on 21 December (south: 21 June)
  double shortest_day_flat_h = 0;
  Date shortest_day;
  std::vector<DayWindow> shortest_day_windows;
  Ranged winter_h;  // over the winter months
  Ranged winter_h_a_day;
  double winter_flat_h = 0;
  double winter_share = 0;  // of the flat horizon's
  Ranged year_h;
  double year_flat_h = 0;
  double winter_open_h = 0;      // of winter_h, passing over stretches that nobody sighted
  double winter_unaimed_h = 0;   // of winter_flat_h, with the sun over or behind such stretches
  double without_sun_share = 0;  // of the draws: there are days without direct sun
  std::vector<NoSunSpell> without_direct_sun;
};

struct MonthLight {
  int month = 1;
  int days = 31;
  Ranged direct_sun_h;
  double flat_sun_h = 0;
  double open_flat_kwh_m2 = 0;  // global on level ground without a skyline
  double site_flat_kwh_m2 = 0;  // the same under this skyline
  double on_plane_kwh_m2 = 0;   // on the shown plane, outside the glazing
  double beam_kwh_m2 = 0, sky_kwh_m2 = 0, reflected_kwh_m2 = 0;  // its parts
  double through_kwh_m2 = 0;     // through the glazing, before frames and dirt
  double inside_mol_m2_day = 0;  // daily light integral on the bed
  double outside_mol_m2_day = 0;
  double albedo = 0.2;
};

struct Bearings {
  TrueAzimuth true_deg;
  std::optional<MagneticAzimuth> compass_deg;  // as that compass will show it
  bool compass_checked = false;                // its measured error is in it
  std::optional<GridAzimuth> grid_deg;
};

struct StationFindings {
  SkySource sky = SkySource::clear;
  std::string sky_source;  // the normals' or the file's own name; empty for a clear sky
  unsigned winter_months = 0;
  double closed_fraction = 0;      // of the horizon that was sighted
  bool headings_disagree = false;  // the heading checks contradict each other: headlines say so
  SunHours hours;
  std::array<MonthLight, 12> months;
  Plane shown;  // the plane that months and growing light are for: the chosen, else the best
  std::array<FacingFinding, kSeasonCount> facings;  // in the order of Season
  Season season = Season::winter_half;
  RangedAzimuth best_facing;  // of `season`
  Ranged best_tilt_deg;
  Bearings set_out;  // of the shown plane's facing
  GrowingLight growing;
  std::optional<LightYears> years;  // none under a clear sky
  std::vector<LedgerRow> ledger;
  std::vector<Advice> aim_next;  // worst stretch first, at most five
  int draws = 0;
  const FacingFinding& facing() const { return facings[static_cast<int>(season)]; }
};

// check_station first; a bad input asserts.
StationFindings findings_of(const StationInput& input);

// While aiming: what changes with every mark. Build once a station and season settings, then call
// after each mark. No energy; ranges from few draws, 0 for none.
class LiveStation {
 public:
  explicit LiveStation(const StationInput& input);
  LiveStation(LiveStation&&) noexcept;
  LiveStation& operator=(LiveStation&&) noexcept;
  ~LiveStation();
  struct Live {
    double winter_h = 0, winter_flat_h = 0, winter_sigma_h = 0, shortest_day_h = 0;
    Ranged winter_range_h, shortest_range_h;
    double closed_fraction = 0;
    std::vector<Advice> aim_next;
  };
  Live update(const Skyline& skyline, int draws = 0) const;
  // Of that the shortest day alone, in a fraction of the time.
  Ranged shortest_day_h(const Skyline& skyline, int draws = 0) const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace horizon
