// app/drawing/charts/acts.h: one drawing for each act of a visit: where to stand, how to hold a tool.
// Units: those of the canvas; a drawing fills the largest square in its box
#pragma once

#include <string>

#include "app/drawing/canvas.h"
#include "app/drawing/theme.h"

namespace app {

enum class HowTo : unsigned char { stand, phone, compass, clinometer, tape, plumb, pit, shadow };
inline constexpr int kActCount = 8;
std::string name_of(HowTo act);  // "stand", for keys of words
void draw_act(Canvas& canvas, Rect box, HowTo act, const Theme& theme);

}  // namespace app
