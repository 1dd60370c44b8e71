// app/touch/screens/climate.cpp: the twelve months of the place: temperatures, sunshine, snow, albedo;
// typed by hand, from the hourly file, or from another site in the device.
#include <algorithm>

#include "app/touch/screens/ground_parts.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/assess/climate_rows.h"
#include "survey/book/text.h"
#include "survey/exchange/weather_file.h"

namespace app {
namespace {

std::string shown_months(TouchApp& app, const survey::ClimateNormals& climate) {
  GroundState& state = app.states().ground;
  const Units units = app.session().settings.units;
  const double latitude = app.session().site().position.latitude_deg;
  const auto table = survey::climate_rows();
  state.climate.assign(table.size() * 12, "");
  for (std::size_t k = 0; k < table.size(); ++k)
    for (std::size_t m = 0; m < 12; ++m)
      if (const auto& kept = (climate.*table[k].kept)[m])
        if (const auto si = measured(table[k], *kept, int(m) + 1, latitude)) {
          // Hours and days are typed as whole numbers.
          const bool whole = table[k].as != survey::ClimateRow::As::is;
          state.climate[k * 12 + m] =
              whole ? number(*si, 0) : typed_again(table[k].measure, *si, units);
        }
  return app.session().site().id + std::to_string(int(units));
}

// The hourly file's own months, or another site's: put in whole, to be looked over.
void sources(TouchApp& app, Column& rows, survey::ClimateNormals& climate, bool& changed) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  const auto take = [&](survey::ClimateNormals found, const std::string& name) {
    found.id = climate.id;
    climate = std::move(found);
    state.climate_for.clear();
    changed = true;
    app.say(tr("ground.months_taken", {name}));
  };
  if (const std::string path = session.weather_path(); !path.empty()) {
    if (rows.button(tr("ground.months_from_file"), ButtonLook::plain)) {
      const auto bytes = survey::read_file(path);
      if (!bytes) {
        session.problem = in_words(bytes.error());
      } else if (const auto file = survey::weather_of(*bytes)) {
        take(survey::climate_of(file->year), file->year.station);
      } else {
        session.problem = in_words(file.error());
      }
    }
  }
  if (!state.climate_sites && !rows.button(tr("ground.months_from_site"), ButtonLook::plain))
    return;
  state.climate_sites = true;
  int offered = 0;
  for (const auto& site : session.sites().sites) {
    if (site.site.id == session.site().id) continue;
    ++offered;
    if (!button_as(app.ui(), site.site.name, site.site.name,
                   rows.row(std::max(kTouch, app.ui().sp(44)))))
      continue;
    state.climate_sites = false;
    const auto book = survey::FieldBook::open(site.path, survey::Access::read);
    const auto theirs = book ? book->all<survey::ClimateNormals>() : tl::unexpected(book.error());
    if (!theirs)
      session.problem = in_words(theirs.error());
    else if (theirs->empty())
      app.say(tr("ground.months_none_there", {site.site.name}));
    else
      take(theirs->front(), site.site.name);
    return;
  }
  if (offered == 0) rows.text(tr("ground.months_no_site"));
}

// Two or three to a line: the field's label is the month's name above it. True when one changed.
bool month_fields(TouchApp& app, Column& rows, survey::ClimateNormals& climate, std::size_t which) {
  GroundState& state = app.states().ground;
  const Units units = app.session().settings.units;
  const double latitude = app.session().site().position.latitude_deg;
  const survey::ClimateRow& row = survey::climate_rows()[which];
  Ui& ui = app.ui();
  const int columns = rows.width() > 520 ? 4 : rows.width() > 300 ? 3 : 2;
  const float gap = 8, label = ui.sp(22), height = std::max(52.f, ui.sp(44));
  const float width = (rows.width() - gap * float(columns - 1)) / float(columns);
  bool changed = false;
  std::string problem;
  for (int line = 0; line < (12 + columns - 1) / columns; ++line) {
    const Rect box = rows.row(label + height);
    for (int c = 0; c < columns; ++c) {
      const int m = line * columns + c;
      if (m >= 12) break;
      const float x = box.x + float(c) * (width + gap);
      const std::string words = month_short(m + 1) + " " + unit_of(row.measure, units);
      ui.words({x, box.y, width, label}, words, ui.style(14, ui.theme().quiet));
      std::string& text = state.climate[which * 12 + std::size_t(m)];
      const Rect field{x, box.y + label, width, height};
      const bool edited = ui.text_field(month_name(m + 1), field, text);
      const auto refused = [&](const std::string& why) {
        ui.refuse(month_name(m + 1), field, why, field.bottom());
        problem = why;
      };
      auto& kept = (climate.*row.kept)[std::size_t(m)];
      if (text.empty()) {
        if (edited && kept) changed = true;
        if (edited) kept.reset();
        continue;
      }
      const auto read = typed(row.measure, row.low, row.high, text, units);
      if (!read) {
        refused(month_name(m + 1) + ": " + words_of(read.error()));
        if (edited && kept) kept.reset(), changed = true;
        continue;
      }
      const auto value = to_keep(row, *read, m + 1, latitude);
      if (!value && edited && kept) kept.reset(), changed = true;
      if (!value)
        refused(
            tr("ground.months_too_sunny",
               {month_name(m + 1), number(survey::possible_sunshine_h(m + 1, latitude) * 30.4)}));
      else if (edited)
        kept = *value, changed = true;
    }
  }
  if (!problem.empty()) rows.caution(problem);
  // Lows over means over highs are soon typed in each other's place.
  for (std::size_t m = 0; m < 12; ++m) {
    const auto above = [&](const std::optional<double>& low, const std::optional<double>& high) {
      return low && high && *low > *high;
    };
    if (!above(climate.min_c[m], climate.max_c[m]) && !above(climate.min_c[m], climate.mean_c[m]) &&
        !above(climate.mean_c[m], climate.max_c[m]))
      continue;
    rows.caution(tr("ground.months_swapped", {month_name(static_cast<int>(m) + 1)}));
    break;
  }
  return changed;
}

}  // namespace

void climate_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  const Units units = session.settings.units;
  const Rect room = titled(app, area);
  auto all = session.book().all<survey::ClimateNormals>();
  if (!all) return;
  survey::ClimateNormals climate;
  if (!all->empty()) climate = all->front();
  if (state.climate_for != session.site().id + std::to_string(int(units)))
    state.climate_for = shown_months(app, climate);
  scrolling(app, "Months rows", room, [&](Column& rows) {
    rows.strong(tr(sky_of(climate)));
    rows.text(tr("ground.months_text"));
    bool changed = rows.field(tr("ground.months_place"), climate.name);
    changed |= rows.field(tr("ground.months_source"), climate.source);
    sources(app, rows, climate, changed);
    std::vector<std::string> names;
    for (const auto& row : survey::climate_rows()) names.push_back(tr(row.words));
    rows.choices(tr("ground.months_which"), names, state.climate_row);
    const auto which =
        std::size_t(std::clamp(state.climate_row, 0, int(survey::climate_rows().size()) - 1));
    // The two ways to write sunshine are one row in the file.
    if (state.climate_shown != int(which)) {
      state.climate_shown = int(which);
      shown_months(app, climate);
    }
    const bool edited = month_fields(app, rows, climate, which);
    const survey::ClimateRow& row = survey::climate_rows()[which];
    const auto filled = std::count_if((climate.*row.kept).begin(), (climate.*row.kept).end(),
                                      [](const auto& m) { return m.has_value(); });
    if (row.kept == &survey::ClimateNormals::sunshine_fraction && filled > 0 && filled < 12)
      rows.text(tr("ground.months_all_twelve", {number(double(filled))}));
    rows.strong(tr(sky_of(climate)));
    if (changed || edited) {
      say_if_failed(app, session.book().put(climate));
      session.changed();
    }
    facts(rows, frost_facts(ground_of(app), units), false);
    facts(rows, temperature_facts(ground_of(app), units));
    facts(rows, cold_facts(ground_of(app), units));
  });
}

}  // namespace app
