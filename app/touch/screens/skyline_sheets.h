// app/touch/screens/skyline_sheets.h: what opens over the Skyline stop: the keypad for typed readings, a
// mark that was touched, the name of what is aimed at.
#pragma once

#include "app/touch/screens/screens.h"

namespace app {

void keypad_sheet(TouchApp& app, Rect area);
void mark_sheet(TouchApp& app, Rect area);
void label_sheet(TouchApp& app, Rect area);

}  // namespace app
