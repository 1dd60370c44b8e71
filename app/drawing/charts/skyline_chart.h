// app/drawing/charts/skyline_chart.h: the horizon unrolled, with the sun's paths over it. For the report
// the full turn, for the screen a window of azimuths that moves.
// Units:  degrees; a path's elevations are refracted, as the eye sees the sun
// Frame:  true azimuth to the right, elevation up; the window is `span` wide round `center`
#pragma once

#include <optional>
#include <vector>

#include "app/drawing/charts/chart.h"
#include "horizon/skyline/mask.h"
#include "horizon/skyline/skyline.h"

namespace app {

struct SkyPoint {
  double azimuth_deg = 0, elevation_deg = 0;
};
struct HourMark {
  SkyPoint at;
  int hour = 12;  // of the clock
};
// One day's way of the sun above the flat horizon, in time order.
struct DayPath {
  std::string label;  // "21 Dec"
  std::vector<SkyPoint> points;
  std::vector<HourMark> hours;
  bool strong = false;
};

struct SkylineChart {
  const horizon::Skyline* skyline = nullptr;  // both are needed
  const horizon::Mask* mask = nullptr;
  std::vector<DayPath> paths;
  std::vector<SkyPoint> far_skyline;  // computed from a terrain grid: a dashed line behind
  double center_deg = 180, span_deg = 360;
  double top_deg = 0;             // 0: as high as skyline and paths need
  double bottom_deg = 0;          // below 0 where the station looks down
  bool marks = true;              // the sightings as dots
  bool labels = true;             // names of obstacles and paths
  bool axes = true;               // room for compass points below and degrees at the left
  std::optional<double> aim_deg;  // a dashed upright: where the observer aims now
  int selected_point = -1;        // index into Skyline::points, shown larger
};

// Where a direction falls inside the same rectangle, and back: for touches.
Point skyline_point(const SkylineChart& chart, Rect where, const ChartStyle& style, SkyPoint at);
SkyPoint skyline_direction(const SkylineChart& chart, Rect where, const ChartStyle& style,
                           Point at);

void draw_skyline(Canvas& canvas, Rect where, const SkylineChart& chart, const ChartStyle& style);
// The kinds that the chart shows, for legend().
std::vector<LegendEntry> skyline_legend(const SkylineChart& chart, const ChartStyle& style);

}  // namespace app
