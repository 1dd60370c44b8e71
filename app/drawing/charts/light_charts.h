// app/drawing/charts/light_charts.h: which way to face, what takes the winter sun, light for crops.
// Units:  degrees, hours over the season, kWh/m2, mol/m2 a day
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/drawing/charts/chart.h"
#include "horizon/light/facing.h"
#include "horizon/light/growing_light.h"
#include "horizon/light/ledger.h"
#include "horizon/light/light_years.h"

namespace app {

// Facing to the right, tilt up; lighter = more. Rings where 2 % and 5 % are lost.
struct FacingChart {
  const horizon::FacingFinding* finding = nullptr;
  double center_deg = 180, span_deg = 200;
};
void draw_facing(Canvas& canvas, Rect where, const FacingChart& chart, const ChartStyle& style);

// A bar for each thing on the skyline, the longest first: what it takes, and in amber what would
// come back without it. `days` turns the sums into hours a day.
// Returns the height it takes; draws nothing on a null canvas. At most `most` rows (0 = all).
float draw_ledger(Canvas* canvas, Rect where, const std::vector<horizon::LedgerRow>& rows,
                  double days, const ChartStyle& style, int most = 0);

// years: a band that holds 8 of 10; null where none are known.
void draw_growing_light(Canvas& canvas, Rect where, const horizon::GrowingLight& light, int year,
                        const ChartStyle& style, const horizon::LightYears* years = nullptr);

}  // namespace app
