// app/touch/ui/areas.h: the screen as a tree for those who do not see it: every area with its name, role, state,
// value and box, and all words in their order. As JSON, for the page's real elements and for tests.
// Units: dp
#pragma once

#include <string>

#include "app/touch/ui/ui.h"

namespace app {

// {"title", "language", "live", "focus", "areas": [{"name","role","enabled","chosen","value","refused","box"}],
//  "words": [...]}; a refusal where one writes is the live text.
// What lies under a sheet is left out, for it cannot be touched.
std::string areas_json(const Ui& ui, std::string_view title, std::string_view live);

}  // namespace app
