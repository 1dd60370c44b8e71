// app/touch/screens/climate.cpp: the twelve months: mean, nightly low, daily high and lowest on record.
#include <algorithm>

#include "app/touch/screens/ground_parts.h"
#include "app/words/sentence.h"
#include "app/words/words.h"

namespace app {
namespace {

constexpr double kColdest_c = -60, kHottest_c = 50;

survey::MonthValues survey::ClimateNormals::*const kRows[] = {
    &survey::ClimateNormals::mean_c, &survey::ClimateNormals::min_c, &survey::ClimateNormals::max_c,
    &survey::ClimateNormals::coldest_c};
constexpr const char* kNames[] = {"ground.months_mean", "ground.months_low", "ground.months_high",
                                  "ground.months_coldest"};

}  // namespace

void climate_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  const Units units = session.settings.units;
  const Rect room = titled(app, area, tr("ground.months"), ScreenId::note);
  auto all = session.book().all<survey::ClimateNormals>();
  if (!all) return;
  survey::ClimateNormals climate;
  if (!all->empty()) climate = all->front();
  const std::string loaded = session.site().id + std::to_string(int(units));
  if (state.climate_for != loaded) {
    state.climate_for = loaded;
    state.climate.assign(48, "");
    for (std::size_t k = 0; k < 4; ++k)
      for (std::size_t m = 0; m < 12; ++m)
        if (const auto& kept = (climate.*kRows[k])[m])
          state.climate[k * 12 + m] = typed_again(Measure::temperature_c, *kept, units);
  }
  scrolling(app, "Months rows", room, [&](Column& rows) {
    rows.text(tr("ground.months_text"));
    bool changed = rows.field(tr("ground.months_place"), climate.name);
    changed |= rows.field(tr("ground.months_source"), climate.source);
    std::vector<std::string> names;
    for (const char* name : kNames) names.push_back(tr(name));
    rows.choices(tr("ground.months_which"), names, state.climate_row);
    const auto k = std::size_t(std::clamp(state.climate_row, 0, 3));
    // Two or three to a line: the field's label is the month's name above it.
    Ui& ui = app.ui();
    const int columns = rows.width() > 520 ? 4 : rows.width() > 300 ? 3 : 2;
    const float gap = 8, label = ui.sp(22), height = std::max(52.f, ui.sp(44));
    const float width = (rows.width() - gap * float(columns - 1)) / float(columns);
    std::string problem;
    for (int line = 0; line < (12 + columns - 1) / columns; ++line) {
      const Rect box = rows.row(label + height);
      for (int c = 0; c < columns; ++c) {
        const int m = line * columns + c;
        if (m >= 12) break;
        const float x = box.x + float(c) * (width + gap);
        const std::string words = month_short(m + 1) + " " + unit_of(Measure::temperature_c, units);
        ui.words({x, box.y, width, label}, words, ui.style(14, ui.theme().quiet));
        std::string& text = state.climate[k * 12 + std::size_t(m)];
        const bool edited =
            ui.text_field(month_name(m + 1), {x, box.y + label, width, height}, text);
        auto& kept = (climate.*kRows[k])[std::size_t(m)];
        if (text.empty()) {
          if (edited && kept) changed = true;
          if (edited) kept.reset();
          continue;
        }
        const auto read = typed(Measure::temperature_c, kColdest_c, kHottest_c, text, units);
        if (!read)
          problem = month_name(m + 1) + ": " + words_of(read.error());
        else if (edited)
          kept = *read, changed = true;
      }
    }
    if (!problem.empty()) rows.caution(problem);
    if (changed) say_if_failed(app, session.book().put(climate));
    facts(rows, frost_facts(ground_of(app), units), false);
    facts(rows, temperature_facts(ground_of(app), units));
    facts(rows, cold_facts(ground_of(app), units));
  });
}

}  // namespace app
