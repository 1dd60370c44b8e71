// app/touch/screens/note.cpp: one form of the ground stop: its questions, a note, and what follows.
#include <algorithm>

#include "app/touch/screens/ground_parts.h"
#include "app/words/words.h"
#include "horizon/ground/wind.h"

namespace app {
namespace {

void load(TouchApp& app, GroundState& state, const survey::SiteNote& note) {
  const Units units = app.session().settings.units;
  const std::string key =
      app.session().site().id + std::to_string(int(state.topic)) + std::to_string(int(units));
  if (state.form_for == key) return;
  state.form_for = key;
  state.form.clear();
  for (const survey::FormField& field : form_of(state.topic)->fields) {
    const auto kept = answer_to(note, field.key);
    if (!kept) continue;
    std::string& text = state.form[std::string(field.key)];
    text = kept->text();
    if (field.answer == survey::Answer::number)
      if (const auto value = kept_value(field, *kept))
        text = typed_again(field.measure, *value, units);
  }
}

// One question; true when the answer in the note changed.
bool ask(TouchApp& app, Column& rows, const survey::FormField& field, survey::SiteNote& note) {
  std::string& text = app.states().ground.form[std::string(field.key)];
  const std::string words = field_words(field.key);
  switch (field.answer) {
    case survey::Answer::number: {
      std::optional<double> value;
      if (const auto kept = answer_to(note, field.key))
        if (const auto read = kept_value(field, *kept)) value = *read;
      if (!number_field(app, rows, words, field.measure, field.low, field.high, text, value))
        return false;
      set_answer(note, field.key, value ? survey::kept_number(*value) : survey::Kept(""));
      return true;
    }
    case survey::Answer::words:
      if (!rows.field(words, text)) return false;
      set_answer(note, field.key, survey::Kept(text));
      return true;
    case survey::Answer::choice:
    case survey::Answer::yes_no:
      break;
  }
  constexpr std::string_view kYesNo[] = {"yes", "no"};
  const auto choices = field.answer == survey::Answer::yes_no
                           ? std::span<const std::string_view>(kYesNo)
                           : field.choices;
  std::vector<std::string> names;
  for (const auto& choice : choices) names.push_back(tr_of("choice", choice));
  int chosen = -1;
  for (std::size_t i = 0; i < choices.size(); ++i)
    if (choices[i] == text) chosen = int(i);
  const bool sides = choices.size() == horizon::kWindSectors;
  if (!(sides ? wind_rose(app, rows, words, names, chosen) : rows.choices(words, names, chosen)))
    return false;
  text = chosen < 0 ? std::string() : std::string(choices[std::size_t(chosen)]);
  set_answer(note, field.key, survey::Kept(text));
  return true;
}

void results(TouchApp& app, Column& rows, survey::Topic topic) {
  const Units units = app.session().settings.units;
  const survey::GroundFindings& ground = ground_of(app);
  switch (topic) {
    case survey::Topic::frost:
      facts(rows, frost_facts(ground, units), false);
      facts(rows, temperature_facts(ground, units));
      break;
    case survey::Topic::cold_air:
      return facts(rows, cold_facts(ground, units));
    case survey::Topic::wind:
      return facts(rows, wind_facts(ground, units));
    case survey::Topic::snow:
      return facts(rows, snow_facts(ground, units), false);
    default:
      break;
  }
}

void questions(TouchApp& app, Column& rows) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  const survey::Form& form = *form_of(state.topic);
  survey::SiteNote note = note_of(app, state.topic);
  load(app, state, note);
  if (!form.caution.empty()) caution_once(app, rows, form.caution);
  if (state.topic == survey::Topic::frost &&
      rows.button(tr("ground.months_open"), ButtonLook::strong))
    app.go(ScreenId::climate);
  bool changed = false;
  if (state.topic == survey::Topic::wind) rows.text(tr("wind.rose"));
  for (const survey::FormField& field : form.fields) changed |= ask(app, rows, field, note);
  std::string& text = note.text;
  changed |= rows.notes(tr("ground.note"), text, tr("ground.note_hint"));
  const auto* at = session.station();
  if (at && session.has_position() && note.position != at->position &&
      rows.button(tr("ground.is_here", {at->name}), ButtonLook::plain)) {
    note.position = at->position;
    changed = true;
  }
  if (note.position && rows.button(tr("ground.not_here"), ButtonLook::quiet)) {
    note.position.reset();
    changed = true;
  }
  if (!changed) return;
  note.time = session.now();
  if (const auto* visit = session.visit()) note.visit_id = visit->id;
  say_if_failed(app, session.book().put(note));
}

}  // namespace

void note_screen(TouchApp& app, Rect area) {
  GroundState& state = app.states().ground;
  if (!form_of(state.topic)) state.topic = survey::Topic::water;
  const std::string title = tr("ground.topic." + std::string(name_of(state.topic)));
  const Rect room = titled(app, area, title);
  const bool follows = state.topic == survey::Topic::frost ||
                       state.topic == survey::Topic::cold_air ||
                       state.topic == survey::Topic::wind || state.topic == survey::Topic::snow;
  if (follows && area.w > 760) {
    const float half = room.w / 2;
    scrolling(app, "Form left", {room.x, room.y, half, room.h},
              [&](Column& rows) { questions(app, rows); });
    scrolling(app, "Form right", {room.x + half, room.y, half, room.h},
              [&](Column& rows) { results(app, rows, state.topic); });
    return;
  }
  scrolling(app, "Form rows", room, [&](Column& rows) {
    questions(app, rows);
    if (follows) results(app, rows, state.topic);
  });
}

}  // namespace app
