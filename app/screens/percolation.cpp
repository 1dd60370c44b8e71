// app/screens/percolation.cpp: a percolation test: the app keeps the times, also while it is
// closed; the person reads the level.
#include <algorithm>
#include <cmath>

#include "app/charts/ground_charts.h"
#include "app/lang/words.h"
#include "app/screens/screens.h"
#include "horizon/ground/percolation.h"
#include "survey/text.h"

namespace app {
namespace {

std::optional<double> positive(const std::string& text) {
  const auto value = survey::number_of(text);
  return value && *value >= 0 && *value <= 2000 ? value : std::nullopt;
}

void begin(TouchApp& app, Column& rows) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  rows.text(tr("Dig a hole as deep as the footing or the drain will go. Let it stand full for four "
               "hours, clay overnight, so that the soil is soaked. Then fill it and read the level."));
  rows.caution(tr("Have buried pipes and cables located before you dig. Cover the hole when you leave."));
  if (state.hole_depth.empty()) state.hole_depth = "30";
  if (state.hole_width.empty()) state.hole_width = "30";
  rows.field(tr("Depth of the hole, cm"), state.hole_depth);
  rows.field(tr("Width of the hole, cm"), state.hole_width);
  rows.field(tr("Soaked for, hours"), state.soaked, "4");
  const auto deep = positive(state.hole_depth), wide = positive(state.hole_width);
  if (!rows.button(tr("Start the test"), ButtonLook::main, deep && wide && *deep > 0 && *wide > 0)) return;
  survey::PercolationTest test;
  test.id = survey::new_id();
  test.time = session.now();
  test.name = tr("Percolation {0}", {clock_text(app, test.time.utc_s)});
  test.hole_depth_m = *deep / 100;
  test.hole_width_m = *wide / 100;
  test.soaked_h = positive(state.soaked).value_or(0);
  if (const auto* at = session.station(); at && session.has_position()) test.position = at->position;
  if (auto pits = session.book().all<survey::SoilPit>(); pits && !pits->empty()) test.pit_id = pits->back().id;
  if (auto put = session.book().put(test); !put) {
    session.problem = in_words(put.error());
    return;
  }
  state.test_id = test.id;
  app.ui().blur();
}

void verdict(TouchApp& app, Column& rows, const survey::PercolationTest& test,
             const std::vector<survey::PercolationReading>& readings) {
  horizon::PercolationHole hole;
  hole.width_mm = test.hole_width_m * 1000;
  hole.square = test.square_hole;
  hole.soaked_h = test.soaked_h;
  std::vector<horizon::WaterReading> levels;
  for (const auto& r : readings) levels.push_back({r.time.utc_s, r.water_depth_mm, r.refilled_to_mm});
  const auto result = horizon::percolation(hole, levels);
  if (!result) return rows.text(in_words(result.error()));
  rows.fact(tr("The level falls"), number(result->fall_mm_h, 0) + " ± " +
                                       number(result->fall_sigma_mm_h, 0) + " mm/h");
  rows.fact(tr("Through bottom and walls"), number(result->infiltration_mm_h, 0) + " mm/h");
  rows.text(tr(horizon::planting_words(result->planting)));
  if (!result->steady) rows.text(tr("Not steady yet: go on until three readings agree."));
  if (!result->soaked) rows.text(tr("The hole was not soaked long enough; the rate is likely too high."));
  PercolationChart chart;
  for (const auto& r : readings)
    chart.readings.push_back({(r.time.utc_s - readings.front().time.utc_s) / 60, r.water_depth_mm / 1000});
  draw_percolation(app.ui().canvas(), rows.row(200), chart, chart_style(app));
}

void run(TouchApp& app, Column& rows, const survey::PercolationTest& test) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  Ui& ui = app.ui();
  auto readings = session.book().where<survey::PercolationReading>("test_id", test.id);
  if (!readings) return rows.text(in_words(readings.error()));
  const double since = readings->empty() ? test.time.utc_s : readings->back().time.utc_s;
  const double passed = session.now().utc_s - since;
  if (passed < -2) {
    rows.caution(tr("The clock of this device was set back. Times of this test may be wrong; note "
                    "the minutes by a watch."));
  } else {
    char clock[32];
    const long s = std::max(0l, long(passed));
    std::snprintf(clock, sizeof clock, "%ld:%02ld:%02ld", s / 3600, s / 60 % 60, s % 60);
    rows.text(readings->empty() ? tr("since the start, {0}", {clock_text(app, since)})
                                : tr("since the last reading, {0}", {clock_text(app, since)}));
    const Rect big = rows.row(ui.sp(48));
    ui.words(big, clock, ui.style(38, ui.theme().ink, Weight::semibold));
  }
  rows.field(tr("Water in the hole now, mm above the bottom"), state.level, "180");
  const auto level = positive(state.level);
  if (rows.button(tr("Read now"), ButtonLook::main, level.has_value())) {
    survey::PercolationReading reading;
    reading.test_id = test.id;
    reading.time = session.now();
    reading.water_depth_mm = *level;
    if (auto put = session.book().put(reading); !put) {
      session.problem = in_words(put.error());
    } else {
      state.level.clear();
      ui.blur();
      session.saved();
    }
  }
  for (const auto& r : *readings)
    rows.fact(clock_text(app, r.time.utc_s), number(r.water_depth_mm) + " mm");
  if (readings->size() >= 2) verdict(app, rows, test, *readings);
  if (rows.button(tr("Start another test"), ButtonLook::quiet)) state.test_id = "new";
}

}  // namespace

void percolation_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  const Rect room = titled(app, area, tr("Percolation test"), ScreenId::ground);
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
