// horizon/light/light_years.h: how much the light inside, and the dates of crops, differ from one year to another.
// Units:    mol/m2 a day on the bed behind the glazing; days of the year from 1; shares 0 to 1
// Frame:    years of 365 days, the skyline as sighted: the years' weather alone makes the spread
// Valid:    under a sky by normals or by an hourly file; a clear sky has no years
// Accuracy: ten or more years of a file count as they are. Else kDrawnYears are drawn by the climate
//           generator (horizon/house/climate_draws.h), whose months differ a little less from year
//           to year than real ones do; under a shorter file each month's mean is that of the file.
//           A dull fortnight decides a date, so it is read off the mean
//           of 15 days
// Source:   quantiles by Weibull's plotting position k / (n + 1), definition 6 of Hyndman & Fan, The
//           American Statistician 50 (1996): one more year falls beyond P90 with probability 0.1
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "horizon/light/growing_light.h"
#include "horizon/light/sky_view.h"

namespace horizon {

struct StationInput;

inline constexpr int kYearsThatCount = 10, kDrawnYears = 300, kYearsWindow_d = 15;

struct OfYears {
  double p10 = 0, p50 = 0, p90 = 0;
};
// The day by which it has come in 1, 5 and 9 of 10 years. None where the quantile falls among years
// in which it never comes, or among those in which it always is.
struct DayOfYears {
  std::optional<int> p10, p50, p90;
};

struct CropYears {
  double never_share = 0, always_share = 0;  // of the years: no light enough at all; all year round
  DayOfYears first, last;                    // of the season, the one about the middle of the mean
  OfYears days;                              // of enough light a year
};

struct LightYears {
  int years = 0;
  bool drawn = true;  // else they are the file's own
  std::array<OfYears, 12> inside_mol_m2_day;
  std::vector<CropYears> crops;           // in the order of the needs
  std::vector<double> low_mol, high_mol;  // P10 and P90 by day, of the mean of 15 days
};

// daily: of each year 365 values.
LightYears light_years(const std::vector<std::vector<double>>& daily,
                       const std::vector<CropNeed>& needs);
// Of the site; none under a clear sky. check_station first.
std::optional<LightYears> light_years(const StationInput& input, const Plane& plane);

}  // namespace horizon
