// survey/assess/house_json.h: the unheated house's findings as JSON whose keys carry their units.
// The keys are listed in docs/formats.md, "The house"; they stay as they are.
#pragma once

#include "horizon/house/house_findings.h"
#include "survey/assess/light_json.h"

namespace survey {

Json house_json(const horizon::HouseFindings& findings);

}  // namespace survey
