// app/touch/practice/coach.h: the one thing to do next in the practice valley, in a sentence; what is to be touched
// stands in “quotes”.
#pragma once

#include <string>

#include "app/touch/screens/screens.h"

namespace app {

std::string coach_words(TouchApp& app);
// Over every screen of a practice site; returns the room left.
Rect practice_strip(TouchApp& app, Rect area);
// Where a mark is wanted next, true; nothing once the ring is closed.
std::optional<double> next_to_aim(TouchApp& app);

}  // namespace app
