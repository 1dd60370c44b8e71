#include "app/touch/screens/ground_parts.h"

#include <algorithm>

#include "app/words/sentence.h"
#include "app/words/words.h"

namespace app {

const survey::GroundFindings& ground_of(TouchApp& app) {
  GroundState& state = app.states().ground;
  Session& session = app.session();
  const std::uint64_t now = session.book().change_count();
  const std::string site = session.site().id;
  if (state.findings && state.findings_for == now && state.findings_site == site)
    return *state.findings;
  survey::GroundOptions options;
  if (const auto main = survey::main_station(session.book()))
    if (const auto* results = session.results_of(main->id)) {
      options.facing = results->findings.shown.facing;
      options.tilt_deg = results->findings.shown.tilt_deg;
    }
  auto found = ground_findings(session.book(), options);
  if (!found) session.problem = in_words(found.error());
  state.findings = std::make_shared<survey::GroundFindings>(found ? std::move(*found)
                                                                  : survey::GroundFindings{});
  state.findings_for = now;
  state.findings_site = site;
  return *state.findings;
}

void facts(Column& rows, const FactGroup& group, bool with_cautions) {
  if (group.rows.empty() && group.notes.empty()) return;
  rows.heading(group.title);
  if (!group.from.empty()) rows.text(group.from);
  for (const auto& row : group.rows) {
    rows.fact(row.name, row.value);
    if (!row.from.empty()) rows.text(row.from);
  }
  for (const auto& note : group.notes) rows.text(note);
  if (with_cautions)
    for (const auto& caution : group.cautions) rows.caution(caution);
}

bool number_field(TouchApp& app, Column& rows, std::string_view words, Measure measure, double low,
                  double high, std::string& text, std::optional<double>& value) {
  const Units units = app.session().settings.units;
  const std::string unit = unit_of(measure, units);
  const std::string label = unit.empty() ? std::string(words) : std::string(words) + ", " + unit;
  const bool changed = rows.number_field(label, text, range_words(measure, low, high, units));
  if (text.empty()) {
    const bool cleared = changed && value.has_value();
    value.reset();
    return cleared;
  }
  const auto read = typed(measure, low, high, text, units);
  if (!read) {
    rows.refused(words_of(read.error()));
    // What was typed on the way there, the 12 of 120000, was never meant.
    const bool cleared = changed && value.has_value();
    if (changed) value.reset();
    return cleared;
  }
  if (changed) value = *read;
  return changed;
}

void caution_once(TouchApp& app, Column& rows, std::string_view key) {
  Session& session = app.session();
  survey::SiteNote note = note_of(app, survey::Topic::other);
  const std::string seen = "seen." + std::string(key);
  if (answer_to(note, seen)) {
    if (rows.button(tr("ground.caution_again"), ButtonLook::quiet, true, Icon::warning))
      app.say(tr(key));
    return;
  }
  rows.caution(tr(key));
  if (!rows.button(tr("ground.understood"), ButtonLook::plain, true, Icon::check)) return;
  set_answer(note, seen, survey::Kept("yes"));
  note.time = session.now();
  say_if_failed(app, session.book().put(note));
}

bool say_if_failed(TouchApp& app, const tl::expected<survey::Id, horizon::Error>& put) {
  if (!put) app.session().problem = in_words(put.error());
  return !put;
}

survey::SiteNote note_of(TouchApp& app, survey::Topic topic) {
  survey::SiteNote found;
  found.topic = topic;
  auto all = app.session().book().all<survey::SiteNote>();
  if (!all) return found;
  bool any = false;
  for (auto& note : *all) {
    if (note.topic != topic || (any && note.time.utc_s < found.time.utc_s)) continue;
    found = note;
    any = true;
  }
  return found;
}

}  // namespace app
