#include "survey/assess/station_contacts.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "horizon/time.h"
#include "survey/assess/last_few.h"
#include "survey/book/sql.h"

namespace survey {

using horizon::Code;
using horizon::Result;

namespace {

constexpr double kFuture_s = 300;   // clocks differ
constexpr double kSetBack_s = 30;   // of touches in the order they were made
constexpr double kTypedDay_h = 36;  // a diary's times lie on its day

// "2027-02-03 14:12:07", by the clock on the spot.
std::string name_of_contact(const Moment& time) {
  std::string text = horizon::format_utc(time.utc_s + time.utc_offset_h * 3600);
  text[10] = ' ';
  return text.substr(0, 19);
}

void add(StationContacts& out, const horizon::ContactEvidence& evidence,
         StationContacts::Origin origin) {
  out.evidence.push_back(evidence);
  out.evidence.back().reading.source = static_cast<int>(out.origins.size());
  out.origins.push_back(std::move(origin));
}

void add_contacts(const std::vector<ContactRow>& rows, const horizon::Place& eye, double now_utc_s,
                  StationContacts& out) {
  // In the order they were put: a touched one that is earlier than the one before it tells that
  // the clock was set back between them.
  std::vector<bool> left_out(rows.size(), false);
  int before = -1;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (rows[i].voided || rows[i].how != ContactHow::touched) continue;
    if (before >= 0 && rows[i].time.utc_s < rows[before].time.utc_s - kSetBack_s) {
      left_out[i] = left_out[before] = true;
      out.notes.push_back(
          {Code::bad_input,
           {"error.contact_clock_set_back",
            {name_of_contact(rows[before].time),
             horizon::Arg::figure(rows[before].time.utc_s - rows[i].time.utc_s, 0)}},
           name_of_contact(rows[i].time)});
    }
    before = static_cast<int>(i);
  }
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const ContactRow& row = rows[i];
    if (row.voided || left_out[i]) continue;
    const std::string name = name_of_contact(row.time);
    if (row.how == ContactHow::typed && row.time.utc_s > now_utc_s + kFuture_s) {
      out.notes.push_back({Code::bad_input, "error.contact_in_future", name});
      continue;
    }
    add(out, evidence_of(row, eye), {row.id, false, name, row.label});
  }
}

void add_diary(const std::vector<DiaryRow>& rows, const horizon::Place& eye, double now_utc_s,
               StationContacts& out, std::vector<horizon::DarkDay>& dark) {
  for (const DiaryRow& row : rows) {
    const auto date = horizon::parse_date(row.date);
    const std::string line = "diary " + row.date;
    if (!date) {
      out.notes.push_back({Code::bad_input, "error.diary_date", line});
      continue;
    }
    if (row.came && row.went && row.came->utc_s >= row.went->utc_s) {
      out.notes.push_back({Code::bad_input, "error.diary_went_before_came", line});
      continue;
    }
    if (!row.came && !row.went && row.sky == DiarySky::clear) {
      const double noon = horizon::start_of_day_utc_s(*date, eye.longitude_deg / 15) + 43200;
      if (noon > now_utc_s + kFuture_s) {
        out.notes.push_back({Code::bad_input, "error.contact_in_future", line});
        continue;
      }
      dark.push_back({eye, noon});
      out.dark_origins.push_back({row.id, true, line, ""});
    }
    for (const bool came : {true, false}) {
      const auto& time = came ? row.came : row.went;
      if (!time) continue;
      const std::string name = name_of_contact(*time);
      const double noon = horizon::start_of_day_utc_s(*date, time->utc_offset_h) + 43200;
      if (std::abs(time->utc_s - noon) > kTypedDay_h / 2 * 3600) {
        out.notes.push_back({Code::bad_input, "error.diary_time_not_on_day", line});
        continue;
      }
      if (time->utc_s > now_utc_s + kFuture_s) {
        out.notes.push_back({Code::bad_input, "error.contact_in_future", name});
        continue;
      }
      horizon::ContactEvidence evidence;
      evidence.reading.came = came;
      evidence.reading.utc_s = time->utc_s;
      evidence.reading.place = eye;
      evidence.reading.reading_sigma_s = row.reading_sigma_s;
      evidence.reading.clock_sigma_s = kWallClock_s;
      evidence.watched_on = row.sky == DiarySky::clear;
      evidence.row = static_cast<int>(&row - rows.data());
      add(out, evidence, {row.id, true, name, ""});
    }
  }
}

// A diary of a hundred days takes a tenth of a second.
horizon::ContactFit fitted(const std::vector<horizon::ContactEvidence>& evidence,
                           const std::vector<horizon::DarkDay>& dark) {
  std::string key;
  for (const horizon::DarkDay& day : dark) {
    char text[120];
    std::snprintf(text, sizeof text, "%.8f %.8f %.2f %.0f;", day.place.latitude_deg,
                  day.place.longitude_deg, day.place.height_m, day.noon_utc_s);
    key += text;
  }
  for (const horizon::ContactEvidence& e : evidence) {
    const horizon::ContactReading& r = e.reading;
    char text[240];
    std::snprintf(text, sizeof text, "%d %d %d %d %d %.3f %.3f %.3f %.8f %.8f %.2f %.2f %.2f;",
                  static_cast<int>(r.body), static_cast<int>(r.touch), r.came, e.watched_on, e.row,
                  r.utc_s, r.reading_sigma_s, r.clock_sigma_s, r.place.latitude_deg,
                  r.place.longitude_deg, r.place.height_m, r.air ? r.air->pressure_hpa : 0.0,
                  r.air ? r.air->temperature_c : 999.0);
    key += text;
  }
  thread_local LastFew<horizon::ContactFit> kept;
  return kept.of(key, [&] { return horizon::fit_contacts(evidence, nullptr, dark); });
}

}  // namespace

horizon::ContactEvidence evidence_of(const ContactRow& row, const horizon::Place& eye) {
  horizon::ContactEvidence evidence;
  horizon::ContactReading& reading = evidence.reading;
  reading.body = row.body;
  reading.touch = row.touch;
  reading.came = row.came;
  reading.utc_s = row.time.utc_s - row.clock_ahead_s.value_or(0);
  reading.place = eye;
  reading.reading_sigma_s = row.reading_sigma_s;
  reading.clock_sigma_s =
      row.clock_sigma_s.value_or(row.clock_ahead_s                ? kComparedClock_s
                                 : row.how == ContactHow::touched ? kUncheckedClock_s
                                                                  : kWallClock_s);
  if (row.temperature_c || row.pressure_hpa)
    reading.air =
        horizon::Air{row.pressure_hpa.value_or(horizon::standard_pressure_hpa(eye.height_m)),
                     row.temperature_c.value_or(horizon::standard_temperature_c(eye.height_m))};
  return evidence;
}

Result<StationContacts> station_contacts(const FieldBook& book, const Station& station,
                                         const horizon::Place& eye) {
  const auto contacts = book.where<ContactRow>("station_id", station.id);
  if (!contacts) return tl::unexpected(contacts.error());
  const auto diary = book.where<DiaryRow>("station_id", station.id);
  if (!diary) return tl::unexpected(diary.error());
  StationContacts out;
  const double now = now_utc_s();
  add_contacts(*contacts, eye, now, out);
  std::vector<horizon::DarkDay> dark;
  add_diary(*diary, eye, now, out, dark);
  if (!out.any()) return out;
  out.fit = fitted(out.evidence, dark);
  for (horizon::FittedDay& day : out.fit.dark)
    if (day.against >= 0)
      day.why = {Code::bad_input, {day.why.key, {out.origins[day.against].name.substr(0, 10)}}};
  for (horizon::FittedContact& contact : out.fit.contacts)
    if (contact.fault == horizon::ContactFault::contradicts && contact.against >= 0)
      contact.why = {Code::bad_input,
                     {"error.contact_clashes_with", {out.origins[contact.against].name}}};
  return out;
}

}  // namespace survey
