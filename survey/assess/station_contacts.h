// survey/assess/station_contacts.h: what the contacts and the diary of a station say of its ridge.
// Units:   degrees, seconds
// Method:  each row's time less what its clock was ahead; a clock that nobody compared counts as good
//          to 15 s (on the screen) or 20 s (on a wall): [common practice]. Then horizon/skyline/contact_fit.h
// Errors:  a row that is not used carries why; all stay in the book
#pragma once

#include <span>
#include <string>
#include <vector>

#include "horizon/skyline/contact_fit.h"
#include "survey/book/store.h"

namespace survey {

inline constexpr double kUncheckedClock_s = 15, kWallClock_s = 20, kComparedClock_s = 1.5;

struct StationContacts {
  struct Origin {
    Id row;
    bool diary = false;
    std::string name;  // "2027-02-03 14:12:07"
    std::string label;
  };
  std::vector<horizon::ContactEvidence> evidence;
  std::vector<Origin> origins;       // beside the evidence
  std::vector<Origin> dark_origins;  // beside fit.dark: clear days without sun
  horizon::ContactFit fit;
  std::vector<horizon::AimAgainstContact> disagreements;  // aims against contacts
  std::vector<horizon::Error> notes;  // rows that never became evidence; `where` names them
  bool any() const { return !evidence.empty() || !dark_origins.empty(); }
};

// The rows as evidence, fitted together.
horizon::Result<StationContacts> station_contacts(const FieldBook& book, const Station& station,
                                                  const horizon::Place& eye);
// One evidence of a row, for a look at it alone.
horizon::ContactEvidence evidence_of(const ContactRow& row, const horizon::Place& eye);

}  // namespace survey
