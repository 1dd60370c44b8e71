// horizon/plot/verdict.h: what speaks for and against each spot, and how one knows.
// Units:    hours, metres, mm/h, m/s, as each line says in words
// Valid:    a table to talk over, never a score: lines with their evidence, ordered by weights that
//           the reader sees and changes
// Accuracy: a line whose finding is within its own error of the limit stands as "unsure"
// Source:   limits below are common practice, each named in its line
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "horizon/ground/cold.h"
#include "horizon/ground/frost_group.h"
#include "horizon/ground/percolation.h"
#include "horizon/ground/wind.h"

namespace horizon {

enum class Criterion : std::uint8_t { light, frost, drainage, wind, access };
inline constexpr int kCriterionCount = 5;
std::string_view name_of(Criterion criterion);

enum class Stance : std::uint8_t { speaks_for, against, unsure, unknown };
std::string_view name_of(Stance stance);  // "for", "against", "unsure", "not known"

// A finding and where it comes from: "station A, 34 sightings", "percolation test 2".
template <class T>
struct Evidence {
  T value{};
  Sentence from;
};

struct CandidateSpot {
  std::string name;         // of its station
  bool best_place = false;  // of the sun map: no station stood there, so it has no name
  std::optional<Evidence<double>> winter_sun_h_day;  // mean of the winter months
  double winter_sun_sigma_h_day = 0;
  std::optional<Evidence<double>> flat_sun_h_day;  // with a flat horizon
  std::optional<Evidence<ColdAir>> cold_air;
  std::optional<Evidence<FrostGroup>> frost_group;  // the worst that it may be
  std::optional<Evidence<double>> frost_depth_m;    // the deep end of the range
  std::optional<Evidence<PercolationResult>> percolation;
  std::optional<Evidence<double>> water_table_m;         // highest in the year
  std::optional<Evidence<Shelter>> storm_shelter;        // in the storm's sector
  std::optional<Evidence<double>> access_m;              // from where a vehicle can stand
  std::optional<Evidence<double>> access_slope_percent;  // steepest of the way
  std::optional<Evidence<double>> water_supply_m;
};

using Weights = std::array<double, kCriterionCount>;  // 0 leaves a criterion at the end
inline constexpr Weights kDefaultWeights = {5, 3, 3, 2, 2};

struct VerdictLine {
  Criterion criterion = Criterion::light;
  Stance stance = Stance::unknown;
  // What it is about, and its figures in SI (an enum as its number).
  std::string_view about;
  std::vector<double> values;
  Sentence evidence;  // empty where nothing is known
  double weight = 0;
};
struct SpotVerdict {
  std::string name;
  bool best_place = false;
  std::vector<VerdictLine> lines;  // heaviest first
  int count(Stance stance) const;
};
// The limits, in the text's units.
namespace verdict_limits {
inline constexpr double kEnoughSun_h = 4, kLittleSun_h = 2;  // a day, mean of winter
inline constexpr double kDeepFrost_m = 1.2;  // a footing or apron deeper than this costs
inline constexpr double kHighWater_m = 1.0;
inline constexpr double kFarAccess_m = 50, kSteepAccess_percent = 12, kFarWater_m = 50;
}  // namespace verdict_limits

// Bad input: a weight that is negative or not finite.
Result<std::vector<SpotVerdict>> verdicts(const std::vector<CandidateSpot>& spots,
                                          const Weights& weights = kDefaultWeights);

}  // namespace horizon
