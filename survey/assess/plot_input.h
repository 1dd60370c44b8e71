// survey/assess/plot_input.h: the field book's aims, land and choices as what the plot is worked out
// from.
// Units:   metres from the main station's ground; degrees
// Frame:   east, north, up; true azimuths
// Cost:    quick, reads the book
// Errors:  what is left out for being too much or out of range is `said`
#pragma once

#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "horizon/light/findings.h"
#include "horizon/plot/footprint.h"
#include "horizon/plot/in_years.h"
#include "horizon/plot/site_plan.h"
#include "survey/assess/ground_findings.h"

namespace survey {

struct PlotInput {
  horizon::PlotSurvey survey;                   // no stations: none has aims and a position
  std::vector<horizon::StationInput> stations;  // of each station in turn; the main one first
  std::vector<Id> station_ids;
  horizon::Place origin;
  horizon::Footprint footprint;
  std::vector<Eigen::Vector2d> boundary;
  double setback_m = 0;                    // by the rules of the place, as entered
  std::vector<horizon::PlanLimit> limits;  // water, lines, roads, buildings, steep or wet ground
  std::vector<horizon::KeepOff> keep_off() const;
  GroundFindings ground;
  horizon::Weights weights = horizon::kDefaultWeights;
  double eye_height_m = 1;                       // middle of a glazing
  std::vector<Eigen::Vector2d> drawn_buildings;  // middles of those that were only walked round
  horizon::Growth growth;
  std::optional<horizon::Error> said;        // far too many marks: fewer are used
  std::map<std::string, int> gone_in_years;  // by label: felled or pulled down, in years from now
  std::vector<horizon::ToBuild> to_build;
};
// site: where it is there already; else it is made.
horizon::Result<PlotInput> plot_input(const FieldBook& book, const GroundFindings& ground,
                                      const Assessment* site = nullptr);

// Fields of the note on building: metres a year; years from now until a thing of that label goes.
inline constexpr std::string_view kGrowthEvergreen = "growth_evergreen_m_y",
                                  kGrowthLeafy = "growth_leafy_m_y",
                                  kGoneInYears = "gone_in_years ";
// Things that will be built, by their name: from the main station's mark to their middle.
struct BuildField {
  std::string_view key;  // the thing's name follows
  double low, high;
};
inline constexpr BuildField kBuildFields[] = {
    {"build_bearing_true_deg ", -360, 360}, {"build_distance_m ", 0.5, 500},
    {"build_length_m ", 0.5, 200},          {"build_width_m ", 0.5, 200},
    {"build_height_m ", 0.5, 60},           {"build_in_years ", 0, 50}};
// Of those six numbers, from the first station; its long side lies across the bearing. Not over a
// station: its light would be said of the inside of a shed.
horizon::Result<horizon::ToBuild> to_build(std::string name, std::span<const double, 6> numbers,
                                           std::span<const horizon::PlotStation> stations);
// The weights that the reader chose, kept as fields "weight_light" ... of a note on building.
horizon::Weights weights_of(const FieldBook& book);
horizon::Result<void> keep_weights(FieldBook& book, const horizon::Weights& weights, Moment when);

}  // namespace survey
