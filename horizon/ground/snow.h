// horizon/ground/snow.h: how much snow a roof holds and where it lies when it has slid.
// Units:    kN/m2 on the plan area; degrees of slope; metres
// Valid:    single-pitch and ridged roofs; drifts and snow from a roof above come on top
// Accuracy: the codes' curves; slid snow to a factor of 1.5. Steep glazing sheds wet snow late and
//           frozen snow not at all until it thaws. Local code and a licensed engineer decide
// Source:   EN 1991-1-3 mu1; ASCE 7 Cs, with thermal factor 1.2 for unheated buildings; the heap is
//           geometry. What snow on the ground adds to the light: snow_albedo() in light/sky_input.h
#pragma once

#include "horizon/result.h"

namespace horizon {

// Shape factor of a plain slope. `held`: snow fences, a parapet or an obstacle at the eave.
double en1991_mu1(double slope_deg, bool held = false);

enum class RoofSurface { slippery, other };  // slippery: glass, metal, membrane, nothing in the way
// thermal_factor: 1.0 heated, 0.85 heated greenhouse, 1.2 unheated.
inline constexpr double kUnheatedThermal = 1.2;
double asce7_cs(double slope_deg, RoofSurface surface, double thermal_factor = kUnheatedThermal);

// EN 1991-1-3: s = mu1 Ce Ct sk.
double roof_snow_kn_m2(double ground_snow_kn_m2, double slope_deg, bool held = false,
                       double exposure = 1, double thermal = 1);

// What slid off lies as a bank along the eave.
struct SlidSnow {
  double reach_m = 0;   // out from the wall at the foot of the glazing
  double height_m = 0;  // against the wall
  bool blocks = false;  // as high as the foot of the glazing: no more slides, light is lost
};
// run_m: the glazing's horizontal depth, eave to ridge; foot_m: height of its lower edge above the
// ground.
Result<SlidSnow> slid_snow(double ground_snow_kn_m2, double slope_deg, double run_m, double foot_m);

}  // namespace horizon
