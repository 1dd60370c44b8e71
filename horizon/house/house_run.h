// horizon/house/house_run.h: a house lives through hours of weather.
// Units:    degrees Celsius, hours, W/K, W/m2, m2
// Frame:    one value an hour, in the order of the weather's hours; soil at 0.1 m in the middle
// Accuracy: of the model on the light and heavy boxes of ASHRAE 140 as the reference programs; of a
//           real house as its inputs: see InputErrors
// Cost:     under 20 ms a year
// Simple:   moisture: three tenths of the floor evaporate as wet soil, what condenses on the cover
//           warms it. Snow: dims the glazing, slides when its underside thaws or the pane is steep. Sun on opaque walls
//           is left out. Hillsides, trees and ground radiate as warm as the air
#pragma once

#include <memory>
#include <span>
#include <vector>

#include "horizon/house/house.h"
#include "horizon/house/house_weather.h"

namespace horizon {

// What a house on a spot gets: worked out once for a plane and pane, used for many winters.
struct HouseSun {
  std::shared_ptr<const SiteSun> site;
  PlaneHours cover, bed, level;
  SkyShares sky;
  Monthly albedo = kGrassAlbedo;
  double skyline_albedo = 0.2;
  double utc_offset_h = 0;
};
HouseSun house_sun(std::shared_ptr<const SiteSun> site, const House& house, const Masks& masks,
                   const GroundSlope& slope, const Monthly& albedo, double skyline_albedo);

struct HouseRun {
  int first_hour = 0;
  std::vector<float> inside_c, low_c, soil_c, outside_c;  // hour's mean, lowest, soil, outside
  std::vector<float> bed_wm2;                             // sunlight on the bed
  std::vector<float> vent_m3_s;                           // through the vents at the hour's end
  std::vector<char> condenses;                            // on the inside of the cover
  double stored_j = 0, received_j = 0, moved_j = 0;       // for the balance
  // To begin another run with.
  std::vector<std::vector<double>> nodes_c;
};
struct RunSettings {
  int steps_an_hour = 6;
  int run_in_h = 0;  // hours from the front, lived but not told
  const std::vector<std::vector<double>>* start = nullptr;  // nodes of an earlier run
  double start_c = 8;
  double warmer_k = 0;     // of the outside air at the site
  bool any_vents = false;  // as much as keeps it at vent_above_c
  int keep_nodes_at = -1;  // index of an hour whose end is kept in nodes_c; -1: the last
};
// check_house first.
HouseRun run_house(const House& house, const HouseSun& sun, const HouseWeather& weather,
                   const RunSettings& settings = {});

// Several, each with sun, weather and settings of its own: every run as run_house tells it, eight
// side by side in a fraction of the time.
struct HouseJob {
  const House* house = nullptr;
  const HouseSun* sun = nullptr;
  const HouseWeather* weather = nullptr;
  RunSettings settings;
};
std::vector<HouseRun> run_houses(std::span<const HouseJob> jobs);

}  // namespace horizon
