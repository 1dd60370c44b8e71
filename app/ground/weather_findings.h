// app/ground/weather_findings.h: cold, growing warmth, wind and snow out of the field book; a part
// of app/ground/ground_findings.h.
#pragma once

#include "app/ground/ground_findings.h"

namespace app {

// Fills temperatures, cold, wind and snow of `out`, whose forms are there already.
horizon::Result<void> weather_findings(const survey::FieldBook& book, const GroundOptions& options,
                                       const std::optional<survey::ClimateNormals>& climate,
                                       GroundFindings& out);

}  // namespace app
