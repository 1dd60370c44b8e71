#include "app/touch/ui/inspect.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"

namespace app {
namespace {

bool within(Rect inner, Rect outer, float slack) {
  return inner.x >= outer.x - slack && inner.y >= outer.y - slack &&
         inner.right() <= outer.right() + slack && inner.bottom() <= outer.bottom() + slack;
}

}  // namespace

void InspectedCanvas::begin(Canvas& target, Rect window) {
  target_ = &target;
  clips_.assign(1, window);
  words_.clear();
}

void InspectedCanvas::fill(const Path& path, const Paint& paint) {
  target_->fill(path, paint);
  if (path.points.size() < 4) return;
  const Rect cover = overlap(bounds_of(path), clips_.back());
  if (paint.color.a > 60 && within(clips_.front(), cover, 1))
    return words_.clear();  // dimmed for a sheet
  if (paint.color.a < 200) return;
  if (cover.w < 40 || cover.h < 20) return;
  // A sheet or a bar laid over words hides them, or the part of them that lies below it.
  std::erase_if(words_, [&](Words& w) {
    if (within(w.visible, cover, 1)) return true;
    if (within({w.visible.x, cover.y, w.visible.w, 1}, cover, 1) && w.visible.y < cover.bottom() &&
        w.visible.bottom() > cover.y) {
      if (w.visible.y >= cover.y) {
        const float top = std::min(w.visible.bottom(), cover.bottom());
        w.visible = {w.visible.x, top, w.visible.w, w.visible.bottom() - top};
      } else {
        w.visible.h = cover.y - w.visible.y;
      }
      w.clip = {-1e6f, -1e6f, 2e6f, 2e6f};
    }
    return false;
  });
}

void InspectedCanvas::text(Point at, std::string_view utf8, const TextStyle& style) {
  target_->text(at, utf8, style);
  const float width = text_width(utf8, style);
  const float x = style.align == Align::center  ? at.x - width / 2
                  : style.align == Align::right ? at.x - width
                                                : at.x;
  const Rect box{x, at.y - style.size * 0.73f, width, style.size * 0.73f};
  const Rect visible = overlap(box, clips_.back());
  if (visible.w > 0 && visible.h > 0 && style.color.a > 40)
    words_.push_back({std::string(utf8), box, visible, clips_.back(), style.color});
}

void InspectedCanvas::push_clip(Rect rect) {
  clips_.push_back(overlap(clips_.back(), rect));
  target_->push_clip(rect);
}

void InspectedCanvas::pop_clip() {
  clips_.pop_back();
  target_->pop_clip();
}

bool InspectedCanvas::shows(std::string_view part) const {
  std::string all;
  for (const Words& w : words_) all += w.text + " ";
  return all.find(part) != std::string::npos;
}

std::vector<std::string> faults_of(const Ui& ui, const InspectedCanvas& canvas,
                                   const std::vector<std::string>& may_shorten) {
  std::vector<std::string> faults;
  const auto typed = [&](const std::string& text) {
    return std::any_of(may_shorten.begin(), may_shorten.end(),
                       [&](const std::string& known) { return text.find(known) != text.npos; });
  };
  for (const Ui::Cut& cut : ui.cuts())
    if (!typed(cut.text)) faults.push_back("cut off: " + cut.text);
  const auto& words = canvas.words();
  for (const auto& w : words) {
    if ((w.box.x < w.clip.x - 1 || w.box.right() > w.clip.right() + 1) && !typed(w.text))
      faults.push_back("beyond its edge: " + w.text);
  }
  for (std::size_t i = 0; i < words.size(); ++i)
    for (std::size_t k = i + 1; k < words.size(); ++k) {
      const Rect both = overlap(words[i].visible, words[k].visible);
      if (both.w > 1.5f && both.h > 1.5f)
        faults.push_back("overlap: " + words[i].text + " / " + words[k].text);
    }
  const auto& hits = ui.hits();
  char size[64];
  for (std::size_t i = ui.modal_from(); i < hits.size(); ++i) {
    const Hit& hit = hits[i];
    if (hit.act == HitAct::scroll || hit.visible.w <= 0 || hit.visible.h <= 0) continue;
    if (hit.rect.w < kTouch - 0.5f || hit.rect.h < kTouch - 0.5f) {
      std::snprintf(size, sizeof size, " %.0f x %.0f", double(hit.rect.w), double(hit.rect.h));
      faults.push_back("small: " + hit.label + size);
    }
    for (std::size_t k = 0; k < ui.modal_from(); ++k)  // they would take each other's touches
      if (hits[k].act != HitAct::scroll && hits[k].label == hit.label)
        faults.push_back("also named below the sheet: " + hit.label);
    for (std::size_t k = i + 1; k < hits.size(); ++k) {
      if (hits[k].act == HitAct::scroll) continue;
      if (hits[k].label == hit.label) faults.push_back("two areas named: " + hit.label);
      const Rect both = overlap(hit.visible, hits[k].visible);
      if (both.w > 2 && both.h > 2 && hit.act != HitAct::gesture && hits[k].act != HitAct::gesture)
        faults.push_back("areas overlap: " + hit.label + " / " + hits[k].label);
    }
  }
  return faults;
}

}  // namespace app
