#include "app/touch/practice/coach.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/touch/practice/valley.h"
#include "app/words/words.h"

namespace app {
namespace {

constexpr double kStride_deg = 8;

bool checked(const Session& session) {
  return std::any_of(session.checks().begin(), session.checks().end(),
                     [](const auto& c) { return !c.voided; });
}

std::string check_words(TouchApp& app) {
  const CheckState& state = app.states().check;
  if (app.screen() != ScreenId::arrive && app.screen() != ScreenId::check)
    return tr("coach.touch", {tr("touch.arrive")});
  if (app.screen() == ScreenId::arrive) return tr("coach.check", {tr("touch.check_compass")});
  if (state.doubt) return tr("coach.doubt", {tr("touch.throw_check_away")});
  if (state.kind != 1) return tr("coach.landmark", {tr("touch.landmark")});
  if (state.name != tr("practice.chapel")) return tr("coach.chapel", {tr("practice.chapel")});
  const double off =
      horizon::wrap_180(chapel_bearing_deg() - app.session().practice()->azimuth_deg);
  if (std::fabs(off) > 0.3) return tr("coach.turn_chapel", {degrees(chapel_bearing_deg())});
  return tr("coach.take", {tr("touch.take_check")});
}

}  // namespace

std::optional<double> next_to_aim(TouchApp& app) {
  Session& session = app.session();
  if (!session.skyline()) return {};
  const auto& points = session.skyline()->skyline().points;
  if (points.empty()) return 180.0;
  // Steps round the compass, and the edges of what stands before the ridge.
  for (double step = 0; step < 360; step += 1) {
    const double az = horizon::wrap_360(180 + step);
    const bool edge = valley_kind(az) != valley_kind(horizon::wrap_360(az - 1)) ||
                      valley_kind(az) != valley_kind(horizon::wrap_360(az + 1));
    const bool wanted = edge || std::fmod(step, kStride_deg) < 0.5 || std::fabs(az - 133) < 0.5;
    if (!wanted) continue;
    const bool there = std::any_of(points.begin(), points.end(), [&](const auto& p) {
      return std::fabs(horizon::wrap_180(p.azimuth.degrees() - az)) < (edge ? 0.8 : 3.0);
    });
    if (!there) return az;
  }
  return {};
}

std::string coach_words(TouchApp& app) {
  Session& session = app.session();
  if (!session.has_position()) return tr("coach.position");
  if (!checked(session)) return check_words(app);
  if (const auto next = next_to_aim(app)) {
    if (app.screen() != ScreenId::skyline) return tr("coach.touch", {tr("touch.skyline")});
    const Practice& me = *session.practice();
    if (std::fabs(horizon::wrap_180(*next - me.azimuth_deg)) > 0.3)
      return tr("coach.turn", {degrees(*next)});
    const auto kind = valley_kind(*next);
    if (int(kind) != app.states().skyline.kind) return tr("coach.kind", {kind_label(kind)});
    if (std::fabs(me.elevation_deg - valley_elevation_deg(*next)) > 0.3) return tr("coach.edge");
    return tr("coach.mark", {tr("touch.mark")});
  }
  if (app.states().practice.score) {  // it was seen; what is left is to hand over
    if (!app.states().handover.made.empty()) return tr("coach.done");
    if (app.screen() != ScreenId::handover) return tr("coach.handover", {tr("touch.hand_over")});
    return session.handover_job().running() ? tr("coach.wait")
                                            : tr("coach.make", {tr("touch.make_files")});
  }
  if (app.screen() != ScreenId::light && !app.states().practice.light_seen)
    return tr("coach.light", {tr("touch.light")});
  app.states().practice.light_seen = true;
  return tr("coach.score", {tr("practice.score")});
}

Rect practice_strip(TouchApp& app, Rect area) {
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  Practice& me = *app.session().practice();
  const TextStyle style = ui.style(15, t.on_ink), head = ui.style(13, t.on_ink, Weight::semibold);
  const std::string words = coach_words(app);
  const bool sun = app.screen() == ScreenId::contacts || app.screen() == ScreenId::diary;
  const float side = std::min(area.w * 0.3f, 130.f), width = area.w - side - 32;
  const float text = ui.paragraph_height(width, words, style), line = ui.sp(19);
  const Rect strip{area.x, area.y, area.w, std::max(2 * kTouch + 12, text + line + 14)};
  ui.canvas().fill(rectangle(strip), {t.night});
  ui.canvas().fill(rectangle({strip.x, strip.y, 5, strip.h}), {t.amber});
  std::string title = tr("practice.title");
  if (sun)
    title += " · " + tr(valley_sun(app.session().now().utc_s) ? "practice.lit" : "practice.shade");
  ui.words({strip.x + 14, strip.y + 5, width, line}, title, ui.fitted(title, head, width, 9));
  ui.paragraph({strip.x + 14, strip.y + 5 + line, width, text}, words, style);
  const Rect upper{strip.right() - side - 8, strip.y + 4, side, kTouch},
      lower{upper.x, upper.bottom() + 4, side, kTouch};
  if (sun) {
    if (button(ui, tr("practice.later"), upper)) me.skipped_s += 600;
  } else if (button(ui, tr("practice.aside"), upper, ButtonLook::plain, me.iron)) {
    me.iron = false;
    app.say(tr("practice.stepped"));
  }
  if (button(ui, tr("practice.score"), lower, ButtonLook::plain) && app.screen() != ScreenId::score)
    app.go(ScreenId::score);
  return {area.x, strip.bottom(), area.w, area.h - strip.h};
}

}  // namespace app
