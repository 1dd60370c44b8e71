#include "horizon/house/heat_zone.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "horizon/house/air.h"

using namespace horizon;

namespace {

HeatElement wall(double area, std::vector<HeatLayer> layers) {
  HeatElement e;
  e.area_m2 = area;
  e.layers = std::move(layers);
  e.inside = HeatElement::Inside::constant;
  e.outside = HeatElement::Outside::fixed;
  return e;
}

}  // namespace

TEST_CASE("an empty room cools by exp(-t UA / C) [published]") {
  // One capacity, one conductance: the textbook's lumped cool-down.
  HeatElement none = wall(1e-6, {resistance_layer(100)});
  HeatZone zone(4e6, {none}, 20);
  zone.hour.exchange_w_k = 100;
  zone.loads[0].outside_c = -10;
  const double step = 60;
  for (int h = 0; h < 24; ++h) {
    zone.begin_hour(step);
    for (int s = 0; s < 60; ++s) zone.step(-10);
    const double t = (h + 1) * 3600.0;
    CHECK(std::abs(zone.air_c() - (-10 + 30 * std::exp(-t * 100 / 4e6))) < 0.02);
  }
}

TEST_CASE("a daily wave in soil falls by exp(-z / d) and lags z / d [published]") {
  // Half space: d = sqrt(2 a / omega).
  const double conductivity = 1.5, capacity = 2.5e6, omega = 2 * std::numbers::pi / 86400;
  const double d = std::sqrt(2 * conductivity / capacity / omega);
  HeatElement soil = wall(1, {{1.5, conductivity, {capacity, capacity, 0}, 150}});
  soil.inside_film_w_m2k = 1e-6;
  soil.inside_emittance = 0.001;
  // The wave comes in at the outer face, through a film without resistance.
  HeatZone zone(1e9, {soil}, 0);
  const int steps = 60;
  std::vector<double> cos_sum(150), sin_sum(150);
  for (int h = 0; h < 24 * 30; ++h) {
    zone.loads[0].outside_film_w_m2k = 1e6;
    zone.begin_hour(3600.0 / steps);
    for (int s = 0; s < steps; ++s) {
      const double t = h * 3600.0 + (s + 1) * 3600.0 / steps;
      zone.loads[0].outside_c = 10 * std::cos(omega * t);
      zone.step(0);
      if (h < 24 * 29) continue;
      for (int c = 0; c < 150; ++c) {
        cos_sum[c] += zone.node_c(0, c) * std::cos(omega * t) * 2 / (24 * steps);
        sin_sum[c] += zone.node_c(0, c) * std::sin(omega * t) * 2 / (24 * steps);
      }
    }
  }
  for (const int c : {140, 130, 120}) {
    const double z = 1.5 - zone.depth_m(0, c);
    const double amplitude = std::hypot(cos_sum[c], sin_sum[c]);
    const double lag = std::atan2(sin_sum[c], cos_sum[c]);
    CHECK(std::abs(amplitude - 10 * std::exp(-z / d)) < 0.05);
    CHECK(std::abs(lag - z / d) < 0.03);
  }
}

TEST_CASE("two layers in a steady state share the drop as their resistances [published]") {
  HeatElement two =
      wall(10, {solid_layer(.2, 1.0, 2000, 1000, 2), solid_layer(.1, .04, 30, 1400, 2)});
  HeatZone zone(1e3, {two}, 20);
  zone.hour.convective_w = 100;
  zone.loads[0].outside_film_w_m2k = 25;
  zone.loads[0].outside_c = 0;
  for (int h = 0; h < 24 * 200; ++h) {
    zone.begin_hour(600);
    for (int s = 0; s < 6; ++s) zone.step(0);
  }
  // 10 W/m2: outer film 1/25, insulation 2.5, masonry 0.2, inner film 1/2.5.
  CHECK(std::abs(zone.outside_face_c(0) - 0.4) < 1e-3);
  CHECK(std::abs(zone.inside_face_c(0) - (0.4 + 25 + 2)) < 2e-3);
  CHECK(std::abs(zone.node_c(0, 2) - (0.4 + 10 * 1.875)) < 1e-3);
  CHECK(std::abs(zone.air_c() - 31.4) < 2e-3);
}

TEST_CASE("freezing soil gives up its latent heat and stays at 0 to -1 C meanwhile [published]") {
  const FreezingHeat heat = moist_soil(1400, 0.25);
  // de Vries: 1400 / 2650 of minerals at 1.92e6, a quarter of water at 4.18e6.
  CHECK(std::abs(heat.capacity_j_k - (1.0143e6 + 1.045e6)) < 1e3);
  CHECK(std::abs(heat.latent_j - 83.5e6) < 1e5);
  for (double c : {5.0, 0.0, -0.3, -1.0, -4.0})
    CHECK(std::abs(heat.temperature_c(heat.warmth_j(c)) - c) < 1e-9);

  HeatElement soil = wall(1, {{0.05, 1.5, heat, 1}});
  soil.outside = HeatElement::Outside::none;
  HeatZone zone(10, {soil}, 2);
  zone.hour.exchange_w_k = 1e4;
  const double before = zone.stored_j();
  double frozen_h = 0;
  for (int h = 0; h < 24 * 30; ++h) {
    zone.begin_hour(600);
    for (int s = 0; s < 6; ++s) {
      zone.step(-10);
      if (zone.node_c(0, 0) < 0 && zone.node_c(0, 0) > -1) frozen_h += 1.0 / 6;
    }
  }
  CHECK(std::abs(zone.node_c(0, 0) + 10) < 0.01);
  CHECK(frozen_h > 20);
  CHECK(std::abs(zone.stored_j() - before - zone.received_j()) < 1e-9 * zone.moved_j());
}
