// app/touch/screens/light_parts.h: the cards of the Light stop, one by one.
#pragma once

#include "app/touch/screens/screens.h"

namespace app {

enum class LightPart : unsigned char { numbers, sun_year, facing, ledger, paths, growing, months };
void light_part(TouchApp& app, Column& rows, const StationResults& results, LightPart part);

// Every month in one line; a touch on one tells the rest of it. A table where there is room.
void month_rows(TouchApp& app, Column& rows, const StationResults& results);

// One sentence: which crops live without heat.
void house_card(TouchApp& app, Column& rows);

}  // namespace app
