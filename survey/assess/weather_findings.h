// survey/assess/weather_findings.h: cold, growing warmth, wind and snow out of the field book; a part
// of survey/assess/ground_findings.h.
#pragma once

#include "survey/assess/ground_findings.h"

namespace survey {

// Where a form's figure is from: what was typed of it, else the form itself.
horizon::Sentence source_in(const SiteNote& note, std::string_view key, const char* otherwise);
// Fills temperatures, cold, wind and snow of `out`, whose forms are there already.
horizon::Result<void> weather_findings(const FieldBook& book, const GroundOptions& options,
                                       const std::optional<ClimateNormals>& climate,
                                       GroundFindings& out);

}  // namespace survey
