// horizon/light/transposition.h: diffuse light of an open sky on a tilted plane.
// Units:    W/m2, degrees
// Frame:    facing and azimuths true, tilt from horizontal 0 to 90 (to 180 for a downward plane)
// Valid:    sun up; with the sun down the sky is taken as isotropic
// Accuracy: Perez about 10 W/m2 RMS on hourly values against measurements (its authors)
// Source:   Liu & Jordan 1963; Hay & Davies 1980; Perez, Ineichen, Seals, Michalsky & Stewart 1990,
//           all-sites composite coefficients
#pragma once

namespace horizon {

// Perez: the brightness of the circumsolar part and of the horizon band, as fractions of the
// horizontal diffuse irradiance. What is left, 1 - circumsolar, is isotropic.
struct PerezSky {
  double circumsolar = 0;  // F1, never below 0
  double horizon = 0;      // F2, negative under an overcast sky
};
PerezSky perez_sky(double beam_normal_wm2, double diffuse_horizontal_wm2,
                   double extraterrestrial_normal_wm2, double zenith_deg, double air_mass);

// cos(zenith) is held at cos 85 degrees, as published, so that the circumsolar part stays finite.
inline constexpr double kPerezLowestCosZenith = 0.08715574274765817;

struct SkyDiffuse {
  double isotropic_wm2 = 0;
  double circumsolar_wm2 = 0;
  double horizon_wm2 = 0;
  // A dark horizon may outweigh the rest on a steep plane; light is never negative.
  double total_wm2() const {
    const double sum = isotropic_wm2 + circumsolar_wm2 + horizon_wm2;
    return sum > 0 ? sum : 0;
  }
};
SkyDiffuse isotropic_diffuse(double diffuse_horizontal_wm2, double tilt_deg);
SkyDiffuse hay_davies_diffuse(double beam_normal_wm2, double diffuse_horizontal_wm2,
                              double extraterrestrial_normal_wm2, double zenith_deg,
                              double cos_incidence, double tilt_deg);
SkyDiffuse perez_diffuse(const PerezSky& sky, double diffuse_horizontal_wm2, double zenith_deg,
                         double cos_incidence, double tilt_deg);
double ground_reflected_wm2(double global_horizontal_wm2, double albedo, double tilt_deg);

}  // namespace horizon
