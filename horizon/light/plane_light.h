// horizon/light/plane_light.h: what a tilted plane gets over a year under a real skyline.
// Units:    kWh/m2, mol/m2 of photons; days and months count from 0
// Frame:    true azimuths; directions as unit vectors east, north, up
// Accuracy: beam step by step; sky in patches of 5 degrees by their mean direction: 0.1 %
// Source:   beam and circumsolar light with the share of the disc that shows; isotropic light of
//           the sky that shows (Perez 1990 parts); the horizon band where it shows; ground and
//           skyline reflect what they get, evenly (Lambert)
//
// The ground at the station reflects the light that reaches the site. The hillsides and trees that
// hide the sky stand in the open and reflect the light of the open land.
#pragma once

#include <array>
#include <vector>

#include "horizon/light/glazing.h"
#include "horizon/light/sky_steps.h"
#include "horizon/light/sky_view.h"

namespace horizon {

// A piece of the sphere round the station.
struct Patch {
  enum class What { sky, leaves, skyline, ground, band };
  What what = What::sky;
  float east = 0, north = 0, up = 0;
  float weight = 0;  // solid angle over pi: what a plane that faces it gets of an even radiance;
                     // of the band: so that sin(tilt) comes out over a free horizon
  std::array<float, 12> leaf{};  // of leaves: share of the sky behind that comes through
};
std::vector<Patch> patches_of(const Skyline& skyline, const Masks& masks, const GroundSlope& slope,
                              bool southern);

// How much of each sort of even light a receiver gets, 1 being a full hemisphere.
struct Receives {
  Monthly sky{}, skyline{};  // leaves change by the month
  double ground = 0, band = 0;
};
Receives plane_receives(const std::vector<Patch>& patches, const Plane& plane,
                        const TransmittanceCurve& glazing);
// A level bed behind the plane of glazing, with nothing clear at its back.
Receives bed_receives(const std::vector<Patch>& patches, const Plane& plane,
                      const TransmittanceCurve& glazing);

struct PlaneMonth {
  double beam_kwh_m2 = 0;  // with the circumsolar light
  double sky_kwh_m2 = 0;   // isotropic and horizon band
  double reflected_kwh_m2 = 0;
  double through_kwh_m2 = 0;  // all three, past the glazing
  double on_plane_kwh_m2() const { return beam_kwh_m2 + sky_kwh_m2 + reflected_kwh_m2; }
};

class SiteLight {
 public:
  // The three are kept by reference and must outlive this.
  SiteLight(const SunSteps& sun, const std::vector<SkyStep>& sky, const Skyline& skyline,
            Masks masks, const GroundSlope& slope, const Monthly& albedo, double skyline_albedo);

  std::array<PlaneMonth, 12> months(const Plane& plane, const TransmittanceCurve& glazing) const;
  // Photons on the bed by day, before frames and dirt.
  std::vector<double> bed_mol_m2(const Plane& plane, const TransmittanceCurve& glazing) const;
  // The part of the bed's photons that each step's sun would bring, unhidden; and the rest by day.
  void bed_parts(const Plane& plane, const TransmittanceCurve& glazing,
                 std::vector<float>& sun_mol_m2, std::vector<double>& rest_mol_m2) const;

  const SunSteps& sun() const { return sun_; }
  const std::vector<SkyStep>& sky() const { return sky_; }
  const SunSeen& seen() const { return seen_; }
  const Masks& masks() const { return masks_; }
  const std::vector<Patch>& patches() const { return patches_; }
  const Monthly& open_kwh_m2() const { return open_; }    // global on open level ground
  const Monthly& level_kwh_m2() const { return level_; }  // the same under this skyline
  const std::vector<double>& open_daily_kwh_m2() const { return open_daily_; }
  // What a unit of `patch` brings to a plane that faces it, in a month.
  double patch_kwh_m2(const Patch& patch, int month) const;

 private:
  const SunSteps& sun_;
  const std::vector<SkyStep>& sky_;
  Masks masks_;
  SunSeen seen_;
  std::vector<Patch> patches_;
  Monthly albedo_, open_{}, level_{}, isotropic_{}, band_{};
  double skyline_albedo_;
  std::vector<double> open_daily_, isotropic_daily_, level_sun_daily_;
};

}  // namespace horizon
