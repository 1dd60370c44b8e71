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
      return tr("touch.landmark");
    case horizon::CheckKind::sun_shadow:
      return tr("check.sun_shadow_13");
    case horizon::CheckKind::back_bearing:
      return tr("touch.back_bearing");
    case horizon::CheckKind::terrain:
      return tr("check.terrain_13");
    case horizon::CheckKind::contact:
      return tr("check.contact");
    case horizon::CheckKind::entered:
      break;
  }
  return tr("check.entered_13");
}

void voided_rows(TouchApp& app, Column& rows) {
  Session& session = app.session();
  int n = 0;
  for (survey::HeadingCheckRow check : session.checks()) {
    if (!check.voided || check.instrument != session.instrument_name()) continue;
    if (n++ == 0) rows.text(tr("check.taken_out_they_stay_file"));
    const std::string name = check.label.empty() ? kind_words(check.kind) : check.label;
    if (!rows.button(tr("check.bring_back_check", {number(double(n)), name}), ButtonLook::quiet,
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
  rows.heading(tr("check.checks_compass_here"));
  if (!mine || mine->checks.empty()) {
    voided_rows(app, rows);
    rows.text(tr("check.none_yet_bearings_taken_good", {number(session.heading_sigma_deg(), 0)}));
    return;
  }
  const auto& all = mine->correction;
  rows.fact(tr("check.together_added_each_bearing"),
            signed_degrees(all.offset_deg) + " ± " + number(all.sigma_deg, 1) + "°");
  if (all.disputed) rows.caution(tr("check.checks_disagree_more_than_their"));
  for (std::size_t i = 0; i < mine->checks.size(); ++i) {
    const auto row = session.book().get<survey::HeadingCheckRow>(mine->checks[i]);
    if (!row) continue;
    const bool left_out = std::any_of(all.rejected.begin(), all.rejected.end(),
                                      [&](const auto& r) { return r.index == int(i); });
    const double own = all.offset_deg + (i < all.residual_deg.size() ? all.residual_deg[i] : 0);
    rows.fact((row->label.empty() ? kind_words(row->kind) : row->label),
              signed_degrees(own) + " ± " +
                  number(std::hypot(row->bearing_sigma_deg, row->known_sigma_deg), 1) + "°");
    if (left_out) rows.caution(tr("check.left_out_does_not_fit"));
    const std::string name = tr("check.take_out_check", {number(double(i + 1))});
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
