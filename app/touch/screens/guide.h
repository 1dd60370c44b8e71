// app/touch/screens/guide.h: how an act of the visit is done, in one line and one drawing; and what may
// hurt, before anything else.
#pragma once

#include "app/drawing/charts/acts.h"
#include "app/touch/screens/screens.h"

namespace app {

void act_row(TouchApp& app, Column& rows, HowTo act);
// In place of every screen of a site until it was read once.
void warnings_screen(TouchApp& app, Rect page);

}  // namespace app
