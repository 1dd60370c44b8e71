// survey/book/model_contact.h: when the light of sun or moon came to a station and went.
// Units:  seconds; sigmas are one standard deviation
// Frame:  times by the clock that was read; what it was ahead of the true time stands beside
#pragma once

#include "horizon/skyline/contact.h"
#include "survey/book/model.h"

namespace survey {

// How a contact came into the book.
enum class ContactHow : std::uint8_t {
  touched,  // on the screen at the moment itself
  typed,    // written down, typed or imported later
};
inline constexpr int kContactHowCount = 2;
std::string_view name_of(ContactHow how);  // "touched", "typed"

// Raw: all but label and note never change once put; a wrong one is voided.
struct ContactRow {
  Id id, station_id;
  Moment time;
  horizon::Body body = horizon::Body::sun;
  horizon::Touch touch = horizon::Touch::edge;
  bool came = false;  // the light came; else it went
  ContactHow how = ContactHow::touched;
  double reading_sigma_s = 5;
  std::optional<double> clock_ahead_s;  // of the true time, where the clock was compared
  std::optional<double> clock_sigma_s;
  std::optional<double> temperature_c, pressure_hpa;  // at the station
  std::string people;                                 // initials
  std::string label;                                  // of what hid it
  std::string note;
  std::optional<Moment> voided;
  std::string void_reason;
};

enum class DiarySky : std::uint8_t { unknown, clear, mixed, cloudy };
inline constexpr int kDiarySkyCount = 4;
std::string_view name_of(DiarySky sky);  // "unknown", "clear", "mixed", "cloudy"

// One line of a diary: one stretch of sun on one day, or none. Typed from paper: it may be put right.
struct DiaryRow {
  Id id, station_id;
  std::string date;  // local, "2027-02-03"
  std::optional<Moment> came, went;
  DiarySky sky = DiarySky::unknown;
  double reading_sigma_s = 30;  // times to the minute, by a clock on the wall
  std::string people;
  std::string note;
};

}  // namespace survey
