// app/touch/screens/handover.cpp: what is missing, and the files for the designer.
#include <algorithm>

#include "app/touch/screens/screens.h"
#include "app/touch/session/handover_job.h"
#include "app/words/words.h"

namespace app {
namespace {

struct Missing {
  std::string what;
  ScreenId where;
};

std::vector<Missing> missing(TouchApp& app) {
  Session& session = app.session();
  std::vector<Missing> all;
  if (!session.has_position()) all.push_back({tr("The position of the station"), ScreenId::arrive});
  int checks = 0;
  for (const auto& check : session.checks()) checks += check.voided ? 0 : 1;
  if (checks < 2)
    all.push_back({tr("Heading checks: {0} of 2", {number(checks)}), ScreenId::check});
  if (const auto* visit = session.visit()) {
    if (visit->people.empty()) all.push_back({tr("Who was there"), ScreenId::arrive});
    if (visit->weather.empty()) all.push_back({tr("The weather"), ScreenId::arrive});
  }
  if (session.marks() == 0) {
    all.push_back({tr("The skyline"), ScreenId::skyline});
  } else {
    for (const auto& open : session.mask().open_stretches())
      all.push_back({tr("Skyline open at {0}", {degree_range(open.from_deg, open.to_deg)}),
                     ScreenId::skyline});
  }
  if (auto pits = session.book().all<survey::SoilPit>(); pits && pits->empty())
    all.push_back({tr("A soil pit"), ScreenId::ground});
  if (auto tests = session.book().all<survey::PercolationReading>(); tests && tests->size() < 2)
    all.push_back({tr("A percolation test"), ScreenId::percolation});
  if (auto photos = session.book().all<survey::Photo>(); photos && photos->size() < 2)
    all.push_back(
        {tr("Photos: {0} of 2 or more", {number(double(photos->size()))}), ScreenId::photos});
  return all;
}

void files(TouchApp& app, Column& rows) {
  Session& session = app.session();
  HandOverState& state = app.states().handover;
  rows.heading(tr("Files for the designer"));
  rows.text(tr("A report to read, and a package with all files to work with."));
  HandOverJob& job = session.handover_job();
  if (job.running()) {
    rows.fact(tr("Working"), percent(job.part()));
    rows.text(job.doing());
    if (rows.button(tr("Cancel"), ButtonLook::plain)) job.cancel();
    return;
  }
  if (auto done = job.take()) {
    if (*done) {
      state.made = **done;
      state.problem.clear();
      session.devices().feedback->give(platform::Signal::done);
    } else {
      state.problem = in_words(done->error());
    }
  }
  if (!state.problem.empty()) rows.caution(state.problem);
  if (!state.made.empty()) {
    rows.strong(tr("Done. The files are here:"));
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
  Ui& ui = app.ui();
  Session& session = app.session();
  HandOverState& state = app.states().handover;
  const float foot = 80;
  const Rect room{area.x, area.y, area.w, area.h - foot};
  const auto left = [&](Column& rows) {
    in_card(ui, rows, "missing", [&](Column& c) {
      const auto all = missing(app);
      c.heading(all.empty() ? tr("Nothing is missing") : tr("Still missing"));
      if (all.empty()) c.text(tr("Position, skyline, ground and photos are there."));
      for (const auto& each : all)
        if (c.button(each.what, ButtonLook::plain)) app.go(each.where);
      if (!all.empty())
        c.text(tr("You can hand over all the same: the report says what is not known."));
    });
  };
  const auto right = [&](Column& rows) {
    in_card(ui, rows, "files", [&](Column& c) { files(app, c); });
    rows.caution(
        tr("The report is evidence, not a design: loads, footings, frost, slopes and natural "
           "hazards are for local codes and licensed people."));
  };
  if (area.w > 760) {
    const float half = room.w / 2;
    scrolling(app, "Hand over left", {room.x, room.y, half, room.h}, left);
    scrolling(app, "Hand over right", {room.x + half, room.y, half, room.h}, right);
  } else {
    scrolling(app, "Hand over rows", room, [&](Column& rows) {
      if (!state.made.empty() || session.handover_job().running()) {
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
  if (button(ui, state.made.empty() ? tr("Make the files") : tr("Make the files again"),
             {area.x + (area.w - width) / 2, room.bottom() + 10, width, 60}, ButtonLook::main,
             !running)) {
    state.made.clear();
    state.problem.clear();
    session.start_handover();
  }
}

}  // namespace app
