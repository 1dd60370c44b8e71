// app/drawing/theme.h: the colours of everything. Paper, ink, one amber for the sun; each kind of
// skyline has a colour and a hatch of its own.
// Accuracy: words of every colour are at least 7:1 (WCAG 2.1, 1.4.6) on what they lie on in daylight;
//           at dusk ink and quiet on paper and card are
#pragma once

#include <cstdint>

#include "app/drawing/canvas.h"
#include "horizon/skyline/skyline.h"

namespace app {

struct Theme {
  Color paper, card;  // the page; what lies on it
  Color ink, quiet;   // words; words that explain
  Color rule;         // hairlines, borders
  Color amber;        // the sun: filled areas, the main action
  Color amber_deep;   // the sun as a line, seen on paper
  Color amber_soft;   // behind words about the sun
  Color sky, night;   // behind the skyline; the sun is down
  Color warning, warning_soft;
  Color good, good_soft;
  Color ridge, evergreen, leafy, building, pole;
  Color hatch;         // over the kinds
  Color mark, on_ink;  // a sighting's dot; words on ink or night
};

inline constexpr Theme kDaylight = {
    .paper = {246, 243, 235},
    .card = {255, 253, 248},
    .ink = {28, 40, 48},
    .quiet = {66, 78, 86},
    .rule = {217, 211, 196},
    .amber = {242, 178, 48},
    .amber_deep = {196, 124, 8},
    .amber_soft = {251, 228, 170},
    .sky = {233, 240, 244},
    .night = {38, 50, 62},
    .warning = {134, 40, 22},
    .warning_soft = {246, 226, 219},
    .good = {24, 84, 52},
    .good_soft = {221, 235, 222},
    .ridge = {92, 111, 130},
    .evergreen = {47, 107, 77},
    .leafy = {190, 146, 52},
    .building = {141, 127, 117},
    .pole = {44, 46, 48},
    .hatch = {255, 255, 255, 96},
    .mark = {255, 255, 255},
    .on_ink = {250, 248, 242},
};

inline constexpr Theme kDusk = {
    .paper = {20, 26, 31},
    .card = {29, 37, 43},
    .ink = {240, 234, 220},
    .quiet = {184, 188, 186},
    .rule = {66, 76, 84},
    .amber = {226, 158, 36},
    .amber_deep = {246, 186, 78},
    .amber_soft = {74, 55, 18},
    .sky = {36, 46, 54},
    .night = {10, 14, 18},
    .warning = {246, 158, 138},
    .warning_soft = {74, 36, 28},
    .good = {140, 210, 164},
    .good_soft = {28, 58, 42},
    .ridge = {98, 118, 138},
    .evergreen = {58, 124, 92},
    .leafy = {176, 138, 62},
    .building = {134, 122, 113},
    .pole = {200, 200, 196},
    .hatch = {0, 0, 0, 90},
    .mark = {20, 26, 31},
    .on_ink = {250, 248, 242},
};

inline constexpr Theme kPrint = [] {
  Theme theme = kDaylight;
  theme.paper = {255, 255, 255};
  theme.card = {255, 255, 255};
  theme.rule = {206, 204, 196};
  theme.sky = {240, 244, 246};
  return theme;
}();

inline Color faded(Color color, float part) {
  color.a = static_cast<std::uint8_t>(static_cast<float>(color.a) * part);
  return color;
}

inline Paint paint_of(horizon::Kind kind, const Theme& theme) {
  using horizon::Kind;
  switch (kind) {
    case Kind::evergreen:
      return {theme.evergreen, Hatch::evergreen, theme.hatch};
    case Kind::leafy:
      return {theme.leafy, Hatch::leafy, theme.hatch};
    case Kind::building:
      return {theme.building, Hatch::building, theme.hatch};
    case Kind::pole:
      return {theme.pole, Hatch::pole, theme.hatch};
    case Kind::ridge:
      break;
  }
  return {theme.ridge, Hatch::ridge, faded(theme.hatch, 0.5f)};
}
inline Paint paint_of_open(const Theme& theme) {
  return {theme.warning_soft, Hatch::open, faded(theme.warning, 0.75f)};
}

}  // namespace app
