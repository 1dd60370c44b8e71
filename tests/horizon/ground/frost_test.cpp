#include "horizon/ground/frost.h"

#include <doctest/doctest.h>

#include <cmath>

#include "horizon/ground/ground_temperature.h"
#include "horizon/ground/ground_year.h"
#include "tests/csv_rows.h"
#include "tests/near.h"

using namespace horizon;

namespace {
constexpr double kFoot_m = 0.3048;
constexpr double kBtuFoot_w_mk = 1.730735;   // Btu/(ft h F)
constexpr double kBtuFt3_j_m3 = 37258.946;   // Btu/ft3
constexpr double kBtuFt3F_j_m3k = 67066.10;  // Btu/(ft3 F)
}  // namespace

// The Berggren equation solved independently; agrees with the chart of Aldrich & Paynter (1953).
TEST_CASE("[published] the Berggren coefficient") {
  for (const CsvRow& row : csv_rows("berggren_lambda.csv"))
    for (const char* mu : {"0.02", "0.05", "0.1", "0.15", "0.2", "0.3", "0.4", "0.5", "0.7", "1"}) {
      CAPTURE(row["alpha"]);
      CAPTURE(mu);
      CHECK_NEAR(berggren_lambda(row["alpha"], std::atof(mu)), row[std::string("mu=") + mu],
                 5.1e-5);
    }
  // Eight points read off the printed chart, to 0.01.
  CHECK_NEAR(berggren_lambda(1, 0.2), 0.78, 0.011);
  CHECK_NEAR(berggren_lambda(3, 0.1), 0.645, 0.011);
  CHECK_NEAR(berggren_lambda(5, 0.1), 0.51, 0.011);
  CHECK_NEAR(berggren_lambda(2, 0.2), 0.64, 0.011);
  CHECK_NEAR(berggren_lambda(1, 0), 1, 0);
  CHECK_NEAR(berggren_lambda(0, 1e-9), 1, 1e-6);
}

// Worked through independently in the handbook's own units: silt of 100 lb/ft3, 15 % water.
TEST_CASE("[published] modified Berggren, homogeneous silt") {
  const ThermalLayer silt{10, 0.76 * kBtuFoot_w_mk, 2160 * kBtuFt3_j_m3, 28.25 * kBtuFt3F_j_m3k};
  const auto first = frost_depth({3333 / 1.8, 160, (37 - 32) / 1.8}, 0.75, std::span(&silt, 1));
  REQUIRE(first.has_value());
  CHECK_NEAR(first->alpha, 0.3200, 5e-5);
  CHECK_NEAR(first->mu, 0.2043, 5e-5);
  CHECK_NEAR(first->lambda, 0.8982, 1e-4);
  CHECK_NEAR(first->stefan_m / kFoot_m, 6.497, 0.002);
  CHECK_NEAR(first->depth_m / kFoot_m, 5.836, 0.002);
  const auto second = frost_depth({1500 / 1.8, 120, (45 - 32) / 1.8}, 0.7, std::span(&silt, 1));
  CHECK_NEAR(second->alpha, 1.4857, 1e-4);
  CHECK_NEAR(second->lambda, 0.7741, 1e-4);
  CHECK_NEAR(second->stefan_m / kFoot_m, 4.211, 0.002);
  CHECK_NEAR(second->depth_m / kFoot_m, 3.260, 0.002);
}

TEST_CASE("[published] Stefan's equation in SI") {
  const struct {
    double k, index_cd, density, water, depth_m;
  } rows[] = {{1.7, 500, 1600, 0.15, 1.3536},
              {2.0, 1000, 1700, 0.12, 2.2522},
              {1.2, 300, 1400, 0.25, 0.7295}};
  for (const auto& row : rows) {
    const ThermalLayer layer{10, row.k, row.density * row.water * 334000, 2e6};
    const auto depth = frost_depth({row.index_cd, 120, 5}, 1, std::span(&layer, 1));
    REQUIRE(depth.has_value());
    CHECK_NEAR(depth->stefan_m, row.depth_m, 1e-4);
    CHECK(depth->depth_m < depth->stefan_m);
  }
}

// Kersten 1949; the handbooks use 0.8 Btu/(ft h F) for frozen silt of 100 lb/ft3 at 15 %, and
// 0.76 for the mean of frozen and thawed. Latent heat 144 Btu/lb, heat 0.17 + 0.75 w.
TEST_CASE("[published] thermal values of a soil") {
  const ThermalLayer silt = soil_layer(1, false, 100 * 16.018463, 15);
  CHECK_NEAR(silt.conductivity_w_mk / kBtuFoot_w_mk, 0.76, 0.005);
  CHECK_NEAR(silt.latent_j_m3 / kBtuFt3_j_m3, 2160, 8);
  CHECK_NEAR(silt.heat_capacity_j_m3k / kBtuFt3F_j_m3k, 28.25, 0.02);
}

// UFC 3-130-04 table 4-1.
TEST_CASE("[published] n-factors of freezing") {
  using enum Surface;
  CHECK_NEAR(freezing_n_factor(snow), 1.0, 0);
  CHECK_NEAR(freezing_n_factor(concrete), 0.75, 0);
  CHECK_NEAR(freezing_n_factor(bituminous), 0.7, 0);
  CHECK_NEAR(freezing_n_factor(bare_soil), 0.7, 0);
  CHECK_NEAR(freezing_n_factor(shaded), 0.9, 0);
  CHECK_NEAR(freezing_n_factor(turf), 0.5, 0);
  CHECK_NEAR(freezing_n_factor(trees), 0.3, 0);
}

TEST_CASE("[published] freezing index of monthly means") {
  const FreezingIndex air = freezing_index({-6, -4, 1, 7, 12, 16, 18, 17, 13, 7, 1, -4});
  CHECK_NEAR(air.index_cd, 422, 1e-9);
  CHECK_NEAR(air.duration_d, 90, 1e-9);
}

TEST_CASE(
    "[property] the daily freezing index does not cut a winter in two, nor count a thaw out") {
  for (const int shift : {0, 90, 182, 300}) {
    std::vector<double> days(365);
    for (int d = 0; d < 365; ++d)
      days[(d + shift) % 365] = 5 - 15 * std::cos(2 * 3.14159265358979 * d / 365);
    const auto air = freezing_index(days);
    REQUIRE(air.has_value());
    // Below 0 while cos > 1/3: 143 days, sum 15 * 365/pi * sin(acos(1/3)) - 5 * 143.
    CHECK_NEAR(air->index_cd, 929, 2);
    CHECK_NEAR(air->duration_d, 143, 2);
    CHECK_NEAR(air->mean_annual_c, 5, 1e-6);
    days[static_cast<size_t>(shift + 5) % 365] = 4;  // one mild day in the depth of winter
    CHECK(freezing_index(days)->index_cd < air->index_cd - 12);
  }
  CHECK_FALSE(freezing_index(std::vector<double>(100)).has_value());
  CHECK_FALSE(freezing_index(std::vector<double>(365, std::nan(""))).has_value());
  CHECK_NEAR(freezing_index(std::vector<double>(365, 10.0))->index_cd, 0, 0);
}

TEST_CASE("[property] layers: splitting one changes nothing, cover helps, dry goes deeper") {
  const FreezingIndex air{1000, 130, 4};
  const ThermalLayer whole = soil_layer(9, false, 1500, 18);
  const ThermalLayer parts[] = {soil_layer(0.2, false, 1500, 18), soil_layer(0.5, false, 1500, 18),
                                soil_layer(1, false, 1500, 18)};
  const double depth = frost_depth(air, 0.7, std::span(&whole, 1))->depth_m;
  CHECK_NEAR(frost_depth(air, 0.7, parts)->depth_m, depth, 1e-9);
  const ThermalLayer snow = snow_layer(0.3);
  CHECK(frost_depth(air, 0.7, std::span(&whole, 1), std::span(&snow, 1))->depth_m < depth - 0.3);
  const ThermalLayer dry = soil_layer(9, false, 1500, 9);
  CHECK(frost_depth(air, 0.7, std::span(&dry, 1))->depth_m > depth);
  CHECK_NEAR(frost_depth({0, 0, 8}, 0.7, std::span(&whole, 1))->depth_m, 0, 0);
  CHECK_FALSE(frost_depth({1000, 130, -1}, 1, std::span(&whole, 1)).has_value());
  CHECK_FALSE(frost_depth(air, 1, {}).has_value());
  CHECK_FALSE(frost_depth(air, 1, std::span(&snow, 1)).has_value());
}

// Where winters reach -35 C the trade takes perimeter insulation down about six feet (1.8 m). A
// high valley with such winters: mean of the year 3 C, design index twice an average 900 C d.
TEST_CASE("[common practice] six feet of edge insulation where winters reach -35 C") {
  const SoilWater loam = typical_soil_water(Texture::silt_loam);
  const FrostSoilLayer profile[] = {{0, 3, typical_of(Texture::silt_loam), loam, 0}};
  const FreezingIndex design{1800, 160, 3};
  const auto range = frost_range(design, freezing_n_factor(Surface::bare_soil), profile);
  REQUIRE(range.has_value());
  CAPTURE(range->shallow_m);
  CAPTURE(range->deep_m);
  const EdgeInsulation edge = edge_insulation(*range, -35);
  REQUIRE(edge.common_practice_m.has_value());
  CHECK_NEAR(*edge.common_practice_m, 1.8, 0.05);
  // The rule is within a quarter of the deep end.
  CHECK_NEAR(range->deep_m, kSixFeet_m, 0.25 * kSixFeet_m);
  CHECK_FALSE(edge_insulation(*range, -20).common_practice_m.has_value());
}

// Conduction into a half space, worked out independently.
TEST_CASE("[published] the yearly wave in the ground") {
  CHECK_NEAR(damping_depth_m(0.5e-6), 2.2411, 5e-5);
  CHECK_NEAR(damping_depth_m(0.7e-6), 2.6517, 5e-5);
  CHECK_NEAR(damping_depth_m(1.0e-6), 3.1694, 5e-5);
  CHECK_NEAR(damping_depth_m(0.5e-6, 1), 0.11726, 5e-6);
  CHECK_NEAR(damping_depth_m(1.0e-6, 1), 0.16584, 5e-6);
  const TemperatureWave wave{8, 12, 15};
  const struct {
    double depth_m, c[3];
  } rows[] = {{1, {0.670, 4.679, 15.246}}, {2, {4.356, 4.057, 11.543}}, {3, {6.793, 4.653, 9.120}}};
  const double days[] = {15, 105, 196};
  for (const auto& row : rows)
    for (int i = 0; i < 3; ++i)
      CHECK_NEAR(ground_temperature_c(wave, row.depth_m, days[i], 0.6e-6), row.c[i], 6e-4);
  CHECK_NEAR(lag_d(1, 0.6e-6), 23.7, 0.05);
}

TEST_CASE("[property] the wave of monthly means gives back a sine") {
  MonthlyMeans means;
  const double middles[] = {16, 45.5, 75, 105.5, 136, 166.5, 197, 228, 258.5, 289, 319.5, 350};
  for (int m = 0; m < 12; ++m)
    means[m] = 6 - 11 * std::cos(2 * 3.14159265358979 * (middles[m] - 20) / 365);
  const TemperatureWave wave = wave_of(means);
  CHECK_NEAR(wave.mean_c, 6, 0.1);
  CHECK_NEAR(wave.amplitude_c, 11, 0.1);
  CHECK_NEAR(wave.coldest_day, 20, 1);
}
