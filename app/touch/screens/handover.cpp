// app/touch/screens/handover.cpp: what is missing, and the files for the designer.
#include <algorithm>

#include "app/handover/printable.h"
#include "app/touch/screens/screens.h"
#include "app/touch/session/handover_job.h"
#include "app/words/letters.h"
#include "app/words/words.h"

namespace app {
namespace {

struct Missing {
  std::string what;
  ScreenId where;
};

// Where each stop's tasks are done, and the tasks with a screen of their own.
ScreenId screen_of(survey::Stop stop, std::string_view task) {
  constexpr std::pair<std::string_view, ScreenId> kOwn[] = {
      {"task.heading_checks", ScreenId::check},
      {"task.photos", ScreenId::photos},
      {"task.percolation", ScreenId::percolation},
      {"task.climate", ScreenId::climate},
      {"task.facing", ScreenId::design}};
  for (const auto& [key, screen] : kOwn)
    if (key == task) return screen;
  return ScreenId(int(ScreenId::arrive) + int(stop));
}

std::vector<Missing> missing(TouchApp& app) {
  std::vector<Missing> all;
  for (const survey::StopProgress& stop : app.progress()) {
    if (stop.stop == survey::Stop::hand_over) break;  // done by this screen
    for (const survey::Task& task : stop.tasks) {
      if (task.done) continue;
      const ScreenId where = screen_of(stop.stop, task.key);
      if (task.key == "task.open_stretches" && task.part > 0) {
        for (const auto& open : app.session().mask().open_stretches())
          all.push_back(
              {tr("handover.skyline_open", {degree_range(open.from_deg, open.to_deg)}), where});
      } else {
        all.push_back({sentence_case(tr(task.key)), where});
      }
    }
  }
  return all;
}

// Texts that the report could not print; looked up again when the book has changed.
const std::vector<std::string>& letters_to_tell(Session& session) {
  static std::vector<std::string> words;
  static std::string known;
  const std::string now = session.book().path() + std::to_string(session.book().change_count());
  if (known == now) return words;
  known = now;
  words.clear();
  constexpr std::size_t kMost = 3;
  for (const Unprintable& each : unprintable_texts(session.book()))
    if (words.size() < kMost)
      words.push_back(tr("error.letters_without_font", {each.letters, each.text}));
  return words;
}

// What the running hand-over came to, whether or not its card is in sight.
void take_what_is_made(TouchApp& app) {
  Session& session = app.session();
  HandOverState& state = app.states().handover;
  const auto done = session.handover_job().take();
  if (!done || state.site != session.site().id) return;  // of a site that was left meanwhile
  if (*done) {
    state.made = **done;
    state.problem.clear();
    session.devices().feedback->give(platform::Signal::done);
  } else {
    state.problem = in_words(done->error());
  }
}

void files(TouchApp& app, Column& rows) {
  Session& session = app.session();
  HandOverState& state = app.states().handover;
  rows.heading(tr("handover.files_designer"));
  rows.text(tr("handover.report_read_package_all_files"));
  for (const std::string& words : letters_to_tell(session)) rows.caution(words);
  rows.tick(tr("people.hand_over"), state.people, tr("people.hand_over_note"));
  HandOverJob& job = session.handover_job();
  if (job.running()) {
    rows.fact(tr("handover.working"), percent(job.part()));
    rows.text(job.doing());
    if (rows.button(tr("touch.cancel"), ButtonLook::plain)) job.cancel();
    return;
  }
  if (!state.problem.empty()) rows.caution(state.problem);
  if (!state.made.empty()) {
    if (state.made_for != session.book().change_count()) rows.caution(tr("handover.changed_since"));
    rows.strong(tr("handover.done_files_here"));
    auto& share = *session.devices().share;
    const auto hand_on = [&](const std::string& path, const std::string& words) {
      if (!rows.button(words, ButtonLook::strong, true, Icon::folder)) return;
      const std::string problem = share.share(path);
      if (!problem.empty()) app.say(tr(problem));
    };
    for (const auto& path : state.made) {
      if (share.one_by_one())
        hand_on(path, tr(share.verb()) + ": " + path.substr(path.rfind('/') + 1));
      else
        rows.text(path);
    }
    if (!share.one_by_one() && share.available()) hand_on(state.made.front(), tr(share.verb()));
  }
}

}  // namespace

void handover_screen(TouchApp& app, Rect area) {
  take_what_is_made(app);
  Ui& ui = app.ui();
  Session& session = app.session();
  HandOverState& state = app.states().handover;
  if (state.made_for != session.book().change_count()) state.problem.clear();
  const float foot = 80;
  const Rect room{area.x, area.y, area.w, area.h - foot};
  const auto left = [&](Column& rows) {
    in_card(ui, rows, "missing", [&](Column& c) {
      const auto all = missing(app);
      c.heading(all.empty() ? tr("handover.nothing_missing") : tr("handover.still_missing"));
      if (all.empty()) c.text(tr("handover.position_skyline_ground_climate_photos"));
      for (const auto& each : all)
        if (c.button(each.what, ButtonLook::plain)) app.go(each.where);
      if (!all.empty()) c.text(tr("handover.you_can_hand_over_all"));
    });
  };
  const auto right = [&](Column& rows) {
    in_card(ui, rows, "files", [&](Column& c) { files(app, c); });
    rows.caution(tr("handover.report_evidence_not_design_loads"));
  };
  if (area.w > 760) {
    const float half = room.w / 2;
    scrolling(app, "Hand over left", {room.x, room.y, half, room.h}, left);
    scrolling(app, "Hand over right", {room.x + half, room.y, half, room.h}, right);
  } else {
    scrolling(app, "Hand over rows", room, [&](Column& rows) {
      if (!state.made.empty() || !state.problem.empty() || session.handover_job().running()) {
        right(rows);
        left(rows);
      } else {
        left(rows);
        right(rows);
      }
    });
  }
  hairline(ui, area.x, room.bottom(), area.w);
  const float width = std::min(area.w - 32, 520.f);
  const bool running = session.handover_job().running();
  if (button(ui, state.made.empty() ? tr("touch.make_files") : tr("handover.make_files_again"),
             {area.x + (area.w - width) / 2, room.bottom() + 10, width, 60}, ButtonLook::main,
             !running)) {
    state.made.clear();
    state.problem.clear();
    state.site = session.site().id;
    state.made_for = session.book().change_count();
    // What it comes to stands first, above whatever was being read.
    ui.scroll_to_top("Hand over rows");
    ui.scroll_to_top("Hand over right");
    session.start_handover(state.people);
  }
}

}  // namespace app
