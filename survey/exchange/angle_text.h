// survey/exchange/angle_text.h: one angle in degrees, as people write it in a field book.
// Reads  221.5   221,5   -3.25   221°30'15"   221 30 15   221:30:15   221d30m15s   221°30.25'
//        and the typographic signs ′ ″ ’ ”. Minutes and seconds stay below 60.
// Errors nullopt for anything else, percent and mils included: they are other units.
#pragma once

#include <optional>
#include <string_view>

namespace survey {

std::optional<double> angle_deg_of(std::string_view text);

}  // namespace survey
