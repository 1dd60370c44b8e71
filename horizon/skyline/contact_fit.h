// horizon/skyline/contact_fit.h: what do many contacts of sun and moon say together about the ridge, and
// which of them cannot be right?
// Units:    degrees, seconds
// Frame:    true azimuths; elevations as seen
// Valid:    any number of readings of one spot, in any order
// Method:   each point takes the ridge's slope from its neighbours within 4 degrees, again until it
//           rests. A reading is named where all its neighbours of other readings, left and right,
//           lie on one side of it by more than errors and the ridge's own roughness explain, or
//           where the same days of declination put the event at another hour of the sun; the worst
//           first, until none is left. A named reading is tried an hour and some days off, to say
//           what went wrong. Between two contacts the sun was seen, or hidden: a bound. A clear
//           day without sun is a bound all day long, unless another day saw a lower sun
// Accuracy: counted on terrain that this knows nothing of, docs/contacts.md
// Errors:   a reading that cannot be used carries its error; nothing is dropped in silence
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "horizon/skyline/contact.h"
#include "horizon/skyline/skyline.h"

namespace horizon {

enum class ContactFault : std::uint8_t {
  none,
  unusable,     // below the horizon, new moon, dark limb, outside the years
  opposite,     // within seconds of a contact the other way: both are left out
  doubled,      // the same touch twice; the first one counts
  hour_off,     // fits when moved by an hour: summer time, or misread
  day_off,      // fits on another day
  contradicts,  // fits nowhere near
};
inline constexpr int kContactFaultCount = 7;
std::string_view name_of(ContactFault fault);

struct FittedContact {
  std::optional<Contact> contact;  // where there was light to watch, even if it is not used
  ContactFault fault = ContactFault::none;
  Error why;           // where there is a fault
  double off_deg = 0;  // from what the others say, upwards; 0 where the sun's hour told
  double off_s = 0;    // in time, late positive; 0 where it is not known
  int fits_days = 0;   // day_off: right so many days later
  int against = -1;    // opposite, doubled, contradicts: the other reading
  bool used() const { return contact && fault == ContactFault::none; }
};

// The line is no higher (seen) or no lower (hidden) than the disc's way.
struct SkyBound {
  double azimuth_deg = 0;
  std::optional<double> below_deg, above_deg;  // the line lies below this, above that
};

// A clear day that was watched, and no sun came.
struct DarkDay {
  Place place;
  double noon_utc_s = 0;  // about the middle of the day
};
struct FittedDay {
  DarkDay day;
  ContactFault fault = ContactFault::none;
  Error why;         // where there is a fault
  int against = -1;  // a reading of a day that saw the sun
};

struct ContactFit {
  std::vector<FittedContact> contacts;  // as the readings given
  std::vector<FittedDay> dark;          // as the days given
  std::vector<SkyBound> bounds;         // every 2 degrees where there is one
  double roughness = 0;                 // of the ridge: degrees over the root of a degree
  int used = 0;
};

struct ContactEvidence {
  ContactReading reading;
  bool watched_on = false;  // a clear day, watched: hidden before the first and after the last
  int row = -1;             // of a diary: readings of one row came with one date; -1: by itself
};
// `others`: the line by aims, photographs, terrain, for the slope where contacts are few.
ContactFit fit_contacts(std::span<const ContactEvidence> evidence, const Mask* others = nullptr,
                        std::span<const DarkDay> dark = {});

// Adds the contacts used to the outline, and points from the bounds where nothing else is known.
// An aim closer than a degree to a contact, or between two contacts less than 3 degrees apart,
// gives way to them. `disagreements`: aims off by more than both errors, upwards positive.
struct AimAgainstContact {
  int point = -1;    // index into the skyline given
  int contact = -1;  // index into the readings
  double off_deg = 0, sigma_deg = 0;
};
Skyline with_contacts(const Skyline& aims, const ContactFit& fit,
                      std::vector<AimAgainstContact>* disagreements = nullptr);

}  // namespace horizon
