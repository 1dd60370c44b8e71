// app/cli/light_text.h: the light at a station as plain text for people.
#pragma once

#include "horizon/house/house_findings.h"
#include "horizon/light/findings.h"
#include "horizon/skyline/mask.h"
#include "horizon/sun/sun_year.h"

namespace app {

void print_sun_year(const horizon::SunYear& year, const horizon::Mask& mask, double offset_h);
void print_house(const horizon::HouseFindings& findings, int year);
void print_findings(const horizon::StationFindings& findings, const horizon::StationInput& input);

}  // namespace app
