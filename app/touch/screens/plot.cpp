// app/touch/screens/plot.cpp: the plot from above with its winter sun, the best places, and what speaks for
// and against each spot. The map is worked out beside the frame.
#include <algorithm>

#include "app/drawing/charts/plot_chart.h"
#include "app/drawing/charts/skyline_chart.h"
#include "app/drawing/text_layout.h"
#include "app/touch/screens/ground_parts.h"
#include "app/words/words.h"

namespace app {
namespace {

constexpr int kPlotLane = 3;  // of the worker: 1 and 2 are the session's

void want(TouchApp& app) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  const std::string key = session.site().id + std::to_string(session.book().change_count());
  if (state.plot_asked == key) return;
  state.plot_asked = key;
  auto input = plot_input(session.book(), ground_of(app));
  if (!input) {
    state.plot_problem = in_words(input.error());
    return;
  }
  GroundState* kept = &state;
  session.devices().worker->post(
      kPlotLane, [input = std::move(*input), key, kept]() -> platform::Worker::Done {
        auto found = plot_findings(input);
        auto plot =
            found ? std::make_shared<const survey::PlotFindings>(std::move(*found)) : nullptr;
        return [plot, kept, key, problem = found ? horizon::Error() : found.error()] {
          if (kept->plot_asked != key) return;  // the site has changed meanwhile
          kept->plot = plot;
          kept->plot_problem = plot ? std::string() : in_words(problem);
        };
      });
}

void weights(TouchApp& app, Column& rows) {
  Session& session = app.session();
  rows.heading(tr("ground.weights_title"));
  rows.text(tr("ground.verdict_note"));
  auto now = weights_of(session.book());
  bool changed = false;
  for (int i = 0; i < horizon::kCriterionCount; ++i) {
    const std::string name =
        tr("criterion." + std::string(name_of(static_cast<horizon::Criterion>(i))));
    double& weight = now[std::size_t(i)];
    Ui& ui = app.ui();
    const auto style = ui.style(16, ui.theme().ink);
    const bool beside = text_width(name, style) < rows.width() - 3 * 56;
    if (!beside) rows.text(name);  // a long word in large letters has a line of its own
    const Rect row = rows.row(std::max(kTouch, ui.sp(44)));
    if (beside) ui.words({row.x, row.y, row.w - 3 * 56, row.h}, name, style);
    if (button_as(ui, tr("ground.less", {name}), "−", {row.right() - 164, row.y, 52, row.h},
                  ButtonLook::plain, weight >= 1))
      weight = std::max(0.0, weight - 1), changed = true;
    ui.words({row.right() - 108, row.y, 52, row.h}, number(weight),
             ui.style(18, ui.theme().ink, Weight::semibold, Align::center));
    if (button_as(ui, tr("ground.more", {name}), "+", {row.right() - 52, row.y, 52, row.h},
                  ButtonLook::plain, weight <= 9))
      weight = std::min(10.0, weight + 1), changed = true;
  }
  if (!changed) return;
  if (auto kept = keep_weights(session.book(), now, session.now()); !kept)
    session.problem = in_words(kept.error());
}

// What is kept of it, to be taken out; and what is typed of another. True when the note changed.
bool to_be_built(TouchApp& app, Column& rows, const survey::PlotFindings& plot,
                 survey::SiteNote& note) {
  GroundState& state = app.states().ground;
  const Units units = app.session().settings.units;
  rows.text(tr("ground.time_build_text", {plot.origin}));
  std::vector<std::string> names;
  for (const auto& field : note.fields)
    if (field.key.starts_with(survey::kBuildFields[0].key))
      names.push_back(field.key.substr(survey::kBuildFields[0].key.size()));
  for (const std::string& name : names) {
    std::array<double, 6> n{};
    for (std::size_t i = 0; i < n.size(); ++i)
      if (const auto kept = answer_to(note, std::string(survey::kBuildFields[i].key) + name))
        n[i] = kept->number().value_or(0);
    rows.text(
        tr("ground.build_kept", {name, number(n[5]), distance(n[1], units), degrees(n[0]),
                                 length(n[2], units), length(n[3], units), length(n[4], units)}));
    if (!rows.button(tr("ground.build_remove", {name}))) continue;
    for (const auto& one : survey::kBuildFields)
      set_answer(note, std::string(one.key) + name, survey::Kept(""));
    return true;
  }
  rows.field(tr("ground.build_name"), state.build_name);
  constexpr Measure kMeasures[] = {Measure::none,     Measure::length_m, Measure::length_m,
                                   Measure::length_m, Measure::length_m, Measure::none};
  for (std::size_t i = 0; i < state.build.size(); ++i)
    number_field(app, rows, tr("ground.build_" + std::to_string(i)), kMeasures[i],
                 survey::kBuildFields[i].low, survey::kBuildFields[i].high, state.build_text[i],
                 state.build[i]);
  const bool whole = !state.build_name.empty() &&
                     std::ranges::all_of(state.build, [](const auto& v) { return v.has_value(); });
  if (!rows.button(tr("ground.build_keep"), ButtonLook::strong, whole)) return false;
  std::array<double, 6> numbers{};
  for (std::size_t i = 0; i < numbers.size(); ++i) numbers[i] = *state.build[i];
  if (auto thing = survey::to_build(state.build_name, numbers, plot.plot.survey.stations); !thing) {
    app.say(in_words(thing.error()));
    return false;
  }
  for (std::size_t i = 0; i < state.build.size(); ++i)
    set_answer(note, std::string(survey::kBuildFields[i].key) + state.build_name,
               survey::kept_number(*state.build[i]));
  state.build_name.clear();
  state.build_text = {};
  state.build = {};
  return true;
}

// Now, in 10 and in 20 years: which of them the map shows, and the skyline then.
const survey::PlotFindings::Later* year_of(Column& rows, const survey::PlotFindings& plot,
                                           int& chosen) {
  if (plot.later.empty()) return nullptr;
  std::vector<std::string> names = {tr("ground.time_now")};
  for (const auto& later : plot.later) names.push_back(tr("ground.time_in", {number(later.years)}));
  rows.choices(tr("ground.time_map"), names, chosen);
  return chosen > 0 && chosen <= int(plot.later.size()) ? &plot.later[std::size_t(chosen - 1)]
                                                        : nullptr;
}

void later_skyline(TouchApp& app, Column& rows, const survey::PlotFindings& plot,
                   const survey::PlotFindings::Later& later) {
  rows.text(tr("ground.later_skyline", {plot.origin, number(later.years)}));
  const horizon::Mask now(plot.skyline), then(later.skyline);
  SkylineChart chart;
  chart.skyline = &later.skyline;
  chart.mask = &then;
  chart.marks = false;
  if (plot.origin_place.latitude_deg < 0) chart.center_deg = 0;
  for (int az = 0; az <= 360; ++az)
    chart.far_skyline.push_back({double(az), now.elevation_deg(az)});
  const Rect where = rows.row(std::clamp(rows.width() * 0.4f, 150.f, 240.f));
  draw_skyline(app.ui().figure(where), where, chart, chart_style(app));
}

// How trees grow and what goes: kept in the note on building.
void time_card(TouchApp& app, Column& rows, const survey::PlotFindings& plot) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  survey::SiteNote note = note_of(app, survey::Topic::building);
  rows.heading(tr("ground.time_title"));
  rows.text(tr("ground.time_text"));
  bool changed = false;
  const auto field = [&](const std::string& words, const std::string& key, double low, double high,
                         Measure measure, std::optional<double> otherwise) {
    const auto kept = answer_to(note, key);
    std::optional<double> value = kept ? kept->number() : otherwise;
    const auto [text, is_new] = state.form.try_emplace("plot " + session.site().id + key);
    if (is_new && value) text->second = typed_again(measure, *value, session.settings.units);
    if (!number_field(app, rows, words, measure, low, high, text->second, value)) return;
    set_answer(note, key, value ? survey::kept_number(*value) : survey::Kept(""));
    changed = true;
  };
  const horizon::Growth growth;
  field(tr("ground.time_evergreen"), std::string(survey::kGrowthEvergreen), 0, 2, Measure::none,
        growth.evergreen_m_y);
  field(tr("ground.time_leafy"), std::string(survey::kGrowthLeafy), 0, 2, Measure::none,
        growth.leafy_m_y);
  rows.text(tr("ground.time_gone_text"));
  for (const auto& thing : plot.things)
    if (!thing.name.empty())
      field(tr("ground.time_gone", {thing.name}), std::string(survey::kGoneInYears) + thing.name, 0,
            50, Measure::none, {});
  changed |= to_be_built(app, rows, plot, note);
  if (!changed) return;
  note.topic = survey::Topic::building;
  note.time = session.now();
  say_if_failed(app, session.book().put(note));
}

void verdict(TouchApp& app, Column& rows, const survey::PlotFindings& plot) {
  const Units units = app.session().settings.units;
  // Ordered by the weights as they are now, at once.
  const auto spots = horizon::verdicts(plot.candidates, weights_of(app.session().book()));
  if (!spots) return rows.caution(in_words(spots.error()));
  for (const auto& spot : *spots)
    in_card(app.ui(), rows, "spot " + spot_name(spot), [&](Column& c) {
      c.heading(tr("ground.verdict_spot", {spot_name(spot)}));
      c.text(tr("ground.counts", {number(spot.count(horizon::Stance::speaks_for)),
                                  number(spot.count(horizon::Stance::against)),
                                  number(spot.count(horizon::Stance::unsure) +
                                         spot.count(horizon::Stance::unknown))}));
      for (const auto& line : spot.lines) {
        constexpr const char* kSigns[] = {"+", "−", "±", "?"};
        c.strong(std::string(kSigns[int(line.stance)]) + "  " +
                 tr("criterion." + std::string(name_of(line.criterion))) + ": " +
                 tr_of("stance", name_of(line.stance)));
        c.text(verdict_words(line, units));
        if (!line.evidence.empty()) c.text(tr("ground.evidence") + ": " + words_of(line.evidence));
      }
    });
}

}  // namespace

void plot_screen(TouchApp& app, Rect area) {
  GroundState& state = app.states().ground;
  const Rect room = titled(app, area);
  want(app);
  const Units units = app.session().settings.units;
  const auto map = [&](Column& rows) {
    if (!state.plot) {
      rows.text(state.plot_problem.empty() ? tr("ground.plot_working") : state.plot_problem);
      return;
    }
    if (app.session().busy()) rows.text(tr("ground.plot_working"));
    const auto* later = year_of(rows, *state.plot, state.plot_year);
    draw_sun_map(app.ui().canvas(), rows.row(std::min(rows.width() * 0.95f, 460.f)), *state.plot,
                 chart_style(app), later);
    rows.text(tr("ground.map_note"));
    if (later) later_skyline(app, rows, *state.plot, *later);
    facts(rows, later_facts(*state.plot));
    facts(rows, places_facts(*state.plot, units));
    facts(rows, things_facts(*state.plot, units));
  };
  const auto table = [&](Column& rows) {
    if (!state.plot) return;
    in_card(app.ui(), rows, "weights", [&](Column& c) { weights(app, c); });
    in_card(app.ui(), rows, "time", [&](Column& c) { time_card(app, c, *state.plot); });
    verdict(app, rows, *state.plot);
  };
  if (area.w > 760) {
    const float half = room.w / 2;
    scrolling(app, "Plot left", {room.x, room.y, half, room.h}, map);
    scrolling(app, "Plot right", {room.x + half, room.y, half, room.h}, table);
  } else {
    scrolling(app, "Plot rows", room, [&](Column& rows) {
      map(rows);
      table(rows);
    });
  }
}

}  // namespace app
