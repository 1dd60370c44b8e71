// app/ground/plot_findings.h: the plot in metres: what stands where, sun hours at every spot, the
// best places for the building, and what speaks for and against each.
// Units:   metres from the main station's ground; hours over the winter months; degrees
// Frame:   east, north, up; true azimuths
// Cost:    a second or two for the map: off the frame's thread (plot_input is quick, reads the
//          book)
// Method:  each near thing is placed by its outlines from all stations, its shape and size unknown
//          too; a mark without a distance is a direction. The ridge is taken from every station's
//          aims. A spot whose hours cannot be told is grey, and counts by its low end
// Sources: horizon/plot/*.h
#pragma once

#include <map>
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <span>
#include <string>
#include <vector>

#include "app/ground/ground_findings.h"
#include "horizon/house/house_findings.h"
#include "horizon/light/findings.h"
#include "horizon/plot/footprint.h"
#include "horizon/plot/in_years.h"
#include "horizon/plot/site_plan.h"
#include "horizon/plot/verdict.h"

namespace app {

struct PlotInput {
  horizon::PlotSurvey survey;                   // no stations: none has aims and a position
  std::vector<horizon::StationInput> stations;  // of each station in turn; the main one first
  std::vector<survey::Id> station_ids;
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
horizon::Result<PlotInput> plot_input(const survey::FieldBook& book, const GroundFindings& ground,
                                      const survey::Assessment* site = nullptr);

struct PlacedThing {
  std::string name;
  horizon::Kind kind = horizon::Kind::ridge;
  double east_m = 0, north_m = 0, radius_m = 0;
  double height_m = 0, height_low_m = 0, height_high_m = 0;  // of its top above the ground there
  horizon::ErrorEllipse ellipse;
  std::vector<horizon::ShapeChoice> choices;  // the likeliest first
  horizon::Placing placing = horizon::Placing::direction;
  int stations = 0;  // that aimed at it
};

struct PlotFindings {
  std::string origin;  // name of the main station
  horizon::Place origin_place;
  std::vector<PlacedThing> things;  // all but ridges
  horizon::PlacedPlot plot;
  horizon::HoursMap map;
  horizon::Footprint footprint;
  std::vector<Eigen::Vector2d> boundary;
  double setback_m = 0;
  std::vector<horizon::FootprintPlace> best;
  // The building about each station, where the map reaches so far; in the stations' order.
  std::vector<std::optional<horizon::FootprintPlace>> at_stations;
  std::vector<std::string> aim_next;  // for this map, in words
  int winter_days = 1;
  // What the map was worked out by, for other heights and places.
  struct Sun {
    horizon::SunSamples samples;
    horizon::RidgeLifts lifts;
  };
  std::shared_ptr<const Sun> sun;
  struct Later {
    int years = 0;
    std::vector<horizon::MeanHours> best;  // in the order of the best places
    horizon::HoursMap map;                 // no spots where no maps were asked for
    std::vector<PlacedThing> things;
    std::vector<horizon::MeanHours> station_h;         // direct sun in winter at each station's eye
    std::vector<horizon::MeanHours> station_change_h;  // of these against now
    horizon::Skyline skyline;                          // predicted at the main station's eye
  };
  std::vector<Later> later;  // trees grown, things gone or built; empty where nothing changes
  std::vector<horizon::MeanHours> station_h;  // now, by the same arithmetic; where there is a later
  horizon::Skyline skyline;                   // the same
  std::vector<horizon::CandidateSpot> candidates;  // the stations, then the best place
  std::vector<horizon::SpotVerdict> verdicts;
};
// What of the plot in ten and twenty years: each map costs as much as today's, the best places and
// stations next to nothing.
enum class Ahead { nothing, places, maps };
horizon::Result<PlotFindings> plot_findings(const PlotInput& input, Ahead ahead = Ahead::maps);
// What speaks for and against the stations alone; no map, so a fraction of a second.
horizon::Result<std::vector<horizon::SpotVerdict>> station_verdicts(const PlotInput& input);

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
horizon::Weights weights_of(const survey::FieldBook& book);
horizon::Result<void> keep_weights(survey::FieldBook& book, const horizon::Weights& weights,
                                   survey::Moment when);

// The sunniest place as another spot for the house: its skyline as predicted there. Empty where the
// first station is that place.
std::vector<horizon::OtherSpot> other_spots(const PlotFindings& plot, double eye_height_m);

nlohmann::ordered_json plot_json(const PlotFindings& plot);

}  // namespace app
