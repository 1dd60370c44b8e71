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
#include <span>
#include <vector>

#include "horizon/house/lanes.h"
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

// What acts on one element in an hour. Real: a plain number, or Lanes for several rooms of one make.
template <class Real>
struct HeatLoadOf {
  Real inside_w_m2 = 0, outside_w_m2 = 0;  // taken up by the faces
  Real outside_film_w_m2k = 20;            // convective; of `fixed` the whole film
  Real outside_c = 0;                      // of `fixed`
  Real added_m2kw = 0;                     // a cover at night, behind the inner face
};
using HeatLoad = HeatLoadOf<double>;
void set_lane(HeatLoadOf<Lanes>& to, int lane, const HeatLoad& load);
inline void set_lane(HeatLoad& to, int, const HeatLoad& load) { to = load; }

template <class Real>
struct HourOfHeatOf {
  Real sky_c = 0;
  Real exchange_w_k = 0;                   // air from outside
  Real convective_w = 0, radiative_w = 0;  // gains
  Real open_to_sky_w_k = 0;                // film that lets warmth radiation through
  Real vent_above_c = 1e9, vent_most_w_k = 0;
  std::optional<Real> heat_below_c, cool_above_c;  // a heated neighbour
};

template <class Real>
class HeatZones {
 public:
  // air_j_k: of the air and what is as quick as it.
  HeatZones(double air_j_k, std::vector<HeatElement> elements, double start_c);
  // Of rooms with the same elements and layers, one a lane; their figures may differ.
  explicit HeatZones(std::span<const HeatZones<double>> rooms);

  std::vector<HeatLoadOf<Real>> loads;  // one for each element; set before begin_hour
  HourOfHeatOf<Real> hour;
  void begin_hour(double step_s);
  void step(const Real& outside_c);

  Real air_c() const { return air_; }
  Real radiant_c() const { return radiant_; }
  Real vent_w_k() const { return vent_; }    // in the last step
  Real plant_w() const { return plant_w_; }  // heating positive
  Real inside_face_c(int element) const { return face_in_[element]; }
  Real outside_face_c(int element) const { return face_out_[element]; }
  // At a share of the element's layers' thickness from the inside.
  Real node_c(int element, int cell) const { return t_[first_cell_[element] + cell]; }
  void set_node_c(int element, int cell, double c, int lane = 0) {
    set_lane(t_[first_cell_[element] + cell], lane, c);
    dirty_ = true;
  }
  int cells(int element) const { return end_[element] - 1 - first_cell_[element]; }
  // Depth of a cell's middle below the inner face.
  double depth_m(int element, int cell) const { return depth_[first_cell_[element] + cell]; }

  Real stored_j() const;                   // over 0 C
  Real received_j() const { return in_; }  // all that crossed the room's outer faces, and gains
  Real moved_j() const { return moved_; }  // the same without signs, for a relative error

 private:
  template <class>
  friend class HeatZones;
  struct Element {
    HeatElement::Inside inside;
    HeatElement::Outside outside;
    Real area_m2, inside_film_w_m2k, inside_emittance, outside_emittance, sky_share;
  };
  struct Node {
    Real capacity_j_k, frozen_j_k, latent_j;
    bool freezes;
  };
  void begin_hour_here(double step_s);
  void step_here(const Real& outside_c);
  void refactor();
  Real film(int element) const;
  Real slope_j_k(int node) const;
  void cross_freezing(int node, const Real& next_c);
  FreezingHeat heat(int node, int lane) const {
    const Node& n = nodes_[node];
    return {lane_of(n.capacity_j_k, lane), lane_of(n.frozen_j_k, lane), lane_of(n.latent_j, lane)};
  }
  std::vector<Element> elements_;
  std::vector<int> begin_, end_, first_cell_;
  // By node.
  std::vector<Node> nodes_;
  std::vector<Real> t_, to_next_, per_step_, m_, inv_, r_;
  std::vector<double> depth_;
  // By element.
  std::vector<Real> carroll_, hc_, hr_, out_air_, out_sky_, face_in_, face_out_;
  double step_s_ = 600;
  Real air_j_k_, air_, radiant_;
  Real aa_ = 0, ar_ = 0, rr_ = 0;  // the two rooms' nodes
  Real vent_ = 0, plant_w_ = 0, in_ = 0, moved_ = 0;
  bool dirty_ = true;
};
using HeatZone = HeatZones<double>;

}  // namespace horizon
