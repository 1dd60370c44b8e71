// app/touch/ui/keyboard.cpp: every area without a finger: Tab and Shift-Tab go from one to the next, Enter
// touches it, the arrows move what a finger would move.
#include <algorithm>

#include "app/drawing/shapes.h"
#include "app/touch/ui/ui.h"

namespace app {
namespace {

constexpr float kArrowStep = 24;   // dp that an arrow moves a gesture's area
constexpr float kScrollStep = 60;  // and what scrolls
constexpr std::int64_t kKeyFinger = -77;

}  // namespace

const Hit* Ui::focused_area() const {
  if (key_focus_.empty()) return nullptr;
  for (std::size_t i = shown_.size(); i-- > shown_modal_from_;)
    if (shown_[i].label == key_focus_ && shown_[i].act != HitAct::scroll) return &shown_[i];
  return nullptr;
}

void Ui::move_key_focus(int by) {
  std::vector<const Hit*> areas;
  int at = -1;
  for (std::size_t i = shown_modal_from_; i < shown_.size(); ++i) {
    const Hit& hit = shown_[i];
    if (hit.act == HitAct::scroll || !hit.enabled) continue;
    if (hit.label == key_focus_) at = int(areas.size());
    areas.push_back(&hit);
  }
  if (areas.empty()) return;
  const int count = int(areas.size());
  at = at < 0 ? (by > 0 ? 0 : count - 1) : (at + by + count) % count;
  key_focus_ = areas[std::size_t(at)]->label;
  bring_focus_into_sight_ = true;
  wants_frame_ = true;
}

void Ui::activate(std::string_view label) {
  key_focus_ = label;
  bring_focus_into_sight_ = true;
  wants_frame_ = true;
  (void)key_on_area(EditKey::enter);
}

// True where the key was for the focused area.
bool Ui::key_on_area(EditKey key) {
  const Hit* area = focused_area();
  const auto sideways = [&](float dx, float dy) {
    Finger f;
    f.id = kKeyFinger;
    f.from = f.seen = {area->rect.x + area->rect.w / 2, area->rect.y + area->rect.h / 2};
    f.at = {f.seen.x + dx, f.seen.y + dy};
    f.label = area->label;
    f.act = HitAct::gesture;
    f.moved = true;
    lifted_.push_back(f);
  };
  const bool moves = area && area->act == HitAct::gesture;
  switch (key) {
    case EditKey::left:
    case EditKey::right:
      if (!moves) return false;
      sideways(key == EditKey::left ? kArrowStep : -kArrowStep, 0);
      return true;
    case EditKey::up:
    case EditKey::down:
      if (moves) {
        sideways(0, key == EditKey::up ? kArrowStep : -kArrowStep);
        return true;
      }
      for (std::size_t i = shown_.size(); i-- > shown_modal_from_;)
        if (shown_[i].act == HitAct::scroll) {
          scrolls_[shown_[i].label].offset += key == EditKey::up ? -kScrollStep : kScrollStep;
          return true;
        }
      return false;
    case EditKey::enter:
      break;
    default:
      return false;
  }
  if (!area || !area->enabled) return false;
  const Point middle{area->visible.x + area->visible.w / 2, area->visible.y + area->visible.h / 2};
  if (area->act == HitAct::tap) {
    tapped_ = area->label;
    tapped_at_ = middle;
    return true;
  }
  // A held area is held from one Enter to the next.
  const auto held = std::find_if(fingers_.begin(), fingers_.end(),
                                 [](const Finger& f) { return f.id == kKeyFinger; });
  if (held != fingers_.end()) {
    lifted_.push_back(*held);
    fingers_.erase(held);
    return true;
  }
  Finger f;
  f.id = kKeyFinger;
  f.from = f.at = f.seen = middle;
  f.label = area->label;
  f.act = area->act;
  (area->act == HitAct::hold ? fingers_ : lifted_).push_back(f);
  return true;
}

// The frame round the area that Enter would touch, and the scroll that shows it.
void Ui::show_key_focus() {
  const Hit* area = nullptr;
  for (std::size_t i = modal_from_; i < hits_.size(); ++i)
    if (hits_[i].label == key_focus_ && hits_[i].act != HitAct::scroll) area = &hits_[i];
  if (!area) return;
  if (bring_focus_into_sight_ && !area->scroll.empty()) {
    Scroll& scroll = scrolls_[area->scroll];
    const auto view = std::find_if(hits_.begin(), hits_.end(), [&](const Hit& h) {
      return h.act == HitAct::scroll && h.label == area->scroll;
    });
    constexpr float kRoom = 16;
    const float above = view->rect.y + kRoom - area->rect.y,
                below = area->rect.bottom() + kRoom - view->rect.bottom();
    if (above > 0)
      scroll.offset -= above;
    else if (below > 0)
      scroll.offset += std::min(below, -above);
    if (above > 0 || below > 0) wants_frame_ = true;
  }
  bring_focus_into_sight_ = false;
  if (area->visible.w < 4 || area->visible.h < 4) return;
  const Rect frame = area->visible.inset(1);
  seen_canvas_->stroke(rounded(frame, 8), {theme().card, 7});
  seen_canvas_->stroke(rounded(frame, 8), {theme().ink, 4});
}

}  // namespace app
