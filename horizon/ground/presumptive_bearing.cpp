#include "horizon/ground/presumptive_bearing.h"

namespace horizon {

std::string_view name_of(BearingClass soil) {
  constexpr std::string_view names[] = {"crystalline bedrock", "sedimentary or foliated rock",
                                        "gravel, sandy gravel",
                                        "sand, silty or clayey sand or gravel", "clay, silt"};
  return names[static_cast<int>(soil)];
}

PresumptiveBearing presumptive_bearing(BearingClass soil) {
  switch (soil) {
    case BearingClass::crystalline_bedrock:
      return {12000, 1200, 0.70, {}};
    case BearingClass::sedimentary_rock:
      return {4000, 400, 0.35, {}};
    case BearingClass::gravel:
      return {3000, 200, 0.35, {}};
    case BearingClass::sand:
      return {2000, 150, 0.25, {}};
    case BearingClass::clay:
      break;
  }
  return {1500, 100, {}, 130};
}

std::optional<BearingClass> bearing_class(const FineEarth& soil, double coarse_percent,
                                          double organic_percent, bool fill) {
  if (fill || organic_percent >= 8) return std::nullopt;
  const double fines = soil.silt_percent + soil.clay_percent;
  const double earth = 1 - coarse_percent / 100;
  // The soil's main part names it: over half fines, else coarse; gravel only when clean of fines.
  if (fines * earth >= 50) return BearingClass::clay;
  const bool gravel = coarse_percent > 50 && fines * earth < 12;
  return gravel ? BearingClass::gravel : BearingClass::sand;
}

}  // namespace horizon
