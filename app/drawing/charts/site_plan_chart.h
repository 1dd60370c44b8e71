// app/drawing/charts/site_plan_chart.h: the plan of a site to a stated scale.
// Units:    points on paper; one metre is 2834.6 / denominator points
// Frame:    true north is up; what lies outside the box is cut
// Says:     every thing by its name beside it; what is not known in a list of its own, not here
#pragma once

#include "app/drawing/charts/chart.h"
#include "horizon/plot/site_plan.h"

namespace app {

inline constexpr float kPointsAMetre = 72 / 0.0254f;  // at 1:1

// The largest of 1:100, 1:200, 1:500 ... at which the plot fits into the box.
int plan_scale(const horizon::SitePlan& plan, float width, float height);
// As tall as the plot needs at that scale, with room for its scale bar.
float plan_height(const horizon::SitePlan& plan, int scale);
void draw_site_plan(Canvas& canvas, Rect where, const horizon::SitePlan& plan, int scale,
                    const ChartStyle& style);
std::string scale_words(int scale);  // "1:200"

}  // namespace app
