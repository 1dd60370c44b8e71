#include "horizon/light/clear_sky.h"

#include <algorithm>
#include <cmath>

#include "horizon/angle.h"
#include "horizon/light/solar_terms.h"

namespace horizon {
namespace {

// ESRA's own refraction, for its air mass. Radians.
double esra_refraction(double el) {
  return 0.061359 * (0.1594 + el * (1.123 + 0.065656 * el)) / (1 + el * (28.9344 + 277.3971 * el));
}

double rayleigh_depth(double m) {
  if (m > 20) return 1 / (10.4 + 0.718 * m);
  return 1 / (6.6296 + m * (1.7513 + m * (-0.1202 + m * (0.0065 - m * 0.00013))));
}

}  // namespace

Irradiance esra_clear_sky(double sun_elevation_deg, double linke_turbidity, double height_m,
                          double extraterrestrial_normal_wm2) {
  if (!(sun_elevation_deg > 0)) return {};
  const double tl = linke_turbidity;
  const double el = sun_elevation_deg * kDegree;
  const double seen_deg = (el + esra_refraction(el)) / kDegree;
  const double m = std::exp(-height_m / 8434.5) * air_mass_kasten_young(90 - seen_deg);

  const double at_zenith = -1.5843e-2 + tl * (3.0543e-2 + tl * 3.797e-4);
  double a0 = 2.6463e-1 + tl * (-6.1581e-2 + tl * 3.1408e-3);
  const double a1 = 2.0402 + tl * (1.8945e-2 - tl * 1.1161e-2);
  const double a2 = -1.3025 + tl * (3.9231e-2 + tl * 8.5079e-3);
  if (a0 * at_zenith < 2e-3) a0 = 2e-3 / at_zenith;
  const double s = std::sin(el);

  Irradiance result;
  result.beam_normal_wm2 =
      extraterrestrial_normal_wm2 * std::exp(-0.8662 * tl * m * rayleigh_depth(m));
  result.diffuse_horizontal_wm2 =
      std::max(0.0, extraterrestrial_normal_wm2 * at_zenith * (a0 + s * (a1 + s * a2)));
  result.global_horizontal_wm2 = result.beam_normal_wm2 * s + result.diffuse_horizontal_wm2;
  return result;
}

BirdResult bird_clear_sky(double zenith_deg, const BirdAir& air,
                          double extraterrestrial_normal_wm2) {
  BirdResult result;
  if (!(zenith_deg < 89)) return result;
  const double cos_zenith = std::cos(zenith_deg * kDegree);
  // Exponents 1.25 here and 0.3034 of ozone as in the authors' spreadsheet; Kasten has 1.253.
  const double m = 1 / (cos_zenith + 0.15 * std::pow(93.885 - zenith_deg, -1.25));
  const double mp = m * air.pressure_pa / 101300;
  const double xo = air.ozone_cm * m, xw = air.water_cm * m;
  const double depth = 0.2758 * air.aerosol_depth_380nm + 0.35 * air.aerosol_depth_500nm;

  result.air_mass = m;
  result.rayleigh = std::exp(-0.0903 * std::pow(mp, 0.84) * (1 + mp - std::pow(mp, 1.01)));
  result.ozone = 1 - 0.1611 * xo * std::pow(1 + 139.48 * xo, -0.3034) -
                 0.002715 * xo / (1 + 0.044 * xo + 0.0003 * xo * xo);
  result.gases = std::exp(-0.0127 * std::pow(mp, 0.26));
  result.water = 1 - 2.4959 * xw / (std::pow(1 + 79.034 * xw, 0.6828) + 6.385 * xw);
  result.aerosol = std::exp(-std::pow(depth, 0.873) * (1 + depth - std::pow(depth, 0.7088)) *
                            std::pow(m, 0.9108));
  const double absorbing = 1 - 0.1 * (1 - m + std::pow(m, 1.06)) * (1 - result.aerosol);
  const double scattering = result.aerosol / absorbing;
  const double sky_albedo = 0.0685 + (1 - air.forward_scatter) * (1 - scattering);

  const double e0 = extraterrestrial_normal_wm2;
  Irradiance& out = result.irradiance;
  out.beam_normal_wm2 =
      0.9662 * e0 * result.aerosol * result.water * result.gases * result.ozone * result.rayleigh;
  const double beam_horizontal = out.beam_normal_wm2 * cos_zenith;
  const double scattered = e0 * cos_zenith * 0.79 * result.ozone * result.gases * result.water *
                           absorbing *
                           (0.5 * (1 - result.rayleigh) + air.forward_scatter * (1 - scattering)) /
                           (1 - m + std::pow(m, 1.02));
  out.global_horizontal_wm2 = (beam_horizontal + scattered) / (1 - air.albedo * sky_albedo);
  out.diffuse_horizontal_wm2 = out.global_horizontal_wm2 - beam_horizontal;
  return result;
}

MonthlyTurbidity default_turbidity(double height_m, bool southern) {
  const double mountain = std::clamp((height_m - 500) / 1000, 0.0, 1.0);
  MonthlyTurbidity result;
  for (int i = 0; i < 12; ++i) {
    const int month = southern ? (i + 6) % 12 : i;
    result[i] =
        kRuralTurbidity[month] + mountain * (kMountainTurbidity[month] - kRuralTurbidity[month]);
  }
  return result;
}

}  // namespace horizon
