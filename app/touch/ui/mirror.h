// app/touch/ui/mirror.h: a screen from right to left: everything drawn on it is seen in a mirror, but for
// figures, whose east stays east: they only move to the mirrored place.
// Units: dp
#pragma once

#include "app/drawing/canvas.h"

namespace app {

class MirrorCanvas : public Canvas {
 public:
  // The whole of a screen of that width.
  void mirror(Canvas& target, float width);
  // What lies in this box, as it is.
  void shift(Canvas& target, float width, Rect box);

  void fill(const Path& path, const Paint& paint) override { target_->fill(seen(path), paint); }
  void stroke(const Path& path, const Stroke& s) override { target_->stroke(seen(path), s); }
  void text(Point at, std::string_view utf8, const TextStyle& style) override;
  void image(const Image& image, Rect where) override { target_->image(image, seen(where)); }
  void push_clip(Rect rect) override { target_->push_clip(seen(rect)); }
  void pop_clip() override { target_->pop_clip(); }
  void begin_figure(std::string_view words) override { target_->begin_figure(words); }
  void end_figure() override { target_->end_figure(); }

 private:
  Point seen(Point p) const { return {mirrored_ ? width_ - p.x : p.x + shift_, p.y}; }
  Rect seen(Rect r) const { return {mirrored_ ? width_ - r.right() : r.x + shift_, r.y, r.w, r.h}; }
  Path seen(const Path& path) const;

  Canvas* target_ = nullptr;
  float width_ = 0, shift_ = 0;
  bool mirrored_ = true;
};

}  // namespace app
