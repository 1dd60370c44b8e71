// app/handover/programme_map.h: the sites of a programme as a map: where, how sunny, which rank.
// Frame:  true north up; metres about the middle, good to a per cent over 200 km
// Ground: shaded where heights are at hand (app/drawing/charts/relief.h)
// Marks:  a sign, a size and a colour for each class of winter sun; numbers are the order of the ranking
#pragma once

#include <span>

#include "app/drawing/charts/chart.h"
#include "app/drawing/charts/relief.h"
#include "app/handover/programme_rank.h"

namespace app {

// What the map shows, drawn in such a box; nothing where no site has a place.
std::optional<GeoWindow> programme_window(std::span<const survey::ProgrammeState> sites,
                                          Rect where);
// relief: of that window; null: none.
void draw_programme_map(Canvas& canvas, Rect where, std::span<const survey::ProgrammeState> sites,
                        std::span<const Ranked> order, const ChartStyle& style,
                        const Image* relief = nullptr);

}  // namespace app
