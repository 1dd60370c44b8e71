// survey/exchange/programme_rows.h: which column of a programme holds which member. The only place that knows:
// both databases, the list for a spreadsheet and docs/formats.md follow it.
#pragma once

#include "survey/book/row_cells.h"
#include "survey/exchange/programme.h"

namespace survey {

#define ADRET_FIGURE(column, member, unit, says, rules)                   \
  v(column, member.value, unit, says, rules);                             \
  v(column "_low", member.low, unit, "nine in ten lie above 5 %", rules); \
  v(column "_high", member.high, unit, "nine in ten lie below 95 %", rules)

inline constexpr Range kDayHours{0, 24}, kColdest_c{-90, 60}, kCount{0, 1e9};

template <class V>
void describe(Of<ProgrammeSite> auto& r, V& v) {
  const Rules share = within(range::kShare), count = within(kCount),
              metres = within(range::kMetres);
  v("site_id", r.site_id, "UUID", "the site's own id", kRequired);
  v("name", r.name, "", "name of the site", kAny);
  v("latitude_deg", r.latitude_deg, "degrees", "", within(range::kLatitude_deg));
  v("longitude_deg", r.longitude_deg, "degrees", "", within(range::kLongitude_deg));
  v("height_m", r.height_m, "metres", "", within(range::kHeight_m));
  v("station", r.station, "", "the sunniest, which the figures are for", kAny);
  v("visits", r.visits, "", "", count);
  v("stations", r.stations, "", "", count);
  v("sightings", r.sightings, "", "not voided", count);
  v("photos", r.photos, "", "", count);
  v("last_visit", r.last_visit, "", "begin of the newest visit", kAny);
  v("visit_ended", r.visit_ended, "", "every visit is ended", kAny);
  v("arrive_done", r.arrive_done, "0 to 1", "how far the stop has come", share);
  v("skyline_done", r.skyline_done, "0 to 1", "", share);
  v("ground_done", r.ground_done, "0 to 1", "", share);
  v("light_done", r.light_done, "0 to 1", "", share);
  v("hand_over_done", r.hand_over_done, "0 to 1", "", share);
  v("sighted_share", r.sighted_share, "0 to 1", "of the horizon, that station", share);
  v("headings_disagree", r.headings_disagree, "", "its heading checks contradict each other", kAny);
  v("sky", r.sky, "", "clear sky, monthly normals, weather file: what the light rests on", kAny);
  v("sky_source", r.sky_source, "", "", kAny);
  ADRET_FIGURE("winter_sun_h_per_day", r.winter_sun_h, "hours", "direct sun, mean winter day",
               within(kDayHours));
  ADRET_FIGURE("shortest_day_sun_h", r.shortest_day_h, "hours", "direct sun on the shortest day",
               within(kDayHours));
  ADRET_FIGURE("gain_kwh_m2_per_day", r.gain_kwh_m2, "kWh/m2", "on the glazing, mean winter day",
               within(range::kSun_kwh_m2_day));
  ADRET_FIGURE("best_facing_true_deg", r.facing_deg, "degrees", "clockwise from low to high",
               within(range::kBearing_deg));
  ADRET_FIGURE("best_tilt_deg", r.tilt_deg, "degrees", "", within(range::kTilt_deg));
  ADRET_FIGURE("coldest_inside_c", r.coldest_inside_c, "degrees Celsius",
               "lowest of a winter in the unheated house", within(kColdest_c));
  ADRET_FIGURE("coldest_outside_c", r.coldest_outside_c, "degrees Celsius", "lowest of a winter",
               within(kColdest_c));
  ADRET_FIGURE("frost_depth_m", r.frost_depth_m, "metres", "under the snow of the form", metres);
  ADRET_FIGURE("crops_living", r.crops_living, "",
               "crops that live through nine winters of ten in the unheated house", count);
  v("crops_asked", r.crops_asked, "", "of so many crops", count);
  v("water_source", r.water_source, "", "as in the form", kAny);
  v("water_distance_m", r.water_distance_m, "metres", "", metres);
  v("water_flow_l_min", r.water_flow_l_min, "litres a minute", "", within({0, 1e6}));
  v("water_in_winter", r.water_in_winter, "", "runs in winter", kAny);
  v("access_way", r.access_way, "", "road, track, path, none", kAny);
  v("access_distance_m", r.access_distance_m, "metres", "from where a vehicle can stand", metres);
  v("access_slope_percent", r.access_slope_percent, "%", "steepest of the way", within({0, 1000}));
  v("lane_width_m", r.lane_width_m, "metres", "", metres);
  v("access_in_winter", r.access_in_winter, "", "cleared in winter", kAny);
  v("power_distance_m", r.power_distance_m, "metres", "", metres);
  v("drain_distance_m", r.drain_distance_m, "metres", "", metres);
  v("permit_needed", r.permit_needed, "", "none, notice, permit, unclear", kAny);
  v("setback_m", r.setback_m, "metres", "", metres);
  v("ground_snow_kn_m2", r.ground_snow_kn_m2, "kN/m2", "as entered, by the code named there",
    within({0, 1000}));
  v("slope_deg", r.slope_deg, "degrees", "of the ground, first pit where it was measured",
    within(range::kSlope_deg));
  v("water_table_m", r.water_table_m, "metres", "highest found below the surface", metres);
  v("rock_m", r.rock_m, "metres", "highest found below the surface", metres);
  v("speaks_for", r.speaks_for, "", "lines of the verdict", count);
  v("speaks_against", r.speaks_against, "", "", count);
  v("unsure", r.unsure, "", "", count);
  v("not_known", r.not_known, "", "", count);
  v("questions", r.questions, "", "still open", count);
  v("conflicts", r.conflicts, "", "entries in which two copies differ; the first stands", count);
  v("content_sha256", r.content_sha256, "64 hex digits", "of the site's rows", kRequired);
  v("file_name", r.file_name, "", "of the copy that brought this state", kAny);
  v("software", r.software, "", "that worked it out", kAny);
  v("language", r.language, "", "of the texts", kAny);
}
#undef ADRET_FIGURE

template <class V>
void describe(Of<ProgrammeCrop> auto& r, V& v) {
  v("crop", r.crop, "", "", kAny);
  v("lives_share", r.lives_share, "0 to 1", "of the winters drawn", within(range::kShare));
  v("lives_share_low", r.low, "0 to 1", "of a count of so many winters", within(range::kShare));
  v("lives_share_high", r.high, "0 to 1", "", within(range::kShare));
  v("winters", r.winters, "", "drawn", within(kCount));
}

template <class V>
void describe(Of<ProgrammeVerdict> auto& r, V& v) {
  v("criterion", r.criterion, "", "light, frost, drainage, wind, access", kAny);
  v("stance", r.stance, "", "for, against, unsure, not known", kAny);
  v("text", r.text, "", "", kAny);
  v("evidence", r.evidence, "", "what it rests on", kAny);
  v("weight", r.weight, "", "as set on the site", within({0, 1e6}));
  v("about", r.about, "", "what the line is about, to say it in another language", kAny);
  v("figures", r.figures, "", "its figures in SI, a JSON list", kAny);
}

template <class V>
void describe(Of<ProgrammeQuestion> auto& r, V& v) {
  v("about", r.about, "", "arrive, skyline, ground, light, hand_over, findings, copies", kAny);
  v("text", r.text, "", "", kAny);
  v("key", r.key, "", "of the task, or TABLE/ID/COLUMN where copies differ", kAny);
}

template <class V>
void describe(Of<ProgrammePhoto> auto& r, V& v) {
  v("photo_id", r.photo_id, "UUID", "", kRequired);
  v("label", r.label, "", "what it shows", kAny);
  v("taken", r.taken, "", "", kAny);
  v("latitude_deg", r.latitude_deg, "degrees", "", within(range::kLatitude_deg));
  v("longitude_deg", r.longitude_deg, "degrees", "", within(range::kLongitude_deg));
  v("bearing_deg", r.bearing_deg, "degrees", "of the optical axis", within(range::kBearing_deg));
  v("sha256", r.sha256, "64 hex digits", "of the original; names its thumbnail", kAny);
}

template <class Row>
Cells programme_cells(const Row& row) {
  CellWriter writer;
  describe(row, writer);
  return std::move(writer.cells);
}
template <class Row>
const std::vector<Column>& programme_columns() {
  static const std::vector<Column> columns = [] {
    ColumnLister lister;
    const Row row;
    describe(row, lister);
    return std::move(lister.columns);
  }();
  return columns;
}

}  // namespace survey
