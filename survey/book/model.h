// survey/book/model.h: what one site file holds: place, people, stations and aims.
// Units:  in the names: degrees, metres, seconds; sigmas are one standard deviation
// Frame:  WGS 84; heights above the ellipsoid or above the sea as Station::height_datum says;
//         bearings clockwise from the north named beside them; elevations as seen
// Keys:   every row has a UUID (version 4, lower case); an empty id is filled in when it is put
// Tables: docs/formats.md, "The site file"; the columns are described once, in survey/book/columns.h
// The ground and weather rows are in model_ground.h, the designer's choices in model_design.h.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "horizon/bearing/correction.h"
#include "horizon/bearing/heading_check.h"
#include "horizon/skyline/skyline.h"

namespace survey {

using Id = std::string;

// Stored to the millisecond. The offset is that of the clock on the spot: what the person saw.
struct Moment {
  double utc_s = 0;
  double utc_offset_h = 0;
  friend bool operator==(const Moment&, const Moment&) = default;
};

struct Position {
  double latitude_deg = 0, longitude_deg = 0;
  std::optional<double> height_m;
  friend bool operator==(const Position&, const Position&) = default;
};

struct Field {  // one line of a form: what was asked, what was answered
  std::string key, value;
  friend bool operator==(const Field&, const Field&) = default;
};

using horizon::Reference;  // true_north, magnetic, grid, device

// One row in a file.
struct Site {
  Id id;
  std::string name;
  Position position;  // about the middle of the plot
  Moment created;     // its offset is the site's own clock, for all local times shown
  std::string for_whom;
  std::string grid;                       // of grid bearings and coordinates: "EPSG:25832"
  std::optional<double> declination_deg;  // entered by hand; else the model's
  std::optional<double> declination_sigma_deg;
  std::optional<double> convergence_deg;  // entered by hand; else from `grid`
  std::string declination_source;
  std::optional<double> max_gap_deg;  // neighbouring marks further apart leave an open stretch
  std::string note;
};

struct Visit {
  Id id;
  Moment begun;
  std::optional<Moment> ended;
  std::string people;  // initials
  std::string weather;
  std::string ground_cover;  // "snow 40 cm", "grass", "stubble"
  std::string hazards_seen;
  std::string note;
};

enum class PositionSource : std::uint8_t { entered, fixes, map, file };
inline constexpr int kPositionSourceCount = 4;
std::string_view name_of(PositionSource source);  // "entered", "fixes", "map", "file"

enum class HeightDatum : std::uint8_t { sea_level, ellipsoid };
inline constexpr int kHeightDatumCount = 2;
std::string_view name_of(HeightDatum datum);  // "sea_level", "ellipsoid"

struct Station {
  Id id, visit_id;
  std::string name;
  Position position;  // of the ground under the eye
  PositionSource position_source = PositionSource::entered;
  HeightDatum height_datum = HeightDatum::sea_level;
  std::optional<double> horizontal_sigma_m, height_sigma_m;
  double eye_height_m = 1.6;  // above the ground
  double eye_height_sigma_m = 0.1;
  Moment time;
  bool main = false;  // the one that the site's findings are for
  std::string note;
};

// One reading of a satellite receiver at a station.
struct Fix {
  Id id, station_id;
  Moment time;
  Position position;
  std::optional<double> horizontal_sigma_m, height_sigma_m;
  std::optional<int> satellites;
  bool left_out = false;  // from the mean, by choice
};

struct Landmark {
  Id id;
  std::string name;
  std::string what;    // "summit", "church", "mast"
  Position position;   // of the point that is aimed at
  double sigma_m = 5;  // horizontal
  std::optional<double> height_sigma_m;
  std::string source;
  std::string note;
};

// One aim. Raw: reading, reference, sigmas, time, station and instrument never change once put; a
// wrong one is voided. What it was aimed at (kind, label, layer, edge, ...) may be put right.
struct Sighting {
  Id id, station_id;
  Moment time;
  double bearing_deg = 0;
  Reference reference = Reference::magnetic;
  double elevation_deg = 0;
  double bearing_sigma_deg = 1.0, elevation_sigma_deg = 0.5;
  std::string instrument;     // heading checks correct the sightings of their own instrument
  bool back_bearing = false;  // read from the mark towards the station: turned by 180
  horizon::Kind kind = horizon::Kind::ridge;
  std::string label;  // sightings of one kind and label at a station are one obstacle
  int layer = 0;      // 0 the outline, 1 to 9 behind it
  horizon::Edge edge = horizon::Edge::straight;
  std::optional<double> distance_m, width_deg;
  std::string group;  // repeated aims at one mark share it; empty: an aim of its own
  Id photo_id;        // the photograph it was read from, if any
  std::string note;
  std::optional<Moment> voided;
  std::string void_reason;
};

// An aim at something whose true bearing is known. Raw as a sighting is.
struct HeadingCheckRow {
  Id id, station_id;
  Moment time;
  horizon::CheckKind kind = horizon::CheckKind::landmark;
  std::string instrument;
  double bearing_deg = 0;
  Reference reference = Reference::magnetic;
  double bearing_sigma_deg = 0.5;
  double known_true_deg = 0;
  double known_sigma_deg = 0.1;
  Id landmark_id;
  std::string label, note;
  std::optional<Moment> voided;
  std::string void_reason;
};

// What is known of an obstacle beyond its outline. Sightings belong to it by kind and label.
struct ObstacleRow {
  Id id;
  horizon::Kind kind = horizon::Kind::evergreen;
  std::string label;
  int leaf_months = 0;  // bit 0 = January; 0 = by the hemisphere
  double light_through_in_leaf = 0.15, light_through_bare = 0.60;  // of a leafy tree, 0 to 1
  std::optional<double> height_m, distance_m, width_deg;
  std::string note;
};

struct Photo {
  Id id, station_id;
  Moment time;
  std::string sha256;      // of the original bytes, 64 hex digits; they are read by it
  std::string file_name;   // as it came, for people to read; never used as a path
  std::string media_type;  // "image/jpeg", "image/png"
  std::int64_t size_bytes = 0;
  int width_px = 0, height_px = 0;  // as stored, before `orientation` is applied
  int orientation = 1;              // 1 to 8 as in EXIF
  std::optional<Position> position;
  std::optional<double> bearing_deg;  // of the optical axis
  Reference reference = Reference::device;
  std::optional<double> elevation_deg;   // of the optical axis
  std::optional<double> roll_deg;        // positive where the camera's right side is down
  std::optional<double> view_width_deg;  // of the longer side of the stored picture
  std::string label;                     // obstacle, pit or thing it shows
  std::string note;
};

}  // namespace survey

#include "survey/book/model_contact.h"
#include "survey/book/model_design.h"
#include "survey/book/model_ground.h"
