// app/drawing/charts/plot_chart.h: the plot from above: sun hours at every spot, what stands where, and the
// best places for the building.
// North is up; the ellipses hold 90 %; a lighter spot has more sun, and lines carry the hours.
#pragma once

#include "app/drawing/charts/chart.h"
#include "survey/assess/plot_findings.h"

namespace app {

// later: the plot in some years, one of plot.later; null: now.
void draw_sun_map(Canvas& canvas, Rect where, const survey::PlotFindings& plot,
                  const ChartStyle& style, const survey::PlotFindings::Later* later = nullptr);

}  // namespace app
