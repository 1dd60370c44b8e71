// horizon/terrain/valley_sun.h: the winter sun over every cell of a height grid.
// Units:    hours, kWh/m2, degrees, days of the year (1 = 1 January); see each layer
// Frame:    cells as MetricGrid lies; azimuths true
// Valid:    the ground alone: no tree and no house is in a grid of bare heights. Places that the sun
//           reaches every day of the year and those it leaves for all of winter are said by `spell`
// Accuracy: the skyline one degree apart where the winter sun runs, straight up and down in between:
//           against the exact windows of the same horizon 2 min a day for 95 % of cells
// Cost:     mostly the sweep of horizon/terrain/horizon_sweep.h: some 190 directions
// Source:   direct sun = the disc's centre over the horizon, refraction for the cell block's height;
//           clear sky by ESRA (horizon/light/clear_sky.h); sky view as the isotropic integral of
//           cos^2 of the horizon over azimuth (Dozier & Frew, IEEE TGRS 28(5) 1990, level ground)
#pragma once

#include <functional>
#include <vector>

#include "horizon/place.h"
#include "horizon/result.h"
#include "horizon/terrain/horizon_sweep.h"

namespace horizon {

struct GridSpot {
  Place place;
  double grid_north_deg = 0;  // true azimuth in which the grid's north points there
};

struct ValleyOptions {
  SweepOptions sweep;
  int year = 2026;
  unsigned winter_months = 1U << 10 | 1U << 11 | 1U << 0 | 1U << 1;  // bit 0 = January
  double sun_step_deg = 1;  // between directions where the winter sun runs
  double sky_step_deg = 5;  // elsewhere
  double glazing_tilt_deg = 60;
};

struct ValleySun {
  int columns = 0, rows = 0;
  std::vector<float> winter_h;        // direct sun, mean hours a winter day
  std::vector<float> shortest_day_h;  // on the day of the winter solstice
  std::vector<float> gain_kwh_m2;     // clear sky, mean winter day, on glass facing its best
  std::vector<float> best_facing_deg;
  std::vector<float> sky_view;      // 0 to 1
  std::vector<float> days_without;  // in a row, about the solstice; 0 = sun every day
  std::vector<float> first_without, last_without;  // day of the year; NaN where there is none
  std::vector<float> slope_deg, downhill_deg;
};

// `done` 0 to 1; false stops the work.
using ValleyProgress = std::function<bool(double done)>;
// Fails on a grid under 3 by 3 cells, without any height, inside the polar circles, and when stopped.
Result<ValleySun> valley_sun(const MetricGrid& grid,
                             const std::function<GridSpot(double column, double row)>& spot_at,
                             const ValleyOptions& options, const ValleyProgress& progress = {});

// Of the ground, by Horn's differences over the eight neighbours (Proc. IEEE 69(1) 1981).
struct CellSlope {
  float slope_deg = 0, downhill_deg = 0;  // clockwise from the grid's north
};
CellSlope cell_slope(const MetricGrid& grid, int column, int row);

}  // namespace horizon
