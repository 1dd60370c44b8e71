// horizon/ground/wind.h: where the wind comes from, what shelters, how air crosses a greenhouse.
// Units:    m/s; degrees; shares 0 to 1
// Frame:    directions the wind comes from, true
// Valid:    the record's own site; in a narrow valley the wind turns along it, whatever the station
//           on the plain says: signs on the spot outrank the record
// Accuracy: rules of thumb; a windbreak slows wind up to ten times its height behind it
// Source:   sectors as in a wind rose; shelter by distance over height after windbreak practice
#pragma once

#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "horizon/light/weather_year.h"
#include "horizon/skyline/mask.h"

namespace horizon {

inline constexpr int kWindSectors = 16;
std::string_view sector_name(int sector);  // 0 "N", 1 "NNE", ...
int sector_of(TrueAzimuth from);

inline constexpr double kCalm_ms = 0.5;
inline constexpr double kStrong_ms = 10.8;  // Beaufort 6

struct WindSector {
  double share = 0;    // of all hours with a reading, calms included
  double mean_ms = 0;  // of its own hours
  double strongest_ms = 0;
  double strong_hours = 0;  // at Beaufort 6 or more
};
struct WindSummary {
  std::array<WindSector, kWindSectors> sectors;
  double calm_share = 0, mean_ms = 0;
  int hours = 0;
  std::optional<int> prevailing;  // the most frequent sector
  std::optional<int> storm;       // the most hours among the strongest hundredth
};
// months: bit 0 = January, 0 = all. Without readings, no sectors.
WindSummary wind_summary(const WeatherYear& weather, unsigned months = 0);

// What stands at the skyline in each sector. Ridges are left out: they turn the wind more than
// they stop it.
enum class Shelter : std::uint8_t { open, some, good };
std::string_view name_of(Shelter shelter);
struct SectorShelter {
  Shelter shelter = Shelter::open;
  double height_deg = 0;        // mean elevation of what shelters, over the sector
  double covered = 0;           // share of the sector that it covers
  double distance_heights = 0;  // about how many of its heights away; 0 where nothing stands
};
std::array<SectorShelter, kWindSectors> shelter_of(const Mask& mask, const Skyline& skyline);

// Signs of drifting snow and wind on the spot.
struct DriftSign {
  std::string_view key, question;
};
std::span<const DriftSign> drift_signs();

// Doors or vents in the two short walls: how well a summer wind goes through.
struct CrossBreeze {
  TrueAzimuth axis;      // along the long walls, in [0, 180)
  double angle_deg = 0;  // between the wind and the axis, 0 to 90
  bool through = false;  // within 45 degrees: end vents serve; else vents in the long walls
};
CrossBreeze cross_breeze(TrueAzimuth facing, TrueAzimuth wind_from);

}  // namespace horizon
