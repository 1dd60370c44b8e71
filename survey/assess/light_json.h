// survey/assess/light_json.h: the light at a station as JSON whose keys carry their units.
// The keys are listed in docs/formats.md, "Light as JSON"; they stay as they are.
#pragma once

#include <nlohmann/json.hpp>

#include "horizon/light/findings.h"
#include "horizon/skyline/mask.h"
#include "horizon/skyline/skyline.h"
#include "horizon/sun/sun_year.h"

namespace survey {

using Json = nlohmann::ordered_json;

double rounded(double value, int decimals);  // and never -0
Json json_of(const horizon::Place& place);
// `days`, `months`, `winter`, `whole_year`, `without_direct_sun`.
void add_sun_year(Json& json, const horizon::SunYear& year);
// `open_stretches`, `closed_fraction`.
void add_mask(Json& json, const horizon::Mask& mask);
// The findings, in keys of their own; the same object as in a package's site.json.
Json findings_json(const horizon::StationFindings& findings, const horizon::StationInput& input);
Json months_json(unsigned months);  // numbers 1 to 12

}  // namespace survey
