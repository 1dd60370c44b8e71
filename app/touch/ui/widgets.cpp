#include "app/touch/ui/widgets.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "app/drawing/fonts.h"
#include "app/drawing/shapes.h"
#include "app/words/glossary.h"
#include "app/words/words.h"

namespace app {
namespace {

constexpr float kRound = 14;

Color blended(Color under, Color over, float part) {
  const auto mix = [part](std::uint8_t a, std::uint8_t b) {
    return std::uint8_t(float(a) + (float(b) - float(a)) * part);
  };
  return {mix(under.r, over.r), mix(under.g, over.g), mix(under.b, over.b), 255};
}

}  // namespace

bool button_as(Ui& ui, std::string_view label, std::string_view shown, Rect rect, ButtonLook look,
               bool enabled, Icon icon) {
  const Theme& t = ui.theme();
  const bool tapped = ui.tap(label, rect, enabled);
  const bool down = enabled && ui.pressed(label);
  Color fill = t.card, border = t.rule, ink = t.ink;
  float width = 2;
  switch (look) {
    case ButtonLook::main:
      fill = t.amber;
      border = t.amber;
      ink = {28, 40, 48};
      break;
    case ButtonLook::strong:
      border = t.ink;
      break;
    case ButtonLook::quiet:
      fill = t.paper;
      border = t.paper;
      break;
    case ButtonLook::warning:
      border = ink = t.warning;
      break;
    case ButtonLook::plain:
      break;
  }
  if (!enabled) {
    fill = t.paper;
    border = t.rule;
    ink = t.quiet;
    width = 1;
  }
  if (down) fill = blended(fill, t.ink, 0.15f);
  ui.canvas().fill(rounded(rect, kRound), {fill});
  if (look != ButtonLook::quiet)
    ui.canvas().stroke(rounded(rect.inset(width / 2), kRound - 1), {border, width});
  const float size = look == ButtonLook::main && rect.h >= 64 ? 22.f : 16.f;
  TextStyle style = ui.style(size, ink, Weight::semibold, Align::center);
  Rect box = rect.inset(6);
  if (icon != Icon::none) {
    const float words = std::min(ui.width(shown, style), box.w - 28),
                left = rect.x + (rect.w - words - 26) / 2;
    draw_icon(ui, icon, {left + 9, rect.y + rect.h / 2}, 18, ink);
    box = {left + 26, box.y, words + 2, box.h};
    style.align = Align::left;
  }
  if (ui.width(shown, style) <= box.w) {
    ui.words(box, shown, style);
    return tapped;
  }
  style = ui.unbroken(shown, style, box.w, box.h + 8);
  const float room = ui.paragraph_height(box.w, shown, style);
  if (room <= box.h + 8)
    ui.paragraph({box.x, rect.y + (rect.h - room) / 2, box.w, room}, shown, style);
  else
    ui.words(box, shown, style);
  return tapped;
}

bool button(Ui& ui, std::string_view label, Rect rect, ButtonLook look, bool enabled, Icon icon) {
  return button_as(ui, label, label, rect, look, enabled, icon);
}

bool icon_button(Ui& ui, std::string_view label, Icon icon, Rect rect) {
  const Theme& t = ui.theme();
  const bool tapped = ui.tap(label, rect);
  if (ui.pressed(label))
    ui.canvas().fill(circle({rect.x + rect.w / 2, rect.y + rect.h / 2}, rect.h / 2), {t.rule});
  draw_icon(ui, icon, {rect.x + rect.w / 2, rect.y + rect.h / 2}, 22, t.ink);
  return tapped;
}

bool choice(Ui& ui, std::string_view label, std::string_view shown, Rect rect, bool chosen) {
  const Theme& t = ui.theme();
  const bool tapped = ui.tap(label, rect);
  ui.describe(Role::choice, chosen);
  const Color fill = chosen ? t.amber_soft : ui.pressed(label) ? t.rule : t.card;
  ui.canvas().fill(rounded(rect, 12), {fill});
  ui.canvas().stroke(rounded(rect.inset(1), 11), {chosen ? t.ink : t.rule, chosen ? 2.f : 1.5f});
  const TextStyle style =
      ui.style(15, t.ink, chosen ? Weight::semibold : Weight::regular, Align::center);
  ui.words(rect.inset(6), shown, ui.fitted(shown, style, rect.w - 12, 11));
  return tapped;
}

bool tick(Ui& ui, std::string_view label, Rect rect, bool& value, std::string_view note) {
  const Theme& t = ui.theme();
  const bool tapped = ui.tap(label, rect);
  if (tapped) value = !value;
  ui.describe(Role::tick, value, note);
  const Rect box{rect.x + 2, rect.y + 12, 24, 24};
  ui.canvas().fill(rounded(box, 6), {value ? t.ink : t.card});
  ui.canvas().stroke(rounded(box.inset(1), 5), {value ? t.ink : t.quiet, 2});
  if (value) draw_icon(ui, Icon::check, {box.x + 12, box.y + 12}, 18, t.card);
  const TextStyle strong = ui.style(16, t.ink), quiet = ui.style(14, t.quiet);
  const float x = rect.x + 38, width = rect.w - 38;
  const float height = ui.paragraph_height(width, label, strong);
  const float top = note.empty() ? rect.y + (rect.h - height) / 2 : rect.y + 24 - ui.sp(16) * 0.68f;
  ui.paragraph({x, top, width, height}, label, strong);
  if (!note.empty()) ui.paragraph({x, top + height, width, 0}, note, quiet);
  return tapped;
}

void card(Ui& ui, Rect rect) {
  ui.canvas().fill(rounded(rect, kRound), {ui.theme().card});
  ui.canvas().stroke(rounded(rect.inset(0.5f), kRound), {ui.theme().rule, 1});
}

float chip_width(Ui& ui, std::string_view text) {
  return ui.width(text, ui.style(14, ui.theme().ink, Weight::semibold)) + 24;
}

void chip(Ui& ui, Rect rect, std::string_view text, bool good) {
  const Theme& t = ui.theme();
  ui.canvas().fill(rounded(rect, rect.h / 2), {good ? t.good_soft : t.warning_soft});
  ui.words({rect.x + 6, rect.y, rect.w - 12, rect.h}, text,
           ui.style(14, t.ink, Weight::semibold, Align::center));  // 7:1 on both grounds
  ui.canvas().stroke(rounded(rect.inset(0.75f), rect.h / 2), {good ? t.good : t.warning, 1.5f});
}

void ring(Ui& ui, Point center, float radius, double part, bool current) {
  const Theme& t = ui.theme();
  const float width = radius * 0.32f;
  if (current) ui.canvas().fill(circle(center, radius - width), {t.amber_soft});
  const bool full = part > 0.999;
  ui.canvas().stroke(circle(center, radius - width / 2), {full ? t.good : t.rule, width});
  if (full)
    draw_icon(ui, Icon::check, center, radius * 0.95f, t.good);
  else if (part > 0.01)
    ui.canvas().fill(ring_sector(center, radius - width, radius, 0, float(360 * part)),
                     {t.amber_deep});
}

void hairline(Ui& ui, float x, float y, float width) {
  ui.canvas().fill(rectangle({x, y, width, 1}), {ui.theme().rule});
}

// ---------------------------------------------------------------- column

void Column::part_from_facts() {
  if (after_fact_) y_ += gap_;
  after_fact_ = false;
}

Rect Column::row(float height) {
  part_from_facts();
  constexpr float kSignFoot = 38;  // below the sign beside the first words
  if (kept_right_ > 0) y_ = std::max(y_, area_.y + kSignFoot);
  const Rect rect{area_.x, y_, area_.w, height};
  y_ += height + gap_;
  return rect;
}

// A sign may stand beside the first words of a card.
float Column::first_width() {
  const bool first = kept_right_ > 0 && y_ - area_.y < 1;
  return area_.w - (first ? kept_right_ : 0);
}

void Column::title(std::string_view text) {
  const TextStyle style = ui_.style(22, ui_.theme().ink, Weight::semibold);
  y_ += ui_.paragraph({area_.x, y_, first_width(), 0}, text, style) + gap_;
}

void Column::heading(std::string_view text) {
  after_fact_ = false;
  const TextStyle style = ui_.style(17, ui_.theme().ink, Weight::semibold);
  y_ += ui_.paragraph({area_.x, y_, first_width(), 0}, text, style) + gap_ * 0.6f;
}

void Column::text(std::string_view text) {
  if (text.empty()) return;
  after_fact_ = false;
  y_ +=
      ui_.paragraph({area_.x, y_, first_width(), 0}, text, ui_.style(15, ui_.theme().quiet)) + gap_;
}

void Column::strong(std::string_view text) {
  if (text.empty()) return;
  after_fact_ = false;
  y_ += ui_.paragraph({area_.x, y_, first_width(), 0}, text,
                      ui_.style(16, ui_.theme().ink, Weight::semibold)) +
        gap_;
}

void Column::caution(std::string_view text) {
  const Theme& t = ui_.theme();
  const TextStyle style = ui_.style(15, t.warning);
  const float height = ui_.paragraph_height(area_.w - 56, text, style);
  const Rect box = row(height + 20);
  ui_.canvas().fill(rounded(box, 12), {t.warning_soft});
  draw_icon(ui_, Icon::warning, {box.x + 24, box.y + 20}, 22, t.warning);
  ui_.paragraph({box.x + 46, box.y + 10, box.w - 56, height}, text, style);
}

void Column::fact(std::string_view name, std::string_view value) {
  after_fact_ = true;
  const Theme& t = ui_.theme();
  const TextStyle left = ui_.style(15, t.quiet);
  const TextStyle right = ui_.style(16, t.ink, Weight::semibold, Align::right);
  const float wide = ui_.width(value, right);
  if (ui_.width(name, left) + wide + 12 <= area_.w) {
    const Rect box{area_.x, y_, area_.w, ui_.sp(26)};
    ui_.words({box.x, box.y, area_.w - wide - 8, box.h}, name, left);
    ui_.words(box, value, right);
    y_ += ui_.sp(26);
    return;
  }
  TextStyle below = right;
  below.align = Align::left;
  y_ += ui_.paragraph({area_.x, y_, area_.w, 0}, name, left);
  y_ += ui_.paragraph({area_.x, y_, area_.w, 0}, value, below) + 4;
}

std::string example_words(std::string_view example) {
  return example.empty() ? std::string() : tr("ui.example", {example});
}

void Column::name_of_field(std::string_view label) {
  part_from_facts();
  const TextStyle style = ui_.style(14, ui_.theme().quiet);
  y_ += ui_.paragraph({area_.x, y_, area_.w, 0}, label, style) + 2;
}

bool Column::field(std::string_view label, std::string& value, std::string_view example) {
  return number_field(label, value, example_words(example));
}

bool Column::number_field(std::string_view label, std::string& value, std::string_view range) {
  name_of_field(label);
  field_ = label;
  field_at_ = row(std::max(52.f, ui_.sp(44)));
  return ui_.text_field(label, field_at_, value, false, range);
}

void Column::refused(std::string_view why) {
  caution(why);
  ui_.refuse(field_, field_at_, why, y_);
}

bool Column::notes(std::string_view label, std::string& value, std::string_view example) {
  name_of_field(label);
  return ui_.text_field(label, row(ui_.sp(110)), value, true, example_words(example));
}

bool Column::button(std::string_view label, ButtonLook look, bool enabled, Icon icon) {
  const float least = look == ButtonLook::main ? 60.f : 52.f;
  const TextStyle style = ui_.style(16, ui_.theme().ink, Weight::semibold);
  const float needed = ui_.paragraph_height(area_.w - 40, label, style) + 20;
  return app::button(ui_, label, row(std::max(least, needed)), look, enabled, icon);
}

bool Column::tick(std::string_view label, bool& value, std::string_view note) {
  const float width = area_.w - 38;
  float height = ui_.paragraph_height(width, label, ui_.style(16, ui_.theme().ink));
  if (!note.empty())
    height += ui_.paragraph_height(width, note, ui_.style(14, ui_.theme().quiet)) + 16;
  return app::tick(ui_, label, row(std::max(kTouch, height + 4)), value, note);
}

bool Column::choices(std::string_view label, std::span<const std::string> names, int& chosen) {
  part_from_facts();
  if (!label.empty())
    y_ += ui_.paragraph({area_.x, y_, area_.w, 0}, label, ui_.style(14, ui_.theme().quiet)) + 4;
  const TextStyle style = ui_.style(15, ui_.theme().ink, Weight::semibold);
  float widest = 0;
  for (const auto& name : names) widest = std::max(widest, ui_.width(name, style) + 20);
  const int count = int(names.size());
  int columns = std::clamp(int((area_.w + 8) / (widest + 8)), 1, std::max(count, 1));
  const int lines = (count + columns - 1) / columns;
  columns = (count + lines - 1) / lines;  // even rows
  const float width = (area_.w - 8 * float(columns - 1)) / float(columns);
  bool changed = false;
  const float height = std::max(kTouch, ui_.sp(40));
  for (int i = 0; i < count; ++i) {
    const Rect rect{area_.x + float(i % columns) * (width + 8),
                    y_ + float(i / columns) * (height + 8), width, height};
    const std::string name = label.empty() ? names[i] : std::string(label) + ": " + names[i];
    if (choice(ui_, name, names[i], rect, i == chosen) && i != chosen) {
      chosen = i;
      changed = true;
    }
  }
  y_ += float(lines) * (height + 8) - 8 + gap_;
  return changed;
}

namespace {

std::map<std::string, std::vector<std::string>, std::less<>>& terms_by_id() {
  static std::map<std::string, std::vector<std::string>, std::less<>> known;  // of the last frame
  return known;
}

}  // namespace

void note_terms(Ui& ui, std::string_view id, std::size_t from) {
  static std::map<std::string, std::vector<std::string>, std::less<>> of_text;
  if (of_text.size() > 4000) of_text.clear();
  std::vector<std::string> found;
  for (std::size_t i = from; i < ui.said().size(); ++i) {
    const std::string key = language() + ui.said()[i];
    auto known = of_text.find(key);
    if (known == of_text.end()) known = of_text.emplace(key, terms_in(ui.said()[i])).first;
    for (const auto& term : known->second)
      if (std::find(found.begin(), found.end(), term) == found.end()) found.push_back(term);
  }
  auto& before = terms_by_id()[std::string(id)];
  if (before == found) return;
  if (before.empty() != found.empty()) ui.request_frame();
  before = std::move(found);
}

bool has_terms(std::string_view id) {
  const auto known = terms_by_id().find(id);
  return known != terms_by_id().end() && !known->second.empty();
}

bool explain_button(Ui& ui, std::string_view id, Rect rect) {
  if (!has_terms(id)) return false;
  const auto keys = terms_by_id().find(id)->second;
  std::string names;
  for (const auto& key : keys)
    if (const Term* term = term_of(key)) add_listed(names, term->word);
  const std::string sign = tr("ui.what", {names});
  const auto& hits = ui.hits();  // two signs of one name: the first is enough
  if (std::any_of(hits.begin(), hits.end(), [&](const Hit& hit) { return hit.label == sign; }))
    return false;
  if (icon_button(ui, sign, Icon::question, rect)) ui.explained = keys;
  return true;
}

void in_card(Ui& ui, Column& column, std::string_view id, const std::function<void(Column&)>& rows,
             bool sunny) {
  static std::map<std::string, float, std::less<>> heights;  // of the last frame, by id and width
  const std::string key = std::string(id) + std::to_string(int(column.width())) +
                          std::to_string(int(ui.frame().text_scale * 100));
  auto known = heights.find(key);
  const float height = known == heights.end() ? 0 : known->second;
  const Rect frame = column.row(0);
  const Rect box{frame.x, frame.y, frame.w, height};
  if (height > 0) card(ui, box);
  if (height > 0 && sunny) ui.canvas().fill(rounded(box, kRound), {ui.theme().amber_soft});
  Column inside(ui, {frame.x + 16, frame.y + 14, frame.w - 32, 1e5f}, 10);
  const std::string words_of = "card " + key;
  if (!ui.explains_whole &&
      explain_button(ui, words_of, {frame.x + frame.w - 50, frame.y + 2, kTouch, kTouch}))
    inside.keep_right(34);
  const std::size_t said = ui.said().size();
  rows(inside);
  note_terms(ui, words_of, said);
  const float now = inside.used() + 14 + 6;
  if (std::fabs(now - height) > 0.5f) {
    heights[key] = now;
    ui.request_frame();
  }
  column.space(now);
}

}  // namespace app
