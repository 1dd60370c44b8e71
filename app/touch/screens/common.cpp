#include <algorithm>

#include "app/drawing/shapes.h"
#include "app/touch/screens/screens.h"
#include "app/words/words.h"
#include "horizon/time.h"

namespace app {

void scrolling(TouchApp& app, std::string_view label, Rect area,
               const std::function<void(Column&)>& rows, float widest) {
  Ui& ui = app.ui();
  const float top = ui.scroll_begin(label, area);
  const float width = std::min(area.w - 32, widest);
  Column column(ui, {area.x + (area.w - width) / 2, top + 14, width, 1e5f});
  rows(column);
  ui.scroll_end(column.used() + 34);
}

Rect titled(TouchApp& app, Rect area) {
  return titled(app, area, tr(record_of(app.screen()).title));
}

Rect titled(TouchApp& app, Rect area, std::string_view title) {
  Ui& ui = app.ui();
  const float height = std::max(56.f, ui.sp(52));
  if (icon_button(ui, tr("touch.back"), Icon::back,
                  {area.x + 2, area.y + (height - 48) / 2, 48, 48}))
    app.go_under();
  ui.explains_whole = true;  // the words of the screen as the last frame had them
  const bool sign =
      explain_button(ui, "screen", {area.right() - 50, area.y + (height - 48) / 2, 48, 48});
  const float width = area.w - (sign ? 106 : 62);
  ui.words({area.x + 54, area.y, width, height}, title,
           ui.fitted(title, ui.style(20, ui.theme().ink, Weight::semibold), width, 13));
  return {area.x, area.y + height, area.w, area.h - height};
}

Rect sheet_over(Ui& ui, Rect area, float height, float widest) {
  const Theme& t = ui.theme();
  ui.modal();
  ui.canvas().fill(rectangle({0, 0, ui.frame().width, ui.frame().height}), {faded(t.night, 0.55f)});
  const Rect page = ui.page();
  height = std::min(height, page.h - 8);
  const float width = std::min(page.w, widest);
  const Rect sheet{area.x + (area.w - width) / 2, page.bottom() - height, width, height};
  const Rect moved{std::clamp(sheet.x, page.x, page.right() - width), sheet.y, width, height};
  ui.canvas().fill(rounded(moved, 18), {t.card});
  ui.canvas().stroke(rounded(moved.inset(0.5f), 18), {t.rule, 1});
  return moved;
}

std::string kind_label(horizon::Kind kind) {
  constexpr const char* kNames[] = {"touch.ridge", "touch.evergreen", "touch.leafy",
                                    "touch.building", "touch.pole"};
  return tr(kNames[int(kind)]);
}

std::string clock_text(TouchApp& app, double utc_s) {
  return horizon::format_clock(utc_s, app.session().wall_offset_h(utc_s));
}

namespace {

double as_read_deg(TouchApp& app, double true_deg) {
  Session& session = app.session();
  return horizon::wrap_360(true_deg - session.declination_deg() - session.heading_offset_deg());
}

bool reads_magnetic(TouchApp& app) {
  return app.session().settings.instrument == Instrument::by_hand && app.session().has_position();
}

}  // namespace

std::string bearing_shown(TouchApp& app, double true_deg) {
  if (!reads_magnetic(app)) return degrees(true_deg, 1);
  return tr("keypad.magnetic", {degrees(as_read_deg(app, true_deg), 1)}) + " (" +
         tr("keypad.true", {degrees(true_deg, 1)}) + ")";
}

std::string bearings_shown(TouchApp& app, double from_true_deg, double to_true_deg) {
  if (!reads_magnetic(app)) return degree_range(from_true_deg, to_true_deg);
  return tr("keypad.magnetic",
            {degree_range(as_read_deg(app, from_true_deg), as_read_deg(app, to_true_deg))});
}

ChartStyle chart_style(TouchApp& app, float text) {
  return {
      .theme = &app.ui().theme(), .text = app.ui().sp(text), .units = app.session().settings.units};
}

}  // namespace app
