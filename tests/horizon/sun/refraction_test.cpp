#include "horizon/sun/refraction.h"

#include <doctest/doctest.h>

#include <cmath>
#include <initializer_list>

#include "tests/near.h"

using namespace horizon;

namespace {
constexpr Air kFormulaAir{1010, 10};  // the formula's own pressure and temperature
}  // namespace

// Meeus, Astronomical Algorithms, 2nd ed., example 16.a; Reda & Andreas 2008, table A5.1.
TEST_CASE("[published] the textbook's limb and the solar position algorithm's example") {
  CHECK_NEAR(refraction_deg(33.246 / 60, kFormulaAir) * 60, 24.618, 0.001);
  CHECK_NEAR(refraction_deg(39.872046, {820, 11}), 0.016332, 1e-6);
  // From the apparent side the book uses Bennett's formula, which agrees to 0.1'.
  CHECK_NEAR(30 - true_elevation_deg(0.5, kFormulaAir) * 60, 28.754, 0.15);
}

// Saemundsson's formula, computed apart.
TEST_CASE("[published] refraction of true elevations from -0.5 to 60 degrees") {
  const double rows[][2] = {{-0.5, 33.6878}, {0, 28.9819}, {0.5, 25.0039}, {1, 21.7439},
                            {2, 16.9257},    {5, 9.6741},  {10, 5.4077},   {15, 3.6750},
                            {20, 2.7412},    {30, 1.7460}, {45, 1.0127},   {60, 0.5851}};
  for (const auto& [h, minutes] : rows)
    CHECK_NEAR(refraction_deg(h, kFormulaAir) * 60, minutes, 1e-4);
  const double high[][2] = {{0, 0.39413},  {1, 0.29570},  {2, 0.23018}, {5, 0.13156},
                            {10, 0.07354}, {20, 0.03728}, {30, 0.02374}};
  for (const auto& [h, degrees] : high) CHECK_NEAR(refraction_deg(h, {795, 0}), degrees, 1e-5);
}

// ISO 2533; the four rows with decimals from another implementation of the same atmosphere.
TEST_CASE("[published] pressure of the standard atmosphere") {
  const double rows[][2] = {{0, 1013.25},   {500, 954.61},   {1000, 898.75},
                            {1500, 845.56}, {2000, 794.96},  {3000, 701.09},
                            {4000, 616.41}, {-100, 1025.32}, {8000, 356.00}};
  for (const auto& [height, pressure] : rows)
    CHECK_NEAR(standard_pressure_hpa(height), pressure, 0.02);
  CHECK_NEAR(standard_temperature_c(2000), 2.0, 1e-9);
}

TEST_CASE("[property] there and back changes nothing, from the zenith to the nadir") {
  for (const Air& air : {kFormulaAir, Air{620, -35}, Air{1040, 40}, Air{0, 10}})
    for (double h = -90; h <= 90; h += 0.37)
      CHECK_NEAR(true_elevation_deg(apparent_elevation_deg(h, air), air), h, 1e-9);
}

TEST_CASE("[property] the lift is smooth below the horizon, and never turns the sky over") {
  double before = apparent_elevation_deg(-90, kFormulaAir);
  for (double h = -90 + 0.001; h <= 90; h += 0.001) {
    const double now = apparent_elevation_deg(h, kFormulaAir);
    CHECK_UNARY(now > before);
    CHECK_UNARY(now - before < 0.0011);
    CHECK_UNARY(now - h < 0.8);
    before = now;
  }
  for (double h : {-60.0, -5.11, -3.0, -1.5, 0.0, 3.0, 40.0})
    CHECK_NEAR(
        (refraction_deg(h + 1e-5, kFormulaAir) - refraction_deg(h - 1e-5, kFormulaAir)) / 2e-5,
        refraction_slope(h, kFormulaAir), 1e-6);
}
