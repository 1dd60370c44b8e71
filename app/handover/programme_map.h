// app/handover/programme_map.h: the sites of a programme as a map: where, how sunny, which rank.
// Frame:  true north up; metres about the middle, good to a per cent over 200 km
// Marks:  a sign, a size and a colour for each class of winter sun; numbers are the order of the ranking
#pragma once

#include <span>

#include "app/drawing/charts/chart.h"
#include "app/handover/programme_rank.h"

namespace app {

void draw_programme_map(Canvas& canvas, Rect where, std::span<const survey::ProgrammeState> sites,
                        std::span<const Ranked> order, const ChartStyle& style);

}  // namespace app
