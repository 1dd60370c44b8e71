// survey/assess/plot_json.h: the plot as JSON whose keys carry their units.
// The keys are listed in docs/formats.md, "Ground as JSON"; they stay as they are.
#pragma once

#include "survey/assess/ground_json.h"
#include "survey/assess/plot_findings.h"

namespace survey {

Json plot_json(const PlotFindings& plot, const Say& say);

}  // namespace survey
