// horizon/skyline/contact_turn.h: by how much must the aims of an instrument be turned to fit what sun
// and moon say?
// Units:    degrees
// Frame:    clockwise_deg is added to the aimed azimuths; true azimuths
// Valid:    two contacts or more that fall within the aimed stretches; turns within `reach_deg`
// Method:   the turn under which the contacts lie best on the line by aims, each counting at most as
//           one that is 3 sigmas off; the sun must have been over the line where it was seen and
//           under it where it was hidden. A contact that stays further off is named
// Errors:   too few contacts, a line too even to tell, two turns that fit alike
#pragma once

#include <span>
#include <vector>

#include "horizon/bearing/heading_check.h"
#include "horizon/skyline/contact_fit.h"

namespace horizon {

struct ContactTurn {
  double clockwise_deg = 0, sigma_deg = 0;
  int fitting = 0;
  std::vector<int> left_out;    // readings that do not fit the turned line
  std::vector<double> off_deg;  // of each left out: the contact over the line
};
Result<ContactTurn> contact_turn(const Skyline& aims, std::span<const ContactEvidence> evidence,
                                 const ContactFit& fit, double reach_deg = 25);
HeadingCheck contact_check(const ContactTurn& turn);

}  // namespace horizon
