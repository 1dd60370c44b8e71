// app/touch/screens/screens.h: what several screens share. The screens themselves: table.h.
#pragma once

#include "app/drawing/charts/chart.h"
#include "app/touch/touch_app.h"

namespace app {

void scrolling(TouchApp& app, std::string_view label, Rect area,
               const std::function<void(Column&)>& rows, float widest = 720);
// Heading with a way back, for screens below a stop. Returns the room under it.
Rect titled(TouchApp& app, Rect area);
Rect titled(TouchApp& app, Rect area, std::string_view title);
// Dims what lies below, which cannot be touched then; the room of a sheet at the screen's foot.
Rect sheet_over(Ui& ui, Rect area, float height, float widest = 480);
std::string kind_label(horizon::Kind kind);
std::string clock_text(TouchApp& app, double utc_s);
// "171.0°"; for those who read a hand compass as it will show it: "167.0° magnetic (true 171.0°)".
std::string bearing_shown(TouchApp& app, double true_deg);
std::string bearings_shown(TouchApp& app, double from_true_deg, double to_true_deg);
std::string batch_words(TouchApp& app, const Session::Batch& batch);  // of marks taken back
ChartStyle chart_style(TouchApp& app, float text = 12);

}  // namespace app
