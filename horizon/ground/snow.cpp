#include "horizon/ground/snow.h"

#include <algorithm>
#include <cmath>

namespace horizon {
namespace {
constexpr double kSettled_kn_m3 = 4;    // slid snow is packed: 400 kg/m3
constexpr double kRepose_slope = 0.84;  // 40 degrees

double fall(double slope_deg, double full_deg, double none_deg) {
  return std::clamp(1 - (slope_deg - full_deg) / (none_deg - full_deg), 0.0, 1.0);
}
}  // namespace

double en1991_mu1(double slope_deg, bool held) {
  if (held) return 0.8;
  return std::clamp(0.8 * (60 - slope_deg) / 30, 0.0, 0.8);
}

double asce7_cs(double slope_deg, RoofSurface surface, double thermal_factor) {
  const bool slippery = surface == RoofSurface::slippery;
  double full_deg = slippery ? 5 : 30;
  if (thermal_factor >= 1.2)
    full_deg = slippery ? 15 : 45;
  else if (thermal_factor > 1.0)
    full_deg = slippery ? 10 : 37.5;
  return fall(slope_deg, full_deg, 70);
}

double roof_snow_kn_m2(double ground_snow_kn_m2, double slope_deg, bool held, double exposure,
                       double thermal) {
  return en1991_mu1(slope_deg, held) * exposure * thermal * ground_snow_kn_m2;
}

Result<SlidSnow> slid_snow(double ground_snow_kn_m2, double slope_deg, double run_m,
                           double foot_m) {
  if (!(ground_snow_kn_m2 >= 0 && run_m >= 0 && foot_m >= 0 && slope_deg >= 0 && slope_deg <= 90))
    return fail(Code::bad_input, "error.snow_input_range");
  // What the slope does not hold slides, on top of the snow that already lies there.
  const double slid_m2 = ground_snow_kn_m2 * (0.8 - en1991_mu1(slope_deg)) * run_m / kSettled_kn_m3;
  SlidSnow bank;
  bank.height_m = std::sqrt(2 * slid_m2 * kRepose_slope) + ground_snow_kn_m2 / kSettled_kn_m3;
  bank.reach_m = std::sqrt(2 * slid_m2 / kRepose_slope);
  bank.blocks = bank.height_m >= foot_m;
  return bank;
}

}  // namespace horizon
