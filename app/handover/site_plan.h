// app/handover/site_plan.h: the plan of a site, out of its report: what every drawing is made from.
// Units, frame, unknown: horizon/plot/site_plan.h
// Method:   places by the adjustment of horizon/plot/intersection.h; grid by PROJ, peg by peg; sun of
//           houses and stations by the skyline predicted at each height; contours between levelled
//           points only, where their heights are known well enough for the step
// Cost:     about 20 ms a height of house and station
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "app/handover/site_report.h"
#include "app/words/quantity.h"
#include "horizon/plot/levels.h"
#include "horizon/plot/site_plan.h"

namespace app {

horizon::SitePlan site_plan(const SiteReport& site, const survey::PlotInput& input);

// The parts of it, in app/handover/plan_houses.cpp.
void add_houses(horizon::SitePlan& plan, const SiteReport& site, const survey::PlotInput& input,
                const horizon::Levels& levels);
horizon::PlanBearing bearing_of(const horizon::SitePlan& plan, double true_deg);

// The plan alone on a sheet of A4 lying down, in millimetres.
std::string plan_svg(const SiteReport& site, Units units);
nlohmann::ordered_json plan_json(const horizon::SitePlan& plan);
// Where a photograph lies in the package: "photos/03-old-ash-east-from-B.jpg".
std::string photo_file_name(const SiteReport& site, std::size_t photo);

}  // namespace app
