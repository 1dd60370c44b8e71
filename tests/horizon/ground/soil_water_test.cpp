#include "horizon/ground/soil_water.h"

#include <doctest/doctest.h>

#include <cmath>

#include "tests/near.h"

using namespace horizon;
using enum Texture;

// Saxton & Rawls, SSSAJ 70 (2006), table 3, at 2.5 % organic matter. Printed to whole per cents
// and 0.1 mm/h; the equations' own coefficients are printed to three decimals.
TEST_CASE("[published] the water equations give the table's values of the twelve classes") {
  struct Row {
    Texture texture;
    double wilting, capacity, saturation, available, conductivity;
  };
  const Row rows[] = {{sand, 5, 10, 46, 5, 108.1},
                      {loamy_sand, 5, 12, 46, 7, 96.7},
                      {sandy_loam, 8, 18, 45, 10, 50.3},
                      {loam, 14, 28, 46, 14, 15.5},
                      {silt_loam, 11, 31, 48, 20, 16.1},
                      {silt, 6, 30, 48, 25, 22.0},
                      {sandy_clay_loam, 17, 27, 43, 10, 11.3},
                      {clay_loam, 22, 36, 48, 14, 4.3},
                      {silty_clay_loam, 22, 38, 51, 17, 5.7},
                      {silty_clay, 27, 41, 52, 14, 3.7},
                      {sandy_clay, 25, 36, 44, 11, 1.4},
                      {clay, 30, 42, 50, 12, 1.1}};
  for (const Row& row : rows) {
    CAPTURE(name_of(row.texture));
    const auto water = soil_water(typical_of(row.texture));
    REQUIRE(water.has_value());
    CHECK_NEAR(water->wilting_point_percent, row.wilting, 0.6);
    CHECK_NEAR(water->field_capacity_percent, row.capacity, 0.6);
    CHECK_NEAR(water->saturation_percent, row.saturation, 0.6);
    CHECK_NEAR(water->available_percent(), row.available, 1.0);
    CHECK_NEAR(water->conductivity_mm_h, row.conductivity, 0.06 + 0.01 * row.conductivity);
    const SoilWater typical = typical_soil_water(row.texture);
    CHECK_NEAR(typical.conductivity_mm_h, row.conductivity, 1e-9);
    CHECK_NEAR(typical.wilting_point_percent, row.wilting, 1e-9);
    CHECK_NEAR(typical.field_capacity_percent, row.capacity, 1e-9);
    CHECK_NEAR(typical.saturation_percent, row.saturation, 1e-9);
  }
  CHECK_FALSE(soil_water({0, 30, 70}).has_value());
  CHECK_FALSE(soil_water({40, 40, 20}, 12).has_value());
}

// Permeability classes of the Soil Conservation Service (EPA design manual, 1981).
TEST_CASE("[published] permeability classes") {
  const auto at = [](double in_h) { return name_of(permeability_of(in_h * 25.4)); };
  CHECK(at(0) == "very slow");
  CHECK(at(0.059) == "very slow");
  CHECK(at(0.06) == "slow");
  CHECK(at(0.2) == "moderately slow");
  CHECK(at(0.6) == "moderate");
  CHECK(at(1.99) == "moderate");
  CHECK(at(2) == "moderately rapid");
  CHECK(at(6) == "rapid");
  CHECK(at(20) == "rapid");
  CHECK(at(20.01) == "very rapid");
}

// NRCS NEH 630 chapter 7 (2009), table 7-1; limits in micrometres a second, 1 = 3.6 mm/h.
TEST_CASE("[published] hydrologic soil groups") {
  const auto group = [](double um_s, std::optional<double> rock_m, std::optional<double> water_m) {
    const WaterLayer layers[] = {{0, 2, {10, 20, 45, um_s * 3.6}, 0}};
    return name_of(*hydrologic_group({rock_m, water_m, layers}));
  };
  // An impermeable layer at 50 to 100 cm.
  CHECK(group(40.1, 0.8, {}) == "A");
  CHECK(group(40, 0.8, {}) == "B");
  CHECK(group(10.1, 0.8, 0.9) == "B");
  CHECK(group(10, 0.8, {}) == "C");
  CHECK(group(1.1, 0.8, {}) == "C");
  CHECK(group(1, 0.8, {}) == "D");
  CHECK(group(45, 0.8, 0.5) == "A/D");
  CHECK(group(45, 0.49, {}) == "D");
  CHECK(group(45, 0.5, {}) == "A");
  // Over 100 cm deep.
  CHECK(group(10.1, {}, {}) == "A");
  CHECK(group(10, {}, 1.5) == "B");
  CHECK(group(4, {}, {}) == "C");
  CHECK(group(0.4, {}, {}) == "D");
  CHECK(group(10.1, {}, 0.5) == "A/D");
  CHECK(group(5, {}, 0.5) == "B/D");
  CHECK(group(1, {}, 0.5) == "C/D");
  // Water between 60 and 100 cm: the stricter limits.
  CHECK(group(10.1, {}, 0.8) == "B");
  CHECK_FALSE(hydrologic_group({}).has_value());
}

TEST_CASE("[property] the least conductive layer within reach decides, deeper ones do not") {
  const WaterLayer tight_at_half[] = {{0, 0.5, {8, 18, 45, 100}, 0},
                                      {0.5, 1.5, {30, 42, 50, 1}, 0}};
  CHECK(hydrologic_group({{}, {}, tight_at_half}) == HydrologicGroup::d);
  CHECK(hydrologic_group({0.9, {}, tight_at_half}) == HydrologicGroup::b);
}

TEST_CASE("[property] available water adds up over layers, less their stones") {
  const WaterLayer layers[] = {{0, 0.3, {14, 28, 46, 15}, 0}, {0.3, 1.0, {5, 10, 46, 108}, 50}};
  CHECK_NEAR(available_water_mm(layers, 1.0), 0.3 * 140 + 0.7 * 50 * 0.5, 1e-9);
  CHECK_NEAR(available_water_mm(layers, 0.2), 28, 1e-9);
  CHECK_NEAR(available_water_mm(layers, 0), 0, 1e-12);
}
