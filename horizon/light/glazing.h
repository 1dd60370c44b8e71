// horizon/light/glazing.h: how much of the light that meets the glazing goes through.
// Units:    transmittance 0 to 1 of solar energy; angles of incidence in degrees
// Valid:    1 to 5 parallel sheets of one material, unpolarised light, clean and dry
// Accuracy: glass within 0.01 of the Fresnel-Bouguer solution; webs of multi-wall sheets are not
//           modelled, so an oblique beam loses a few percent more than said: enter the maker's
//           value for normal incidence where known, the curve is scaled to it
// Source:   Fresnel and Bouguer with all reflections between sheets, as in Duffie & Beckman, ch. 5;
//           effective diffuse angles of Brandemuehl & Beckman 1980; refractive indices: soda-lime
//           glass 1.526, polycarbonate 1.586
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace horizon {

struct Glazing {
  std::string name = "twin-wall polycarbonate";
  int sheets = 2;
  double refractive_index = 1.586;
  double extinction_per_m = 15;
  double sheet_thickness_m = 0.0007;           // of one sheet
  std::optional<double> normal_transmittance;  // the maker's value; overrides the level
};
Glazing no_glazing();                 // an open hole: everything passes
Glazing single_glass();               // 4 mm float
Glazing double_glass();               // 4 mm + 4 mm float
Glazing twin_wall_polycarbonate();    // 10 mm
Glazing triple_wall_polycarbonate();  // 16 mm
// "none", "single-glass", "double-glass", "twin-wall", "triple-wall"
std::optional<Glazing> glazing_named(std::string_view name);

struct Optics {
  double transmittance = 0, reflectance = 0, absorptance = 0;  // they add up to 1
};
Optics optics(const Glazing& glazing, double incidence_deg);
// One surface of the material, unpolarised.
double surface_reflectance(double refractive_index, double incidence_deg);

// The angle of incidence at which a beam passes like diffuse light from all the sky or ground that
// a plane of this tilt sees.
double effective_sky_angle_deg(double tilt_deg);
double effective_ground_angle_deg(double tilt_deg);

// The curve as a table over cos(incidence), for the sums: linear between 512 steps, error 1e-4.
class TransmittanceCurve {
 public:
  explicit TransmittanceCurve(const Glazing& glazing);
  // cos_incidence at or below 0: nothing passes.
  double operator()(double cos_incidence) const {
    if (!(cos_incidence > 0)) return 0;
    const double x = (cos_incidence < 1 ? cos_incidence : 1.0) * kSteps;
    const int i = x < kSteps ? static_cast<int>(x) : kSteps - 1;
    return table_[i] + (x - i) * (table_[i + 1] - table_[i]);
  }
  double of_isotropic() const { return isotropic_; }  // hemispherical

 private:
  static constexpr int kSteps = 512;
  std::vector<double> table_;
  double isotropic_ = 0;
};

}  // namespace horizon
