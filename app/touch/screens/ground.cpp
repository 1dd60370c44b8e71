// app/touch/screens/ground.cpp: soil pits, percolation, slope, the forms and what follows from them.
#include <algorithm>
#include <iterator>

#include "app/touch/screens/ground_parts.h"
#include "app/words/words.h"

namespace app {
namespace {

void pits(TouchApp& app, Column& rows) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  rows.heading(tr("ground.soil_pits"));
  auto all = session.book().all<survey::SoilPit>();
  if (!all) return rows.text(in_words(all.error()));
  if (all->empty()) rows.text(tr("ground.one_pit_where_greenhouse_may"));
  for (const auto& pit : *all) {
    auto layers = session.book().where<survey::SoilLayer>("pit_id", pit.id);
    std::string told;
    if (pit.depth_m) told = depth(*pit.depth_m, session.settings.units);
    if (layers && !layers->empty())
      told += (told.empty() ? "" : " · ") + tr_count("ground.layers", long(layers->size()));
    const double part = (pit.depth_m ? 0.4 : 0) + (layers && !layers->empty() ? 0.6 : 0);
    if (state_row(app, rows, pit.name, told.empty() ? tr("state.none") : told, part)) {
      state = {};
      state.pit_id = pit.id;
      app.go(ScreenId::pit);
    }
  }
  rows.space(12);
  if (rows.button(tr("ground.new_pit"), ButtonLook::strong, true, Icon::plus)) {
    survey::SoilPit pit;
    pit.id = survey::new_id();
    pit.name = tr("ground.pit", {number(double(all->size() + 1))});
    pit.method = "pit";
    pit.time = session.now();
    if (const auto* visit = session.visit()) pit.visit_id = visit->id;
    if (const auto* at = session.station(); at && session.has_position())
      pit.position = at->position;
    if (auto put = session.book().put(pit); !put) {
      session.problem = in_words(put.error());
    } else {
      state = {};
      state.pit_id = pit.id;
      app.go(ScreenId::pit);
    }
  }
}

void percolation_and_slope(TouchApp& app, Column& rows) {
  Session& session = app.session();
  rows.heading(tr("ground.how_fast_water_seeps_away"));
  auto tests = session.book().all<survey::PercolationTest>();
  auto readings = session.book().all<survey::PercolationReading>();
  const long count = readings ? long(readings->size()) : 0;
  constexpr double kEnough = 3;  // the fall of two refills in a row is compared
  const bool any = tests && !tests->empty();
  if (state_row(app, rows, tr("percolation.percolation_test"),
                any ? tr_count("ground.readings", count) : tr("state.none"),
                any ? std::max(0.15, std::min(1.0, double(count) / kEnough)) : 0))
    app.go(ScreenId::percolation);
  rows.space(14);
  rows.heading(tr("touch.slope_ground"));
  std::string slopes;
  if (auto all = session.book().all<survey::SoilPit>())
    for (const auto& pit : *all)
      if (pit.slope_deg)
        slopes = number(*pit.slope_deg, 1) + "°" +
                 (pit.slope_faces_true_deg
                      ? tr("ground.falls_to", {compass_point(*pit.slope_faces_true_deg)})
                      : std::string());
  if (state_row(app, rows, tr("ground.lay_device_ground"),
                slopes.empty() ? tr("state.none") : slopes, slopes.empty() ? 0 : 1))
    app.go(ScreenId::slope);
  rows.space(10);
}

void forms_list(TouchApp& app, Column& rows) {
  GroundState& state = app.states().ground;
  rows.heading(tr("ground.forms_title"));
  for (const survey::Form& form : survey::forms()) {
    const survey::SiteNote note = note_of(app, form.topic);
    const auto answered = std::count_if(form.fields.begin(), form.fields.end(), [&](const auto& f) {
      return answer_to(note, f.key).has_value();
    });
    const std::string name = tr("ground.topic." + std::string(name_of(form.topic)));
    const double part = double(answered) / double(form.fields.size());
    const std::string told =
        answered == 0 && note.text.empty() ? tr("state.none")
        : part >= 1
            ? tr("state.done")
            : tr("state.part", {number(double(answered)), number(double(form.fields.size()))});
    if (state_row(app, rows, name, told, part)) {
      state.topic = form.topic;
      state.form_for.clear();
      app.go(ScreenId::note);
    }
  }
  rows.space(10);
}

void plot(TouchApp& app, Column& rows) {
  rows.heading(tr("ground.plot"));
  rows.text(tr("ground.plot_text"));
  if (rows.button(tr("ground.plot_open"), ButtonLook::main)) app.go(ScreenId::plot);
  if (rows.button(tr("lines.title"), ButtonLook::strong)) app.go(ScreenId::lines);
  if (rows.button(tr("ground.derived"), ButtonLook::strong)) app.go(ScreenId::results);
}

}  // namespace

void ground_screen(TouchApp& app, Rect area) {
  Ui& ui = app.ui();
  const auto left = [&](Column& rows) {
    in_card(ui, rows, "pits", [&](Column& c) { pits(app, c); });
    in_card(ui, rows, "seeps", [&](Column& c) { percolation_and_slope(app, c); });
  };
  const auto right = [&](Column& rows) {
    in_card(ui, rows, "plot", [&](Column& c) { plot(app, c); });
    in_card(ui, rows, "forms", [&](Column& c) { forms_list(app, c); });
  };
  if (area.w > 760) {
    const float half = area.w / 2;
    scrolling(app, "Ground left", {area.x, area.y, half, area.h}, left);
    scrolling(app, "Ground right", {area.x + half, area.y, half, area.h}, right);
  } else {
    scrolling(app, "Ground rows", area, [&](Column& rows) {
      left(rows);
      right(rows);
    });
  }
}

}  // namespace app
