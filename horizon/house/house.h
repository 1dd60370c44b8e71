// horizon/house/house.h: an unheated house in the few numbers that a surveyor or builder has.
// Units:    m, m2, m2 K/W (the construction without its air films), litres, air changes an hour
// Frame:    length along the glazing, which rises from a low front wall to the ridge; behind the
//           ridge a level insulated roof to the back wall. Facing true
// Valid:    floors of 4 to 2000 m2 on the ground
// Accuracy: of inputs as they are usually known, one standard deviation: kInputErrors
// Errors:   bad_input names the field and the cure
// Source:   the reference house is common practice: 32 m2, straw-bale walls with clay inside,
//           30 degree glazing on the best bearing, edge boards to 1.8 m
#pragma once

#include <string>

#include "horizon/house/ground_slab.h"
#include "horizon/house/heat_zone.h"
#include "horizon/light/glazing.h"
#include "horizon/light/sky_view.h"
#include "horizon/result.h"

namespace horizon {

enum class NightCover { by_sun, by_clock };

struct House {
  double length_m = 8, width_m = 4, ridge_m = 2.6;
  double glazing_m2 = 28;
  Plane glazing{TrueAzimuth::degrees(180), 30};
  Glazing pane = twin_wall_polycarbonate();
  double pane_m2kw = 0.163;  // pane_resistance_m2kw()
  double light_left = 0.85;  // by frames and dirt
  double wall_m2kw = 6, roof_m2kw = 6;
  double clay_kg_m2 = 60;  // inside, on walls and roof
  double water_l = 0;
  double air_changes_h = 0.5;
  EdgeBoard edge{1.8, 2.5};
  double night_m2kw = 0;  // of a cover over the glazing at night; 0: none
  NightCover night = NightCover::by_sun;
  double night_from_h = 16, night_to_h = 9;  // local time, by the clock
  bool snow_swept = true;                    // off the glazing every morning
  double vent_m2 = 2;                        // low and high openings together
  double vent_above_c = 25;
  double soil_w_mk = 1.5, soil_density_kg_m3 = 1400, soil_water_share = 0.25;
};
House reference_house();

// Without films: 1/U less 0.17; U of single glass 5.8, double 2.8, twin-wall 3.0, triple-wall 2.3
// as makers give it.
double pane_resistance_m2kw(const Glazing& pane);

struct HouseShape {
  double floor_m2 = 0, volume_m3 = 0, wall_m2 = 0, roof_m2 = 0;
  double foot_m = 0;  // height of the glazing's lower edge
};
HouseShape shape_of(const House& house);  // check_house first
Result<void> check_house(const House& house);

// The house's heat balance, its elements in this order.
struct HouseElements {
  static constexpr int cover = 0, wall = 1, roof = 2, floor = 3, floor_strips = 2, water = 5;
};
struct SkyShares {
  double cover = 0.9, wall = 0.5, roof = 1;  // of the sky, past the skyline
};
HeatZone zone_of(const House& house, const SkyShares& sky, double pressure_pa, double start_c);

// How far the inputs of a real house are off, one standard deviation.
struct InputErrors {
  double air_changes_log = 0.35;   // factor e^0.35
  double resistance_share = 0.10;  // walls, roof, pane, each by its own
  double night_share = 0.20;       // of the night cover: gaps
  double soil_share = 0.20;        // conductivity
  double soil_water = 0.05;        // by volume
  double light_share = 0.05;
  double air_k = 1.0;  // of the site against the station, lapse rate taken
};

}  // namespace horizon
