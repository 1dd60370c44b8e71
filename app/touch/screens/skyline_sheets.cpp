#include "app/touch/screens/skyline_sheets.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

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

// Figures, point, delete, and for elevations the sign and a half: by finger.
void digits(Ui& ui, Rect where, std::string& value, bool elevation) {
  const float gap = 6, height = (where.h - 3 * gap) / 4;
  const auto key = [&](int column, int row, int columns) {
    const float width = (where.w - gap * float(columns - 1)) / float(columns);
    // Figures stand in their order whichever way the words run.
    const int at = ui.frame().right_to_left ? columns - 1 - column : column;
    return Rect{where.x + float(at) * (width + gap), where.y + float(row) * (height + gap), width,
                height};
  };
  constexpr std::string_view kFigures = "789456123";
  for (int i = 0; i < 9; ++i) {
    const std::string figure(1, kFigures[std::size_t(i)]);
    if (button_as(ui, "Key " + figure, figure, key(i % 3, i / 3, 3))) put_figure(value, figure[0]);
  }
  const int last = elevation ? 5 : 3;
  int at = 0;
  if (elevation && button_as(ui, "Key -", "+/−", key(at++, 3, last))) put_sign(value);
  if (button_as(ui, "Key 0", "0", key(at++, 3, last))) put_figure(value, '0');
  if (elevation && button_as(ui, "Key ½", tr("keypad.half"), key(at++, 3, last)) &&
      value.find('.') == value.npos)
    value += value.empty() || value == "-" ? "0.5" : ".5";
  if (button_as(ui, "Key .", tr("language.decimal_mark"), key(at++, 3, last)))
    put_figure(value, '.');
  if (button_as(ui, tr("skyline.delete"), "⌫", key(at, 3, last)) && !value.empty())
    value.pop_back();
}

// As it is typed, with a point.
std::string plain_number(double value, int decimals) {
  char text[32];
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
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

// A value as typed; a touch chooses it for the keys, a finger drawn across it turns it.
void value_box(Ui& ui, SkylineState& s, int field, const std::string& name, Rect box,
               const std::string& beside) {
  const Theme& t = ui.theme();
  std::string& value = field == 0 ? s.bearing : s.elevation;
  const bool here = s.field == field;
  const Gesture g = ui.gesture(name, box, false);
  ui.describe(Role::field, here, value);
  if (g.tapped) {
    s.field = field;
    ui.request_frame();
  }
  if (g.moved.x != 0) {
    const double step = field == 0 ? 0.25 : 0.05, least = field == 0 ? 1 : 0.1;
    double& turned = field == 0 ? s.drawn_bearing : s.drawn_elevation;
    const double from = survey::number_of(value).value_or(
        field == 0 ? s.last_bearing.value_or(180) : s.last_elevation.value_or(10));
    if (std::fabs(turned - from) > least) turned = from;
    turned += double(g.moved.x) * step;
    turned = field == 0 ? horizon::wrap_360(turned) : std::clamp(turned, -90.0, 90.0);
    value = plain_number(std::round(turned / least) * least, field == 0 ? 0 : 1);
    s.field = field;
    if (field == 0) s.proposed = false;
    ui.request_frame();
  }
  ui.canvas().fill(rounded(box, 12), {here ? t.amber_soft : t.paper});
  ui.canvas().stroke(rounded(box.inset(1), 11), {here ? t.ink : t.rule, here ? 2.f : 1.f});
  ui.words({box.x + 10, box.y + 4, box.w - 20, 18}, name,
           ui.fitted(name, ui.style(13, here ? t.ink : t.quiet), box.w - 20, 9));
  const std::string shown = value.empty() ? "–" : shown_figures(value) + "°";
  const TextStyle big = ui.fitted(shown, ui.style(25, t.ink, Weight::semibold), box.w * 0.6f, 15);
  ui.words({box.x + 10, box.y + 24, box.w - 20, box.h - 28}, shown, big);
  TextStyle small = ui.style(12, here ? t.ink : t.quiet, Weight::regular, Align::right);
  const float room = box.w - 28 - ui.width(shown, big);
  small = ui.fitted(beside, small, room, 9);
  if (!beside.empty() && ui.width(beside, small) <= room)
    ui.words({box.right() - 10 - room, box.y + 26, room, box.h - 28}, beside, small);
}

// What the compass reads as true, where the position is known.
std::string true_beside(TouchApp& app, const std::string& text) {
  Session& session = app.session();
  const auto value = survey::number_of(text);
  if (!value || !session.has_position()) return {};
  const double read = *value + (app.states().skyline.back_bearing ? 180 : 0);
  return tr(
      "keypad.true",
      {degrees(horizon::wrap_360(read + session.declination_deg() + session.heading_offset_deg()),
               1)});
}

// After a mark the next bearing is proposed: as far on as the last two lay apart.
void propose_next(SkylineState& s, double bearing_deg, double elevation_deg) {
  if (s.last_bearing) {
    const double step = horizon::wrap_180(bearing_deg - *s.last_bearing);
    if (std::fabs(step) >= 2 && std::fabs(step) <= 30) s.step_deg = step;
  }
  s.last_bearing = bearing_deg;
  s.last_elevation = elevation_deg;
  s.bearing = plain_number(std::round(horizon::wrap_360(bearing_deg + s.step_deg)), 0);
  s.proposed = true;
  s.elevation.clear();
  s.field = 1;
}

struct Keypad {
  Typed bearing, elevation;
  std::string problem;
};
Keypad read_keypad(const SkylineState& s) {
  Keypad k{typed_angle(s.bearing, "bearing_deg", "skyline.bearing_lies_between_0_360"),
           typed_angle(s.elevation, "elevation_deg", "skyline.elevation_lies_between_90_90"),
           {}};
  // An elevation that is rare, but may be: asked about, kept at the second touch.
  const auto usual = survey::range_of("sighting", "elevation_deg");
  const bool odd = k.elevation.value && usual && !usual->likely(*k.elevation.value);
  k.problem = !k.bearing.problem.empty()     ? k.bearing.problem
              : !k.elevation.problem.empty() ? k.elevation.problem
              : odd ? tr("skyline.really_degrees_not_percent", {number(*k.elevation.value, 1)})
                    : std::string();
  return k;
}

// Figures are typed over a bearing that was only proposed.
template <class Change>
void change_figures(SkylineState& s, Change change) {
  std::string& value = s.field == 0 ? s.bearing : s.elevation;
  const std::string before = value;
  const bool over = s.field == 0 && s.proposed;
  if (over) value.clear();
  change(value);
  if (!over) return;
  if (value.empty())
    value = before;
  else
    s.proposed = false;
}

// What the button at the foot does: on to the elevation, or the mark.
bool can_go_on(const SkylineState& s, const Keypad& read) {
  return read.bearing.value && ((s.field == 0 && s.elevation.empty()) || read.elevation.value);
}
void go_on(TouchApp& app) {
  SkylineState& s = app.states().skyline;
  const Keypad read = read_keypad(s);
  if (!can_go_on(s, read)) return;
  if (s.field == 0 && s.elevation.empty())
    s.field = 1;
  else if (app.session().mark_typed(*read.bearing.value, s.back_bearing, *read.elevation.value,
                                    horizon::Kind(s.kind), s.label))
    propose_next(s, *read.bearing.value, *read.elevation.value);
}

// By the keyboard, key by key: a quick hand's figures and Enter may come within one frame.
void take_keys(TouchApp& app) {
  SkylineState& s = app.states().skyline;
  for (const char c : app.ui().loose_text()) {
    if (c == '\r') {
      go_on(app);
      continue;
    }
    change_figures(s, [&](std::string& value) {
      if (c == '\b' && !value.empty()) value.pop_back();
      if (c == '-' && s.field == 1) put_sign(value);
      if ((c >= '0' && c <= '9') || c == '.' || c == ',') put_figure(value, c == ',' ? '.' : c);
    });
  }
  if (!app.ui().loose_text().empty()) app.ui().request_frame();
}

}  // namespace

void keypad_sheet(TouchApp& app, Rect area) {
  Ui& ui = app.ui();
  SkylineState& s = app.states().skyline;
  const Theme& t = ui.theme();
  const bool low = ui.page().h < 480;
  const Rect sheet = sheet_over(ui, area, low ? 1000 : 470 + ui.sp(40), low ? 620 : 480);
  const Rect in = sheet.inset(12);
  const float top_width = low ? in.w * 0.46f : in.w, half = (top_width - 8) / 2;
  value_box(ui, s, 0, s.back_bearing ? tr("skyline.bearing_back_from") : tr("skyline.bearing"),
            {in.x, in.y, half, 64}, true_beside(app, s.bearing));
  value_box(ui, s, 1, tr("skyline.elevation"), {in.x + half + 8, in.y, half, 64}, {});
  float y = in.y + 72;
  const std::string kind = s.label.empty() ? kind_label(horizon::Kind(s.kind)) : s.label;
  if (button_as(ui, tr("skyline.it_is_a"), tr("keypad.kind", {kind}), {in.x, y, half, 48})) {
    s.kind = (s.kind + 1) % horizon::kKindCount;
    s.label.clear();
  }
  if (choice(ui, tr("touch.back_bearing"),
             s.back_bearing ? tr("keypad.from_there") : tr("keypad.from_here"),
             {in.x + half + 8, y, half, 48}, s.back_bearing))
    s.back_bearing = !s.back_bearing;
  y += 56;
  const Keypad read = read_keypad(s);
  const std::string words = !read.problem.empty() ? read.problem
                            : s.proposed          ? tr("keypad.proposed")
                                                  : tr("skyline.magnetic_degrees_read");
  const float note = ui.sp(20);
  ui.words(
      {in.x, y, top_width, note}, words,
      ui.fitted(words, ui.style(13.5f, read.problem.empty() ? t.quiet : t.warning), top_width, 10));
  y += note + 6;
  const Rect pad = low ? Rect{in.x + top_width + 12, in.y, in.w - top_width - 12, in.h}
                       : Rect{in.x, y, in.w, std::min(280.f, in.bottom() - y - 68)};
  change_figures(s, [&](std::string& value) { digits(ui, pad, value, s.field == 1); });
  const float third = low ? (top_width - 8) * 0.42f : in.w * 0.3f;
  const Rect close{in.x, in.bottom() - 60, third, 60};
  const Rect save{close.right() + 8, close.y,
                  (low ? in.x + top_width : in.right()) - close.right() - 8, 60};
  if (button(ui, tr("touch.close"), close)) {
    s.keypad = false;
    // What cannot be an angle does not wait for the next time.
    if (!read.bearing.problem.empty()) s.bearing.clear();
    if (!read.elevation.problem.empty()) s.elevation.clear();
    return;
  }
  const bool ready = s.field == 1 || !s.elevation.empty();
  if (button_as(ui, ready ? tr("skyline.mark") : tr("skyline.next"),
                ready ? tr("keypad.again", {kind}) : tr("skyline.next"), save, ButtonLook::main,
                can_go_on(s, read)))
    go_on(app);
  take_keys(app);
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
  rows.heading(bearing_shown(app, point.azimuth.degrees()) + " · " +
               number(point.elevation.degrees(), 1) + "° · " + kind_label(obstacle.kind) +
               (obstacle.label.empty() ? "" : " · " + obstacle.label));
  const survey::Id id = point.source >= 0 && point.source < int(skyline->sightings.size())
                            ? skyline->sightings[std::size_t(point.source)]
                            : survey::Id();
  std::vector<std::string> names;
  for (int i = 0; i < horizon::kKindCount; ++i) names.push_back(kind_label(horizon::Kind(i)));
  int kind = int(obstacle.kind);
  if (rows.choices(tr("skyline.it_is_a"), names, kind))
    (void)session.change_mark(id, horizon::Kind(kind), {});
  const Rect pair = rows.row(56);
  const float half = (pair.w - 16) / 3;
  const int count = int(skyline->skyline().points.size());
  if (button(ui, tr("skyline.next_mark"), {pair.right() - half, pair.y, half, 56})) {
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
  if (button(ui, tr("skyline.aim_again"), {pair.x + half + 8, pair.y, half, 56}, ButtonLook::plain,
             !point.computed && session.settings.instrument == Instrument::device)) {
    s.moving = id;
    s.selected = -1;
    app.say(tr("skyline.aim_its_true_place_touch"));
    return;
  }
  if (button(ui, tr("skyline.void_mark"), {pair.x, pair.y, half, 56}, ButtonLook::warning)) {
    if (session.void_mark(id)) app.say(tr("skyline.voided_reading_stays_file"));
    s.selected = -1;
    return;
  }
  if (rows.button(tr("touch.close"), ButtonLook::quiet)) s.selected = -1;
}

void label_sheet(TouchApp& app, Rect area) {
  Ui& ui = app.ui();
  SkylineState& s = app.states().skyline;
  const auto known = app.session().labels(horizon::Kind(s.kind));
  const Rect sheet = sheet_over(ui, area, 150 + ui.sp(50) + (known.empty() ? 0 : 70), 560);
  Column rows(ui, sheet.inset(16), 8);
  rows.field(tr("skyline.name_all_follow", {kind_label(horizon::Kind(s.kind))}), s.label,
             tr("skyline.west_ridge_spruces_barn"));
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
  if (rows.button(tr("skyline.done"), ButtonLook::strong)) {
    s.label_open = false;
    ui.blur();
  }
}

}  // namespace app
