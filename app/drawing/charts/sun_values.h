// app/drawing/charts/sun_values.h: from the sun's path at a place to what the charts draw.
// Units:  hours of the path's own clock (its offset from UTC); degrees as seen
#pragma once

#include <vector>

#include "app/drawing/charts/skyline_chart.h"
#include "app/drawing/charts/sun_charts.h"
#include "horizon/skyline/mask.h"
#include "horizon/sun/sun_path.h"

namespace app {

// The 21st of December, January, February, March, April and June (of the path's year), with marks
// at whole hours; the shortest day is the strong one.
std::vector<DayPath> day_paths(const horizon::SunPath& path);
DayPath day_path(const horizon::SunPath& path, int day, bool strong);  // day 0 = the path's first

SunYearChart sun_year_chart(const horizon::SunPath& path, const horizon::Masks& masks,
                            const horizon::Skyline& skyline);

}  // namespace app
