#include "app/touch/ui/ui.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/fonts.h"
#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"

namespace app {

std::string_view name_of(Role role) {
  constexpr std::string_view kNames[] = {"button", "choice", "tick",  "field",
                                         "figure", "hold",   "scroll"};
  return kNames[int(role)];
}

namespace {

constexpr float kSlop = 10;  // a finger trembles this far without meaning to drag
constexpr float kCapHalf = Fonts::kCapHeight / 2;

std::string text_key(std::string_view text, const TextStyle& style, float width) {
  std::string key(text);
  key += '\x01';
  key += std::to_string(int(style.size * 32));
  key += style.weight == Weight::semibold ? 'b' : 'r';
  key += style.tabular ? 't' : 'p';
  key += std::to_string(int(width * 4));
  return key;
}

}  // namespace

// ---------------------------------------------------------------- input

const Hit* Ui::hit_at(Point at, bool scrolls) const {
  for (std::size_t i = shown_.size(); i-- > shown_modal_from_;) {
    const Hit& hit = shown_[i];
    if ((hit.act == HitAct::scroll) == scrolls && hit.visible.contains(at)) return &hit;
  }
  return nullptr;
}

void Ui::touch(const Touch& touch) {
  wants_frame_ = true;
  if (touch.kind == Touch::Kind::down) key_focus_.clear();
  auto finger = std::find_if(fingers_.begin(), fingers_.end(),
                             [&](const Finger& f) { return f.id == touch.finger; });
  if (touch.kind == Touch::Kind::down) {
    if (finger != fingers_.end()) fingers_.erase(finger);
    Finger fresh;
    fresh.id = touch.finger;
    fresh.from = fresh.at = fresh.seen = touch.at;
    fresh.time_s = touch.time_s;
    if (const Hit* hit = hit_at(touch.at, false); hit && hit->enabled) {
      fresh.label = hit->label;
      fresh.act = hit->act;
    }
    if (const Hit* scroll = hit_at(touch.at, true)) {
      fresh.scroll = scroll->label;
      Scroll& state = scrolls_[scroll->label];
      if (std::fabs(state.speed) > 150) fresh.moved = true;  // this touch only stops it
      state.speed = 0;
    }
    fingers_.push_back(fresh);
    return;
  }
  if (finger == fingers_.end()) return;
  if (touch.kind == Touch::Kind::move) {
    const Point step{touch.at.x - finger->at.x, touch.at.y - finger->at.y};
    const double dt = std::max(touch.time_s - finger->time_s, 0.001);
    finger->at = touch.at;
    finger->time_s = touch.time_s;
    if (std::hypot(touch.at.x - finger->from.x, touch.at.y - finger->from.y) > kSlop)
      finger->moved = true;
    if (finger->moved && finger->act == HitAct::tap && !finger->scroll.empty()) {
      Scroll& scroll = scrolls_[finger->scroll];
      scroll.held = true;
      scroll.offset -= step.y;
      scroll.speed = scroll.speed * 0.4f + float(-step.y / dt) * 0.6f;
    }
    return;
  }
  if (!finger->scroll.empty()) {
    Scroll& scroll = scrolls_[finger->scroll];
    scroll.held = false;
    constexpr double kRest_s = 0.08;  // a finger that rests before it lifts lets nothing glide
    if (touch.time_s - finger->time_s > kRest_s) scroll.speed = 0;
  }
  if (touch.kind == Touch::Kind::up) {
    if (!finger->moved && finger->act == HitAct::tap) {
      if (!finger->label.empty()) {
        tapped_ = finger->label;
        tapped_at_ = touch.at;
        if (!focus_.empty() && focus_ != finger->label) leave_ = focus_;
      } else {
        blur();  // a touch beside the field ends the writing
      }
    }
    finger->at = touch.at;
    lifted_.push_back(*finger);
  }
  fingers_.erase(finger);
}

void Ui::wheel(Point at, float dy) {
  if (const Hit* scroll = hit_at(at, true)) {
    scrolls_[scroll->label].offset -= dy;
    wants_frame_ = true;
  }
}

void Ui::key(EditKey key, bool shift) {
  wants_frame_ = true;
  if (key == EditKey::tab) {
    if (!focus_.empty()) {
      key_focus_ = focus_;
      blur();
    }
    return move_key_focus(shift ? -1 : 1);
  }
  if (focus_.empty()) {
    if (key_on_area(key)) return;
    if (key == EditKey::enter)
      loose_text_ += '\r';
    else if (key == EditKey::backspace || key == EditKey::remove)
      loose_text_ += '\b';
    else
      loose_key_ = key;
    return;
  }
  if (key == EditKey::escape) return blur();
  if (key == EditKey::enter) entered_ = focus_;
  edit_.key(key, shift);
}

void Ui::typed(std::string_view utf8) {
  wants_frame_ = true;
  composing_.clear();
  if (!focus_.empty()) {
    edit_.insert(utf8);
  } else if (loose_text_.size() < 64) {
    loose_text_ += utf8;
    // Figures go into a keypad, and Enter is then its own.
    if (utf8.find_first_of("0123456789") != utf8.npos) key_focus_.clear();
  }
}

void Ui::composing(std::string_view utf8) {
  wants_frame_ = true;
  composing_ = utf8;
}

void Ui::blur() {
  focus_.clear();
  composing_.clear();
  caret_.reset();
  wants_frame_ = true;
}

bool Ui::entered(std::string_view label) {
  if (entered_ != label) return false;
  entered_.clear();
  return true;
}

// ---------------------------------------------------------------- frame

void Ui::begin(Canvas& canvas, const FrameInput& frame) {
  canvas_ = seen_canvas_ = &canvas;
  figures_.clear();
  if (frame.right_to_left) {
    mirror_.mirror(canvas, frame.width);
    canvas_ = &mirror_;
  }
  last_s_ = frame_.now_s;
  frame_ = frame;
  hits_.clear();
  cuts_.clear();
  said_.clear();
  explains_whole = false;
  modal_from_ = 0;
  clips_.assign(1, Rect{0, 0, frame.width, frame.height});
  scroll_stack_.clear();
  caret_.reset();
  wants_frame_ = false;
  move_scrolls();
  if (widths_.size() > 6000) widths_.clear();
  if (breaks_.size() > 2000) breaks_.clear();
}

void Ui::end() {
  if (!key_focus_.empty()) show_key_focus();
  shown_ = hits_;
  shown_modal_from_ = modal_from_;
  tapped_.clear();
  loose_text_.clear();
  loose_key_.reset();
  lifted_.clear();
  if (!leave_.empty() && leave_ == focus_) blur();  // something else was touched: writing ends
  leave_.clear();
  for (Finger& f : fingers_) {
    f.seen = f.at;
    f.fresh = false;
  }
  if (!wish_focus_.empty()) {
    wants_frame_ = true;  // the field wished for was not drawn yet
    wish_focus_.clear();
  }
}

void Ui::move_scrolls() {
  const float dt = float(std::clamp(frame_.now_s - last_s_, 0.0, 0.1));
  for (auto& [label, s] : scrolls_) {
    const float furthest = std::max(0.f, s.content - s.view);
    if (!s.held && std::fabs(s.speed) > 5) {
      s.offset += s.speed * dt;
      s.speed *= std::exp(-3.2f * dt);
      wants_frame_ = true;
    }
    if (s.content <= 0) continue;
    if (s.offset < 0 || s.offset > furthest) s.speed = 0;
    s.offset = std::clamp(s.offset, 0.f, furthest);
  }
}

Rect Ui::page() const {
  return {frame_.safe.left, frame_.safe.top, frame_.width - frame_.safe.left - frame_.safe.right,
          frame_.height - frame_.safe.top - frame_.safe.bottom};
}

void Ui::modal() { modal_from_ = hits_.size(); }

void Ui::add(std::string_view label, Rect rect, HitAct act, bool enabled) {
  Hit hit{seen(rect), seen(overlap(rect, clips_.back())), std::string(label), act, enabled};
  if (act == HitAct::scroll) hit.role = Role::scroll;
  if (act == HitAct::hold) hit.role = Role::hold;
  if (act == HitAct::gesture) hit.role = Role::figure;
  if (!scroll_stack_.empty()) hit.scroll = scroll_stack_.back();
  hits_.push_back(std::move(hit));
}

void Ui::describe(Role role, bool chosen, std::string_view value) {
  Hit& hit = hits_.back();
  hit.role = role;
  hit.chosen = chosen;
  hit.value = value;
}

Rect Ui::seen(Rect rect) const {
  return frame_.right_to_left ? Rect{frame_.width - rect.right(), rect.y, rect.w, rect.h} : rect;
}

Point Ui::meant(Point at) const {
  return frame_.right_to_left ? Point{frame_.width - at.x, at.y} : at;
}

Canvas& Ui::figure(Rect box) {
  if (!frame_.right_to_left) return *canvas_;
  figures_.emplace_back().shift(*seen_canvas_, frame_.width, box);
  return figures_.back();
}

bool Ui::tap(std::string_view label, Rect rect, bool enabled) {
  add(label, rect, HitAct::tap, enabled);
  if (!enabled || tapped_ != label) return false;
  tapped_.clear();
  wants_frame_ = true;  // what it changes is drawn next
  return true;
}

bool Ui::pressed(std::string_view label) const {
  return std::any_of(fingers_.begin(), fingers_.end(), [&](const Finger& f) {
    return f.label == label && (!f.moved || f.act != HitAct::tap);
  });
}

bool Ui::hold(std::string_view label, Rect rect) {
  add(label, rect, HitAct::hold, true);
  const bool held = pressed(label);
  if (held) wants_frame_ = true;
  return held;
}

// Touches as seen, turned into what the figure or the mirrored screen means by them.
Gesture Ui::gesture(std::string_view label, Rect rect, bool figure) {
  add(label, rect, HitAct::gesture, true);
  Gesture g = gesture_seen(label);
  if (!frame_.right_to_left) return g;
  if (figure) {
    g.at.x += rect.x - seen(rect).x;
  } else {
    g.at = meant(g.at);
    g.moved.x = -g.moved.x;
  }
  return g;
}

Gesture Ui::gesture_seen(std::string_view label) const {
  Gesture g;
  const Finger* two[2] = {};
  int count = 0;
  for (const Finger& f : fingers_)
    if (f.label == label && count < 2) two[count++] = &f;
  for (const Finger& f : lifted_)
    if (f.label == label) {
      g.at = f.at;
      g.tapped = !f.moved;
      g.released = true;
      if (f.moved) g.moved = {f.at.x - f.seen.x, f.at.y - f.seen.y};
    }
  if (count == 0) return g;
  g.active = true;
  g.begun = two[0]->fresh;
  g.tapped = false;
  g.at = two[0]->at;
  if (count == 1) {
    if (two[0]->moved) g.moved = {g.at.x - two[0]->seen.x, g.at.y - two[0]->seen.y};
    return g;
  }
  const auto apart = [](Point a, Point b) {
    return std::max(20.f, std::hypot(a.x - b.x, a.y - b.y));
  };
  g.zoom = apart(two[0]->at, two[1]->at) / apart(two[0]->seen, two[1]->seen);
  g.at = {(two[0]->at.x + two[1]->at.x) / 2, (two[0]->at.y + two[1]->at.y) / 2};
  g.moved = {g.at.x - (two[0]->seen.x + two[1]->seen.x) / 2,
             g.at.y - (two[0]->seen.y + two[1]->seen.y) / 2};
  return g;
}

void Ui::clip(Rect rect) {
  clips_.push_back(overlap(clips_.back(), rect));
  canvas_->push_clip(rect);
}

void Ui::unclip() {
  clips_.pop_back();
  canvas_->pop_clip();
}

float Ui::scroll_begin(std::string_view label, Rect rect) {
  add(label, rect, HitAct::scroll, true);
  Scroll& s = scrolls_[std::string(label)];
  s.view = rect.h;
  scroll_stack_.emplace_back(label);
  clip(rect);
  return rect.y - s.offset;
}

void Ui::scroll_end(float content_height) {
  const Rect view = clips_.back();
  unclip();
  Scroll& s = scrolls_[scroll_stack_.back()];
  scroll_stack_.pop_back();
  s.content = content_height;
  const float furthest = std::max(0.f, s.content - s.view);
  if (s.offset > furthest) {
    s.offset = furthest;
    wants_frame_ = true;
  }
  if (furthest > 1) {  // a thin bar tells that there is more
    const float length = std::max(24.f, s.view * s.view / s.content);
    const float y = view.y + (s.view - length) * (s.offset / furthest);
    canvas_->fill(rectangle({view.right() - 3, y, 2, length}), {faded(theme().quiet, 0.5f)});
  }
}

// ---------------------------------------------------------------- words

TextStyle Ui::style(float size, Color color, Weight weight, Align align) const {
  return {sp(size), color, weight, align, true};
}

float Ui::width(std::string_view text, const TextStyle& style) {
  std::string key = text_key(text, style, 0);
  auto found = widths_.find(key);
  if (found == widths_.end())
    found = widths_.emplace(std::move(key), text_width(text, style)).first;
  return found->second;
}

TextStyle Ui::fitted(std::string_view text, TextStyle style, float room, float least) {
  while (style.size > least && width(text, style) > room) style.size -= 0.5f;
  return style;
}

namespace {

bool breaks_a_word(Ui& ui, std::string_view text, const TextStyle& style, float room) {
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t to = std::min(text.find_first_of(" \n", from), text.size());
    const std::string_view word = text.substr(from, to - from);
    // A path has no better place to break.
    if (word.find('/') == word.npos && ui.width(word, style) > room) return true;
    from = to + 1;
  }
  return false;
}

}  // namespace

TextStyle Ui::unbroken(std::string_view text, TextStyle style, float room, float height,
                       float least) {
  while (style.size > least &&
         (breaks_a_word(*this, text, style, room) || paragraph_height(room, text, style) > height))
    style.size -= 0.5f;
  return style;
}

const std::vector<std::string>& Ui::lines(std::string_view text, const TextStyle& style,
                                          float width) {
  std::string key = text_key(text, style, width);
  auto found = breaks_.find(key);
  if (found == breaks_.end())
    found = breaks_.emplace(std::move(key), wrapped(text, style, width)).first;
  return found->second;
}

namespace {

float anchor(Rect box, Align align) {
  return align == Align::center ? box.x + box.w / 2 : align == Align::right ? box.right() : box.x;
}

}  // namespace

float Ui::words(Rect box, std::string_view text, const TextStyle& style) {
  said_.emplace_back(text);
  float wide = width(text, style);
  std::string cut;
  if (wide > box.w + 0.5f) {
    cuts_.push_back({std::string(text), box});
    cut = shortened(text, style, box.w);
    text = cut;
    wide = width(text, style);
  }
  canvas_->text({anchor(box, style.align), box.y + box.h / 2 + style.size * kCapHalf}, text, style);
  return wide;
}

float Ui::paragraph_height(float width, std::string_view text, const TextStyle& style) {
  return float(lines(text, style, width).size()) * style.size * Fonts::kLineHeight;
}

float Ui::paragraph(Rect box, std::string_view text, const TextStyle& style) {
  said_.emplace_back(text);
  if (breaks_a_word(*this, text, style, box.w)) cuts_.push_back({std::string(text)});
  const float line_height = style.size * Fonts::kLineHeight;
  float y = box.y;
  for (const std::string& line : lines(text, style, box.w)) {
    canvas_->text({anchor(box, style.align), y + line_height / 2 + style.size * kCapHalf}, line,
                  style);
    y += line_height;
  }
  return y - box.y;
}

}  // namespace app
