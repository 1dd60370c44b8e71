// app/touch/screens/percolation.cpp: a percolation test: the app keeps the times, also while it is closed;
// the person reads the level. Each reading keeps the clock of day and the one that cannot be set.
#include "horizon/ground/percolation.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/charts/ground_charts.h"
#include "app/touch/screens/ground_parts.h"
#include "app/touch/screens/take_out.h"
#include "app/words/words.h"

namespace app {
namespace {

constexpr double kDeepHole_m = 2, kWideHole_m = 2, kLongSoak_h = 96, kFull_mm = 2000;

void begin(TouchApp& app, Column& rows) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  const Units units = session.settings.units;
  rows.text(tr("percolation.dig_hole_deep_footing_drain"));
  caution_once(app, rows, "ground.caution.dig");
  if (state.hole_depth.empty()) state.hole_depth = units == Units::imperial ? "12" : "30";
  if (state.hole_width.empty()) state.hole_width = state.hole_depth;
  std::optional<double> deep, wide, soaked;
  const auto ask = [&](const char* words, Measure measure, double low, double high,
                       std::string& text, std::optional<double>& value) {
    (void)number_field(app, rows, tr(words), measure, low, high, text, value);
    value.reset();
    if (!text.empty())
      if (const auto read = typed(measure, low, high, text, units)) value = *read;
  };
  ask("ground.hole_depth", Measure::depth_m, 0.05, kDeepHole_m, state.hole_depth, deep);
  ask("ground.hole_width", Measure::depth_m, 0.05, kWideHole_m, state.hole_width, wide);
  rows.tick(tr("ground.square"), state.square);
  ask("ground.soaked", Measure::hours, 0, kLongSoak_h, state.soaked, soaked);
  if (!rows.button(tr("percolation.start_test"), ButtonLook::main, deep && wide)) return;
  survey::PercolationTest test;
  test.id = survey::new_id();
  test.time = session.now();
  test.since_boot_s = session.devices().clock->since_boot_s();
  test.boot = session.devices().clock->boot();
  test.name = tr("percolation.percolation", {clock_text(app, test.time.utc_s)});
  test.hole_depth_m = *deep;
  test.hole_width_m = *wide;
  test.square_hole = state.square;
  test.soaked_h = soaked.value_or(0);
  if (const auto* at = session.station(); at && session.has_position())
    test.position = at->position;
  if (auto pits = session.book().all<survey::SoilPit>(); pits && !pits->empty())
    test.pit_id = pits->back().id;
  if (say_if_failed(app, session.book().put(test))) return;
  state.test_id = test.id;
  app.ui().blur();
}

void verdict(TouchApp& app, Column& rows, const survey::PercolationTest& test) {
  const Units units = app.session().settings.units;
  for (const auto& found : ground_of(app).percolation) {
    if (found.name != test.name) continue;
    if (found.result) {
      facts(rows, percolation_facts(found, units));
    } else {
      for (const auto& what : ground_of(app).missing)
        if (const std::string words = words_of(what); words.starts_with(test.name))
          rows.text(words);
    }
    break;
  }
}

// What has passed since `from`, and what the two clocks say of each other.
void stopwatch(TouchApp& app, Column& rows, const horizon::ClockMark& from) {
  Ui& ui = app.ui();
  const auto& clock = *app.session().devices().clock;
  const horizon::ClockMark now{app.session().now().utc_s, clock.since_boot_s(), clock.boot()};
  const auto passed = horizon::elapsed(from, now);
  if (!passed) return rows.caution(tr("ground.clock_back"));
  if (passed->clock_jump_s != 0)
    rows.caution(tr("ground.clock_differs", {number(passed->clock_jump_s / 60, 1)}));
  if (!passed->checked && from.since_boot_s) rows.caution(tr("ground.clock_unchecked"));
  char text[32];
  const long s = std::max(0l, long(passed->seconds));
  std::snprintf(text, sizeof text, "%ld:%02ld:%02ld", s / 3600, s / 60 % 60, s % 60);
  ui.words(rows.row(ui.sp(48)), text, ui.style(38, ui.theme().ink, Weight::semibold));
}

void run(TouchApp& app, Column& rows, const survey::PercolationTest& test) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  Ui& ui = app.ui();
  const Units units = session.settings.units;
  auto readings = session.book().where<survey::PercolationReading>("test_id", test.id);
  if (!readings) return rows.text(in_words(readings.error()));
  const bool none = readings->empty();
  const double since = none ? test.time.utc_s : readings->back().time.utc_s;
  rows.text(none ? tr("percolation.since_start", {clock_text(app, since)})
                 : tr("percolation.since_last_reading", {clock_text(app, since)}));
  stopwatch(app, rows,
            none ? horizon::ClockMark{test.time.utc_s, test.since_boot_s, test.boot}
                 : horizon::ClockMark{since, readings->back().since_boot_s, readings->back().boot});
  std::optional<double> level, refill;
  // No deeper than the hole.
  const double most_mm = test.hole_depth_m > 0 ? test.hole_depth_m * 1000 : kFull_mm;
  const auto ask = [&](const char* words, std::string& text, std::optional<double>& value) {
    (void)number_field(app, rows, tr(words), Measure::level_mm, 0, most_mm, text, value);
    value.reset();
    if (!text.empty())
      if (const auto read = typed(Measure::level_mm, 0, most_mm, text, units)) value = *read;
  };
  ask("ground.level_now", state.level, level);
  rows.tick(tr("ground.refilled"), state.refilled);
  if (state.refilled) ask("ground.refilled_to", state.refill, refill);
  if (rows.button(tr("percolation.read_now"), ButtonLook::main,
                  level && (!state.refilled || refill))) {
    survey::PercolationReading reading;
    reading.test_id = test.id;
    reading.time = session.now();
    reading.since_boot_s = session.devices().clock->since_boot_s();
    reading.boot = session.devices().clock->boot();
    reading.water_depth_mm = *level;
    reading.refilled = state.refilled;
    reading.refilled_to_mm = refill;
    if (!say_if_failed(app, session.book().put(reading))) {
      state.level.clear();
      state.refilled = false;
      ui.blur();
      session.saved();
    }
  }
  int index = 0;
  for (const auto& r : *readings) {
    const std::string name = tr("percolation.reading", {number(double(++index))});
    const std::string when = clock_text(app, r.time.utc_s);
    rows.fact(when, shown_text(Measure::level_mm, r.water_depth_mm, units) +
                        (r.refilled_to_mm
                             ? " → " + shown_text(Measure::level_mm, *r.refilled_to_mm, units)
                             : ""));
    if (!rows.button(tr("percolation.take_out", {name}), ButtonLook::quiet)) continue;
    (void)take_out(app, r, name + ", " + when);
    return;
  }
  if (readings->size() >= 2) {
    verdict(app, rows, test);
    if (const auto times = percolation_times(*readings)) {
      PercolationChart chart;
      for (const auto& r : times->readings) {
        chart.readings.push_back(
            {(r.utc_s - times->readings.front().utc_s) / 60, r.depth_mm / 1000});
        if (r.refilled_to_mm)
          chart.readings.push_back({chart.readings.back().minutes, *r.refilled_to_mm / 1000});
      }
      draw_percolation(ui.figure({rows.x(), 0, rows.width(), 0}), rows.row(200), chart,
                       chart_style(app));
    }
  }
  if (rows.button(tr("percolation.start_another_test"), ButtonLook::quiet)) state.test_id = "new";
}

}  // namespace

void percolation_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  const Rect room = titled(app, area);
  scrolling(app, "Percolation rows", room, [&](Column& rows) {
    auto tests = session.book().all<survey::PercolationTest>();
    if (!tests) return rows.text(in_words(tests.error()));
    const survey::PercolationTest* test = nullptr;  // the last one goes on, also after a restart
    if (state.test_id != "new" && !tests->empty()) test = &tests->back();
    for (const auto& each : *tests)
      if (each.id == state.test_id) test = &each;
    if (test)
      run(app, rows, *test);
    else
      begin(app, rows);
  });
}

}  // namespace app
