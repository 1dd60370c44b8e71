#include "horizon/light/transposition.h"

#include <algorithm>
#include <cmath>

#include "horizon/angle.h"

namespace horizon {
namespace {

constexpr double kClearnessEdges[7] = {1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2};
// F11 F12 F13 F21 F22 F23
constexpr double kPerez1990[8][6] = {
    {-0.008, 0.588, -0.062, -0.060, 0.072, -0.022}, {0.130, 0.683, -0.151, -0.019, 0.066, -0.029},
    {0.330, 0.487, -0.221, 0.055, -0.064, -0.026},  {0.568, 0.187, -0.295, 0.109, -0.152, -0.014},
    {0.873, -0.392, -0.362, 0.226, -0.462, 0.001},  {1.132, -1.237, -0.412, 0.288, -0.823, 0.056},
    {1.060, -1.600, -0.359, 0.264, -1.127, 0.131},  {0.678, -0.327, -0.250, 0.156, -1.377, 0.251}};

}  // namespace

PerezSky perez_sky(double beam_normal_wm2, double diffuse_horizontal_wm2,
                   double extraterrestrial_normal_wm2, double zenith_deg, double air_mass) {
  if (!(diffuse_horizontal_wm2 > 0)) return {};
  const double z = zenith_deg * kDegree, cubic = 1.041 * z * z * z;
  const double clearness =
      ((diffuse_horizontal_wm2 + beam_normal_wm2) / diffuse_horizontal_wm2 + cubic) / (1 + cubic);
  const double brightness = diffuse_horizontal_wm2 * air_mass / extraterrestrial_normal_wm2;
  int bin = 0;
  while (bin < 7 && clearness >= kClearnessEdges[bin]) ++bin;
  const double* f = kPerez1990[bin];
  return {std::max(0.0, f[0] + f[1] * brightness + f[2] * z), f[3] + f[4] * brightness + f[5] * z};
}

SkyDiffuse isotropic_diffuse(double diffuse_horizontal_wm2, double tilt_deg) {
  return {diffuse_horizontal_wm2 * (1 + std::cos(tilt_deg * kDegree)) / 2, 0, 0};
}

SkyDiffuse hay_davies_diffuse(double beam_normal_wm2, double diffuse_horizontal_wm2,
                              double extraterrestrial_normal_wm2, double zenith_deg,
                              double cos_incidence, double tilt_deg) {
  const double anisotropy = beam_normal_wm2 / extraterrestrial_normal_wm2;
  // cos(89 degrees): the ratio of beams has no meaning nearer the horizon.
  const double cos_zenith = std::max(std::cos(zenith_deg * kDegree), 0.01745);
  SkyDiffuse result = isotropic_diffuse(diffuse_horizontal_wm2 * (1 - anisotropy), tilt_deg);
  result.circumsolar_wm2 =
      diffuse_horizontal_wm2 * anisotropy * std::max(0.0, cos_incidence) / cos_zenith;
  return result;
}

SkyDiffuse perez_diffuse(const PerezSky& sky, double diffuse_horizontal_wm2, double zenith_deg,
                         double cos_incidence, double tilt_deg) {
  const double cos_zenith = std::max(std::cos(zenith_deg * kDegree), kPerezLowestCosZenith);
  SkyDiffuse result = isotropic_diffuse(diffuse_horizontal_wm2 * (1 - sky.circumsolar), tilt_deg);
  result.circumsolar_wm2 =
      diffuse_horizontal_wm2 * sky.circumsolar * std::max(0.0, cos_incidence) / cos_zenith;
  result.horizon_wm2 = diffuse_horizontal_wm2 * sky.horizon * std::sin(tilt_deg * kDegree);
  return result;
}

double ground_reflected_wm2(double global_horizontal_wm2, double albedo, double tilt_deg) {
  return global_horizontal_wm2 * albedo * (1 - std::cos(tilt_deg * kDegree)) / 2;
}

}  // namespace horizon
