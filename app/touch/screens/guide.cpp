#include "app/touch/screens/guide.h"

#include <algorithm>
#include <array>
#include <filesystem>

#include "app/drawing/shapes.h"
#include "app/handover/visit_sheet.h"
#include "app/words/words.h"
#include "survey/exchange/exchange.h"

namespace app {
namespace {

void print(TouchApp& app, int minutes) {
  auto& devices = app.session().devices();
  const auto bytes = visit_sheet(minutes, language(), Paper::a4);
  if (!bytes) return app.say(in_words(bytes.error()));
  const std::string folder = devices.files->handover_folder();
  std::error_code ignored;
  std::filesystem::create_directories(folder, ignored);
  const std::string path =
      folder + "/" + survey::safe_file_name(tr("guide.file", {number(double(minutes))})) + ".pdf";
  if (const auto written = survey::write_file(path, *bytes); !written)
    return app.say(in_words(written.error()));
  app.say(tr("guide.printed", {path}));
  if (devices.share->available()) (void)devices.share->share(path);
}

}  // namespace

void act_row(TouchApp& app, Column& rows, HowTo act) {
  Ui& ui = app.ui();
  const std::string words = tr("act." + name_of(act));
  const float side = std::clamp(rows.width() * 0.24f, 76.f, 110.f),
              width = rows.width() - side - 12;
  const TextStyle style = ui.style(15, ui.theme().ink);
  const float text = ui.paragraph_height(width, words, style);
  const Rect row = rows.row(std::max(side, text));
  const Rect box{row.x, row.y + (row.h - side) / 2, side, side};
  draw_act(ui.figure(box), box, act, ui.theme());
  ui.paragraph({row.x + side + 12, row.y + (row.h - text) / 2, width, text}, words, style);
}

void guide_screen(TouchApp& app, Rect area) {
  Ui& ui = app.ui();
  GuideState& state = app.states().guide;
  const Rect room = titled(app, area);
  const int minutes = kVisitTimes_min[state.time];
  const auto plan = [&](Column& c) {
    const std::array<std::string, 4> times{tr("guide.time_20"), tr("guide.time_45"),
                                           tr("guide.time_90"), tr("guide.time_180")};
    c.choices(tr("guide.time"), times, state.time);
    c.caution(tr("visit.first"));
    for (const auto& step : visit_plan(minutes)) {
      c.fact(tr("visit." + step.key), number(double(step.minutes)) + " " + tr("unit.min"));
      c.text(tr("visit." + step.key + ".how"));
    }
    if (c.button(tr("guide.print"), ButtonLook::strong)) print(app, minutes);
  };
  const auto rest = [&](Column& c) {
    c.heading(tr("bring.title"));
    for (const auto& key : visit_kit(minutes)) c.text("· " + tr("bring." + key));
    c.heading(tr("guide.acts"));
    for (int i = 0; i < kActCount; ++i) act_row(app, c, HowTo(i));
    c.caution(tr("visit.caution"));
    if (app.session().has_site() && c.button(tr("warn.again"))) {
      app.session().settings.warnings_read = false;
      ui.request_frame();
    }
  };
  if (area.w > 760) {
    const float half = room.w / 2;
    scrolling(app, "Guide left", {room.x, room.y, half, room.h}, plan);
    scrolling(app, "Guide right", {room.x + half, room.y, half, room.h}, rest);
    return;
  }
  scrolling(app, "Guide rows", room, [&](Column& c) {
    plan(c);
    rest(c);
  });
}

void warnings_screen(TouchApp& app, Rect page) {
  Ui& ui = app.ui();
  const float foot = 84;
  scrolling(app, "Warnings", {page.x, page.y, page.w, page.h - foot}, [&](Column& rows) {
    rows.title(tr("warn.title"));
    for (const char* key :
         {"warn.sun", "warn.slope", "warn.tree", "warn.dig", "warn.load", "warn.alone"})
      rows.caution(tr(key));
  });
  hairline(ui, page.x, page.bottom() - foot, page.w);
  const float width = std::min(page.w - 32, 520.f);
  if (!button(ui, tr("warn.read"),
              {page.x + (page.w - width) / 2, page.bottom() - foot + 10, width, 64},
              ButtonLook::main))
    return;
  app.session().settings.warnings_read = true;
  app.session().save_settings();
}

}  // namespace app
