// horizon/house/heat_zone.h: how warm an unheated room gets, step by step, in balance with all round it.
// Units:    degrees Celsius, W, W/K, W/(m2 K), J, m2, seconds
// Frame:    one air node and one radiant node; each element a row of layers from inside to outside
// Valid:    steps of 10 minutes or less; conditions hold for an hour, the outside air for a step
// Accuracy: implicit, so never unstable; halving the step moves a winter's minimum by under 0.05 K
// Source:   heat balance of surfaces with radiation linearised at the last hour's temperatures;
//           radiant exchange by one mean node with Carroll's factors (1980); air films ISO 6946
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "horizon/house/moist_soil.h"

namespace horizon {

struct HeatLayer {
  double thickness_m = 0;
  double conductivity_w_mk = 1;
  FreezingHeat heat_m3;  // 0 everywhere: a mere resistance
  int cells = 1;
};
HeatLayer resistance_layer(double m2kw);
HeatLayer solid_layer(double thickness_m, double conductivity_w_mk, double density_kg_m3,
                      double heat_j_kgk, int cells = 1);

struct HeatElement {
  enum class Inside { constant, floor, wall, ceiling };  // which way is up for the air film
  enum class Outside { air, fixed, none };
  double area_m2 = 0;
  std::vector<HeatLayer> layers;
  Inside inside = Inside::wall;
  double inside_film_w_m2k = 2.5;  // convective; of `constant`
  double inside_emittance = 0.9;
  Outside outside = Outside::air;
  double outside_emittance = 0.9;
  double sky_share = 0.5;  // what the outer face sees of the sky; the rest is as warm as the air
};

// What acts on one element in an hour.
struct HeatLoad {
  double inside_w_m2 = 0, outside_w_m2 = 0;  // taken up by the faces
  double outside_film_w_m2k = 20;            // convective; of `fixed` the whole film
  double outside_c = 0;                      // of `fixed`
  double added_m2kw = 0;                     // a cover at night, behind the inner face
};

struct HourOfHeat {
  double sky_c = 0;
  double exchange_w_k = 0;                   // air from outside
  double convective_w = 0, radiative_w = 0;  // gains
  double open_to_sky_w_k = 0;                // film that lets warmth radiation through
  double vent_above_c = 1e9, vent_most_w_k = 0;
  std::optional<double> heat_below_c, cool_above_c;  // a heated neighbour
};

class HeatZone {
 public:
  // air_j_k: of the air and what is as quick as it.
  HeatZone(double air_j_k, std::vector<HeatElement> elements, double start_c);

  std::vector<HeatLoad> loads;  // one for each element; set before begin_hour
  HourOfHeat hour;
  void begin_hour(double step_s);
  void step(double outside_c);

  double air_c() const { return air_; }
  double radiant_c() const { return radiant_; }
  double vent_w_k() const { return vent_; }    // in the last step
  double plant_w() const { return plant_w_; }  // heating positive
  double inside_face_c(int element) const { return face_in_[element]; }
  double outside_face_c(int element) const { return face_out_[element]; }
  // At a share of the element's layers' thickness from the inside.
  double node_c(int element, int cell) const { return t_[first_cell_[element] + cell]; }
  void set_node_c(int element, int cell, double c) {
    t_[first_cell_[element] + cell] = c;
    dirty_ = true;
  }
  int cells(int element) const { return end_[element] - 1 - first_cell_[element]; }
  // Depth of a cell's middle below the inner face.
  double depth_m(int element, int cell) const { return depth_[first_cell_[element] + cell]; }

  double stored_j() const;                   // over 0 C
  double received_j() const { return in_; }  // all that crossed the room's outer faces, and gains
  double moved_j() const { return moved_; }  // the same without signs, for a relative error

 private:
  void refactor();
  double film(int element) const;
  std::vector<HeatElement> elements_;
  std::vector<int> begin_, end_, first_cell_;
  // By node.
  std::vector<double> t_, to_next_, per_step_, m_, inv_, r_, depth_;
  std::vector<FreezingHeat> heat_;
  std::vector<char> freezes_;
  // By element.
  std::vector<double> carroll_, hc_, hr_, out_air_, out_sky_, face_in_, face_out_;
  double air_j_k_, air_, radiant_, step_s_ = 600;
  double aa_ = 0, ar_ = 0, rr_ = 0;  // the two rooms' nodes
  double vent_ = 0, plant_w_ = 0, in_ = 0, moved_ = 0;
  bool dirty_ = true;
};

}  // namespace horizon
