// horizon/ground/soil_water.h: how much water a soil holds and how fast it lets water through.
// Units:    water in per cent by volume; mm; mm/h; 1 in/h = 25.4 mm/h = 7.056 micrometres/s
// Valid:    the equations for fine earth with clay up to 60 % and organic matter up to 8 %
// Accuracy: typical values; a given soil's conductivity differs by a factor of 3 either way: a
//           percolation test on the spot outranks them
// Source:   Saxton & Rawls, Soil Sci. Soc. Am. J. 70 (2006), table 3 and equations; NRCS National
//           Engineering Handbook 630 chapter 7 (2009), table 7-1; permeability classes of the
//           Soil Conservation Service
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "horizon/ground/texture.h"

namespace horizon {

struct SoilWater {
  double wilting_point_percent = 0;
  double field_capacity_percent = 0;
  double saturation_percent = 0;
  double conductivity_mm_h = 0;  // saturated
  double available_percent() const { return field_capacity_percent - wilting_point_percent; }
  double dry_density_kg_m3() const { return 2650 * (1 - saturation_percent / 100); }
};
// The published values of the class, at 2.5 % organic matter.
SoilWater typical_soil_water(Texture texture);
// By the equations. Bad input outside the valid range.
Result<SoilWater> soil_water(const FineEarth& soil, double organic_percent = 2.5);

struct WaterLayer {
  double top_m = 0, bottom_m = 0;
  SoilWater water;
  double coarse_percent = 0;  // by volume: stones hold none
};
// Available to plants from the surface down to `depth_m`, as deep as the layers reach.
double available_water_mm(std::span<const WaterLayer> layers, double depth_m);

enum class Permeability : std::uint8_t {
  very_slow,         // under 0.06 in/h
  slow,              // 0.06
  moderately_slow,   // 0.2
  moderate,          // 0.6
  moderately_rapid,  // 2
  rapid,             // 6
  very_rapid,        // over 20
};
std::string_view name_of(Permeability permeability);
Permeability permeability_of(double rate_mm_h);

// A the fastest to take up rain, D the slowest. Of a dual group the first letter holds once
// drained.
enum class HydrologicGroup : std::uint8_t { a, b, c, d, a_d, b_d, c_d };
std::string_view name_of(HydrologicGroup group);  // "B", "B/D"
struct GroundProfile {
  std::optional<double> impermeable_m;  // depth to rock or a layer under 0.9 micrometres/s
  std::optional<double> water_table_m;  // highest in the year
  std::span<const WaterLayer> layers;   // the least conductive within the depth that counts decides
};
// Bad input without layers.
Result<HydrologicGroup> hydrologic_group(const GroundProfile& profile);

}  // namespace horizon
