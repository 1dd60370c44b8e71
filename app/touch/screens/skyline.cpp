// app/touch/screens/skyline.cpp: aim, mark, see the winter hours grow.
#include <algorithm>
#include <array>
#include <cmath>

#include "app/drawing/charts/skyline_chart.h"
#include "app/drawing/shapes.h"
#include "app/touch/screens/check_parts.h"
#include "app/touch/screens/screens.h"
#include "app/touch/screens/sight.h"
#include "app/touch/screens/skyline_sheets.h"
#include "app/words/ranges.h"
#include "app/words/words.h"
#include "survey/book/text.h"

namespace app {
namespace {

struct Layout {
  Rect sight, kinds, strip, band, actions;
};

constexpr float kGlove = 96;  // 15 mm

Layout laid_out(Ui& ui, Rect area, bool gloves) {
  Layout l;
  const bool wide = area.w > area.h * 1.15f;
  const bool tight = !wide && !gloves && area.h < ui.sp(400);  // large words on a small phone
  const float band = std::min(ui.sp(62), tight ? 74.f : 200.f),
              kinds = gloves  ? kGlove
                      : tight ? 60.f
                              : std::max(60.f, ui.sp(60));
  Rect right = area;
  if (wide) {
    const float width = std::min(area.w * 0.46f, area.h * 1.1f);
    const bool left = ui.frame().left_handed;
    l.sight = {left ? area.right() - width : area.x, area.y, width, area.h};
    right = {left ? area.x : area.x + width, area.y, area.w - width, area.h};
  }
  const bool low = right.h < 400;
  const float actions = gloves ? kGlove : low ? 64.f : std::clamp(right.h * 0.11f, 72.f, 96.f);
  const float kind_room = low && !gloves ? 50.f : kinds;
  l.actions = {right.x + 12, right.bottom() - actions - 8, right.w - 24, actions};
  l.band = {right.x, l.actions.y - (low ? ui.sp(56) : band) - 8, right.w, low ? ui.sp(56) : band};
  float top = right.y;
  if (!wide) {
    const float room = l.band.y - right.y - kind_room - 16;
    const float sight = std::max(room * 0.52f, std::min(190.f, room - (tight ? 64 : 110)));
    l.sight = {area.x, area.y, area.w, sight};
    top = area.y + sight;
  }
  l.kinds = {right.x + 12, top + (low ? 4 : 8), right.w - 24, kind_room};
  const float strip = l.kinds.bottom() + (low ? 4 : 8);
  l.strip = {right.x, strip, right.w, l.band.y - strip};
  return l;
}

void kind_row(TouchApp& app, Rect row) {
  SkylineState& state = app.states().skyline;
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  // Equal widths where the names fit; else each as wide as its name asks, in smaller letters.
  const float gap = row.w < 340 ? 4 : 6, equal = (row.w - gap * 4) / 5;
  std::array<std::string, horizon::kKindCount> names;
  std::array<float, horizon::kKindCount> widths;
  TextStyle style = ui.style(13.5f, t.ink, Weight::semibold, Align::center);
  for (int i = 0; i < horizon::kKindCount; ++i) {
    names[std::size_t(i)] = kind_label(horizon::Kind(i));
    if (state.kind == i && !state.label.empty()) names[std::size_t(i)] = state.label;
  }
  const auto fits_equal = [&] {
    return std::all_of(names.begin(), names.end(),
                       [&](const auto& name) { return ui.width(name, style) <= equal - 6; });
  };
  while (style.size > 12 && !fits_equal()) style.size -= 0.5f;
  widths.fill(equal);
  if (!fits_equal()) {
    for (;; style.size -= 0.5f) {
      float all = gap * 4;
      for (std::size_t i = 0; i < names.size(); ++i)
        all += widths[i] = std::max(48.f, ui.width(names[i], style) + 7);
      const float spare = (row.w - all) / horizon::kKindCount;
      if (spare < 0 && style.size > 10) continue;
      for (float& w : widths) w += std::max(0.f, spare);
      if (spare < 0) widths.fill(equal);  // a long name of one's own: cut it
      break;
    }
  }
  float x = row.x;
  for (int i = 0; i < horizon::kKindCount; ++i) {
    const auto kind = horizon::Kind(i);
    const float width = widths[std::size_t(i)];
    const Rect box{x, row.y, width, row.h};
    x += width + gap;
    const bool chosen = state.kind == i;
    if (ui.tap(kind_label(kind), box)) {
      if (chosen)  // a second touch names the thing
        state.label_open = true;
      else
        state.label.clear();
      state.kind = i;
    }
    ui.canvas().fill(rounded(box, 12), {chosen ? t.amber_soft : t.card});
    ui.canvas().stroke(rounded(box.inset(1), 11), {chosen ? t.ink : t.rule, chosen ? 2.f : 1.5f});
    const float swatch = std::min(36.f, width - 16);
    const Rect sign{box.x + (box.w - swatch) / 2, box.y + box.h * 0.16f, swatch, box.h * 0.27f};
    if (kind == horizon::Kind::pole)
      ui.canvas().fill(rounded({sign.x, sign.y + sign.h / 2 - 2, sign.w, 4}, 2), {t.pole});
    else
      ui.canvas().fill(rounded(sign, 4), paint_of(kind, t));
    TextStyle each = style;
    each.weight = chosen ? Weight::semibold : Weight::regular;
    ui.words({box.x + 3, box.y + box.h * 0.5f, box.w - 6, box.h * 0.42f}, names[std::size_t(i)],
             each);
  }
}

// In gloves: what it is, one after the other, and the way to the light that comes and goes.
void glove_row(TouchApp& app, Rect row) {
  SkylineState& state = app.states().skyline;
  Ui& ui = app.ui();
  const float half = (row.w - 10) / 2;
  const std::string kind =
      state.label.empty() ? kind_label(horizon::Kind(state.kind)) : state.label;
  const Rect box{row.x, row.y, half, row.h};
  if (button_as(ui, tr("skyline.it_is_a"), kind, box)) {
    state.kind = (state.kind + 1) % horizon::kKindCount;
    state.label.clear();
  }
  ui.canvas().fill(rounded({box.x + 12, box.y + 10, box.w - 24, 16}, 4),
                   paint_of(horizon::Kind(state.kind), ui.theme()));
  if (button(ui, tr("contacts.open"), {row.x + half + 10, row.y, half, row.h}, ButtonLook::plain,
             true, Icon::sun))
    app.go(ScreenId::contacts);
}

void strip(TouchApp& app, Rect where, const std::optional<Aim>& aim) {
  Session& session = app.session();
  SkylineState& state = app.states().skyline;
  Ui& ui = app.ui();
  const float least = session.settings.gloves ? kGlove : 40;
  if (where.h < least || !session.skyline()) return;
  if (aim && state.follow && session.settings.instrument == Instrument::device) {
    // Turns the page only when the aim nears its edge, so that it stands still to be read.
    const double off = horizon::wrap_180(session.true_azimuth_deg(*aim) - state.center_deg);
    if (std::fabs(off) > state.span_deg * 0.42)
      state.center_deg = horizon::wrap_360(session.true_azimuth_deg(*aim));
  }
  SkylineChart chart;
  chart.skyline = &session.skyline()->skyline();
  chart.mask = &session.mask();
  if (session.live()) chart.paths = session.live()->paths;
  if (const auto* far = session.terrain.far()) chart.far_skyline = far_line(*far);
  chart.center_deg = state.center_deg;
  chart.span_deg = state.span_deg;
  chart.labels = where.h > 185;
  if (aim && session.settings.instrument == Instrument::device)
    chart.aim_deg = session.true_azimuth_deg(*aim);
  chart.selected_point = state.selected;
  const ChartStyle style = chart_style(app, where.h > 150 ? 12 : 10.5f);
  ui.clip(where);
  draw_skyline(ui.figure(where), where, chart, style);
  ui.unclip();

  const Gesture g = ui.gesture(tr("skyline.unrolled_skyline"), where);
  const double per_dp = state.span_deg / double(std::max(where.w, 1.f));
  if (g.moved.x != 0 || g.zoom != 1) {
    state.follow = false;
    state.center_deg = horizon::wrap_360(state.center_deg - double(g.moved.x) * per_dp);
    state.span_deg = std::clamp(state.span_deg / double(g.zoom), 20.0, 360.0);
  }
  if (g.tapped) {  // the nearest mark within a finger's width
    int best = -1;
    float nearest = 30;
    const auto& points = chart.skyline->points;
    for (int i = 0; i < int(points.size()); ++i) {
      const Point p = skyline_point(
          chart, where, style,
          {points[std::size_t(i)].azimuth.degrees(), points[std::size_t(i)].elevation.degrees()});
      const float d = std::hypot(p.x - g.at.x, p.y - g.at.y);
      if (d < nearest) {
        nearest = d;
        best = i;
      }
    }
    state.selected = best;
    if (best < 0) state.follow = true;
    ui.request_frame();
  }
}

std::string advice_words(TouchApp& app, const horizon::Advice& advice) {
  std::vector<int> months;
  for (int m = 1; m <= 12; ++m)
    if (advice.months >> (m - 1) & 1) months.push_back(m);
  const std::string where = bearings_shown(app, advice.from_deg, advice.to_deg);
  const std::string words =
      months.size() == 1 ? tr("advice.one_month", {where, month_name(months[0])})
      : months.size() == 2
          ? tr("advice.two_months", {where, month_name(months[0]), month_name(months[1])})
          : tr("advice.winter", {where});
  return advice.open ? tr("advice.open", {words}) : words;
}

std::string winter_words(const horizon::Ranged& hours) {
  return number(hours.low) + "–" + number(hours.high);
}

void band(TouchApp& app, Rect where) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  ui.canvas().fill(rectangle(where), {t.amber_soft});
  std::string first, unit, second, brief;  // brief: where the second line has no room
  bool urgent = false;
  const LiveResults* live = session.live();
  if (!session.has_position()) {
    first = tr("skyline.position_comes_first");
    second = tr("skyline.marks_kept_sun_hours_follow");
  } else if (!live || !live->live) {
    first = tr("skyline.no_mark_yet");
    second = tr("skyline.aim_where_sky_begins_touch");
    if (const auto* far = session.terrain.far(); far && far->light) {
      first = tr("visit.land_first", {hours_minutes(far->light->shortest_range_h.high)});
      if (!far->light->aim_next.empty()) {
        const auto& advice = far->light->aim_next.front();
        second = tr("visit.land_next", {bearings_shown(app, advice.from_deg, advice.to_deg)});
      }
    }
  } else {
    const bool south = session.station()->position.latitude_deg < 0;
    first = tr(south ? "skyline.21_june_here" : "touch.21_december_here",
               {hours_headline(live->live->shortest_range_h)});
    unit = tr("skyline.direct_sun") + " · " +
           tr("skyline.winter", {winter_words(live->live->winter_range_h),
                                 number(live->live->winter_flat_h) + " " + tr("unit.h")});
    if (!live->live->aim_next.empty()) {
      const auto& advice = live->live->aim_next.front();
      second = tr("skyline.next_aim", {advice_words(app, advice)});
      brief = tr("skyline.next_aim",
                 {tr("advice.short", {bearings_shown(app, advice.from_deg, advice.to_deg)})});
      urgent = live->live->aim_next.front().open;
    } else {
      second = tr("skyline.winter_sun_whole_way_marked");
    }
  }
  if (session.skyline() && session.skyline()->skyline().headings_disagree) {
    second = tr("touch.heading_checks_here_disagree") + " " + tr("skyline.take_another_one");
    brief = tr("touch.heading_checks_here_disagree");
    urgent = true;
  }
  const float x = where.x + 16, width = where.w - 32, line = (where.h - 12) / 2;
  const TextStyle strong = ui.fitted(first, ui.style(17, t.ink, Weight::semibold), width, 12);
  const float used = ui.words({x, where.y + 6, width, line}, first, strong);
  const TextStyle after = ui.style(14, t.ink);
  if (const float left = width - used - 8; !unit.empty() && left > 60) {
    const std::string shorter = unit.substr(0, unit.find(" · "));
    const std::string& fits = ui.width(unit, after) <= left ? unit : shorter;
    if (ui.width(fits, after) <= left)
      ui.words({x + used + 7, where.y + 6, left, line}, fits, after);
  }
  const TextStyle next = ui.fitted(second, ui.style(15, urgent ? t.warning : t.ink), width, 11);
  if (!brief.empty() && ui.width(second, next) > width) second = brief;
  const auto& lines = ui.lines(second, next, width);
  ui.words({x, where.y + 6 + line, width, line}, lines.size() > 1 ? second : lines.front(), next);
}

}  // namespace

std::string batch_words(TouchApp& app, const Session::Batch& batch) {
  const std::string what = batch.label.empty() ? kind_label(batch.kind) : batch.label;
  const std::string when = clock_text(app, batch.utc_s);
  return batch.marks.size() == 1
             ? tr("touch.a_mark", {what, when})
             : tr_count("touch.marks_trace", long(batch.marks.size()), {what, when});
}

namespace {

void trace(TouchApp& app, bool held, const std::optional<Aim>& aim) {
  SkylineState& state = app.states().skyline;
  if (held && aim) {
    if (!state.tracing) state.trace.clear();
    state.tracing = true;
    if (state.trace.size() < 5000) state.trace.push_back(*aim);
  } else if (!held && state.tracing) {
    state.tracing = false;
    if (!state.trace.empty())
      (void)app.session().mark_trace(state.trace, horizon::Kind(state.kind), state.label);
    state.trace.clear();
  }
}

// Held still for a second, on a spot that is not the last one, and not down at one's feet.
bool marks_itself(const SkylineState& state, const std::optional<Aim>& aim) {
  constexpr double kStill_s = 1, kNew_deg = 1.5, kLowest_deg = -3;
  if (!state.by_itself || state.tracing || !aim || aim->fault != AimFault::none) return false;
  if (aim->steady_s < kStill_s || aim->elevation_deg < kLowest_deg) return false;
  if (!state.last_marked) return true;
  const double off = horizon::wrap_180(aim->azimuth_deg - double(state.last_marked->x));
  return std::hypot(off, aim->elevation_deg - double(state.last_marked->y)) > kNew_deg;
}

void actions(TouchApp& app, Rect row, const std::optional<Aim>& aim) {
  Session& session = app.session();
  SkylineState& state = app.states().skyline;
  Ui& ui = app.ui();
  const bool by_hand = session.settings.instrument == Instrument::by_hand;
  const bool left = ui.frame().left_handed;
  const float gap = 10, side = std::clamp((row.w - 2 * gap) * 0.24f,
                                          session.settings.gloves ? kGlove : 64.f, 150.f);
  const float mark = row.w - 2 * side - 2 * gap;
  Rect first{row.x, row.y, side, row.h}, last{row.right() - side, row.y, side, row.h};
  const Rect middle{row.x + side + gap, row.y, mark, row.h};
  if (left) std::swap(first, last);
  if (button(ui, tr("touch.undo"), first, ButtonLook::plain, session.marks() > 0)) {
    if (const auto gone = session.undo_mark(); gone && !gone->marks.empty())
      app.say_with(tr("skyline.taken_back", {batch_words(app, *gone)}), tr("touch.bring_back"),
                   [&app, gone] { (void)app.session().bring_back(*gone); });
    state.selected = -1;
  }
  const bool usable = aim && aim->fault == AimFault::none;
  if (by_hand) {
    if (button(ui, tr("skyline.type_reading"), middle, ButtonLook::main, true, Icon::keypad)) {
      state.keypad = true;
      state.field = 0;  // what is proposed gives way to figures
    }
    if (button(ui, tr("skyline.use_sensors"), last, ButtonLook::plain)) {
      session.settings.instrument = Instrument::device;
      session.save_settings();
    }
    return;
  }
  const bool key = app.take_mark_key() || marks_itself(state, aim);
  if ((button(ui, tr("touch.mark"), middle, ButtonLook::main, aim.has_value()) || key) && aim) {
    if (usable && !state.moving.empty()) {
      if (session.move_mark(state.moving, *aim))
        app.say(tr("skyline.moved_first_reading_stays_file"));
      state.moving.clear();
    } else if (usable && session.mark(*aim, horizon::Kind(state.kind), state.label))
      state.last_marked = Point{float(aim->azimuth_deg), float(aim->elevation_deg)};
    else if (!usable)
      app.say(words_for(aim->fault));
    state.selected = -1;
  }
  if (usable || state.tracing) {
    const std::string label = tr("skyline.hold_trace");
    const bool held = ui.hold(label, last);
    const Theme& t = ui.theme();
    ui.canvas().fill(rounded(last, 14), {held ? t.amber_soft : t.card});
    ui.canvas().stroke(rounded(last.inset(1), 13), {t.ink, 2});
    const std::string words = held ? tr("skyline.tracing") : label;
    const TextStyle style = ui.unbroken(
        words, ui.style(15.5f, t.ink, Weight::semibold, Align::center), last.w - 12, last.h - 8);
    const float height = ui.paragraph_height(last.w - 12, words, style);
    ui.paragraph({last.x + 6, last.y + (last.h - height) / 2, last.w - 12, height}, words, style);
    trace(app, held, aim);
  } else if (button(ui, tr("skyline.type_reading"), last, ButtonLook::strong)) {
    state.keypad = true;
    state.field = 0;
  }
}

}  // namespace

void skyline_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  SkylineState& state = app.states().skyline;
  const auto aim = session.aim();
  const bool gloves = session.settings.gloves;
  Layout l = laid_out(app.ui(), area, gloves);
  std::optional<Rect> turn_at;
  if (!gloves) {
    // Above the sight, which takes every touch on itself.
    Ui& ui = app.ui();
    const std::string light = tr("contacts.open");
    const float width = ui.width(light, ui.style(16, ui.theme().ink, Weight::semibold)) + 64;
    const float y = l.sight.y + 4, right = l.sight.right();
    const bool narrow = width > l.sight.w - 224;  // the sign alone, then
    if (narrow ? icon_button(ui, light, Icon::sun, {l.sight.x + 8, y, kTouch, kTouch})
               : button(ui, light, {l.sight.x + 8, y, width, kTouch}, ButtonLook::plain, true,
                        Icon::sun))
      return app.go(ScreenId::contacts);
    if (session.settings.instrument == Instrument::device) {
      const Rect box{right - 156, y, kTouch, kTouch};
      const std::string itself = tr("skyline.itself");
      if (state.by_itself) ui.canvas().fill(rounded(box.inset(3), 10), {ui.theme().amber});
      if (icon_button(ui, itself, Icon::still, box)) {
        state.by_itself = !state.by_itself;
        if (state.by_itself) app.say(tr("skyline.itself_on"));
      }
      ui.describe(Role::tick, state.by_itself);
      // Where the row is full, in the sight's own corner.
      turn_at = right - 208 > l.sight.x + kTouch + 12
                    ? Rect{right - 208, y, kTouch, kTouch}
                    : Rect{l.sight.x + 8, y + kTouch + 12, kTouch, kTouch};
    }
    if (icon_button(ui, tr("timeline.open"), Icon::undo, {right - 104, y, kTouch, kTouch}))
      return app.go(ScreenId::timeline);
    (void)explain_button(ui, "screen", {right - 52, y, kTouch, kTouch});
    l.sight.y += kTouch + 8;
    l.sight.h -= kTouch + 8;
  }
  sight(app, l.sight, aim);
  if (turn_at && icon_button(app.ui(), tr("turn.open"), Icon::turn, *turn_at))
    return app.go(ScreenId::turn);
  gloves ? glove_row(app, l.kinds) : kind_row(app, l.kinds);
  strip(app, l.strip, aim);
  band(app, l.band);
  actions(app, l.actions, aim);
  if (state.keypad)
    keypad_sheet(app, area);
  else if (state.label_open)
    label_sheet(app, area);
  else if (state.selected >= 0)
    mark_sheet(app, area);
}

}  // namespace app
