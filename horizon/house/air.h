// horizon/house/air.h: how heavy and how damp the air is.
// Units:    degrees Celsius, Pa, kg/m3; relative humidity 0 to 1
// Valid:    -60 to 60 C; pressure 40 to 110 kPa
// Accuracy: saturation within 0.4 % from -50 to 50 C
// Source:   ideal gas; Magnus formula over water as recommended by WMO No. 8 (2008), annex 4.B;
//           FAO-56 eq. 7 for the pressure of a height
#pragma once

namespace horizon {

inline constexpr double kKelvin = 273.15;
inline constexpr double kStefanBoltzmann = 5.670374e-8;  // W/(m2 K4)
inline constexpr double kAirHeat_j_kgk = 1006;
inline constexpr double kVaporisation_j_kg = 2.5e6;

double air_density_kg_m3(double air_c, double pressure_pa);
double saturation_pa(double air_c);
double vapour_pa(double air_c, double relative_humidity);
double dew_point_c(double vapour_pa);

}  // namespace horizon
