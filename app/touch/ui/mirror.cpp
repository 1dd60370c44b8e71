#include "app/touch/ui/mirror.h"

namespace app {

void MirrorCanvas::mirror(Canvas& target, float width) {
  target_ = &target;
  width_ = width;
  mirrored_ = true;
}

void MirrorCanvas::shift(Canvas& target, float width, Rect box) {
  target_ = &target;
  width_ = width;
  mirrored_ = false;
  shift_ = width - box.right() - box.x;
}

void MirrorCanvas::text(Point at, std::string_view utf8, const TextStyle& style) {
  if (!mirrored_) return target_->text(seen(at), utf8, style);
  TextStyle turned = style;
  if (style.align != Align::center)
    turned.align = style.align == Align::left ? Align::right : Align::left;
  target_->text(seen(at), utf8, turned);
}

Path MirrorCanvas::seen(const Path& path) const {
  Path out = path;
  for (Point& p : out.points) p = seen(p);
  return out;
}

}  // namespace app
