#include <doctest/doctest.h>

#include <cmath>

#include "horizon/house/air.h"
#include "horizon/house/ground_slab.h"
#include "horizon/house/house_findings.h"
#include "horizon/house/sky_temperature.h"
#include "horizon/house/ventilation.h"
#include "horizon/light/sky_view.h"
#include "tests/near.h"

using namespace horizon;

TEST_CASE("a long valley's floor sees cos(b) of the sky between walls of elevation b [published]") {
  for (const double b : {5.0, 20.0, 45.0}) {
    Skyline valley;
    valley.obstacles.push_back({Kind::ridge, "walls"});
    for (int az = 0; az < 360; ++az) {
      SkylinePoint p;
      p.azimuth = TrueAzimuth::degrees(az);
      p.elevation = Elevation::degrees(
          std::atan(std::tan(b * kDegree) * std::abs(std::sin(az * kDegree))) / kDegree);
      valley.points.push_back(p);
    }
    const SkyView view = sky_view(masks_of(valley), {TrueAzimuth(), 0});
    CHECK(std::abs(view.sky - std::cos(b * kDegree)) < 0.001);
  }
}

TEST_CASE("a floor on clay loses what the printed table says [from memory]") {
  // U by perimeter over area, clay 1.5 W/(m K), wall 0.3 m, no insulation: handbook table after
  // ISO 13370.
  const double table[][2] = {{.05, .13}, {.10, .22}, {.15, .30}, {.20, .37}, {.25, .44},
                             {.30, .49}, {.35, .55}, {.40, .60}, {.50, .70}, {.60, .78},
                             {.70, .86}, {.80, .93}, {.90, .99}, {1.0, 1.05}};
  for (const auto& row : table) {
    FloorShape floor{100, 100 * row[0], 0.3};
    CHECK(std::abs(slab_u_wm2k(floor, 1.5) - row[1]) < 0.006);
  }
}

TEST_CASE("the yearly wave reaches as deep as ISO 13370 prints [published]") {
  CHECK(std::abs(yearly_depth_m(1.5, 3.0e6) - 2.2) < 0.05);
  CHECK(std::abs(yearly_depth_m(2.0, 2.0e6) - 3.2) < 0.05);
  CHECK(std::abs(yearly_depth_m(3.5, 2.0e6) - 4.2) < 0.05);
}

TEST_CASE("the floor's strips add up to the slab, boards only help [property]") {
  const FloorShape floor;
  for (const EdgeBoard edge : {EdgeBoard{}, EdgeBoard{0.6, 2.5}, EdgeBoard{1.8, 2.5}}) {
    double total = 0, area = 0;
    for (const FloorStrip& s : floor_strips(floor, 2.0, edge, 2)) {
      total += s.area_m2 * s.u_wm2k;
      area += s.area_m2;
    }
    CHECK(std::abs(area - floor.area_m2) < 1e-9);
    CHECK(std::abs(total - floor.area_m2 * slab_u_wm2k(floor, 2.0, edge)) < 1e-9);
  }
  CHECK(slab_u_wm2k(floor, 2.0, {0.6, 2.5}) < slab_u_wm2k(floor, 2.0));
  CHECK(slab_u_wm2k(floor, 2.0, {1.8, 2.5}) < slab_u_wm2k(floor, 2.0, {0.6, 2.5}));
  CHECK(edge_psi_wmk(floor, 2.0, {}) == 0);
}

TEST_CASE("the sky's pressure term is -0.024 at 800 hPa [published]") {
  CHECK(std::abs(clear_sky_emissivity(0, sky_hour_term(12), 8e4) -
                 clear_sky_emissivity(0, sky_hour_term(12), 1e5) + 0.024) < 1e-9);
  // A covered sky is nearly as warm as the air, a clear one 15 to 25 K colder.
  CHECK(sky_temperature_c(0, -5, 1, sky_hour_term(0), 85000) > -5);
  CHECK(sky_temperature_c(0, -5, 0, sky_hour_term(0), 85000) < -15);
}

TEST_CASE("air at 1650 m weighs 0.829 of that at sea level [published]") {
  // ASHRAE 140-2020: factor for the height of its site.
  CHECK(std::abs(air_density_kg_m3(20, 101325 * std::pow(1 - 2.25577e-5 * 1650, 5.2559)) /
                     air_density_kg_m3(20, 101325) -
                 0.829) < 0.012);
  CHECK(std::abs(saturation_pa(20) - 2337) < 8);  // FAO-56, table 2.3
  CHECK(std::abs(saturation_pa(0) - 611) < 1);
  CHECK(std::abs(dew_point_c(saturation_pa(-7)) + 7) < 1e-6);
}

TEST_CASE(
    "stack and wind by the handbook's formulas, together as the root of squares [published]") {
  // ASHRAE Handbook of Fundamentals, ch. 16: Q = 0.6 A sqrt(2 g dh (Ti - To) / Ti) with the neutral
  // level half way (2 dh = h), Q = Cv A U. One m2 low and one high, 2 m apart, 30 C in, 22 C out:
  // 0.6 sqrt(9.81 * 2 * 8 / 303.15) = 0.4317 m3/s; 1.5 m/s straight, Cv 0.6: 0.9 m3/s; aslant 0.45.
  CHECK_NEAR(stack_flow_m3_s(2, 2, 30, 22), 0.4317, 1e-3);
  CHECK_NEAR(wind_flow_m3_s(2, 1.5, true), 0.9, 1e-9);
  CHECK_NEAR(vent_flow_m3_s(2, 2, 30, 22, 1.5, true), 0.9982, 1e-3);
  CHECK_NEAR(vent_flow_m3_s(2, 2, 30, 22, 1.5, false), 0.6236, 1e-3);
  CHECK_NEAR(vent_area_m2(0.9982, 2, 30, 22, 1.5, true), 2, 2e-3);
  // Square to the end walls or to the long walls; not known: aslant.
  CHECK(breeze_is_straight(0.0));
  CHECK(breeze_is_straight(80.0));
  CHECK_FALSE(breeze_is_straight(45.0));
  CHECK_FALSE(breeze_is_straight(std::nullopt));
}

TEST_CASE("vents pass more with height, warmth, wind [property]") {
  CHECK(stack_flow_m3_s(2, 2, 30, 20) > stack_flow_m3_s(2, 1, 30, 20));
  CHECK(stack_flow_m3_s(2, 2, 20, 30) == 0);
  CHECK(wind_flow_m3_s(2, 3, true) == doctest::Approx(1.8));
  const double area = vent_area_m2(1.5, 2, 30, 22, 1.5, false);
  CHECK(std::abs(vent_flow_m3_s(area, 2, 30, 22, 1.5, false) - 1.5) < 1e-9);
}
