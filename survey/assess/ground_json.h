// survey/assess/ground_json.h: the ground findings as JSON whose keys carry their units.
// The keys are listed in docs/formats.md, "Ground as JSON"; they stay as they are.
#pragma once

#include <functional>
#include <string>

#include "survey/assess/ground_findings.h"
#include "survey/assess/light_json.h"

namespace survey {

// The words of a sentence in the reader's language: evidence and what is missing stand in the JSON
// as a person reads them; an empty sentence has no words.
using Say = std::function<std::string(const horizon::Sentence&)>;
Json ground_findings_json(const GroundFindings& findings, const Say& say);

}  // namespace survey
