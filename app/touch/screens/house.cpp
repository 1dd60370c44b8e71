// app/touch/screens/house.cpp: will it do without heat: one sentence first, then the coldest week, what would help,
// which crops live; and the house itself, to be changed.
#include <algorithm>

#include "app/drawing/charts/house_charts.h"
#include "app/touch/screens/light_parts.h"
#include "app/touch/screens/screens.h"
#include "app/words/house_words.h"
#include "app/words/words.h"

namespace app {
namespace {

int year_of(TouchApp& app) {
  const auto* at = app.session().station();
  const auto* r = at ? app.session().results_of(at->id) : nullptr;
  return r ? r->input.year : 2026;
}

void without_answer(TouchApp& app, Column& rows) {
  const HouseJob& job = app.session().house();
  if (job.problem() && job.problem()->where == "weather") {
    rows.heading(tr("house.no_weather"));
    rows.text(tr("house.bring"));
    if (rows.button(tr("house.to_weather"))) app.go(ScreenId::design);
    if (rows.button(tr("house.to_normals"))) app.go(ScreenId::ground);
  } else if (job.problem()) {
    rows.heading(tr("house.title"));
    rows.caution(in_words(*job.problem()));
  } else {
    rows.heading(tr("house.title"));
    rows.text(tr("house.working", {percent(job.part())}));
  }
}

void sentence(TouchApp& app, Column& rows, const horizon::HouseFindings& f) {
  const HouseJob& job = app.session().house();
  rows.title(house_headline(f));
  rows.strong(house_second(f, year_of(app)));
  rows.text(house_line(f.house, app.session().settings.units) + "\n" + house_source(f));
  if (job.working()) rows.text(tr("house.more_working", {percent(job.part())}));
}

void week(TouchApp& app, Column& rows, const horizon::HouseFindings& f) {
  rows.heading(tr("house.week"));
  draw_coldest_week(app.ui().figure({rows.x(), 0, rows.width(), 0}),
                    rows.row(std::clamp(rows.width() * 0.6f, 210.f, 320.f)), f, year_of(app),
                    chart_style(app));
  rows.text(house_lowest(f, year_of(app), app.session().settings.units));
}

// The house's numbers as they were typed; the file keeps those that can be read.
void fields(TouchApp& app, Column& rows) {
  Session& session = app.session();
  HouseState& s = app.states().house;
  auto choices = session.book().design();
  if (!choices) return;
  if (s.loaded_for != session.site().id) {
    s = {};
    s.loaded_for = session.site().id;
    for (const auto& field : choices->house) s.typed[field.key] = field.value;
  }
  rows.heading(tr("house.settings"));
  rows.text(tr("house.reference") + " " + tr("house.facing_from"));
  const horizon::HouseFindings* f = session.house().found();
  bool changed = false;
  for (const auto& key : survey::house_keys()) {
    const std::string name(key.key), label = tr("house.key." + name);
    const horizon::House shown = f ? f->house : horizon::reference_house();
    std::string& typed = s.typed[name];
    std::string value = typed;
    if (key.yes_no) {
      bool on = key.get(shown) > 0.5;
      if (!typed.empty()) on = typed != "0";
      if (!rows.tick(label, on)) continue;
      value = on ? "1" : "0";
    } else if (!rows.field(label, value, number(key.get(shown), key.decimals))) {
      if (s.refused == name)
        rows.caution(tr("touch.write_number_from",
                        {number(key.from, key.from < 1 && key.from > 0 ? 2 : 0), number(key.to)}));
      continue;
    }
    typed = value;
    // Refused: the house's own value counts, not what was typed on the way there.
    const auto put = survey::put_house_field(choices->house, name, value);
    s.refused = put ? std::string() : name;
    changed = true;
  }
  if (!changed) return;
  if (auto put = session.book().put(*choices); !put) session.problem = in_words(put.error());
  session.changed();
  session.want_results();
}

}  // namespace

void house_card(TouchApp& app, Column& rows) {
  Session& session = app.session();
  session.want_house();
  const horizon::HouseFindings* f = session.house().found();
  in_card(app.ui(), rows, "house", [&](Column& c) {
    if (!f) return without_answer(app, c);
    sentence(app, c, *f);
    week(app, c, *f);
    if (c.button(tr("house.more"), ButtonLook::strong)) app.go(ScreenId::house);
  });
}

void house_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  session.want_results();
  session.want_house();
  const Units units = session.settings.units;
  const Rect room = titled(app, area, tr("house.title"), ScreenId::light);
  scrolling(app, "House rows", room, [&](Column& rows) {
    Ui& ui = app.ui();
    const horizon::HouseFindings* f = session.house().found();
    if (!f) {
      in_card(ui, rows, "house", [&](Column& c) { without_answer(app, c); });
      in_card(ui, rows, "house fields", [&](Column& c) { fields(app, c); });
      return;
    }
    const ChartStyle style = chart_style(app);
    in_card(ui, rows, "sentence", [&](Column& c) { sentence(app, c, *f); });
    in_card(ui, rows, "week", [&](Column& c) { week(app, c, *f); });
    if (!f->helps.empty())
      in_card(ui, rows, "helps", [&](Column& c) {
        c.heading(tr("house.helps"));
        const Rect where = c.row(draw_helps(nullptr, {0, 0, c.width(), 0}, *f, style));
        draw_helps(&ui.figure(where), where, *f, style);
        c.text(tr("house.helps_how"));
      });
    in_card(ui, rows, "odds", [&](Column& c) {
      c.heading(tr("house.winter"));
      c.text(tr("house.of_ten"));
      const Rect where = c.row(draw_odds(nullptr, {0, 0, c.width(), 0}, *f, style));
      draw_odds(&ui.figure(where), where, *f, style);
    });
    if (!f->days.inside_c.empty())
      in_card(ui, rows, "year", [&](Column& c) {
        c.heading(tr("house.year"));
        draw_house_year(ui.figure({c.x(), 0, c.width(), 0}),
                        c.row(std::clamp(c.width() * 0.6f, 210.f, 320.f)), *f, year_of(app), style);
        c.text(tr("house.year.axis"));
      });
    in_card(ui, rows, "facts", [&](Column& c) {
      for (const auto& [name, value] : house_facts(*f, year_of(app), units)) {
        c.text(name);
        c.strong(value);
      }
      c.text(driver_words(*f));
      for (const auto& caution : house_cautions(*f)) c.caution(caution);
    });
    in_card(ui, rows, "house fields", [&](Column& c) { fields(app, c); });
  });
}

}  // namespace app
