// survey/book/columns_contact.h: the columns of contacts and diaries; see survey/book/columns.h.
#pragma once

namespace survey {

template <class V>
void describe(Of<ContactRow> auto& r, V& v) {
  v("station_id", r.station_id, "", "",
    Rules{.raw = true, .required = true, .refers_to = "station"});
  v("time", r.time, "", "by the clock that was read", kRaw);
  v("body", r.body, "", "", kRaw);
  v("touch", r.touch, "", "the part of the disc that met the ridge", kRaw);
  v("came", r.came, "", "the light came; else it went", kRaw);
  v("how", r.how, "", "at the moment itself, or written down later", kRaw);
  v("reading_sigma_s", r.reading_sigma_s, "seconds", "", raw_within(range::kReading_s));
  v("clock_ahead_s", r.clock_ahead_s, "seconds", "of the true time; empty: not compared",
    raw_within(range::kClockAhead_s));
  v("clock_sigma_s", r.clock_sigma_s, "seconds", "", raw_within(range::kReading_s));
  v("temperature_c", r.temperature_c, "degrees Celsius", "at the station",
    raw_within(range::kAir_c));
  v("pressure_hpa", r.pressure_hpa, "hPa", "at the station, not reduced to the sea",
    raw_within(range::kPressure_hpa));
  v("people", r.people, "", "initials", kRaw);
  v("label", r.label, "", "of what hid it", kAny);
  v("note", r.note, "", "", kAny);
  v("voided", r.voided, "", "not to be used from then on", kAny);
  v("void_reason", r.void_reason, "", "", kAny);
}

template <class V>
void describe(Of<DiaryRow> auto& r, V& v) {
  v("station_id", r.station_id, "", "", Rules{.required = true, .refers_to = "station"});
  v("date", r.date, "ISO 8601", "local", kRequired);
  v("came", r.came, "", "the first light", kAny);
  v("went", r.went, "", "the last light", kAny);
  v("sky", r.sky, "", "", kAny);
  v("reading_sigma_s", r.reading_sigma_s, "seconds", "", within(range::kReading_s));
  v("people", r.people, "", "initials", kAny);
  v("note", r.note, "", "", kAny);
}

}  // namespace survey
