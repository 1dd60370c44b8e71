#include "app/touch/screens/skyline_sheets.h"

#include <algorithm>
#include <array>

#include "app/drawing/shapes.h"
#include "app/words/words.h"
#include "survey/book/ranges.h"
#include "survey/book/text.h"

namespace app {
namespace {

constexpr std::size_t kMostFigures = 7;

void put_sign(std::string& value) {
  value = value.starts_with('-') ? value.substr(1) : "-" + value;
}

void put_figure(std::string& value, char c) {
  if (c == '.' && (value.find('.') != std::string::npos)) return;
  if (value.size() < kMostFigures) value += c;
}

// Figures, point, delete, and the sign where there is one: by finger or by the keyboard.
void digits(Ui& ui, Rect where, std::string& value, bool sign) {
  const float gap = 6, height = (where.h - 3 * gap) / 4;
  const auto key = [&](int column, int row, int columns) {
    const float width = (where.w - gap * float(columns - 1)) / float(columns);
    return Rect{where.x + float(column) * (width + gap), where.y + float(row) * (height + gap),
                width, height};
  };
  constexpr std::string_view kFigures = "789456123";
  for (int i = 0; i < 9; ++i) {
    const std::string figure(1, kFigures[std::size_t(i)]);
    if (button_as(ui, "Key " + figure, figure, key(i % 3, i / 3, 3))) put_figure(value, figure[0]);
  }
  const int last = sign ? 4 : 3;
  int at = 0;
  if (sign && button_as(ui, "Key -", "+/−", key(at++, 3, last))) put_sign(value);
  if (button_as(ui, "Key 0", "0", key(at++, 3, last))) put_figure(value, '0');
  if (button_as(ui, "Key .", tr("language.decimal_mark"), key(at++, 3, last)))
    put_figure(value, '.');
  if (button_as(ui, tr("Delete"), "⌫", key(at, 3, last)) && !value.empty()) value.pop_back();
  for (const char c : ui.loose_text()) {
    if (c == '-' && sign) put_sign(value);
    if (c != '-') put_figure(value, c);
  }
  if ((ui.loose_key(EditKey::backspace) || ui.loose_key(EditKey::remove)) && !value.empty())
    value.pop_back();
}

std::string shown_figures(std::string value) {
  survey::replace_all(value, "-", "−");
  survey::replace_all(value, ".", tr("language.decimal_mark"));
  return value;
}

// What a keypad's text is, or why it cannot be taken; nothing said while it may still grow.
struct Typed {
  std::optional<double> value;
  std::string problem;
};
Typed typed_angle(const std::string& text, std::string_view column, const char* words) {
  const auto range = survey::range_of("sighting", column);
  const auto value = survey::number_of(text);
  Typed out;
  if (text.empty() || text == "-" || text == "." || text == "-.") return out;
  if (!value || (range && !range->holds(*value)))
    out.problem = tr(words);
  else
    out.value = value;
  return out;
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
    ui.words({box.x + 10, box.y + 24, box.w - 20, 36},
             value.empty() ? "–" : shown_figures(value) + "°",
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
  const Typed bearing = typed_angle(s.bearing, "bearing_deg", "A bearing lies between 0 and 360."),
              elevation = typed_angle(s.elevation, "elevation_deg",
                                      "An elevation lies between −90 and 90.");
  // An elevation that is rare, but may be: asked about, kept at the second touch.
  const auto usual = survey::range_of("sighting", "elevation_deg");
  const bool odd = elevation.value && usual && !usual->likely(*elevation.value);
  const std::string problem =
      !bearing.problem.empty()     ? bearing.problem
      : !elevation.problem.empty() ? elevation.problem
      : odd ? tr("Is it really {0}°? Degrees, not percent.", {number(*elevation.value, 1)})
            : std::string();
  const TextStyle small = ui.style(13.5f, problem.empty() ? t.quiet : t.warning);
  const std::string words = problem.empty() ? tr("Magnetic degrees, as read.") : problem;
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
  if (button(ui, tr("Close"), close)) {
    s.keypad = false;
    // What cannot be an angle does not wait for the next time.
    if (!bearing.problem.empty()) s.bearing.clear();
    if (!elevation.problem.empty()) s.elevation.clear();
    return;
  }
  const bool ready = s.field == 1 || !s.elevation.empty();
  const bool can = ready ? bearing.value && elevation.value : bearing.value.has_value();
  const bool touched = button(ui, ready ? tr("Mark it") : tr("Next"), save, ButtonLook::main, can);
  if (!touched && !(can && ui.loose_key(EditKey::enter))) return;
  if (!ready) {
    s.field = 1;
    return;
  }
  if (session.mark_typed(*bearing.value, s.back_bearing, *elevation.value, horizon::Kind(s.kind),
                         s.label)) {
    s.bearing.clear();
    s.elevation.clear();
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
