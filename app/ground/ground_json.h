// app/ground/ground_json.h: the ground findings as JSON whose keys carry their units.
// The keys are listed in docs/formats.md, "Ground as JSON"; they stay as they are.
#pragma once

#include <nlohmann/json.hpp>

#include "app/ground/ground_findings.h"

namespace app {

nlohmann::ordered_json ground_findings_json(const GroundFindings& findings);

}  // namespace app
