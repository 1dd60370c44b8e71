// app/drawing/charts/sun_charts.h: when the sun is seen: the sun year, the sun-path chart, the months.
// Units:  hours of the local standard time that the caller chose; degrees; kWh/m2; mol/m2 a day
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "app/drawing/charts/chart.h"
#include "app/drawing/charts/skyline_chart.h"

namespace app {

// One state of the sun from one moment to another of a day; nothing drawn = the sun is down.
enum class SunState : unsigned char { in_view, ridge, evergreen, leafy, building, pole, open };
inline constexpr int kSunStates = 7;
struct SunBand {
  float from_h = 0, to_h = 0;  // of the day, 0 to 24
  SunState state = SunState::in_view;
};
struct SunYearChart {
  int year = 2026;
  std::vector<std::vector<SunBand>> days;  // in time order; the first is 1 January
  std::optional<float> selected_day;       // 1 = 1 January: an upright line
};
// From top to bottom the day, from left to right the year.
void draw_sun_year(Canvas& canvas, Rect where, const SunYearChart& chart, const ChartStyle& style);
std::vector<LegendEntry> sun_year_legend(const SunYearChart& chart, const ChartStyle& style);

// Looking straight up, north at the top: rings of elevation every 15 degrees (equidistant), the
// skyline from the rim inwards, the sun's ways over it.
void draw_sun_paths(Canvas& canvas, Rect where, const SkylineChart& chart, const ChartStyle& style);

struct MonthRow {
  int days = 30;
  double sun_h_day = 0, sun_low_h_day = 0, sun_high_h_day = 0;  // means of the month
  double flat_h_day = 0;
  std::string first_sun, last_sun;  // clock times on the 21st; empty = no sun that day
  double flat_kwh_m2 = 0;           // on level ground under the skyline, whole month
  double glazing_kwh_m2 = 0;        // on the glazing, whole month
  double light_mol_day = 0;         // inside
  double light_low_mol_day = 0, light_high_mol_day = 0;  // 8 of 10 years between; 0: not known
};
// Returns the height it takes; draws nothing on a null canvas.
float draw_month_table(Canvas* canvas, Rect where, const std::array<MonthRow, 12>& months,
                       const ChartStyle& style);

}  // namespace app
