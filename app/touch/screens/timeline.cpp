// app/touch/screens/timeline.cpp: what was done at this station, the newest first; back and forward.
#include <algorithm>

#include "app/drawing/shapes.h"
#include "app/touch/screens/screens.h"
#include "app/touch/screens/states.h"
#include "app/words/words.h"

namespace app {
namespace {

std::string words_for(TouchApp& app, const Session::Event& event) {
  const std::string when = clock_text(app, event.utc_s);
  switch (event.what) {
    case Session::Event::What::mark:
      return event.rows.size() == 1
                 ? tr("touch.a_mark", {event.label, when})
                 : tr_count("touch.marks_trace", long(event.rows.size()), {event.label, when});
    case Session::Event::What::check:
      return tr("timeline.check", {event.label.empty() ? tr("touch.check") : event.label, when});
    case Session::Event::What::contact:
      break;
  }
  return tr("timeline.contact", {when});
}

// The moment before the last thing that stands; after the first that was taken back behind it.
std::optional<double> one_back(const std::vector<Session::Event>& events) {
  for (std::size_t i = events.size(); i-- > 0;)
    if (events[i].standing) return events[i].utc_s - 0.0005;
  return {};
}

std::optional<double> one_forward(const std::vector<Session::Event>& events) {
  double last = -1;
  for (const auto& event : events)
    if (event.standing) last = std::max(last, event.utc_s);
  for (const auto& event : events)
    if (event.undone && event.utc_s > last) return event.utc_s;
  return {};
}

// Layers, lines, people, hazards and days of the diary leave the file; they can come back until the app ends.
bool taken_out_rows(TouchApp& app, Column& rows) {
  const std::string site = app.session().site().id;
  bool any = false;
  const auto& all = app.states().taken_out;
  for (std::size_t i = all.size(); i-- > 0;) {
    if (all[i].site != site) continue;
    if (!any) rows.heading(tr("timeline.taken_out"));
    any = true;
    if (!rows.button(tr("timeline.bring_back", {all[i].name, clock_text(app, all[i].utc_s)}),
                     ButtonLook::quiet, true, Icon::undo))
      continue;
    const auto bring_back = all[i].bring_back;  // it takes itself off the list
    if (bring_back()) app.ui().request_frame();
    break;
  }
  return any;
}

}  // namespace

void timeline_screen(TouchApp& app, Rect area) {
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  Session& session = app.session();
  const Rect room = titled(app, area);
  const auto events = session.timeline();
  const auto back = one_back(events), forward = one_forward(events);
  const float foot = 80;
  std::optional<double> go;
  scrolling(app, "Timeline rows", {room.x, room.y, room.w, room.h - foot}, [&](Column& rows) {
    const bool taken = taken_out_rows(app, rows);
    if (!taken || !events.empty())
      rows.text(tr(events.empty() ? "timeline.empty" : "timeline.how"));
    for (std::size_t i = events.size(); i-- > 0;) {
      const auto& event = events[i];
      const std::string words = words_for(app, event);
      const TextStyle style = ui.style(16, event.standing ? t.ink : t.quiet,
                                       event.standing ? Weight::semibold : Weight::regular);
      const std::string state = event.standing ? std::string()
                                : event.undone ? tr("timeline.back")
                                               : tr("timeline.out");
      const float width = rows.width() - 40;
      const float high = ui.paragraph_height(width, words, style),
                  below = state.empty() ? 0 : ui.sp(19);
      const Rect row = rows.row(std::max(kTouch, high + below + 12));
      rows.space(-10);
      const Point knot{row.x + 14, row.y + row.h / 2};
      if (i + 1 < events.size())
        ui.canvas().fill(rectangle({knot.x - 1, row.y, 2, row.h / 2}), {t.rule});
      if (i > 0) ui.canvas().fill(rectangle({knot.x - 1, knot.y, 2, row.h / 2}), {t.rule});
      ui.canvas().fill(circle(knot, 8), {event.standing ? t.good : t.paper});
      ui.canvas().stroke(circle(knot, 8), {event.standing ? t.good : t.quiet, 2});
      // The same words twice need a number to be told apart.
      if (ui.tap(words + " · " + std::to_string(i + 1), row)) go = event.utc_s;
      ui.describe(Role::choice, event.standing, state);
      const float y = row.y + (row.h - high - below) / 2;
      ui.paragraph({row.x + 36, y, width, high}, words, style);
      if (!state.empty())
        ui.words({row.x + 36, y + high, width, below}, state, ui.style(14, t.quiet));
    }
    rows.space(10);
  });
  const float half = (std::min(room.w - 32, 520.f) - 10) / 2, x = room.x + room.w / 2,
              y = room.bottom() - foot + 10;
  if ((button(ui, tr("timeline.one_back"), {x - half - 5, y, half, 60}, ButtonLook::strong,
              back.has_value(), Icon::undo) ||
       ui.loose_key(EditKey::undo)) &&
      back)
    go = back;
  if ((button(ui, tr("timeline.one_forward"), {x + 5, y, half, 60}, ButtonLook::strong,
              forward.has_value()) ||
       ui.loose_key(EditKey::redo)) &&
      forward)
    go = forward;
  if (go && session.stand_as_of(*go)) ui.request_frame();
}

}  // namespace app
