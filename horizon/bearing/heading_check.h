// horizon/bearing/heading_check.h: by how much an instrument's north is off, from aims at things
// whose true bearing is known.
// Units:  degrees, one standard deviation
// Frame:  offset_deg is added to the instrument's azimuth (after declination or convergence) to
//         give the true azimuth; positive where the instrument reads too little
// Valid:  any number of checks of one instrument at one station; none gives offset 0 with the
//         sigma of an unchecked instrument
// Method: weighted least squares of one unknown; the largest normalised residual is tested, and
//         its check left out, until all agree (three checks or more). Checks that disagree and
//         cannot be told apart turn nothing, never by their mean: the offset stays 0, the sigma
//         reaches as far as they do, and `disputed` is set. So does a lone check beyond what the
//         instrument can be off; two that agree are believed.
// Source: Baarda, A testing procedure for use in geodetic networks (1968); Birge ratio after
//         Birge, Phys. Rev. 40 (1932)
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "horizon/angle.h"

namespace horizon {

enum class CheckKind : std::uint8_t {
  landmark,      // a summit, mast or church by its coordinates
  sun_shadow,    // the shadow of a plumb line, a pinhole's spot
  back_bearing,  // aimed from another station whose own heading is sound
  terrain,       // the captured skyline turned to fit the computed one
  entered,       // known otherwise: a line on a cadastral map, a surveyor's figure
  contact,       // the line aimed at turned to fit what the light of sun and moon says
};
inline constexpr int kCheckKindCount = 6;
std::string_view name_of(CheckKind kind);  // "landmark", "sun_shadow", "back_bearing", ...
std::optional<CheckKind> check_kind_named(std::string_view name);

struct HeadingCheck {
  CheckKind kind = CheckKind::landmark;
  TrueAzimuth measured;  // by the instrument: with declination, without any offset
  TrueAzimuth known;
  double measured_sigma_deg = 0.5;  // of this aim; above 0
  double known_sigma_deg = 0.1;     // of the known bearing; 0 or more
  std::string label;
  int source = -1;  // the caller's own number for it
};

struct RejectedCheck {
  int index = 0;            // into the checks given
  double off_deg = 0;       // its own offset minus that of the checks kept
  double normalised = 0;    // |off| over its standard deviation
  double limit = 0;         // what `normalised` would have had to stay under
  bool unreadable = false;  // not finite or without a sigma: nothing above is set
  bool beyond = false;      // off by more than the instrument can be, and no other check agrees
};

struct HeadingCorrection {
  double offset_deg = 0;  // in [-180, 180)
  double sigma_deg = 0;
  int used = 0;                         // checks that the offset rests on
  std::vector<RejectedCheck> rejected;  // in the order they were left out
  std::vector<double> residual_deg;     // of each check given: its own offset minus offset_deg
  bool disputed = false;                // the checks disagree: headlines must say so
  double scatter = 0;                   // chi squared over degrees of freedom; 0 with one check
};

struct HeadingRules {
  // A hand-held phone or sighting compass away from iron: common practice, 2 to 5 degrees.
  double unchecked_sigma_deg = 4.0;
  // Compass error changes with direction; a check holds for its own direction best. 0 for an
  // instrument that only has an index error.
  double direction_sigma_deg = 0.0;
  double false_alarm = 0.01;  // risk of leaving out a sound check, over all of them
  // A needle is off by no more than this: common practice, 20 degrees for a phone, 10 for a hand
  // compass. None for an instrument whose north is unknown, which only a check can make true: of
  // checks that disagree the first one then turns it.
  std::optional<double> most_off_deg = 20.0;
};

HeadingCorrection heading_correction(std::span<const HeadingCheck> checks,
                                     const HeadingRules& rules = {});

inline TrueAzimuth corrected(TrueAzimuth by_instrument, const HeadingCorrection& correction) {
  return by_instrument.turned_by(correction.offset_deg);
}

}  // namespace horizon
