// horizon/ground/presumptive_bearing.h: the load that a building code lets one assume on a soil.
// Units:    kPa; kPa per metre of depth; 1 psf = 0.04788 kPa
// Valid:    light buildings on undisturbed, unfrozen ground; nothing for fill, mud, peat, organic
//           soil: there an investigation is needed
// Accuracy: a code's safe assumption, no measurement. Local code and a licensed engineer decide
// Source:   International Building Code, table 1806.2
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "horizon/ground/texture.h"

namespace horizon {

enum class BearingClass : std::uint8_t {
  crystalline_bedrock,
  sedimentary_rock,  // and foliated rock
  gravel,            // sandy gravel, gravel
  sand,              // sand, silty or clayey sand, silty or clayey gravel
  clay,              // clay, sandy or silty clay, clayey silt, silt
};
std::string_view name_of(BearingClass soil);

struct PresumptiveBearing {
  double vertical_psf = 0;
  double lateral_psf_per_ft = 0;
  std::optional<double> friction;      // coefficient of sliding
  std::optional<double> cohesion_psf;  // for clay and silt instead of friction
  double vertical_kpa() const { return vertical_psf * kKpa; }
  double lateral_kpa_per_m() const { return lateral_psf_per_ft * kKpa / 0.3048; }
  static constexpr double kKpa = 0.04788026;
};
PresumptiveBearing presumptive_bearing(BearingClass soil);

inline constexpr std::string_view kBearingTable = "International Building Code, table 1806.2";
inline constexpr std::string_view kBearingCaution =
    "A code's assumption for light buildings on undisturbed, unfrozen ground, not a measurement. "
    "The local code may ask for less or more. Ask a licensed engineer, above all on slopes, on "
    "fill, on soft or wet ground and near water.";

// Nothing for organic soil (8 % organic matter or more by mass) or fill.
std::optional<BearingClass> bearing_class(const FineEarth& soil, double coarse_percent,
                                          double organic_percent = 0, bool fill = false);

}  // namespace horizon
