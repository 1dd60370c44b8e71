// app/touch/screens/house.cpp: will it do without heat: one sentence first, then the coldest week, what would help,
// which crops live; and the house itself, to be changed.
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "app/drawing/charts/house_charts.h"
#include "app/touch/screens/light_parts.h"
#include "app/touch/screens/screens.h"
#include "app/words/house_words.h"
#include "app/words/words.h"
#include "survey/book/text.h"

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

// As the file keeps a number, in the reader's units, and back; what is none stays as it was typed.
std::string shown_text(const std::string& kept, const HouseUnit& unit, int decimals) {
  const auto si = survey::number_of(kept);
  if (!si || (unit.factor == 1 && unit.offset == 0)) return kept;
  char text[32];
  const double scale = std::pow(10, decimals + 1);
  std::snprintf(text, sizeof text, "%.7g", std::round(unit.shown(*si) * scale) / scale);
  return text;
}
std::string kept_text(const std::string& typed, const HouseUnit& unit) {
  const auto shown = survey::number_of(typed);
  if (!shown || (unit.factor == 1 && unit.offset == 0)) return typed;
  char text[32];
  std::snprintf(text, sizeof text, "%.6g", unit.stored(*shown));
  return text;
}

std::string range_words(const survey::HouseKey& key, const HouseUnit& unit) {
  return tr("touch.write_number_from",
            {number(unit.shown(key.from), key.from < 1 && key.from > 0 ? 2 : 0),
             number(unit.shown(key.to))});
}

// The house's numbers as they were typed; the file keeps those that can be read.
void fields(TouchApp& app, Column& rows) {
  Session& session = app.session();
  HouseState& s = app.states().house;
  const Units units = session.settings.units;
  auto choices = session.book().design();
  if (!choices) return;
  const std::string loaded = session.site().id + (units == Units::imperial ? " imperial" : "");
  if (s.loaded_for != loaded) {
    s = {};
    s.loaded_for = loaded;
    for (const auto& field : choices->house) {
      const survey::HouseKey* key = survey::house_key(field.key);
      s.typed[field.key] =
          shown_text(field.value, house_unit(field.key, units), key ? key->decimals : 1);
    }
  }
  rows.heading(tr("house.settings"));
  rows.text(tr("house.reference", {area(32, units)}) + " " + tr("house.facing_from"));
  const horizon::HouseFindings* f = session.house().found();
  bool changed = false;
  for (const auto& key : survey::house_keys()) {
    const std::string name(key.key);
    const HouseUnit unit = house_unit(name, units);
    const std::string label =
        tr("house.key." + name, {unit.name, number(unit.shown(6))});  // straw bales: 6 m²K/W
    const horizon::House shown = f ? f->house : horizon::reference_house();
    std::string& typed = s.typed[name];
    std::string value = typed;
    if (key.yes_no) {
      bool on = key.get(shown) > 0.5;
      if (!typed.empty()) on = typed != "0";
      if (!rows.tick(label, on)) continue;
      value = on ? "1" : "0";
    } else if (!rows.field(label, value, number(unit.shown(key.get(shown)), key.decimals))) {
      if (s.refused == name) rows.refused(range_words(key, unit));
      continue;
    }
    typed = value;
    // Refused: the house's own value counts, not what was typed on the way there.
    const auto put = survey::put_house_field(choices->house, name, kept_text(value, unit));
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
  const Rect room = titled(app, area);
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
        c.text(tr("house.year.axis", {house_unit("_c", units).name}));
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
