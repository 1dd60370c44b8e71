// app/touch/screens/screens.h: every screen, one function a file of the same name.
// `area` is the room between header and navigation. To add a screen: a function here, a file, a
// ScreenId, a line in TouchApp::draw; its state, if any, in states.h.
#pragma once

#include "app/drawing/charts/chart.h"
#include "app/touch/touch_app.h"

namespace app {

void sites_screen(TouchApp& app, Rect area);
void arrive_screen(TouchApp& app, Rect area);
void check_screen(TouchApp& app, Rect area);
void station_screen(TouchApp& app, Rect area);
void skyline_screen(TouchApp& app, Rect area);
void ground_screen(TouchApp& app, Rect area);
void pit_screen(TouchApp& app, Rect area);
void percolation_screen(TouchApp& app, Rect area);
void slope_screen(TouchApp& app, Rect area);
void ground_form_screen(TouchApp& app, Rect area);
void climate_screen(TouchApp& app, Rect area);
void results_screen(TouchApp& app, Rect area);
void plot_screen(TouchApp& app, Rect area);
void light_screen(TouchApp& app, Rect area);
void compare_screen(TouchApp& app, Rect area);
void programme_screen(TouchApp& app, Rect area);
void house_screen(TouchApp& app, Rect area);
void handover_screen(TouchApp& app, Rect area);
void photos_screen(TouchApp& app, Rect area);
void photo_screen(TouchApp& app, Rect area);
void design_screen(TouchApp& app, Rect area);
void trace_screen(TouchApp& app, Rect area);
void contacts_screen(TouchApp& app, Rect area);
void diary_screen(TouchApp& app, Rect area);
void people_screen(TouchApp& app, Rect area);
void lines_screen(TouchApp& app, Rect area);
void settings_screen(TouchApp& app, Rect area);
void guide_screen(TouchApp& app, Rect area);
void turn_screen(TouchApp& app, Rect area);
void timeline_screen(TouchApp& app, Rect area);
void score_screen(TouchApp& app, Rect area);

// Parts that several screens share.
void scrolling(TouchApp& app, std::string_view label, Rect area,
               const std::function<void(Column&)>& rows, float widest = 720);
// Heading with a way back, for screens below a stop. Returns the room under it.
Rect titled(TouchApp& app, Rect area, std::string_view title, ScreenId back_to);
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
