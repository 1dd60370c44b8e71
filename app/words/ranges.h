// app/words/ranges.h: how figures are told with what is not known about them.
// A headline tells one figure where its range is narrow enough to bear it (horizon::Ranged), else
// the range alone. Ranges are 5 to 95 %.
#pragma once

#include <string>

#include "horizon/light/findings.h"

namespace app {

// A day's sun told to a quarter of an hour either way is still one figure.
inline constexpr double kBearable_h = 0.5;

// "3 h 12 min", or "1.6–4.3 h" where the range does not bear one figure.
std::string hours_headline(const horizon::Ranged& hours);
// "± 7 min"; empty where the headline is the range, or there is none.
std::string hours_spread(const horizon::Ranged& hours);
// "4.1 h", or "2.9–4.6 h".
std::string hours_a_day_headline(const horizon::Ranged& hours);
// What the light rests on, for the headline's own line: "clear sky: the most that can come",
// "usual weather, Upper Larkholm".
std::string sky_words(const horizon::StationFindings& findings);
// Whole degrees; "all round", "any": no bearing, no tilt is better than another by 2 %.
std::string facing_band(const horizon::FacingBand& band);
std::string tilt_band(const horizon::TiltBand& band);
// "8 Nov (5 Nov – 12 Nov) to 3 Feb (30 Jan – 6 Feb)"; one date alone where its range is a day.
std::string spell_with_ranges(const horizon::NoSunSpell& spell);
// "8 Nov (5 Nov – 12 Nov)". Days of the year from 1; 0: no range is known.
std::string day_with_range(horizon::Date date, int low_day, int high_day);

}  // namespace app
