// horizon/ground/frost.h: how deep the ground freezes in a cold winter.
// Units:    degrees Celsius; degree-days (C d) below 0; m; W/(m K); J/m3; kg/m3
// Frame:    depth below the surface, under the middle of an unheated, open area
// Valid:    seasonal frost (mean annual air temperature above 0); permafrost is refused
// Accuracy: of the published method about 15 % in homogeneous ground whose moisture is known; the
//           moisture matters more, so the answer is a range from dry to wet
// Errors:   bad_input names the layer; out_of_range for permafrost
// Source:   modified Berggren equation (Aldrich & Paynter 1953; TM 5-852-6) with the coefficient
//           solved exactly from the Berggren equation, not read from its chart; n-factors UFC
//           3-130-04 table 4-1; conductivities Kersten 1949; snow Yen 1981
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "horizon/ground/soil_water.h"

namespace horizon {

using MonthlyMeans = std::array<double, 12>;  // mean air temperature of each month, C

struct FreezingIndex {
  double index_cd = 0;       // of the air
  double duration_d = 0;     // of the freezing season
  double mean_annual_c = 0;  // of the air
};
// Sum over the months below 0: an average winter. A design winter (the coldest of 30) is colder.
FreezingIndex freezing_index(const MonthlyMeans& means);
// From the highest to the following lowest point of the running sum, the year taken as a ring.
// One mean a day, a year or a multiple of it (average the years' results for a normal winter, take
// the coldest for design). Bad input under 360 days.
Result<FreezingIndex> freezing_index(std::span<const double> daily_means_c);

enum class Surface : std::uint8_t { snow, concrete, bituminous, bare_soil, shaded, turf, trees };
inline constexpr int kSurfaceCount = 7;
std::string_view name_of(Surface surface);
double freezing_n_factor(Surface surface);  // surface index over air index

// The root of exp(-x^2)/erf x - alpha exp(-x^2)/erfc x = sqrt(pi) x / mu, as x sqrt(2 / mu).
// alpha: the ground's mean temperature over the surface's mean frost; mu: the Stefan number.
// Both 0 or more.
double berggren_lambda(double alpha, double mu);

struct ThermalLayer {
  double thickness_m = 0;
  double conductivity_w_mk = 1;  // mean of frozen and thawed
  double latent_j_m3 = 0;        // 0: snow, boards, dry stone
  double heat_capacity_j_m3k = 0;
  double frozen_w_mk = 0;  // conductivity while frozen; 0: not told apart
};
// Of a soil with this dry density and water by mass, after Kersten. Coarse = sand and gravel.
ThermalLayer soil_layer(double thickness_m, bool coarse, double dry_density_kg_m3,
                        double water_percent);
// Of settled snow: 250 kg/m3 unless measured.
ThermalLayer snow_layer(double depth_m, double density_kg_m3 = 250);

struct FrostDepth {
  double depth_m = 0;   // below the surface of the ground: snow and boards not counted
  double stefan_m = 0;  // without the ground's own warmth: never less deep
  double lambda = 1;
  double alpha = 0, mu = 0;
};
// surface_index_cd: air index times n. `layers` from the surface down; the last goes on for ever.
// cover: snow or boards above the ground, which freeze nothing but hinder.
Result<FrostDepth> frost_depth(const FreezingIndex& air, double n_factor,
                               std::span<const ThermalLayer> layers,
                               std::span<const ThermalLayer> cover = {});

// The layers of a described profile, dry (wilting point) or wet (field capacity).
struct FrostSoilLayer {
  double top_m = 0, bottom_m = 0;
  FineEarth soil;
  SoilWater water;
  double coarse_percent = 0;  // by volume
};
std::vector<ThermalLayer> thermal_layers(std::span<const FrostSoilLayer> profile, bool wet);

// From wet to dry ground, and the method's own error either way: horizon/ground/ground_year.h.
inline constexpr double kFrostMethodError = 0.15;
struct FrostRangeDepth {
  double shallow_m = 0, deep_m = 0;
};

// How deep insulation at the edge should go: evidence for the designer, who decides.
struct EdgeInsulation {
  FrostRangeDepth frost;
  // The trade's rule where winters reach -35 C: about six feet. [common practice]
  std::optional<double> common_practice_m;
  bool agree = false;  // the rule lies within the computed range
};
inline constexpr double kSixFeet_m = 1.8288;
EdgeInsulation edge_insulation(const FrostRangeDepth& frost, double design_low_c);

}  // namespace horizon
