// survey/assess/plot_json.h: the plot as JSON whose keys carry their units.
// The keys are listed in docs/formats.md, "Ground as JSON"; they stay as they are.
#pragma once

#include "survey/assess/ground_json.h"
#include "survey/assess/plot_findings.h"

namespace survey {

// A line of the verdict in the reader's language.
using SayVerdict = std::function<std::string(const horizon::VerdictLine&)>;
Json plot_json(const PlotFindings& plot, const Say& say, const SayVerdict& say_verdict);

}  // namespace survey
