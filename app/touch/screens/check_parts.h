// app/touch/screens/check_parts.h: the ways to check the compass that have a file of their own.
#pragma once

#include <vector>

#include "app/drawing/charts/skyline_chart.h"
#include "app/touch/screens/screens.h"

namespace app {

void terrain_rows(TouchApp& app, Column& rows);
std::vector<SkyPoint> far_line(const FarSkyline& far);
// The checks taken with this instrument here, what follows from them, and how to take one out.
void history_rows(TouchApp& app, Column& rows);

}  // namespace app
