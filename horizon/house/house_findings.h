// horizon/house/house_findings.h: will it do without heat? Everything a house on a spot is worth through its winters.
// Units:    degrees Celsius, hours and nights a winter, K, m2, mol/m2 a day; days of the year from 1
// Frame:    a winter is 242 days from 1 September (south: 1 March), local standard time
// Accuracy: ranges hold 90 % of winters and of houses as they are built: weather and the inputs' own
//           errors (InputErrors) drawn together. The skyline is taken as sighted
// Errors:   bad_input: house, weather, or "not without weather"
// Cost:     100 winters and the ranking under 2 s on one core; kSoonWinters of them as a `preview` under 0.3 s
// Evidence, not a design: snow load, fire, wiring and ventilation of people are others' work
#pragma once

#include <functional>

#include "horizon/house/climate_draws.h"
#include "horizon/house/crop_cold.h"
#include "horizon/house/house_run.h"
#include "horizon/light/findings.h"

namespace horizon {

struct OtherSpot {
  std::string name;
  Place place;
  Skyline skyline;
};

// A sentence soon, before all winters have been lived through.
inline constexpr int kSoonWinters = 24;

struct HouseInput {
  House house = reference_house();
  Place place;
  bool height_known = true;  // else the weather's own height was put into `place`: it is said
  double utc_offset_h = 0;
  int year = 2026;
  Skyline skyline;
  GroundSlope slope;
  Monthly albedo = kGrassAlbedo;
  double skyline_albedo = 0.2;
  std::shared_ptr<const WeatherYear> weather;
  std::optional<NormalsEntry> normals;
  std::optional<MonthlyNormals> light;
  std::optional<double> design_low_c;  // lowest outside of a hard winter; else one winter in thirty
  std::optional<TrueAzimuth> best_facing;  // to rank a turn towards it
  // Between the summer wind and the long axis, 0 to 90; without it the wind is taken aslant.
  std::optional<double> breeze_angle_deg;
  std::vector<OtherSpot> other_spots;
  InputErrors errors;
  int winters = 100;
  std::uint32_t seed = 1;
  bool preview = false;                  // the winters alone: no ranking, no summer
  std::function<bool(double)> progress;  // 0 to 1; false stops
};
Result<void> check_house_input(const HouseInput& input);

struct CropOdds {
  CropCold crop;
  double lives_share = 0;       // of the winters drawn
  Ranged margin_k;              // least distance from its killing temperature in a winter
  std::vector<DaySpell> grows;  // by light and warmth together, in the mean of the winters
  int growing_days = 0;
};

struct StillSpell {  // nothing grows
  int from_day = 0, to_day = 0, days = 0;
  int from_low_day = 0, from_high_day = 0, to_low_day = 0, to_high_day = 0;
  double light_share = 0;  // of its days that lack light; the rest are too cold
};

struct WhatHelps {
  std::string what;  // "night_cover", "edge_boards", "pane", "tilt", "facing", "air_changes",
                     // "water", "spot"
  std::string detail;
  double value = 0;  // what was tried: m2 K/W, m, degrees, ...
  Ranged lift_k;     // of the winter's lowest inside
};

struct Driver {
  std::string what;  // "winter", "air_changes", "pane", "walls", "ground", "light", "site_air"
  double share = 0;  // of the spread of the lowest inside
};

// Openings in the end walls or in the long ones, whichever the wind meets more squarely; it counts in
// full within 22.5 degrees of square, aslant beyond (horizon/house/ventilation.h).
bool breeze_is_straight(std::optional<double> breeze_angle_deg);

struct HouseFindings {
  House house;
  HouseShape shape;
  std::string source;
  bool from_file = false;
  int winters = 0;
  std::vector<Error> said;

  Ranged coldest_inside_c, coldest_soil_c, outside_low_c;  // of a winter
  struct Design {
    double outside_c = 0;
    Ranged inside_c, soil_c;
    bool drawn = false;  // one winter in thirty of the draws, for want of an entry
  } design;
  struct Below {
    double limit_c = 0;
    Ranged hours, nights;
  };
  std::array<Below, 3> below;  // 0, -5, -10
  Ranged condensing_h;
  std::optional<Ranged> hot_days;  // above 35, a year
  std::optional<Ranged> vents_m2;  // that keep it below 30 in all but 2 % of the hours it takes
  double no_vents_help_h = 0;      // hours a year with more than 28 outside
  std::optional<double> breeze_angle_deg;  // as given
  std::vector<CropOdds> crops;
  std::optional<StillSpell> still;
  std::vector<WhatHelps> helps;  // most first
  std::vector<Driver> drivers;   // most first

  struct Hours {
    int first_hour = 0;  // of the year
    std::vector<float> inside_c, low_c, high_c, outside_c, soil_c;
    int lowest = 0;  // index
  } week;
  struct Days {
    std::vector<float> inside_c, lowest_c, outside_c, soil_c, mol_m2;  // 365
  } days;
};
Result<HouseFindings> house_findings(const HouseInput& input);

}  // namespace horizon
