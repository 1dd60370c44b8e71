// survey/book/columns.h: which column holds which member of which struct. The only place that knows.
// A `describe` names every column of a row once; visitors read, write, or list them.
// In `describe`, v(name, member, unit, meaning) is followed by what the column may hold.
#pragma once

#include "survey/book/model.h"
#include "survey/book/ranges.h"
#include "survey/book/table.h"

namespace survey {

struct Rules {
  bool raw = false, required = false;
  Range range = {};
  const char* refers_to = "";
};
inline constexpr Rules kAny{};
inline constexpr Rules kRaw{.raw = true};
inline constexpr Rules kRequired{.required = true};
constexpr Rules within(const Range& range) { return {.range = range}; }
constexpr Rules raw_within(const Range& range) { return {.raw = true, .range = range}; }
constexpr Rules refers_to(const char* table) { return {.refers_to = table}; }
constexpr Rules raw_refers_to(const char* table) { return {.raw = true, .refers_to = table}; }

inline constexpr Rules kBearing = within(range::kBearing_deg),
                       kRawBearing = raw_within(range::kBearing_deg);
inline constexpr Rules kSigma = within(range::kSigma_deg),
                       kRawSigma = raw_within(range::kSigma_deg);
inline constexpr Rules kMetres = within(range::kMetres), kShare = within(range::kShare),
                       kPercent = within(range::kPercent), kMonths = within(range::kMonthBits);

template <class Row>
struct TableName;  // name, meaning, keep_for_ever, single

#define ADRET_TABLE(Row, table, says, keep, one) \
  template <>                                    \
  struct TableName<Row> {                        \
    static constexpr const char* name = table;   \
    static constexpr const char* meaning = says; \
    static constexpr bool keep_for_ever = keep;  \
    static constexpr bool single = one;          \
  }
ADRET_TABLE(Site, "site", "the place that may be built on", false, true);
ADRET_TABLE(Visit, "visit", "one walk over the site", false, false);
ADRET_TABLE(Station, "station", "a spot where the observer stood", false, false);
ADRET_TABLE(Fix, "fix", "one position of a satellite receiver at a station", false, false);
ADRET_TABLE(Landmark, "landmark", "a thing whose place is known", false, false);
ADRET_TABLE(Photo, "photo", "a photograph; its bytes are in photo_data", false, false);
ADRET_TABLE(Sighting, "sighting", "one aim at the skyline, as read", true, false);
ADRET_TABLE(HeadingCheckRow, "heading_check", "an aim at something of known true bearing", true,
            false);
ADRET_TABLE(ContactRow, "contact", "when the light of sun or moon came or went", true, false);
ADRET_TABLE(DiaryRow, "diary", "a stretch of sun on one day, or none", false, false);
ADRET_TABLE(ObstacleRow, "obstacle", "what is known of an obstacle beyond its outline", false,
            false);
ADRET_TABLE(SoilPit, "soil_pit", "a pit or auger hole", false, false);
ADRET_TABLE(SoilLayer, "soil_layer", "one layer of a pit", false, false);
ADRET_TABLE(PercolationTest, "percolation_test", "a hole filled with water", false, false);
ADRET_TABLE(PercolationReading, "percolation_reading", "one water level in such a hole", false,
            false);
ADRET_TABLE(SiteNote, "note", "a form or free note, with time and place", false, false);
ADRET_TABLE(Hazard, "hazard", "what may hurt", false, false);
ADRET_TABLE(Person, "person", "who is asked, who decides; personal data", false, false);
ADRET_TABLE(Path, "path", "a line walked, drawn or read from a file", false, false);
ADRET_TABLE(ClimateNormals, "climate", "monthly climate taken for the site", false, false);
ADRET_TABLE(DesignChoices, "design", "the designer's choices", false, true);
ADRET_TABLE(Finding, "finding", "a result as it was handed over", false, false);
#undef ADRET_TABLE

// R is the row, const or not.
template <class R, class Row>
concept Of = std::is_same_v<std::remove_const_t<R>, Row>;

template <class V>
void describe(Of<Site> auto& r, V& v) {
  v("name", r.name, "", "name of the site", kRequired);
  v("position", r.position, "degrees, metres", "about the middle of the plot", kAny);
  v("created", r.created, "", "when the file was begun; its offset is the site's clock", kAny);
  v("for_whom", r.for_whom, "", "who wants to build", kAny);
  v("grid", r.grid, "", "coordinate system of grid bearings, EPSG:code", kAny);
  v("declination_deg", r.declination_deg, "degrees, east positive", "entered by hand",
    within(range::kDeclination_deg));
  v("declination_sigma_deg", r.declination_sigma_deg, "degrees", "its standard deviation", kSigma);
  v("convergence_deg", r.convergence_deg, "degrees, grid north east of true positive",
    "entered by hand", within(range::kConvergence_deg));
  v("declination_source", r.declination_source, "", "where it was taken from", kAny);
  v("max_gap_deg", r.max_gap_deg, "degrees", "wider gaps between marks are open stretches",
    within(range::kMaxGap_deg));
  v("note", r.note, "", "", kAny);
}

template <class V>
void describe(Of<Visit> auto& r, V& v) {
  v("begun", r.begun, "", "", kAny);
  v("ended", r.ended, "", "", kAny);
  v("people", r.people, "", "initials", kAny);
  v("weather", r.weather, "", "", kAny);
  v("ground_cover", r.ground_cover, "", "snow, grass, stubble", kAny);
  v("hazards_seen", r.hazards_seen, "", "", kAny);
  v("note", r.note, "", "", kAny);
}

template <class V>
void describe(Of<Station> auto& r, V& v) {
  v("visit_id", r.visit_id, "", "", refers_to("visit"));
  v("name", r.name, "", "", kAny);
  v("position", r.position, "degrees, metres", "the ground under the eye", kAny);
  v("position_source", r.position_source, "", "", kAny);
  v("height_datum", r.height_datum, "", "what the height counts from", kAny);
  v("horizontal_sigma_m", r.horizontal_sigma_m, "metres", "", within(range::kPositionSigma_m));
  v("height_sigma_m", r.height_sigma_m, "metres", "", within(range::kPositionSigma_m));
  v("eye_height_m", r.eye_height_m, "metres above the ground", "", within(range::kEyeHeight_m));
  v("eye_height_sigma_m", r.eye_height_sigma_m, "metres", "", within(range::kEyeHeight_m));
  v("time", r.time, "", "", kAny);
  v("main", r.main, "", "the findings of the site are for this one", kAny);
  v("note", r.note, "", "", kAny);
}

template <class V>
void describe(Of<Fix> auto& r, V& v) {
  v("station_id", r.station_id, "", "", raw_refers_to("station"));
  v("time", r.time, "", "", kRaw);
  v("position", r.position, "degrees, metres", "", kRaw);
  v("horizontal_sigma_m", r.horizontal_sigma_m, "metres", "", raw_within(range::kPositionSigma_m));
  v("height_sigma_m", r.height_sigma_m, "metres", "", raw_within(range::kPositionSigma_m));
  v("satellites", r.satellites, "", "used", raw_within(range::kSatellites));
  v("left_out", r.left_out, "", "of the mean, by choice", kAny);
}

template <class V>
void describe(Of<Landmark> auto& r, V& v) {
  v("name", r.name, "", "", kRequired);
  v("what", r.what, "", "summit, church, mast", kAny);
  v("position", r.position, "degrees, metres", "the point that is aimed at", kAny);
  v("sigma_m", r.sigma_m, "metres", "horizontal", within(range::kPositionSigma_m));
  v("height_sigma_m", r.height_sigma_m, "metres", "", within(range::kPositionSigma_m));
  v("source", r.source, "", "map or survey", kAny);
  v("note", r.note, "", "", kAny);
}

template <class V>
void describe(Of<Sighting> auto& r, V& v) {
  v("station_id", r.station_id, "", "",
    Rules{.raw = true, .required = true, .refers_to = "station"});
  v("time", r.time, "", "", kRaw);
  v("bearing_deg", r.bearing_deg, "degrees", "as read", kRawBearing);
  v("reference", r.reference, "", "the north it was read from", kRaw);
  v("elevation_deg", r.elevation_deg, "degrees", "as read, above the horizontal",
    raw_within(range::kSightingElevation_deg));
  v("bearing_sigma_deg", r.bearing_sigma_deg, "degrees", "of this aim", kRawSigma);
  v("elevation_sigma_deg", r.elevation_sigma_deg, "degrees", "of this aim", kRawSigma);
  v("instrument", r.instrument, "", "", kRaw);
  v("back_bearing", r.back_bearing, "", "read from the mark towards the station", kRaw);
  v("kind", r.kind, "", "", kAny);
  v("label", r.label, "", "one kind and label at a station: one obstacle", kAny);
  v("layer", r.layer, "", "0 the outline, above 0 behind it", within(range::kLayer));
  v("edge", r.edge, "", "how the line runs on to the next mark of the obstacle", kAny);
  v("distance_m", r.distance_m, "metres", "", within(range::kDistance_m));
  v("width_deg", r.width_deg, "degrees", "of a pole", within(range::kPoleWidth_deg));
  v("aim_group", r.group, "", "repeated aims at one mark share it", kAny);
  v("photo_id", r.photo_id, "", "read from this photograph", raw_refers_to("photo"));
  v("note", r.note, "", "", kAny);
  v("voided", r.voided, "", "not to be used from then on", kAny);
  v("void_reason", r.void_reason, "", "", kAny);
}

template <class V>
void describe(Of<HeadingCheckRow> auto& r, V& v) {
  v("station_id", r.station_id, "", "",
    Rules{.raw = true, .required = true, .refers_to = "station"});
  v("time", r.time, "", "", kRaw);
  v("kind", r.kind, "", "", kRaw);
  v("instrument", r.instrument, "", "", kRaw);
  v("bearing_deg", r.bearing_deg, "degrees", "as read", kRawBearing);
  v("reference", r.reference, "", "the north it was read from", kRaw);
  v("bearing_sigma_deg", r.bearing_sigma_deg, "degrees", "", kRawSigma);
  v("known_true_deg", r.known_true_deg, "degrees", "what it should be, from true north", kBearing);
  v("known_sigma_deg", r.known_sigma_deg, "degrees", "", kSigma);
  v("landmark_id", r.landmark_id, "", "", refers_to("landmark"));
  v("label", r.label, "", "", kAny);
  v("note", r.note, "", "", kAny);
  v("voided", r.voided, "", "not to be used from then on", kAny);
  v("void_reason", r.void_reason, "", "", kAny);
}

template <class V>
void describe(Of<ObstacleRow> auto& r, V& v) {
  v("kind", r.kind, "", "", kAny);
  v("label", r.label, "", "", kAny);
  v("leaf_months", r.leaf_months, "bit 0 = January", "0: by the hemisphere", kMonths);
  v("light_through_in_leaf", r.light_through_in_leaf, "0 to 1", "of a leafy tree", kShare);
  v("light_through_bare", r.light_through_bare, "0 to 1", "of a leafy tree", kShare);
  v("height_m", r.height_m, "metres", "above its own foot", within(range::kObstacleHeight_m));
  v("distance_m", r.distance_m, "metres", "", within(range::kDistance_m));
  v("width_deg", r.width_deg, "degrees", "of a pole", within(range::kPoleWidth_deg));
  v("note", r.note, "", "", kAny);
}

template <class V>
void describe(Of<Photo> auto& r, V& v) {
  v("station_id", r.station_id, "", "", refers_to("station"));
  v("time", r.time, "", "", kAny);
  v("sha256", r.sha256, "64 hex digits", "of the bytes in photo_data",
    Rules{.raw = true, .required = true});
  v("file_name", r.file_name, "", "as it came; never used as a path", kAny);
  v("media_type", r.media_type, "", "", kRaw);
  v("size_bytes", r.size_bytes, "bytes", "", raw_within(range::kPhotoBytes));
  v("width_px", r.width_px, "pixels", "as stored", raw_within(range::kPixels));
  v("height_px", r.height_px, "pixels", "as stored", raw_within(range::kPixels));
  v("orientation", r.orientation, "1 to 8 as in EXIF", "how to turn it for viewing",
    within(range::kOrientation));
  v("position", r.position, "degrees, metres", "of the camera", kAny);
  v("bearing_deg", r.bearing_deg, "degrees", "of the optical axis", kBearing);
  v("reference", r.reference, "", "the north of the bearing", kAny);
  v("elevation_deg", r.elevation_deg, "degrees", "of the optical axis",
    within(range::kElevation_deg));
  v("roll_deg", r.roll_deg, "degrees, right side down positive", "", within(range::kRoll_deg));
  v("view_width_deg", r.view_width_deg, "degrees", "of the longer side",
    within(range::kViewWidth_deg));
  v("label", r.label, "", "what it shows", kAny);
  v("note", r.note, "", "", kAny);
}

}  // namespace survey

#include "survey/book/columns_contact.h"
#include "survey/book/columns_ground.h"
