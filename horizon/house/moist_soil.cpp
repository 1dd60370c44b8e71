#include "horizon/house/moist_soil.h"

#include <algorithm>

namespace horizon {

double FreezingHeat::warmth_j(double at_c) const {
  if (latent_j <= 0 || at_c >= 0) return capacity_j_k * at_c;
  const double freezing = (capacity_j_k + frozen_j_k) / 2 + latent_j / kFreezingRange_k;
  if (at_c >= -kFreezingRange_k) return freezing * at_c;
  return -freezing * kFreezingRange_k + frozen_j_k * (at_c + kFreezingRange_k);
}

double FreezingHeat::temperature_c(double warmth_j) const {
  if (latent_j <= 0 || warmth_j >= 0) return warmth_j / capacity_j_k;
  const double freezing = (capacity_j_k + frozen_j_k) / 2 + latent_j / kFreezingRange_k;
  if (warmth_j >= -freezing * kFreezingRange_k) return warmth_j / freezing;
  return -kFreezingRange_k + (warmth_j + freezing * kFreezingRange_k) / frozen_j_k;
}

FreezingHeat moist_soil(double dry_density_kg_m3, double water_volume_share) {
  const double mineral = 1.92e6 * dry_density_kg_m3 / 2650;  // J/(m3 K)
  const double water = std::clamp(water_volume_share, 0.0, 0.6);
  return {mineral + 4.18e6 * water, mineral + 1.9e6 * water, 1000 * water * kIceLatent_j_kg};
}

}  // namespace horizon
