// app/touch/ui/text_field.cpp: a field that is written in.
#include <algorithm>

#include "app/drawing/fonts.h"
#include "app/drawing/shapes.h"
#include "app/touch/ui/ui.h"
#include "app/words/words.h"

namespace app {
namespace {

constexpr float kCapHalf = Fonts::kCapHeight / 2;

}  // namespace

void Ui::refuse(std::string_view label, Rect rect, std::string_view why, float bottom) {
  canvas_->stroke(rounded(rect.inset(0.75f), 10), {theme().warning, 2.f});
  const auto hit =
      std::find_if(hits_.rbegin(), hits_.rend(), [&](const Hit& h) { return h.label == label; });
  if (hit != hits_.rend()) hit->refused = why;
  if (focus_ != label || refused_shown_ == why || scroll_stack_.empty()) return;
  refused_shown_ = why;  // once: who scrolls away from it may
  constexpr float kRoom = 8;
  const Rect view = clips_.back();
  const float below = std::min(bottom + kRoom - view.bottom(), rect.y - view.y);
  if (below <= 0) return;
  scrolls_[scroll_stack_.back()].offset += below;
  wants_frame_ = true;
}

bool Ui::text_field(std::string_view label, Rect rect, std::string& value, bool lines,
                    std::string_view hint) {
  const Theme& t = theme();
  const bool touched = tap(label, rect);
  describe(Role::field, focus_ == label, value);
  if ((touched && focus_ != label) || wish_focus_ == label) {
    focus_ = label;
    wish_focus_.clear();
    edit_.begin(value, lines);
    wants_frame_ = true;
  }
  const bool mine = focus_ == label;
  canvas_->fill(rounded(rect, 10), {t.card});
  canvas_->stroke(rounded(rect.inset(0.75f), 10), {mine ? t.ink : t.rule, mine ? 2.f : 1.5f});
  const TextStyle style = this->style(17, t.ink);
  const float line_height = style.size * Fonts::kLineHeight;
  const Rect inner{rect.x + 12, rect.y + 8, rect.w - 24, rect.h - 16};
  const float top = lines ? inner.y : rect.y + (rect.h - line_height) / 2;

  bool changed = false;
  if (mine) {
    edit_.lay_out(style, inner.w, line_height);
    if (touched) edit_.click({tapped_at_.x - seen(inner).x, tapped_at_.y - top});
    std::string now = edit_.utf8();
    changed = now != value;
    if (changed) value = std::move(now);
  }
  clip(rect.inset(2));
  if (!mine) {
    TextStyle shown = style;
    std::string text = value;
    if (value.empty() && !hint.empty()) {  // never to be taken for something that was entered
      shown = this->style(14, t.quiet);
      text = hint;
      if (!lines) shown = fitted(text, shown, inner.w);
    }
    if (lines)
      paragraph({inner.x, top, inner.w, inner.h}, text, shown);
    else
      words({inner.x, rect.y, inner.w, rect.h}, text, shown);
  } else {
    const auto rows = edit_.rows();
    Canvas& written = figure(inner);  // what is typed runs as its own letters do
    float shift_x = 0, shift_y = 0;
    for (std::size_t i = 0; i < rows.size(); ++i)
      if (rows[i].caret >= 0) {
        if (!lines) shift_x = std::max(0.f, rows[i].caret - inner.w);
        if (lines) shift_y = std::max(0.f, float(i + 1) * line_height - inner.h);
      }
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const auto& row = rows[i];
      const float y = top + float(i) * line_height - shift_y;
      const float baseline = y + line_height / 2 + style.size * kCapHalf;
      if (row.select_to > row.select_from)
        written.fill(rectangle({inner.x + row.select_from - shift_x, y,
                                row.select_to - row.select_from, line_height}),
                     {t.amber_soft});
      written.text({inner.x - shift_x, baseline}, row.text, style);
      if (row.caret < 0) continue;
      const float x = inner.x + row.caret - shift_x;
      float after = 0;
      if (!composing_.empty()) {
        TextStyle pale = style;
        pale.color = t.quiet;
        written.text({x, baseline}, composing_, pale);
        after = width(composing_, pale);
        written.fill(rectangle({x, y + line_height - 2, after, 1}), {t.ink});
      }
      written.fill(rectangle({x + after, y + 1, 2, line_height - 2}), {t.amber_deep});
      caret_ = Rect{x + after + seen(inner).x - inner.x, y, 2, line_height};
    }
  }
  unclip();
  return changed;
}

}  // namespace app
