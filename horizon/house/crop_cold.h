// horizon/house/crop_cold.h: what cold a crop in a bed lives through, hardened as it is.
// Units:    degrees Celsius, of the air among the leaves
// Frame:    hardening by the mean of the seven lows before: none from 8 C up, little to 2 C, full at
//           -4 C; lost again as quickly
// Valid:    plants past the seedling stage, dry leaves, no fleece
// Accuracy: 1 to 2 K between varieties: drawn in the odds
// Source:   Tamura 2000, 2002 (spinach, komatsuna: whole-plant limit and hardening); winter canola,
//           Plant Physiology 135:1642, table I: leaves not hardened die at -3; lists of killing
//           temperatures of growers. Growth: Knott's Handbook 1997, minimum monthly means. A value
//           from memory is marked
#pragma once

#include <span>
#include <string_view>
#include <vector>

namespace horizon {

struct CropCold {
  std::string_view crop;
  double soft_c = -3;   // kills it unhardened
  double hard_c = -10;  // kills it fully hardened
  double spread_k = 1;  // of the hardened value, one standard deviation
  double grows_from_c = 4.4;
  double light_mol = 6;  // a day, to grow at all
  std::string_view source;
  bool from_memory = false;
};
std::span<const CropCold> crops_in_the_cold();

// 0 to 1.
double hardening(double mean_low_of_week_c);
double killing_c(const CropCold& crop, double mean_low_of_week_c, double off_k = 0);

struct CropFate {
  bool lives = true;
  int first_day = -1;      // of the row, on which it died
  double nearest_k = 1e9;  // least distance from the killing temperature, negative if it died
};
// lows: of the days in order.
CropFate fate_of(const CropCold& crop, std::span<const float> lows_c, double off_k = 0);

}  // namespace horizon
