#include "horizon/ground/wind.h"

#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

constexpr double kSectorWidth = 360.0 / kWindSectors;
// Good shelter within five heights, some within ten; seen at those distances it stands so high.
const double kGood_deg = std::atan(1.0 / 5) / kDegree, kSome_deg = std::atan(1.0 / 10) / kDegree;
constexpr double kCoveredGood = 0.7, kCoveredSome = 0.4;

constexpr DriftSign kDriftSigns[] = {
    {"flagged_trees", "Do trees lean or carry branches on one side only? To which side?"},
    {"drifts", "Where do drifts lie: behind which walls, hedges, edges?"},
    {"scoured", "Which places are blown bare of snow or soil?"},
    {"cornice", "Does a cornice hang over an edge above? It points away from the wind."},
    {"neighbours_doors", "On which side have neighbours no doors, or snow fences?"},
    {"loose_roofs", "Are roofs nearby weighted or tied down?"},
};

}  // namespace

std::string_view sector_name(int sector) {
  constexpr std::string_view names[] = {"N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE",
                                        "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"};
  return names[((sector % kWindSectors) + kWindSectors) % kWindSectors];
}

int sector_of(TrueAzimuth from) {
  return static_cast<int>(std::floor(from.degrees() / kSectorWidth + 0.5)) % kWindSectors;
}

WindSummary wind_summary(const WeatherYear& weather, unsigned months) {
  WindSummary summary;
  std::array<int, kWindSectors> counts{};
  std::vector<std::pair<double, int>> blowing;
  int calm = 0;
  for (const WeatherHour& hour : weather.hours) {
    if (months != 0 && !(months >> (hour.month - 1) & 1)) continue;
    if (!hour.wind_speed_ms || !(*hour.wind_speed_ms >= 0)) continue;
    const double speed = *hour.wind_speed_ms;
    if (speed >= kCalm_ms && !hour.wind_from_deg) continue;
    ++summary.hours;
    summary.mean_ms += speed;
    if (speed < kCalm_ms) {
      ++calm;
      continue;
    }
    const int at = sector_of(TrueAzimuth::degrees(*hour.wind_from_deg));
    WindSector& sector = summary.sectors[static_cast<size_t>(at)];
    ++counts[static_cast<size_t>(at)];
    sector.mean_ms += speed;
    sector.strongest_ms = std::max(sector.strongest_ms, speed);
    sector.strong_hours += speed >= kStrong_ms;
    blowing.emplace_back(speed, at);
  }
  if (summary.hours == 0) return summary;
  summary.mean_ms /= summary.hours;
  summary.calm_share = static_cast<double>(calm) / summary.hours;
  for (size_t s = 0; s < kWindSectors; ++s) {
    summary.sectors[s].share = static_cast<double>(counts[s]) / summary.hours;
    if (counts[s] > 0) summary.sectors[s].mean_ms /= counts[s];
  }
  if (blowing.empty()) return summary;
  summary.prevailing =
      static_cast<int>(std::max_element(counts.begin(), counts.end()) - counts.begin());
  const size_t strongest = std::max<size_t>(1, blowing.size() / 100);
  std::nth_element(blowing.begin(), blowing.begin() + static_cast<long>(strongest) - 1,
                   blowing.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  std::array<int, kWindSectors> storms{};
  for (size_t i = 0; i < strongest; ++i) ++storms[static_cast<size_t>(blowing[i].second)];
  summary.storm = static_cast<int>(std::max_element(storms.begin(), storms.end()) - storms.begin());
  return summary;
}

std::string_view name_of(Shelter shelter) {
  constexpr std::string_view names[] = {"open", "some shelter", "sheltered"};
  return names[static_cast<int>(shelter)];
}

std::array<SectorShelter, kWindSectors> shelter_of(const Mask& mask, const Skyline& skyline) {
  std::array<SectorShelter, kWindSectors> all;
  constexpr int kSteps = 45;  // half a degree
  for (int s = 0; s < kWindSectors; ++s) {
    SectorShelter& sector = all[static_cast<size_t>(s)];
    double sum = 0;
    int covered = 0;
    for (int i = 0; i < kSteps; ++i) {
      const double az = wrap_360((s - 0.5 + (i + 0.5) / kSteps) * kSectorWidth);
      const MaskPiece& piece = mask.piece_at(az);
      if (piece.obstacle < 0 || piece.open) continue;
      const Kind kind = skyline.obstacles[static_cast<size_t>(piece.obstacle)].kind;
      if (kind == Kind::ridge || kind == Kind::pole) continue;
      const double el = piece.elevation_deg(az);
      if (el < kSome_deg) continue;
      sum += el;
      ++covered;
    }
    sector.covered = static_cast<double>(covered) / kSteps;
    if (covered == 0) continue;
    sector.height_deg = sum / covered;
    sector.distance_heights = 1 / std::tan(sector.height_deg * kDegree);
    if (sector.covered >= kCoveredGood && sector.height_deg >= kGood_deg)
      sector.shelter = Shelter::good;
    else if (sector.covered >= kCoveredSome)
      sector.shelter = Shelter::some;
  }
  return all;
}

std::span<const DriftSign> drift_signs() { return kDriftSigns; }

CrossBreeze cross_breeze(TrueAzimuth facing, TrueAzimuth wind_from) {
  CrossBreeze breeze;
  breeze.axis = TrueAzimuth::degrees(std::fmod(facing.degrees() + 90, 180.0));
  const double turn = std::abs(clockwise_deg(breeze.axis, wind_from));
  breeze.angle_deg = std::min(turn, 180 - turn);
  breeze.through = breeze.angle_deg <= 45;
  return breeze;
}

}  // namespace horizon
