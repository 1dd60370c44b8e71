// horizon/light/facing.h: which way to face and how steep to glaze, on the skyline as it is.
// Units:    degrees (true), kWh per m2 of glazing over the season, through the glazing
// Frame:    facing 0 to 355 by 5 degrees, tilt 0 to 90 by 2.5 degrees
// Accuracy: beam gathered in directions of 1.5 degrees by their energy-weighted mean: gain within
//           0.2 % of the sum over time steps; best facing 0.3 degree where the top is not flat
// Source:   the sum of beam, diffuse and reflected light over a season; bands are this project's
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <vector>

#include "horizon/light/sky_view.h"

namespace horizon {

inline constexpr int kFacings = 72, kTilts = 37;
inline constexpr double kFacingStep_deg = 5, kTiltStep_deg = 2.5;
inline constexpr double kPlaneSearch_deg = 0.5;  // the best plane is told no finer than this

class SiteLight;
class TransmittanceCurve;

enum class Season { winter_half, shoulder, year };
inline constexpr int kSeasonCount = 3;
// North: October to March; March, April, September, October; all. South: six months on.
unsigned months_of(Season season, bool southern);  // bit 0 = January

struct GainSurface {
  std::vector<float> kwh_m2;  // kFacings rows of kTilts
  double at(int facing, int tilt) const { return kwh_m2[facing * kTilts + tilt]; }
  double interpolated(const Plane& plane) const;
};

// Clockwise from `from` to `to`; equal ends = all round.
struct FacingBand {
  TrueAzimuth from, to;
  double width_deg() const;
};
struct TiltBand {
  double from_deg = 0, to_deg = 0;
};

struct PlaneGain {
  Plane plane;
  double kwh_m2 = 0;
  double loss = 0;  // against the best, 0 to 1
};

struct FacingFinding {
  Season season = Season::winter_half;
  unsigned months = 0;
  GainSurface surface;
  PlaneGain best;
  double open_best_kwh_m2 = 0;            // the best plane of a flat horizon, for comparison
  FacingBand within_2, within_5;          // at the best tilt
  TiltBand tilt_within_2, tilt_within_5;  // at the best facing
  PlaneGain solar_south;                  // best tilt when facing the equator (south in the north)
  std::optional<PlaneGain> chosen;        // the user's own
  PlaneGain tilt_30;                      // best facing at 30 degrees
  PlaneGain best_from_30;                 // the best of 30 degrees and steeper: snow slides
  // What the best facing at each tilt loses, tilt 0 to 90 by 2.5 degrees.
  std::array<double, kTilts> loss_by_tilt{};
};

std::array<FacingFinding, kSeasonCount> facings_of(const SiteLight& light,
                                                   const TransmittanceCurve& glazing,
                                                   const std::optional<Plane>& chosen);

// Which of many small parts of the sky each step's sun stands in.
struct SunSteps;
struct SunBins {
  std::vector<int> of_step;
  int count = 0;
};
SunBins bins_of(const SunSteps& sun, double bin_deg);

// Light from many directions, gathered so that any plane's gain is one short sum.
class Sources {
 public:
  // The site's sky, ground and skyline.
  explicit Sources(const SiteLight& light);
  // The site's sun with another skyline's share of it, by step.
  void add_sun(const SiteLight& light, const std::vector<float>& seen, double bin_deg = 2);
  void clear_sun();  // leaves the rest

  // The same with fixed directions, for many skylines one after the other.
  struct Bin {
    double east = 0, north = 0, up = 0;
    std::array<double, kSeasonCount> kwh_m2{};
  };
  void add_bins(const std::vector<Bin>& bins);  // of those that bring anything
  // What sky, ground and skyline bring to a plane is remembered, here and in all copies: for many
  // suns one after the other, of one season and one `passed`. Then sums are rounded in two parts.
  void remember_rest();

  using Gains = std::array<double, kSeasonCount>;
  class Passed;  // light passed by cos(incidence), as a polynomial
  Gains gain(const Plane& plane, const Passed& passed) const;
  // Of one season: the same number.
  double gain(const Plane& plane, const Passed& passed, Season season) const;

 private:
  struct Rest;
  template <class F>
  void each_block(const Plane& plane, const Passed& passed, size_t from, size_t to,
                  F&& add_to) const;
  void add(double east, double north, double up, const Gains& kwh_m2);
  size_t without_sun_ = 0;
  std::shared_ptr<Rest> rest_;
  std::vector<float> east_, north_, up_;
  std::array<std::vector<float>, kSeasonCount> kwh_m2_;
};

// cos(incidence) times the glazing's transmittance, within 0.001.
class Sources::Passed {
 public:
  explicit Passed(const TransmittanceCurve& glazing);
  double error() const { return error_; }
  static constexpr int kTerms = 9;
  std::array<float, kTerms> factor{};  // of cos, cos^2, ...

 private:
  double error_ = 0;
};

// The best plane uphill from `start`, to 0.1 degree.
PlaneGain climb(const Sources& sources, const Sources::Passed& passed, Season season, Plane start,
                bool turn = true, bool tip = true, double lowest_tilt_deg = 0);

}  // namespace horizon
