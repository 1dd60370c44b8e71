// horizon/light/winter_gain.h: what a glazed plane gets on a mean winter day.
// Units:  kWh a square metre and day, on the findings' shown plane, over their winter months
// Method: the months' sums; at the ends of the range direct sun is as long as it may be, each hour
//         worth what the month's are (where a month has none: the best of another's)
#pragma once

#include "horizon/light/findings.h"

namespace horizon {

Ranged winter_gain_kwh_m2(const StationFindings& found);

}  // namespace horizon
