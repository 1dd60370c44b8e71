#include "app/touch/screens/skyline_sheets.h"

#include <algorithm>
#include <array>

#include "app/drawing/shapes.h"
#include "app/words/words.h"
#include "survey/book/text.h"

namespace app {
namespace {

void digits(Ui& ui, Rect where, std::string& value, bool sign) {
  const std::array<const char*, 12> keys{"7", "8", "9", "4", "5", "6",
                                         "1", "2", "3", "−", "0", "."};
  const float gap = 6, width = (where.w - 2 * gap) / 3, height = (where.h - 3 * gap) / 4;
  for (int i = 0; i < 12; ++i) {
    const Rect key{where.x + float(i % 3) * (width + gap), where.y + float(i / 3) * (height + gap),
                   width, height};
    const bool minus = i == 9;
    if (minus && !sign) {
      if (button_as(ui, "Delete", "⌫", key)) {
        if (!value.empty()) value.pop_back();
      }
      continue;
    }
    if (!button_as(ui, std::string("Key ") + (minus ? "-" : keys[std::size_t(i)]),
                   keys[std::size_t(i)], key))
      continue;
    if (minus)
      value = value.starts_with('-') ? value.substr(1) : "-" + value;
    else if (value.size() < 7)
      value += keys[std::size_t(i)];
  }
}

}  // namespace

void keypad_sheet(TouchApp& app, Rect area) {
  Ui& ui = app.ui();
  Session& session = app.session();
  SkylineState& s = app.states().skyline;
  const Theme& t = ui.theme();
  const bool low = ui.page().h < 480;
  const Rect sheet = sheet_over(ui, area, low ? 1000 : 470 + ui.sp(40), low ? 620 : 480);
  const Rect in = sheet.inset(12);
  const float top_width = low ? in.w * 0.46f : in.w;
  Rect boxes{in.x, in.y, top_width, 64};
  const float half = (boxes.w - 8) / 2;
  const auto value_box = [&](int field, const std::string& name, const std::string& value,
                             Rect box) {
    const bool here = s.field == field;
    if (ui.tap(name, box)) s.field = field;
    ui.canvas().fill(rounded(box, 12), {here ? t.amber_soft : t.paper});
    ui.canvas().stroke(rounded(box.inset(1), 11), {here ? t.ink : t.rule, here ? 2.f : 1.f});
    const TextStyle small = ui.fitted(name, ui.style(13, here ? t.ink : t.quiet), box.w - 20, 9);
    ui.words({box.x + 10, box.y + 6, box.w - 20, 18}, name, small);
    ui.words({box.x + 10, box.y + 24, box.w - 20, 36}, value.empty() ? "–" : value + "°",
             ui.style(24, t.ink, Weight::semibold));
  };
  value_box(0, s.back_bearing ? tr("Bearing back from it") : tr("Bearing to it"), s.bearing,
            {boxes.x, boxes.y, half, 64});
  value_box(1, tr("Elevation"), s.elevation, {boxes.x + half + 8, boxes.y, half, 64});
  float y = boxes.bottom() + 8;
  const Rect fore{in.x, y, half, 48}, back{in.x + half + 8, y, half, 48};
  if (choice(ui, tr("Fore bearing"), tr("Fore bearing"), fore, !s.back_bearing))
    s.back_bearing = false;
  if (choice(ui, tr("Back bearing"), tr("Back bearing"), back, s.back_bearing))
    s.back_bearing = true;
  y += 56;
  const TextStyle small = ui.style(13.5f, s.problem.empty() ? t.quiet : t.warning);
  const std::string words = s.problem.empty() ? tr("Magnetic degrees, as read.") : s.problem;
  const float note = ui.sp(20);
  ui.words({in.x, y, top_width, note}, words, small);
  y += note + 6;
  const Rect pad = low ? Rect{in.x + top_width + 12, in.y, in.w - top_width - 12, in.h}
                       : Rect{in.x, y, in.w, std::min(280.f, in.bottom() - y - 68)};
  digits(ui, pad, s.field == 0 ? s.bearing : s.elevation, s.field == 1);
  const float third = low ? (top_width - 8) / 2 : in.w * 0.34f;
  const Rect close{in.x, in.bottom() - 60, third, 60};
  const Rect save{close.right() + 8, close.y,
                  (low ? in.x + top_width : in.right()) - close.right() - 8, 60};
  if (button(ui, tr("Close"), close)) s.keypad = false;
  const bool ready = s.field == 1 || !s.elevation.empty();
  if (!button(ui, ready ? tr("Mark it") : tr("Next"), save, ButtonLook::main, !s.bearing.empty()))
    return;
  if (!ready) {
    s.field = 1;
    return;
  }
  const auto bearing = survey::number_of(s.bearing), elevation = survey::number_of(s.elevation);
  if (!bearing || *bearing < 0 || *bearing > 360) {
    s.problem = tr("A bearing lies between 0 and 360.");
    s.field = 0;
  } else if (!elevation || *elevation < -30 || *elevation > 89) {
    s.problem = tr("An elevation lies between −30 and 89.");
    s.field = 1;
  } else if (session.mark_typed(*bearing, s.back_bearing, *elevation, horizon::Kind(s.kind),
                                s.label)) {
    s.bearing.clear();
    s.elevation.clear();
    s.problem.clear();
    s.field = 0;
  }
}

void mark_sheet(TouchApp& app, Rect area) {
  Ui& ui = app.ui();
  Session& session = app.session();
  SkylineState& s = app.states().skyline;
  const auto* skyline = session.skyline();
  if (!skyline || s.selected >= int(skyline->skyline().points.size())) {
    s.selected = -1;
    return;
  }
  const auto& point = skyline->skyline().points[std::size_t(s.selected)];
  const auto& obstacle = skyline->skyline().obstacles[std::size_t(point.obstacle)];
  const bool low = ui.page().h < 480;
  const Rect sheet = sheet_over(ui, area, low ? 330 : 296 + ui.sp(60), 560);
  Column rows(ui, sheet.inset(16), 8);
  rows.heading(number(point.azimuth.degrees(), 1) + "° · " + number(point.elevation.degrees(), 1) +
               "° · " + kind_label(obstacle.kind) +
               (obstacle.label.empty() ? "" : " · " + obstacle.label));
  const survey::Id id = point.source >= 0 && point.source < int(skyline->sightings.size())
                            ? skyline->sightings[std::size_t(point.source)]
                            : survey::Id();
  std::vector<std::string> names;
  for (int i = 0; i < horizon::kKindCount; ++i) names.push_back(kind_label(horizon::Kind(i)));
  int kind = int(obstacle.kind);
  if (rows.choices(tr("It is a"), names, kind))
    (void)session.change_mark(id, horizon::Kind(kind), {});
  const Rect pair = rows.row(56);
  const float half = (pair.w - 16) / 3;
  const int count = int(skyline->skyline().points.size());
  if (button(ui, tr("Next mark"), {pair.right() - half, pair.y, half, 56})) {
    // The next one clockwise.
    int best = -1;
    double nearest = 400;
    for (int i = 0; i < count; ++i) {
      const double by = horizon::wrap_360(
          skyline->skyline().points[std::size_t(i)].azimuth.degrees() - point.azimuth.degrees());
      if (i != s.selected && by > 0 && by < nearest) {
        nearest = by;
        best = i;
      }
    }
    if (best >= 0) {
      s.selected = best;
      s.follow = false;
      s.center_deg = skyline->skyline().points[std::size_t(best)].azimuth.degrees();
    }
  }
  if (button(ui, tr("Aim again"), {pair.x + half + 8, pair.y, half, 56}, ButtonLook::plain,
             !point.computed && session.settings.instrument == Instrument::device)) {
    s.moving = id;
    s.selected = -1;
    app.say(tr("Aim at its true place and touch Mark: the mark moves there."));
    return;
  }
  if (button(ui, tr("Void this mark"), {pair.x, pair.y, half, 56}, ButtonLook::warning)) {
    if (session.void_mark(id)) app.say(tr("Voided. The reading stays in the file."));
    s.selected = -1;
    return;
  }
  if (rows.button(tr("Close"), ButtonLook::quiet)) s.selected = -1;
}

void label_sheet(TouchApp& app, Rect area) {
  Ui& ui = app.ui();
  SkylineState& s = app.states().skyline;
  const auto known = app.session().labels(horizon::Kind(s.kind));
  const Rect sheet = sheet_over(ui, area, 150 + ui.sp(50) + (known.empty() ? 0 : 70), 560);
  Column rows(ui, sheet.inset(16), 8);
  rows.field(tr("Name of this {0}, for all that follow", {kind_label(horizon::Kind(s.kind))}),
             s.label, tr("West ridge, spruces, barn"));
  if (!known.empty()) {
    int chosen = -1;
    std::vector<std::string> few(
        known.begin(), known.begin() + std::min<std::ptrdiff_t>(3, std::ptrdiff_t(known.size())));
    if (rows.choices({}, few, chosen)) {
      s.label = few[std::size_t(chosen)];
      s.label_open = false;
      ui.blur();
    }
  }
  if (rows.button(tr("Done"), ButtonLook::strong)) {
    s.label_open = false;
    ui.blur();
  }
}

}  // namespace app
