// app/touch/screens/lines.cpp: boundary, way, water, cables and buildings as lines, corner by corner: by tape
// and bearing from the station, or by a position in any notation. Each corner is kept at once.
#include <array>
#include <cmath>

#include "app/touch/screens/screens.h"
#include "app/touch/screens/take_out.h"
#include "app/words/form_words.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "horizon/geodesy.h"
#include "survey/book/text.h"
#include "survey/exchange/coordinates.h"

namespace app {
namespace {

constexpr std::array kKinds = {survey::PathKind::boundary,    survey::PathKind::access,
                               survey::PathKind::watercourse, survey::PathKind::service,
                               survey::PathKind::building,    survey::PathKind::other};

std::string kind_words(survey::PathKind kind) {
  return tr("plan.line." + std::string(name_of(kind)));
}

void open(LinesState& state, const survey::Path& path) {
  state = {};
  state.open = true;
  state.path = path;
  for (std::size_t i = 0; i < kKinds.size(); ++i)
    if (kKinds[i] == path.kind) state.kind = static_cast<int>(i);
}

// A line of one corner is no line yet: it waits in the state.
void keep(TouchApp& app) {
  LinesState& state = app.states().lines;
  state.path.kind = kKinds[static_cast<std::size_t>(state.kind)];
  if (state.path.points.size() < 2) return;
  auto put = app.session().book().put(state.path);
  if (!put) {
    state.problem = in_words(put.error());
    return;
  }
  state.path.id = *put;
  app.session().changed();
}

void put_hazard(TouchApp& app, const survey::Position& at) {
  LinesState& state = app.states().lines;
  auto hazard = app.session().book().get<survey::Hazard>(state.hazard);
  if (!hazard) return;
  hazard->position = at;
  if (auto put = app.session().book().put(*hazard); !put) {
    state.problem = in_words(put.error());
    return;
  }
  app.session().changed();
  state = {};
}

void add(TouchApp& app, const survey::Position& at) {
  LinesState& state = app.states().lines;
  if (!state.hazard.empty()) return put_hazard(app, at);
  state.path.points.push_back({at, {}});
  state.path.time = app.session().now();
  state.distance.clear();
  state.bearing.clear();
  state.position.clear();
  state.problem.clear();
  keep(app);
}

void corner_form(TouchApp& app, Column& rows) {
  LinesState& state = app.states().lines;
  const auto* station = app.session().station();
  if (station && app.session().has_position()) {
    rows.text(tr("lines.from", {station->name}));
    const Units units = app.session().settings.units;
    const auto asked = [&](std::string_view label, std::string& text, std::string_view example,
                           double most) {
      rows.field(label, text, example);
      const auto value = survey::number_of(text);
      if (!text.empty() && (!value || *value < 0 || *value > most))
        rows.refused(tr("touch.write_number_from", {number(0), number(most)}));
      return value;
    };
    auto far = units == Units::metric ? asked(tr("lines.distance"), state.distance, "12.5", 2000)
                                      : asked(tr("lines.distance_ft"), state.distance, "41", 6500);
    const auto way = asked(tr("lines.bearing"), state.bearing, "215", 360);
    if (far) far = stored(Measure::length_m, *far, units);
    const bool sound = far && way && *far > 0 && *far < 2000 && *way >= 0 && *way <= 360;
    if (rows.button(tr("lines.add"), ButtonLook::strong, sound)) {
      const auto& p = station->position;
      const auto to = horizon::destination({p.latitude_deg, p.longitude_deg, 0},
                                           horizon::TrueAzimuth::degrees(*way), *far);
      add(app, {to.latitude_deg, to.longitude_deg, {}});
      return;
    }
  }
  rows.field(tr("touch.position_any_notation"), state.position, "46.6213 N 10.3478 E");
  const auto read = survey::position_of(state.position);
  if (!state.position.empty() && !read) rows.refused(in_words(read.error()));
  if (rows.button(tr("lines.add_position"), ButtonLook::plain, read.has_value())) {
    survey::Position at{read->place.latitude_deg, read->place.longitude_deg, {}};
    if (read->has_height) at.height_m = read->place.height_m;
    add(app, at);
  }
}

void form(TouchApp& app, Column& rows) {
  LinesState& state = app.states().lines;
  if (!state.hazard.empty()) {
    if (!state.problem.empty()) rows.caution(state.problem);
    corner_form(app, rows);
    if (rows.button(tr("touch.cancel"))) state = {};
    return;
  }
  std::vector<std::string> names;
  for (const auto kind : kKinds) names.push_back(kind_words(kind));
  bool changed = rows.choices(tr("lines.kind"), names, state.kind);
  changed |= rows.field(tr("lines.name"), state.path.name, tr("lines.name_example"));
  changed |= rows.tick(tr("lines.closed"), state.path.closed);
  if (changed) keep(app);
  rows.fact(tr("lines.corners"), number(static_cast<double>(state.path.points.size())));
  if (!state.problem.empty()) rows.caution(state.problem);
  corner_form(app, rows);
  if (!state.path.points.empty() && rows.button(tr("lines.take_last"))) {
    if (state.path.points.size() == 2 && !state.path.id.empty()) {
      (void)take_out(app, state.path, kind_words(state.path.kind));
      state.path.id.clear();
    }
    state.path.points.pop_back();
    keep(app);
  }
  if (rows.button(tr("lines.done"), ButtonLook::main)) state = {};
}

}  // namespace

void lines_screen(TouchApp& app, Rect area) {
  LinesState& state = app.states().lines;
  const Rect room = titled(app, area);
  scrolling(app, "Lines rows", room, [&](Column& rows) {
    rows.text(tr("lines.about"));
    if (state.open) return form(app, rows);
    const auto known = app.session().book().all<survey::Path>();
    if (!known) return;
    for (const auto& path : *known)
      if (path.kind != survey::PathKind::walked &&
          rows.button(kind_words(path.kind) + (path.name.empty() ? "" : ": " + path.name) + ", " +
                      tr_count("lines.corner_count", static_cast<long>(path.points.size()))))
        open(state, path);
    if (rows.button(tr("lines.new"), ButtonLook::strong)) {
      survey::Path path;
      path.kind = survey::PathKind::boundary;
      path.closed = true;
      open(state, path);
    }
    if (const auto hazards = app.session().book().all<survey::Hazard>())
      for (const auto& hazard : *hazards)
        if (rows.button(tr(hazard.position ? "lines.hazard_placed" : "lines.hazard",
                           {tr("hazard." + std::string(name_of(hazard.kind)))}))) {
          state = {};
          state.open = true;
          state.hazard = hazard.id;
        }
    rows.caution(tr("report.caution.ground"));
  });
}

}  // namespace app
