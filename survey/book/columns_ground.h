// survey/book/columns_ground.h: the columns of the ground, weather and design tables.
#pragma once

#include "survey/book/columns.h"

namespace survey {

template <class V>
void describe(Of<SoilPit> auto& r, V& v) {
  v("visit_id", r.visit_id, "", "", refers_to("visit"));
  v("time", r.time, "", "", kAny);
  v("name", r.name, "", "", kAny);
  v("position", r.position, "degrees, metres", "", kAny);
  v("method", r.method, "", "pit, auger, bar", kAny);
  v("depth_m", r.depth_m, "metres", "how deep it was dug", within(range::kPitDepth_m));
  v("water_m", r.water_m, "metres below the surface", "free water", within(range::kPitDepth_m));
  v("rock_m", r.rock_m, "metres below the surface", "refusal or bedrock",
    within(range::kPitDepth_m));
  v("slope_deg", r.slope_deg, "degrees", "of the ground", within(range::kSlope_deg));
  v("slope_faces_true_deg", r.slope_faces_true_deg, "degrees", "downhill, from true north",
    kBearing);
  v("note", r.note, "", "", kAny);
}

template <class V>
void describe(Of<SoilLayer> auto& r, V& v) {
  v("pit_id", r.pit_id, "", "", Rules{.required = true, .refers_to = "soil_pit"});
  v("top_m", r.top_m, "metres below the surface", "", within(range::kPitDepth_m));
  v("bottom_m", r.bottom_m, "metres below the surface", "", within(range::kPitDepth_m));
  v("texture", r.texture, "", "class by feel", kAny);
  v("feel", r.feel, "", "answers to the key by feel, each counted from 0", kAny);
  v("sand_percent", r.sand_percent, "% of the fine earth", "", kPercent);
  v("silt_percent", r.silt_percent, "% of the fine earth", "", kPercent);
  v("clay_percent", r.clay_percent, "% of the fine earth", "", kPercent);
  v("coarse_percent", r.coarse_percent, "% by volume", "stones and gravel", kPercent);
  v("organic_percent", r.organic_percent, "%", "organic matter", kPercent);
  v("ph", r.ph, "pH", "in water", within(range::kAcidity_ph));
  v("colour", r.colour, "", "", kAny);
  v("structure", r.structure, "", "", kAny);
  v("moisture", r.moisture, "", "", kAny);
  v("consistence", r.consistence, "", "", kAny);
  v("roots", r.roots, "", "", kAny);
  v("mottles", r.mottles, "", "signs of standing water", kAny);
  v("note", r.note, "", "", kAny);
}

template <class V>
void describe(Of<PercolationTest> auto& r, V& v) {
  v("pit_id", r.pit_id, "", "", refers_to("soil_pit"));
  v("time", r.time, "", "", kAny);
  v("name", r.name, "", "", kAny);
  v("position", r.position, "degrees, metres", "", kAny);
  v("hole_depth_m", r.hole_depth_m, "metres", "", within(range::kHole_m));
  v("hole_width_m", r.hole_width_m, "metres", "diameter, or side if square",
    within(range::kHole_m));
  v("square_hole", r.square_hole, "", "", kAny);
  v("soaked_h", r.soaked_h, "hours", "wet before the first reading", within(range::kSoaked_h));
  v("since_boot_s", r.since_boot_s, "seconds",
    "by the clock that cannot be set, since the device was "
    "switched on",
    within(range::kSinceBoot_s));
  v("boot", r.boot, "", "names that running of the device", kAny);
  v("note", r.note, "", "", kAny);
}

template <class V>
void describe(Of<PercolationReading> auto& r, V& v) {
  v("test_id", r.test_id, "", "", Rules{.required = true, .refers_to = "percolation_test"});
  v("time", r.time, "", "", kAny);
  v("water_depth_mm", r.water_depth_mm, "millimetres above the bottom", "",
    within(range::kWater_mm));
  v("refilled", r.refilled, "", "topped up right after", kAny);
  v("refilled_to_mm", r.refilled_to_mm, "millimetres above the bottom", "",
    within(range::kWater_mm));
  v("since_boot_s", r.since_boot_s, "seconds",
    "by the clock that cannot be set, since the device was "
    "switched on",
    within(range::kSinceBoot_s));
  v("boot", r.boot, "", "names that running of the device", kAny);
}

template <class V>
void describe(Of<SiteNote> auto& r, V& v) {
  v("visit_id", r.visit_id, "", "", refers_to("visit"));
  v("topic", r.topic, "", "", kAny);
  v("time", r.time, "", "", kAny);
  v("position", r.position, "degrees, metres", "", kAny);
  v("text", r.text, "", "", kAny);
  v("fields", r.fields, "", "answers of a form: JSON list of [key, value]", kAny);
}

template <class V>
void describe(Of<Hazard> auto& r, V& v) {
  v("visit_id", r.visit_id, "", "", refers_to("visit"));
  v("kind", r.kind, "", "", kAny);
  v("severity", r.severity, "1 to 3", "note, take care, keep away", within(range::kSeverity));
  v("time", r.time, "", "", kAny);
  v("position", r.position, "degrees, metres", "", kAny);
  v("text", r.text, "", "", kAny);
}

template <class V>
void describe(Of<Person> auto& r, V& v) {
  v("role", r.role, "", "", kAny);
  v("name", r.name, "", "", kRequired);
  v("telephone", r.telephone, "", "", kAny);
  v("mail", r.mail, "", "", kAny);
  v("consent", r.consent, "", "to what, since when", kAny);
  v("note", r.note, "", "", kAny);
}

template <class V>
void describe(Of<Path> auto& r, V& v) {
  v("kind", r.kind, "", "", kAny);
  v("name", r.name, "", "", kAny);
  v("line", r.points, "degrees, metres; measure: seconds UTC", "", kRequired);
  v("closed", r.closed, "", "the last point is joined to the first", kAny);
  v("time", r.time, "", "", kAny);
  v("note", r.note, "", "", kAny);
}

template <class V>
void describe(Of<ClimateNormals> auto& r, V& v) {
  v("name", r.name, "", "of the weather station or grid cell", kAny);
  v("source", r.source, "", "publisher, title, period", kAny);
  v("position", r.position, "degrees, metres", "", kAny);
  v("mean_c", r.mean_c, "degrees Celsius", "12 months as a JSON list", within(range::kAir_c));
  v("min_c", r.min_c, "degrees Celsius", "mean daily minimum", within(range::kAir_c));
  v("max_c", r.max_c, "degrees Celsius", "mean daily maximum", within(range::kAir_c));
  v("coldest_c", r.coldest_c, "degrees Celsius", "lowest on record", within(range::kAir_c));
  v("sunshine_fraction", r.sunshine_fraction, "0 to 1", "of the possible hours", kShare);
  v("global_kwh_m2_day", r.global_kwh_m2_day, "kWh/m2 a day", "on the horizontal",
    within(range::kSun_kwh_m2_day));
  v("snow_cover_fraction", r.snow_cover_fraction, "0 to 1", "of days", kShare);
  v("albedo", r.albedo, "0 to 1", "of the ground", kShare);
  v("linke_turbidity", r.linke_turbidity, "", "at air mass 2", within(range::kTurbidity));
  v("wind_ms", r.wind_ms, "m/s", "mean", within(range::kWind_ms));
  v("precipitation_mm", r.precipitation_mm, "mm", "of the month", within(range::kRain_mm));
  v("note", r.note, "", "", kAny);
}

template <class V>
void describe(Of<DesignChoices> auto& r, V& v) {
  v("station_id", r.station_id, "", "where the building stands", refers_to("station"));
  v("facing_true_deg", r.facing_true_deg, "degrees", "of the glazing", kBearing);
  v("tilt_deg", r.tilt_deg, "degrees from the horizontal", "of the glazing",
    within(range::kTilt_deg));
  v("glazing", r.glazing, "", "", kAny);
  v("frames_and_dirt", r.frames_and_dirt, "0 to 1", "share of light they leave", kShare);
  v("length_m", r.length_m, "metres", "outside, along the glazing", within(range::kHouse_m));
  v("depth_m", r.depth_m, "metres", "outside", within(range::kHouse_m));
  v("height_m", r.height_m, "metres", "outside", within(range::kHouse_m));
  v("crop_needs", r.crop_needs, "mol/m2 a day", "JSON list of [crop, need]", kAny);
  v("house", r.house, "in the names", "JSON list of [key, value], as \"The house\" below", kAny);
  v("winter_months", r.winter_months, "bit 0 = January", "0: by the hemisphere", kMonths);
  v("year", r.year, "", "that the sun is worked out for", within(range::kYear));
  v("imperial_units", r.imperial_units, "", "in what people read", kAny);
  v("language", r.language, "", "of the report", kAny);
  v("note", r.note, "", "", kAny);
}

template <class V>
void describe(Of<Finding> auto& r, V& v) {
  v("station_id", r.station_id, "", "", refers_to("station"));
  v("what", r.what, "", "", kRequired);
  v("value", r.value, "as `unit` says", "", kAny);
  v("unit", r.unit, "", "", kAny);
  v("low", r.low, "as `unit` says", "low and high hold 90 %", kAny);
  v("high", r.high, "as `unit` says", "", kAny);
  v("text", r.text, "", "where a number does not say it", kAny);
  v("worked_out_from", r.worked_out_from, "", "rows, methods, choices", kAny);
  v("time", r.time, "", "", kAny);
}

}  // namespace survey
