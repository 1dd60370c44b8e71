// horizon/light/clear_sky.h: what the sun gives through a cloudless sky.
// Units:    W/m2, degrees, metres, Pa, cm of ozone and of water
// Valid:    sun elevation as seen (refracted) 0 to 90; below, everything is 0. Turbidity 1 to 8
// Accuracy: ESRA about 5 % of beam with the right turbidity; Bird 10 % of diffuse (their authors)
// Source:   Rigollier, Bauer & Wald 2000 (ESRA); Bird & Hulstrom 1981, SERI/TR-642-761.
//           Monthly turbidity: averages of mild northern climates, Scharmer & Greif 2000, as
//           reprinted by Neteler & Mitasova 2002.
#pragma once

#include <array>

namespace horizon {

struct Irradiance {
  double beam_normal_wm2 = 0;
  double diffuse_horizontal_wm2 = 0;
  double global_horizontal_wm2 = 0;
};

Irradiance esra_clear_sky(double sun_elevation_deg, double linke_turbidity, double height_m,
                          double extraterrestrial_normal_wm2);

struct BirdAir {
  double pressure_pa = 101325;
  double ozone_cm = 0.3;
  double water_cm = 1.5;
  double aerosol_depth_380nm = 0.15;
  double aerosol_depth_500nm = 0.1;
  double forward_scatter = 0.85;  // Ba
  double albedo = 0.2;
};
struct BirdResult {
  Irradiance irradiance;
  double air_mass = 0;
  double rayleigh = 0, ozone = 0, gases = 0, water = 0, aerosol = 0;  // transmittances
};
BirdResult bird_clear_sky(double zenith_deg, const BirdAir& air,
                          double extraterrestrial_normal_wm2);

using MonthlyTurbidity = std::array<double, 12>;  // Linke, air mass 2; January first
inline constexpr MonthlyTurbidity kMountainTurbidity = {1.5, 1.6, 1.8, 1.9, 2.0, 2.3,
                                                        2.3, 2.3, 2.1, 1.8, 1.6, 1.5};
inline constexpr MonthlyTurbidity kRuralTurbidity = {2.1, 2.2, 2.5, 2.9, 3.2, 3.4,
                                                     3.5, 3.3, 2.9, 2.6, 2.3, 2.2};
// Rural up to 500 m, mountain from 1500 m, a mixture between; turned by six months in the south.
MonthlyTurbidity default_turbidity(double height_m, bool southern);

}  // namespace horizon
