// app/touch/screens/contacts.cpp: the light of sun and moon: one touch when it goes, one when it comes.
#include <algorithm>
#include <cmath>
#include <functional>

#include "app/touch/screens/screens.h"
#include "app/words/quantity.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "horizon/sun/sun.h"
#include "survey/book/text.h"

namespace app {
namespace {

constexpr double kNight_deg = -4;    // of the sun: the moon's turn
constexpr double kLookAgain_s = 60;  // at the latest
constexpr double kSoon_s = 20 * 60;

// What is due next, looked up again after a mark, when it has passed, and once a minute.
void look_ahead(Session& session, ContactsState& state) {
  const double now = session.now().utc_s;
  const auto* at = session.skyline();
  if (!at || !session.has_position()) return state.next.reset();
  const bool stale = state.looked_for != session.book().change_count() ||
                     std::abs(now - state.looked_utc_s) > kLookAgain_s ||
                     (state.next && now > state.next->utc_s + 5);
  if (!stale) return;
  state.looked_for = session.book().change_count();
  state.looked_utc_s = now;
  const horizon::Air air = horizon::standard_air(at->eye.height_m);
  state.night = horizon::sun_position(now, at->eye).elevation.degrees() < kNight_deg;
  state.next = horizon::next_contact(state.night ? horizon::Body::moon : horizon::Body::sun, now,
                                     at->eye, air, session.mask());
}

std::string behind(const Session& session, const horizon::ExpectedContact& next) {
  if (next.obstacle < 0) return tr("contacts.behind_unknown");
  const auto& obstacle = session.skyline()->skyline().obstacles[std::size_t(next.obstacle)];
  return obstacle.label.empty() ? kind_label(obstacle.kind) : obstacle.label;
}

void countdown(TouchApp& app, Column& rows) {
  Session& session = app.session();
  ContactsState& state = app.states().contacts;
  look_ahead(session, state);
  if (session.marks() == 0) return rows.text(tr("contacts.no_line_yet"));
  if (!state.next) return rows.text(tr("contacts.none_due"));
  const auto& next = *state.next;
  const double left = next.utc_s - session.now().utc_s;
  const std::string in = left < 90 ? tr("contacts.seconds", {number(std::max(0.0, left))})
                                   : hours_minutes(left / 3600);
  const std::string key = std::string("contacts.due.") +
                          (next.body == horizon::Body::sun ? "sun" : "moon") +
                          (next.came ? "_comes" : "_goes");
  const std::string words = tr(key, {clock_text(app, next.utc_s), in, behind(session, next)});
  if (left < kSoon_s)
    rows.strong(words);
  else
    rows.text(words);
}

// By the volume key: the other way than the last one.
bool usual_way(const Session& session, const ContactsState& state, horizon::Body body) {
  const auto* at = session.skyline();
  if (at)
    for (std::size_t i = at->contacts.evidence.size(); i-- > 0;) {
      const auto& reading = at->contacts.evidence[i].reading;
      if (reading.body == body && !at->contacts.origins[i].diary &&
          std::abs(session.now().utc_s - reading.utc_s) < 12 * 3600)
        return !reading.came;
    }
  return state.next && state.next->came;
}

void touches(TouchApp& app, Column& rows) {
  Session& session = app.session();
  ContactsState& state = app.states().contacts;
  Ui& ui = app.ui();
  const auto body = state.night ? horizon::Body::moon : horizon::Body::sun;
  const std::string who = state.night ? "moon" : "sun";
  // The sun's disc is never looked at: only what light and shadow tell is offered.
  using horizon::Touch;
  const Touch sun[] = {Touch::edge, Touch::shadow},
              moon[] = {Touch::edge, Touch::half, Touch::whole};
  const auto offered = state.night ? std::span<const Touch>(moon) : std::span<const Touch>(sun);
  std::vector<std::string> names;
  int seen = 0;
  for (std::size_t i = 0; i < offered.size(); ++i) {
    names.push_back(tr("contacts." + who + "_by_" + std::string(horizon::name_of(offered[i]))));
    if (offered[i] == state.touch) seen = static_cast<int>(i);
  }
  rows.choices(tr("contacts.by"), names, seen);
  state.touch = offered[static_cast<std::size_t>(seen)];
  const Rect row = rows.row(std::max(84.f, ui.sp(84)));
  const float half = (row.w - 10) / 2;
  std::optional<bool> came;
  if (button(ui, tr("contacts." + who + "_gone"), {row.x, row.y, half, row.h}, ButtonLook::main))
    came = false;
  if (button(ui, tr("contacts." + who + "_back"), {row.x + half + 10, row.y, half, row.h},
             ButtonLook::main))
    came = true;
  if (app.take_mark_key()) came = usual_way(session, state, body);
  if (!came) return;
  if (session.add_contact(body, state.touch, *came))
    app.say_once_kept(tr("contacts.kept", {tr("contacts." + who + (*came ? "_back" : "_gone")),
                                           clock_text(app, session.now().utc_s)}));
}

std::string name_of_contact(TouchApp& app, const horizon::ContactReading& reading) {
  return clock_text(app, reading.utc_s) + " " +
         tr("contacts." + std::string(horizon::name_of(reading.body)) +
            (reading.came ? "_back" : "_gone"));
}

// What is not used stands where it is seen at once, the newest with its reason.
void refused_rows(TouchApp& app, Column& rows) {
  const auto* at = app.session().skyline();
  if (!at) return;
  const auto& contacts = at->contacts;
  int refused = 0;
  std::string newest;
  for (std::size_t i = 0; i < contacts.evidence.size(); ++i) {
    const auto& fitted = contacts.fit.contacts[i];
    if (contacts.origins[i].diary || fitted.used()) continue;
    newest = name_of_contact(app, contacts.evidence[i].reading) + ": " + words_of(fitted.why);
    ++refused;
  }
  if (!contacts.notes.empty()) rows.caution(in_words(contacts.notes.back()));
  if (refused == 1) rows.caution(newest);
  if (refused > 1) rows.caution(tr("contacts.refused_many", {number(double(refused)), newest}));
}

void clock_rows(TouchApp& app, Column& rows) {
  Session& session = app.session();
  ContactsState& state = app.states().contacts;
  rows.heading(tr("contacts.clock"));
  rows.text(session.clock_ahead_s ? tr("contacts.clock_known", {number(*session.clock_ahead_s, 1)})
            : session.receiver_ahead_s
                ? tr("contacts.clock_receiver", {number(*session.receiver_ahead_s, 1)})
                : tr("contacts.clock_unknown", {number(survey::kUncheckedClock_s)}));
  rows.number_field(tr("contacts.clock_ahead"), state.clock, "-3600 … 3600 s");
  const auto value = survey::number_of(state.clock);
  const bool sound = value && std::abs(*value) <= 3600;
  if (!state.clock.empty() && !sound) rows.caution(tr("contacts.clock_bad"));
  if (!rows.button(tr("contacts.clock_use"), ButtonLook::plain, sound)) return;
  session.clock_ahead_s = *value;
  state.clock.clear();
}

void list_rows(TouchApp& app, Column& rows) {
  Session& session = app.session();
  const auto* at = session.skyline();
  if (!at || (!at->contacts.any() && at->contacts.notes.empty())) return;
  rows.heading(tr("contacts.list"));
  for (const auto& note : at->contacts.notes) rows.caution(in_words(note));
  const auto& contacts = at->contacts;
  int shown = 0;
  for (std::size_t i = contacts.evidence.size(); i-- > 0 && shown < 40;) {
    if (contacts.origins[i].diary) continue;
    ++shown;
    const auto& fitted = contacts.fit.contacts[i];
    const auto& reading = contacts.evidence[i].reading;
    const std::string name = name_of_contact(app, reading);
    if (fitted.used())
      rows.fact(name, number(fitted.contact->azimuth.degrees(), 1) + "° / " +
                          number(fitted.contact->elevation.degrees(), 2) + "° ± " +
                          number(fitted.contact->line_sigma_deg, 2) + "°");
    else
      rows.caution(name + ": " + words_of(fitted.why));
    if (rows.button(tr("contacts.take_out", {name}), ButtonLook::quiet)) {
      (void)session.void_contact(contacts.origins[i].row);
      return;
    }
  }
  for (const auto& d : contacts.disagreements)
    rows.caution(tr("contacts.against", {contacts.origins[std::size_t(d.contact)].name,
                                         number(std::abs(d.off_deg), 1)}));
}

}  // namespace

void contacts_screen(TouchApp& app, Rect area) {
  const Rect page = titled(app, area);
  Session& session = app.session();
  scrolling(app, tr("contacts.title"), page, [&](Column& rows) {
    const auto* at = session.skyline();
    const bool begun = at && std::ranges::any_of(at->contacts.origins, std::logical_not<>{},
                                                 &survey::StationContacts::Origin::diary);
    rows.caution(tr(begun ? "contacts.caution_short" : "contacts.caution"));
    if (!session.has_position()) {
      rows.strong(tr("contacts.position_first"));
      return;
    }
    refused_rows(app, rows);
    countdown(app, rows);
    touches(app, rows);
    if (rows.button(tr("contacts.undo"), ButtonLook::plain, begun))
      if (session.undo_contact()) app.say(tr("contacts.undone"));
    if (rows.button(tr("diary.open"), ButtonLook::strong)) app.go(ScreenId::diary);
    clock_rows(app, rows);
    list_rows(app, rows);
  });
}

}  // namespace app
