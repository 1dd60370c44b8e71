// app/drawing/contrast.h: how far two colours stand apart.
// Source: WCAG 2.1, definitions of relative luminance and contrast ratio.
#pragma once

#include <algorithm>
#include <cmath>

#include "app/drawing/canvas.h"

namespace app {

inline double luminance(Color c) {
  const auto part = [](std::uint8_t v) {
    const double s = v / 255.0;
    return s <= 0.03928 ? s / 12.92 : std::pow((s + 0.055) / 1.055, 2.4);
  };
  return 0.2126 * part(c.r) + 0.7152 * part(c.g) + 0.0722 * part(c.b);
}
inline double contrast(Color a, Color b) {
  const double la = luminance(a), lb = luminance(b);
  return (std::max(la, lb) + 0.05) / (std::min(la, lb) + 0.05);
}

}  // namespace app
