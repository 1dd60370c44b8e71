// app/touch/screens/check_history.cpp: what the heading checks of this instrument say together, and each
// of them, to be looked at and taken out.
#include <algorithm>
#include <cmath>

#include "app/touch/screens/check_parts.h"
#include "app/words/words.h"

namespace app {
namespace {

std::string signed_degrees(double value) {
  return (value < 0 ? "−" : "+") + number(std::fabs(value), 1) + "°";
}

std::string kind_words(horizon::CheckKind kind) {
  switch (kind) {
    case horizon::CheckKind::landmark:
      return tr("Landmark");
    case horizon::CheckKind::sun_shadow:
      return tr("Sun's shadow");
    case horizon::CheckKind::back_bearing:
      return tr("Back bearing");
    case horizon::CheckKind::terrain:
      return tr("Terrain");
    case horizon::CheckKind::contact:
      return tr("check.contact");
    case horizon::CheckKind::entered:
      break;
  }
  return tr("Entered");
}

void voided_rows(TouchApp& app, Column& rows) {
  Session& session = app.session();
  int n = 0;
  for (survey::HeadingCheckRow check : session.checks()) {
    if (!check.voided || check.instrument != session.instrument_name()) continue;
    if (n++ == 0) rows.text(tr("Taken out; they stay in the file as voided:"));
    const std::string name = check.label.empty() ? kind_words(check.kind) : check.label;
    if (!rows.button(tr("Bring back check {0}: {1}", {number(double(n)), name}), ButtonLook::quiet,
                     true, Icon::undo))
      continue;
    check.voided.reset();
    check.void_reason.clear();
    if (auto put = session.book().put(std::move(check)); !put) app.say(in_words(put.error()));
    session.changed();
    return;
  }
}

}  // namespace

void history_rows(TouchApp& app, Column& rows) {
  Session& session = app.session();
  const auto* at = session.skyline();
  if (!at) return;
  const survey::InstrumentHeading* mine = nullptr;
  for (const auto& each : at->instruments)
    if (each.instrument == session.instrument_name()) mine = &each;
  rows.heading(tr("Checks of this compass here"));
  if (!mine || mine->checks.empty()) {
    voided_rows(app, rows);
    rows.text(tr("None yet: bearings are taken as good to ± {0}°.",
                 {number(session.heading_sigma_deg(), 0)}));
    return;
  }
  const auto& all = mine->correction;
  rows.fact(tr("Together: added to each bearing"),
            signed_degrees(all.offset_deg) + " ± " + number(all.sigma_deg, 1) + "°");
  if (all.disputed)
    rows.caution(
        tr("The checks disagree by more than their errors. Take a third to tell which is wrong."));
  for (std::size_t i = 0; i < mine->checks.size(); ++i) {
    const auto row = session.book().get<survey::HeadingCheckRow>(mine->checks[i]);
    if (!row) continue;
    const bool left_out = std::any_of(all.rejected.begin(), all.rejected.end(),
                                      [&](const auto& r) { return r.index == int(i); });
    const double own = all.offset_deg + (i < all.residual_deg.size() ? all.residual_deg[i] : 0);
    rows.fact((row->label.empty() ? kind_words(row->kind) : row->label),
              signed_degrees(own) + " ± " +
                  number(std::hypot(row->bearing_sigma_deg, row->known_sigma_deg), 1) + "°");
    if (left_out)
      rows.caution(tr("Left out: it does not fit the others. Repeat it, or take it out."));
    const std::string name = tr("Take out check {0}", {number(double(i + 1))});
    if (rows.button(name, ButtonLook::quiet)) {
      if (auto gone =
              session.book().void_check(row->id, "taken out by the observer", session.now());
          !gone)
        app.say(in_words(gone.error()));
      session.changed();
      return;
    }
  }
  voided_rows(app, rows);
}

}  // namespace app
