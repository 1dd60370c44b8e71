// app/touch/screens/people.cpp: who is asked and who decides, with telephone and consent where given.
#include <array>

#include "app/touch/screens/screens.h"
#include "app/touch/screens/take_out.h"
#include "app/words/sentence.h"
#include "app/words/words.h"

namespace app {
namespace {

std::string role_words(survey::Role role) { return tr("role." + std::string(name_of(role))); }

void open(PeopleState& state, const survey::Person& person) {
  state.open = true;
  state.id = person.id;
  state.role = static_cast<int>(person.role);
  state.name = person.name;
  state.telephone = person.telephone;
  state.mail = person.mail;
  state.consent = person.consent;
  state.problem.clear();
}

void form(TouchApp& app, Column& rows) {
  Session& session = app.session();
  PeopleState& state = app.states().people;
  std::vector<std::string> names;
  for (int i = 0; i < survey::kRoleCount; ++i) names.push_back(role_words(survey::Role(i)));
  rows.choices(tr("people.role"), names, state.role);
  rows.field(tr("people.name"), state.name);
  rows.field(tr("people.telephone"), state.telephone);
  rows.field(tr("people.mail"), state.mail);
  rows.field(tr("people.consent"), state.consent, tr("people.consent_example"));
  if (!state.problem.empty()) rows.caution(state.problem);
  if (rows.button(tr("people.keep"), ButtonLook::main, !state.name.empty())) {
    survey::Person person;
    if (!state.id.empty())
      if (auto known = session.book().get<survey::Person>(state.id)) person = *known;
    person.role = survey::Role(state.role);
    person.name = state.name;
    person.telephone = state.telephone;
    person.mail = state.mail;
    person.consent = state.consent;
    if (auto put = session.book().put(person); !put)
      state.problem = in_words(put.error());
    else
      session.changed(), state = {};
    return;
  }
  if (!state.id.empty() && rows.button(tr("people.remove"))) {
    const auto kept = session.book().get<survey::Person>(state.id);
    if (kept && take_out(app, *kept, kept->name)) state = {};
    return;
  }
  if (rows.button(tr("touch.cancel"))) state = {};
}

}  // namespace

void people_screen(TouchApp& app, Rect area) {
  PeopleState& state = app.states().people;
  const Rect room = titled(app, area);
  scrolling(app, "People rows", room, [&](Column& rows) {
    rows.text(tr("people.about"));
    if (state.open) return form(app, rows);
    const auto known = app.session().book().all<survey::Person>();
    if (!known) return;
    for (const auto& person : *known)
      if (rows.button(role_words(person.role) + ": " + person.name +
                      (person.telephone.empty() ? "" : ", " + person.telephone)))
        open(state, person);
    if (rows.button(tr("people.add"), ButtonLook::strong)) open(state, {});
  });
}

}  // namespace app
