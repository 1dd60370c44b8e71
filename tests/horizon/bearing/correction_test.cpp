#include "horizon/bearing/correction.h"

#include <cmath>

#include "tests/near.h"

using namespace horizon;

TEST_CASE("[published] the mean of directions, its length and circular spread") {
  // Computed with scipy 1.10: stats.circmean, circvar (1 - length), circstd.
  struct Row {
    std::vector<double> azimuths;
    double mean, length, spread;
  };
  const Row rows[] = {{{350, 10}, 0, .984808, 10.0256},
                      {{355, 5, 15}, 5, .989872, 8.17537},
                      {{170, 190, 180, 175}, 178.741026, .991692, 7.40103},
                      {{359.2, .4, 1.1, 359.8, .6}, .220004, .999934, .658487},
                      {{10, 20, 30, 40}, 25, .981060, 11.20463}};
  for (const Row& row : rows) {
    const MeanDirection mean = mean_direction(row.azimuths);
    CHECK_NEAR(wrap_180(mean.azimuth_deg - row.mean), 0, 1e-6);
    CHECK_NEAR(mean.resultant, row.length, 1e-6);
    CHECK_NEAR(mean.circular_sd_deg, row.spread, 1e-4);
  }
  CHECK_NEAR(mean_direction(std::vector<double>{0, 180}).resultant, 0, 1e-12);
}

namespace {
RawSighting aim(double bearing, double elevation, const char* group = "",
                Reference reference = Reference::true_north) {
  RawSighting raw;
  raw.bearing_deg = bearing;
  raw.reference = reference;
  raw.elevation_deg = elevation;
  raw.group = group;
  return raw;
}
}  // namespace

TEST_CASE("[common practice] each north is corrected by its own angle") {
  Corrections corrections;
  corrections.declination_deg = 3.5;
  corrections.convergence_deg = -0.7;
  corrections.declination_sigma_deg = 0.3;
  auto azimuth = [&](RawSighting raw) {
    const auto result = corrected_skyline(std::vector{raw}, corrections);
    REQUIRE(result.skyline.points.size() == 1);
    return result.skyline.points[0].azimuth.degrees();
  };
  CHECK_NEAR(azimuth(aim(358, 5, "", Reference::magnetic)), 1.5, 1e-12);
  CHECK_NEAR(azimuth(aim(0.2, 5, "", Reference::grid)), 359.5, 1e-12);
  CHECK_NEAR(azimuth(aim(77, 5)), 77, 0);
  RawSighting back = aim(300, 5, "", Reference::magnetic);
  back.back_bearing = true;
  CHECK_NEAR(azimuth(back), 123.5, 1e-12);
}

TEST_CASE("[property] a checked instrument carries its offset and shared sigma, others do not") {
  Corrections corrections;
  corrections.declination_deg = 2;
  corrections.declination_sigma_deg = 0.4;
  HeadingCorrection checked;
  checked.offset_deg = 1.25;
  checked.sigma_deg = 0.2;
  checked.used = 2;
  corrections.instruments = {checked};
  RawSighting raw = aim(100, 5, "", Reference::magnetic);
  raw.instrument = 0;
  auto result = corrected_skyline(std::vector{raw}, corrections);
  CHECK_NEAR(result.skyline.points[0].azimuth.degrees(), 103.25, 1e-12);
  CHECK_NEAR(result.skyline.heading_sigma_deg, 0.2, 1e-12);
  raw.instrument = -1;
  result = corrected_skyline(std::vector{raw}, corrections);
  CHECK_NEAR(result.skyline.points[0].azimuth.degrees(), 102, 1e-12);
  CHECK_NEAR(result.skyline.heading_sigma_deg, std::hypot(4.0, 0.4), 1e-12);
}

TEST_CASE("[property] what cannot be made true is listed with its cure, never guessed") {
  const auto result = corrected_skyline(
      std::vector{aim(10, 5, "", Reference::magnetic), aim(10, 5, "", Reference::grid),
                  aim(10, 5, "", Reference::device), aim(NAN, 5), aim(20, 5)},
      Corrections{});
  CHECK(result.skyline.points.size() == 1);
  REQUIRE(result.unplaced.size() == 4);
  for (const UnplacedAim& aim : result.unplaced) CHECK_FALSE(aim.why.empty());
}

TEST_CASE("[property] repeated aims are one mark, over north too, and the slip is named") {
  std::vector<RawSighting> aims = {aim(359.6, 10.1, "a"), aim(0.2, 10.0, "a"), aim(0.5, 9.9, "a"),
                                   aim(359.9, 10.0, "a"), aim(10, 10.0, "a"),  aim(90, 4)};
  for (int i = 0; i < 6; ++i) aims[i].source = i;
  const auto result = corrected_skyline(aims, Corrections{});
  REQUIRE(result.skyline.points.size() == 2);
  const SkylinePoint& mark = result.skyline.points[0];
  CHECK_NEAR(wrap_180(mark.azimuth.degrees() - 0.05), 0, 1e-9);
  CHECK_NEAR(mark.elevation.degrees(), 10, 1e-9);
  CHECK_NEAR(mark.azimuth_sigma_deg, 1.0 / 2, 1e-9);  // four aims of 1 degree
  REQUIRE(result.outliers.size() == 1);
  CHECK(result.outliers[0].source == 4);
  CHECK_NEAR(result.outliers[0].bearing_off_deg, 9.95, 1e-6);
}

TEST_CASE("[property] of three aims the one that stands apart is named, of two neither") {
  const auto slipped = corrected_skyline(
      std::vector{aim(100, 5, "a"), aim(100.2, 5, "a"), aim(112, 5, "a")}, Corrections{});
  REQUIRE(slipped.outliers.size() == 1);
  CHECK_NEAR(slipped.outliers[0].bearing_off_deg, 11.9, 1e-6);
  REQUIRE(slipped.skyline.points.size() == 1);
  CHECK_NEAR(slipped.skyline.points[0].azimuth.degrees(), 100.1, 1e-9);
  CHECK(corrected_skyline(std::vector{aim(100, 5, "a"), aim(112, 5, "a")}, Corrections{})
            .outliers.empty());
}

TEST_CASE("[property] aims that scatter by more than they claim are given a larger sigma") {
  const auto result =
      corrected_skyline(std::vector{aim(10, 5, "a"), aim(18, 5, "a")}, Corrections{});
  REQUIRE(result.skyline.points.size() == 1);
  CHECK(result.outliers.empty());  // two cannot say which is wrong
  CHECK_NEAR(result.skyline.points[0].azimuth_sigma_deg, 4, 1e-9);
}

TEST_CASE("[property] one group name on two kinds of thing stays two marks") {
  auto tree = aim(12, 8, "a");
  tree.kind = Kind::evergreen;
  const auto result = corrected_skyline(std::vector{aim(10, 5, "a"), tree}, Corrections{});
  CHECK(result.skyline.points.size() == 2);
  CHECK(result.skyline.obstacles.size() == 2);
}

TEST_CASE("[property] what is known of an obstacle goes with its kind and label") {
  Obstacle birch;
  birch.kind = Kind::leafy;
  birch.label = "birch";
  birch.foliage.light_through_bare = 0.75;
  auto seen = aim(10, 5);
  seen.kind = Kind::leafy;
  seen.label = "birch";
  const auto result = corrected_skyline(std::vector{seen}, Corrections{}, std::vector{birch});
  CHECK(result.skyline.obstacles[0].foliage.light_through_bare == 0.75);
}
