// survey/assess/station_skyline.h: what follows from the rows of a field book: the skyline at each station.
// Units:   degrees, metres, years
// Frame:   true azimuths
// Method:  declination from the site's own entry, else from the model for the place and the day
//          of the aims; convergence from the site's entry or its grid; one heading correction for
//          each instrument at each station from its checks that are not voided
// Limit:   more marks or things than anybody can aim at are thinned (horizon/skyline/thinned.h), and a
//          note says so
// Errors:  what cannot be worked out is listed beside the result with its cure
// Derived: nothing here is stored; work it out again whenever FieldBook::change_count() differs
#pragma once

#include <span>
#include <string>
#include <vector>

#include "horizon/bearing/correction.h"
#include "horizon/place.h"
#include "survey/assess/station_contacts.h"
#include "survey/book/store.h"

namespace survey {

// The instrument of points worked out from a height grid: they are no aims, and marked computed.
inline constexpr const char* kTerrainInstrument = "terrain grid";
inline constexpr const char* kTurnInstrument = "turn of ";  // and its time: a turn with the camera

struct InstrumentHeading {
  std::string instrument;
  horizon::HeadingCorrection correction;
  std::vector<Id> checks;  // in the order of correction.residual_deg; empty: by the contacts
  bool magnetic = false;   // its checks were read from the needle
};

struct StationSkyline {
  Station station;
  horizon::Place eye;  // the station's position, eye height added
  horizon::CorrectedSkyline result;
  std::vector<Id> sightings;  // a point's `source` is an index into this
  std::vector<InstrumentHeading> instruments;
  StationContacts contacts;  // in the skyline already; a point's `contact` is an index into it
  std::optional<double> declination_deg;
  double declination_sigma_deg = 0;
  std::string declination_source;  // "entered", "WMM2025 for 2026.90"
  std::optional<double> convergence_deg;
  std::vector<horizon::Error> notes;  // what a reader should know; `where` names the row

  const horizon::Skyline& skyline() const { return result.skyline; }
};

horizon::Result<StationSkyline> station_skyline(const FieldBook& book, const Id& station_id);
// The main station first, then in the order they were put.
horizon::Result<std::vector<StationSkyline>> station_skylines(const FieldBook& book);
// Of more than `most` stations the first `then` that have sightings (and up to ten times as many
// without), the named one after the main one. beyond: how many were left out.
horizon::Result<std::vector<StationSkyline>> station_skylines(const FieldBook& book,
                                                              std::size_t most, std::size_t then,
                                                              std::string_view named,
                                                              std::size_t* beyond);
// How many skylines this program has derived so far: a test counts them.
long skylines_derived();
// The station marked as main, else the first.
horizon::Result<Station> main_station(const FieldBook& book);

struct MeanPosition {
  Position position;
  double horizontal_sigma_m = 0;  // of the mean: not under that of the best fix over sqrt(2), for
  std::optional<double> height_sigma_m;  // a receiver's error hardly changes within minutes
  int used = 0;
  std::vector<Id> outliers;
};
// Weighted by their sigmas, those left out by choice and outliers not counted. Fails without any.
horizon::Result<MeanPosition> mean_position(std::span<const Fix> fixes);

// For the list of sites: the main skyline at `count` equal steps.
SkylineSketch sketch_of(const horizon::Skyline& skyline, int count = 120);

}  // namespace survey
