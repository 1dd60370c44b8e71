// horizon/house/moist_soil.h: the warmth that moist soil gives up as it cools and freezes.
// Units:    degrees Celsius; J/m3 and J/(m3 K), or the same a square metre of a layer
// Frame:    the soil's water freezes evenly between 0 and -1 C; warmth is counted from 0 C, thawed
// Accuracy: warmth is kept exactly however long the step; in clay some water stays liquid below -1
// Source:   apparent heat capacity; latent heat of ice 334 kJ/kg; heat capacity of minerals, water
//           and ice after de Vries 1963
#pragma once

namespace horizon {

inline constexpr double kIceLatent_j_kg = 334e3;
inline constexpr double kFreezingRange_k = 1;

struct FreezingHeat {
  double capacity_j_k = 0;  // thawed; frozen water holds half as much: said in `frozen_j_k`
  double frozen_j_k = 0;
  double latent_j = 0;  // 0: nothing freezes

  // Slope of the warmth at this temperature.
  double slope_j_k(double at_c) const {
    if (latent_j <= 0 || at_c >= 0) return capacity_j_k;
    return at_c < -kFreezingRange_k ? frozen_j_k
                                    : (capacity_j_k + frozen_j_k) / 2 + latent_j / kFreezingRange_k;
  }
  int phase(double at_c) const {
    return latent_j <= 0 || at_c >= 0 ? 0 : at_c < -kFreezingRange_k ? 2 : 1;
  }
  double warmth_j(double at_c) const;
  double temperature_c(double warmth_j) const;
};

// Of a cubic metre: mineral part by its dry density, water by volume, 0 to 0.6.
FreezingHeat moist_soil(double dry_density_kg_m3, double water_volume_share);

}  // namespace horizon
