// horizon/bearing/correction.h: from what was read on the instrument to a skyline with true azimuths.
// Units:    degrees, metres; sigmas are one standard deviation
// Frame:    bearings from the north they were read from; the result in true azimuths
// Valid:    any number of sightings; those that cannot be made true are listed, not guessed
// Method:   true = bearing (+ 180 of a back bearing) + declination or convergence + the
//           instrument's heading offset. Aims of one group are one mark: the mean direction,
//           weighted, on the circle; an aim further from the median of three or more than 3.5
//           robust sigmas (and than its own) is named and left out.
// Accuracy: the sum is exact. A mark's sigma is that of the weighted mean, or larger where the
//           aims scatter by more than their sigmas
// Source:   mean direction: Mardia & Jupp, Directional Statistics (2000), 2.2; outliers: modified
//           z-score of Iglewicz & Hoaglin, How to Detect and Handle Outliers (1993)
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "horizon/bearing/heading_check.h"
#include "horizon/result.h"
#include "horizon/skyline/skyline.h"

namespace horizon {

// The north that a bearing is read from. `device` is a heading of unknown north, or a horizontal
// circle set to no north at all: only a heading check can make it true.
enum class Reference : std::uint8_t { true_north, magnetic, grid, device };
inline constexpr int kReferenceCount = 4;
std::string_view name_of(Reference reference);  // "true", "magnetic", "grid", "device"
std::optional<Reference> reference_named(std::string_view name);

struct RawSighting {
  double bearing_deg = 0;
  Reference reference = Reference::magnetic;
  bool back_bearing = false;  // read from the mark towards the station
  double elevation_deg = 0;
  double bearing_sigma_deg = 1.0, elevation_sigma_deg = 0.5;
  Kind kind = Kind::ridge;
  std::string label;
  int layer = 0;
  Edge edge = Edge::straight;
  std::optional<double> distance_m, width_deg;
  std::string group;           // repeated aims at one mark; empty: alone
  int instrument = -1;         // index into Corrections::instruments; -1: none was named
  int source = -1;             // the caller's own number for it
  double level_sigma_deg = 0;  // beside its own: shared by all elevations of its instrument
};

struct Corrections {
  std::optional<double> declination_deg;  // east positive
  std::optional<double> convergence_deg;  // grid north east of true positive
  double declination_sigma_deg = 0;       // counts where no check replaces it
  double convergence_sigma_deg = 0;
  std::vector<HeadingCorrection> instruments;
  double unchecked_sigma_deg = HeadingRules{}.unchecked_sigma_deg;  // of a magnetic bearing
};

// Before any heading offset. Fails where declination or convergence is missing, and for `device`.
Result<TrueAzimuth> nominal_azimuth(double bearing_deg, Reference reference,
                                    const Corrections& corrections);
// As read from the instrument's own zero: `device` bearings pass, for their heading checks.
Result<TrueAzimuth> check_azimuth(double bearing_deg, Reference reference,
                                  const Corrections& corrections);

struct OutlyingAim {
  int source = -1;
  std::string group;
  double bearing_off_deg = 0;  // from the mark it was left out of
  double elevation_off_deg = 0;
};
struct UnplacedAim {
  int source = -1;
  Error why;
};

struct CorrectedSkyline {
  Skyline skyline;  // a point's `source` is that of the first aim of its mark
  std::vector<OutlyingAim> outliers;
  std::vector<UnplacedAim> unplaced;
};

// `known` gives foliage, width and edge to the obstacles of the same kind and label.
CorrectedSkyline corrected_skyline(std::span<const RawSighting> sightings,
                                   const Corrections& corrections,
                                   std::span<const Obstacle> known = {});

struct MeanDirection {
  double azimuth_deg = 0;  // undefined where resultant is 0
  double resultant = 0;    // 0 to 1
  double circular_sd_deg = 0;
};
// weights empty: all alike.
MeanDirection mean_direction(std::span<const double> azimuths_deg,
                             std::span<const double> weights = {});

}  // namespace horizon
