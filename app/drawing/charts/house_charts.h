// app/drawing/charts/house_charts.h: how an unheated house lives through the coldest week and the year, which crops
// live, what would help.
// Units:  degrees Celsius on the axes; mol/m2 a day
#pragma once

#include "app/drawing/charts/chart.h"
#include "horizon/house/house_findings.h"

namespace app {

void draw_coldest_week(Canvas& canvas, Rect where, const horizon::HouseFindings& f, int year,
                       const ChartStyle& style);
void draw_house_year(Canvas& canvas, Rect where, const horizon::HouseFindings& f, int year,
                     const ChartStyle& style);
// These two return the height they take; they draw nothing on a null canvas.
float draw_helps(Canvas* canvas, Rect where, const horizon::HouseFindings& f,
                 const ChartStyle& style, int most = 6);
float draw_odds(Canvas* canvas, Rect where, const horizon::HouseFindings& f,
                const ChartStyle& style, int most = 10);

}  // namespace app
