// survey/exchange/marks_csv.h: a list of sightings from a text table.
// Units:  degrees (decimal or degrees-minutes-seconds), metres
// Frame:  each bearing with its own north: true, magnetic or grid
// Layout: docs/formats.md, "Sightings as a text table". Comma, semicolon or tab; a first row of
//         column names in any order, or none (bearing, elevation, kind, label, distance); '#'
//         begins a comment line; decimal commas where the fields are not separated by commas
// Errors: every bad row is listed with its line number and the cure; the good rows are kept
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "horizon/bearing/correction.h"
#include "horizon/result.h"
#include "horizon/skyline/skyline.h"

namespace survey {

// The zero of a hand clinometer, or of a phone's sense of level, which all its aims share, beside the
// error of each: some tenths of a degree (common practice), less where each aim is finer.
constexpr double zero_sigma_deg(double elevation_sigma_deg) {
  return elevation_sigma_deg < 0.3 ? elevation_sigma_deg : 0.3;
}

struct MarkRow {
  int line = 0;  // in the file, from 1
  double bearing_deg = 0;
  std::optional<horizon::Reference> north;  // nothing where neither column nor name says it
  double elevation_deg = 0;
  horizon::Kind kind = horizon::Kind::ridge;
  std::string label;
  std::optional<double> distance_m;
  std::optional<double> bearing_sigma_deg, elevation_sigma_deg;
  std::optional<double> width_deg;  // of a pole
  int layer = 0;
  horizon::Edge edge = horizon::Edge::straight;
  std::string station;   // empty: the only one
  std::string time_utc;  // as written, checked
  std::string instrument;
  bool back_bearing = false;  // read from the mark towards the station
  std::string group;          // repeated aims at one mark share it
  std::string note;
};

struct MarksTable {
  std::vector<MarkRow> marks;
  std::vector<horizon::Error> errors;  // `where` = "line 12"
  std::vector<horizon::Error> notes;   // read, but worth a look: duplicates, a guessed encoding
};

// `bytes` is the file as it lies on disk, in any encoding survey/book/text.h reads. `unsaid_north`: what
// the caller takes bearings for whose north is not said; a note names it.
MarksTable marks_of_csv(std::string_view bytes,
                        horizon::Reference unsaid_north = horizon::Reference::true_north);

// Degrees to add to a bearing of each north to make it a true azimuth.
struct NorthOffsets {
  std::optional<double> declination_deg;
  std::optional<double> convergence_deg;
};

// By horizon::corrected_skyline, as one unchecked instrument's. A mark whose north is not known
// counts as true; a point's source is its line.
// Fails where a magnetic or grid bearing has no offset, and for a device's own bearings: those need
// a site file with its heading checks.
horizon::Result<horizon::Skyline> skyline_of(const std::vector<MarkRow>& marks,
                                             const NorthOffsets& offsets);

}  // namespace survey
