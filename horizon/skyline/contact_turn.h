// horizon/skyline/contact_turn.h: by how much must the aims of an instrument be turned to fit what sun
// and moon say?
// Units:    degrees
// Frame:    clockwise_deg is added to the aimed azimuths; true azimuths
// Valid:    two contacts or more; turns within `reach_deg`
// Method:   each turn is weighed by how likely the contacts are on the lines that could run through
//           the aims (horizon/skyline/plausible.h), one contact in twenty being wrong; the sun must have
//           been over the line where it was seen and under it where it was hidden. The turn is the
//           middle of the likeliest, its sigma the spread of all. Nothing is decided where a
//           twentieth or more lies elsewhere, or the line is too even
// Accuracy: counted on reliefs that this knows nothing of, docs/contacts.md
// Errors:   too few contacts or aims, no turn that two contacts fit
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "horizon/bearing/heading_check.h"
#include "horizon/skyline/contact_fit.h"

namespace horizon {

struct ContactTurn {
  bool decided = false;
  Error why;                        // not decided: two turns fit alike, or the line is too even
  std::optional<double> other_deg;  // the turn that fits nearly as well
  double clockwise_deg = 0, sigma_deg = 0;
  int fitting = 0;
  std::vector<int> left_out;    // readings that do not fit the turned line
  std::vector<double> off_deg;  // of each left out: the contact over the line
  double reach_deg = 0;
  std::vector<double> shares;  // of likelihood, at equal steps from -reach_deg to reach_deg
  double share_within(double turn_deg, double half_deg) const;
  double spread_about_deg(double turn_deg) const;  // root of the mean square
};
Result<ContactTurn> contact_turn(const Skyline& aims, std::span<const ContactEvidence> evidence,
                                 const ContactFit& fit, double reach_deg = 25);
HeadingCheck contact_check(const ContactTurn& turn);

}  // namespace horizon
