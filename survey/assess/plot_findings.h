// survey/assess/plot_findings.h: the plot in metres: what stands where, sun hours at every spot, the
// best places for the building, and what speaks for and against each.
// Units:   metres from the main station's ground; hours over the winter months; degrees
// Frame:   east, north, up; true azimuths
// Cost:    a second or two for the map: off the frame's thread
// Method:  each near thing is placed by its outlines from all stations, its shape and size unknown
//          too; a mark without a distance is a direction. The ridge is taken from every station's
//          aims. A spot whose hours cannot be told is grey, and counts by its low end
// Sources: horizon/plot/*.h
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "horizon/house/house_findings.h"
#include "horizon/plot/footprint.h"
#include "horizon/plot/verdict.h"
#include "survey/assess/plot_input.h"

namespace survey {

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
  std::vector<horizon::Sentence> aim_next;  // for this map
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

// The sunniest place as another spot for the house: its skyline as predicted there. Empty where the
// first station is that place.
std::vector<horizon::OtherSpot> other_spots(const PlotFindings& plot, double eye_height_m);

}  // namespace survey
