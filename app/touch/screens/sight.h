// app/touch/screens/sight.h: the aiming view: the camera's picture, or a clean view of what is marked so
// far, with cross hairs and readouts.
#pragma once

#include "app/touch/screens/screens.h"

namespace app {

void sight(TouchApp& app, Rect where, const std::optional<Aim>& aim);

}  // namespace app
