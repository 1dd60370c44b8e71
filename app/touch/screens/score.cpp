// app/touch/screens/score.cpp: what the practice came to: points, what was off, by how much, what it would cost.
#include "app/touch/practice/score.h"

#include <algorithm>
#include <cmath>

#include "app/touch/practice/valley.h"
#include "app/touch/screens/screens.h"
#include "app/words/words.h"
#include "survey/assess/station_input.h"

namespace app {
namespace {

std::string miss_words(const MissFound& miss) {
  const std::string where = degree_range(miss.from_deg, miss.to_deg);
  switch (miss.miss) {
    case Miss::turned:
      return tr(miss.by_deg > 0 ? "score.turned_right" : "score.turned_left",
                {number(std::fabs(miss.by_deg), 1)});
    case Miss::open:
      return tr("score.open", {where});
    case Miss::kind:
      return tr("score.kind", {where, kind_label(miss.was), kind_label(miss.marked)});
    case Miss::high:
      return tr("score.high", {where, number(miss.by_deg, 1)});
    case Miss::low:
      break;
  }
  return tr("score.low", {where, number(miss.by_deg, 1)});
}

std::string cure_words(Miss miss) {
  constexpr const char* kCures[] = {"score.cure.turned", "score.cure.open", "score.cure.kind",
                                    "score.cure.height", "score.cure.height"};
  return tr(kCures[int(miss)]);
}

std::string cost_words(double hours) {
  if (std::fabs(hours) < 1) return tr("score.costs_nothing");
  return tr(hours > 0 ? "score.costs_more" : "score.costs_less", {number(std::fabs(hours))});
}

}  // namespace

void score_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  PracticeState& state = app.states().practice;
  const Rect room = titled(app, area);
  scrolling(app, "Score rows", room, [&](Column& rows) {
    if (!session.practice() || !session.skyline() || session.marks() == 0)
      return rows.text(tr("score.none"));
    if (state.scored_for != session.book().change_count() || !state.score) {
      const auto settings = survey::site_settings(session.book());
      if (!settings) return rows.caution(in_words(settings.error()));
      state.score = std::make_shared<const Score>(
          score_of(valley_skyline(), session.skyline()->skyline(),
                   survey::station_input(*settings, *session.skyline())));
      state.scored_for = session.book().change_count();
    }
    const Score& score = *state.score;
    rows.title(tr("score.points", {number(score.points)}));
    rows.strong(tr("score.hours", {number(score.told_h), number(score.true_h)}));
    if (score.misses.empty()) rows.text(tr("score.full"));
    for (const auto& miss : score.misses)
      in_card(app.ui(), rows, "miss " + miss_words(miss), [&](Column& c) {
        c.strong(miss_words(miss));
        c.text(cost_words(miss.cost_h));
        c.text(cure_words(miss.miss));
      });
    if (rows.button(tr("practice.again"), ButtonLook::strong)) {
      if (session.start_practice()) {
        app.states().practice = {};
        app.states().skyline = {};
        app.states().check = {};
        app.go(ScreenId::arrive);
      }
      return;
    }
    rows.text(tr("practice.apart"));
  });
}

}  // namespace app
