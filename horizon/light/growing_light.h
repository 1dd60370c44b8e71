// horizon/light/growing_light.h: is there light enough for a crop, and between which dates.
// Units:    mol/m2 a day of photons 400-700 nm on a level bed (daily light integral); hours
// Frame:    the bed lies behind wide glazing with nothing clear at its back: it gets the sky and
//           sun that the glazing's plane faces, through the glazing, and no light from walls
// Accuracy: the photon factor 2.06 mol/MJ is good to 5 %; frames, dirt, crops' own shade are one
//           factor that the user sets (0.85)
// Source:   4.57 umol/J of photosynthetic light (McCree 1972), 0.45 of sunlight; needs with their
//           sources in default_crop_needs(); a day under 10 h: Coleman, length from the upper limb
#pragma once

#include <array>
#include <string>
#include <vector>

#include "horizon/time.h"

namespace horizon {

inline constexpr double kPhotonsPerMegajoule = 2.06;  // mol per MJ of sunlight

struct CropNeed {
  std::string crop;
  double mol_m2_day = 0;
  std::string source;
};
std::vector<CropNeed> default_crop_needs();

// From the first day to the last, both in; a spell may run over New Year (from > to).
struct DaySpell {
  int from_day = 1, to_day = 1;  // of the year
  int days(int days_in_year) const;
};

// Days on which the daily value is at or above the need, as spells round the year. With window > 1
// the value is the centred mean of that many days (odd), round the year.
std::vector<DaySpell> spells_at_or_above(const std::vector<double>& daily, double need,
                                         int window = 1);
// Seasons: spells with the gaps of a week or less between them taken in, so that one dull day does
// not end a season; each neighbour must be longer than the gap.
std::vector<DaySpell> seasons_of(std::vector<DaySpell> spells, int days_in_year);
// The longest; none if there is no such day.
const DaySpell* longest(const std::vector<DaySpell>& spells, int days_in_year);

struct CropSeason {
  CropNeed need;
  std::vector<DaySpell> spells;             // seasons in date order; empty = never
  int days = 0;                             // at or above the need; all of the year = always
  int from_low_day = 0, from_high_day = 0;  // of the longest spell: 5-95 % range of its first day
  int to_low_day = 0, to_high_day = 0;      // and last; 0 where it never comes or never ends
};

struct GrowingLight {
  std::array<double, 12> mol_m2_day{};          // mean of the month, inside
  std::array<double, 12> outside_mol_m2_day{};  // on open flat ground
  std::vector<double> daily_mol_m2;             // inside, January first
  std::vector<CropSeason> crops;
  std::vector<DaySpell> under_10_h;  // day length, flat horizon
};

}  // namespace horizon
