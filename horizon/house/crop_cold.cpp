#include "horizon/house/crop_cold.h"

#include <algorithm>
#include <array>

namespace horizon {
namespace {

constexpr std::string_view kTamura = "Tamura 2000, 2002";
constexpr std::string_view kList = "growers' list of killing temperatures";

constexpr std::array<CropCold, 10> kCrops = {{
    {"corn salad", -3, -18, 2, 4.4, 6, "growers' list, from memory", true},
    {"spinach", -5, -14, 1.2, 4.4, 6, kTamura},
    {"komatsuna", -5, -13, 0.7, 4.4, 6, kTamura},
    {"kale", -3, -11.1, 2, 4.4, 6, kList},
    {"small-leaf lettuce", -3, -9.4, 1, 7.2, 6, kList},
    {"chard", -3, -6, 1, 4.4, 6, kList},
    {"rocket", -3, -5.6, 1, 4.4, 6, kList},
    {"bunching onion", -3, -4, 1, 7.2, 6, kList},
    {"endive", -3, -3.9, 1, 7.2, 6, kList},
    {"large-leaf lettuce", -3, -3.9, 1, 7.2, 8, kList},
}};

}  // namespace

std::span<const CropCold> crops_in_the_cold() { return kCrops; }

double hardening(double low) {
  if (low >= 8) return 0;
  // Spinach gains 2 to 4 of its 9 K at 2 C.
  if (low >= 2) return 0.33 * (8 - low) / 6;
  return std::min(1.0, 0.33 + 0.67 * (2 - low) / 6);
}

double killing_c(const CropCold& crop, double low, double off_k) {
  const double hard = std::min(crop.soft_c, crop.hard_c + off_k);
  return crop.soft_c + (hard - crop.soft_c) * hardening(low);
}

CropFate fate_of(const CropCold& crop, std::span<const float> lows, double off_k) {
  CropFate fate;
  double week = 0;
  for (size_t d = 0; d < lows.size(); ++d) {
    const int days = static_cast<int>(std::min<size_t>(d, 7));
    if (days > 0) {
      const double margin = lows[d] - killing_c(crop, week / days, off_k);
      fate.nearest_k = std::min(fate.nearest_k, margin);
      if (margin < 0 && fate.lives) {
        fate.lives = false;
        fate.first_day = static_cast<int>(d);
      }
    }
    week += lows[d];
    if (d >= 7) week -= lows[d - 7];
  }
  return fate;
}

}  // namespace horizon
