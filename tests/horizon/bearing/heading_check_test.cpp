#include "horizon/bearing/heading_check.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <random>

#include "tests/near.h"

using namespace horizon;

namespace {

HeadingCheck check_of(double measured, double known, double sigma = 0.5) {
  HeadingCheck check;
  check.measured = TrueAzimuth::degrees(measured);
  check.known = TrueAzimuth::degrees(known);
  check.measured_sigma_deg = sigma;
  check.known_sigma_deg = 0;
  return check;
}

}  // namespace

// Weighted mean of unequal observations: any adjustment text, e.g. Ghilani, Adjustment
// Computations, ch. 10; worked by hand here: weights 4 and 1, offsets 2 and 3.
TEST_CASE("[published] offset and sigma are those of the weighted mean") {
  const std::vector<HeadingCheck> checks = {check_of(100, 102, 0.5), check_of(200, 203, 1.0)};
  const HeadingCorrection c = heading_correction(checks);
  CHECK(std::abs(c.offset_deg - 2.2) < 1e-12);
  CHECK(std::abs(c.sigma_deg - std::sqrt(1 / 5.0)) < 1e-12);
  CHECK(c.used == 2);
  CHECK_FALSE(c.disputed);
  CHECK(std::abs(c.residual_deg[0] + 0.2) < 1e-12);
  CHECK(std::abs(c.residual_deg[1] - 0.8) < 1e-12);
  CHECK(std::abs(corrected(TrueAzimuth::degrees(359), c).degrees() - 1.2) < 1e-12);
}

TEST_CASE("[property] offsets average over north and over the half turn") {
  CHECK(std::abs(heading_correction(std::vector{check_of(359, 1), check_of(358.5, 2)}).offset_deg -
                 2.75) < 1e-12);
  const double half =
      heading_correction(std::vector{check_of(0, 179.5), check_of(0, 180.5)}).offset_deg;
  CHECK(std::abs(std::abs(half) - 180) < 1e-9);
}

TEST_CASE("[property] one wrong check among several is named and left out") {
  const std::vector<HeadingCheck> checks = {check_of(10, 14.1), check_of(100, 103.8),
                                            check_of(200, 215), check_of(300, 304.2)};
  const HeadingCorrection c = heading_correction(checks);
  REQUIRE(c.rejected.size() == 1);
  CHECK(c.rejected[0].index == 2);
  CHECK(c.rejected[0].normalised > c.rejected[0].limit);
  CHECK(std::abs(c.rejected[0].off_deg - (15 - (4.1 + 3.8 + 4.2) / 3)) < 1e-9);
  CHECK(std::abs(c.offset_deg - (4.1 + 3.8 + 4.2) / 3) < 1e-9);
  CHECK(c.used == 3);
}

TEST_CASE("[property] two that disagree are both kept and the sigma spans them") {
  const HeadingCorrection c =
      heading_correction(std::vector{check_of(10, 10, 0.5), check_of(100, 108, 0.5)});
  CHECK(c.disputed);
  CHECK(c.rejected.empty());
  CHECK(c.offset_deg == 0);  // never by their mean
  CHECK(c.used == 0);
  CHECK(c.sigma_deg >= 8 - 1e-9);
}

TEST_CASE("[property] a lone check beyond what a compass can be turns nothing; two that agree do") {
  // 300 read for a landmark at 176: off by -124.
  const HeadingCorrection lone = heading_correction(std::vector{check_of(300, 176, 0.5)});
  CHECK(lone.disputed);
  CHECK(lone.offset_deg == 0);
  CHECK(lone.used == 0);
  REQUIRE(lone.rejected.size() == 1);
  CHECK(lone.rejected[0].beyond);
  CHECK_NEAR(lone.sigma_deg, 20, 1e-9);
  const HeadingCorrection two =
      heading_correction(std::vector{check_of(300, 176, 0.5), check_of(20, 256.3, 0.5)});
  CHECK_FALSE(two.disputed);
  CHECK_NEAR(two.offset_deg, -123.85, 1e-9);
  // A sound one beside the slip: nothing is turned, least of all by 60 degrees.
  const HeadingCorrection mixed =
      heading_correction(std::vector{check_of(10, 12, 0.5), check_of(300, 176, 0.5)});
  CHECK(mixed.disputed);
  CHECK(mixed.offset_deg == 0);
  CHECK_NEAR(mixed.sigma_deg, 20, 1e-9);
  // Two sound ones: the slip is left out.
  const HeadingCorrection three = heading_correction(
      std::vector{check_of(10, 12, 0.5), check_of(300, 176, 0.5), check_of(80, 82.2, 0.5)});
  CHECK_FALSE(three.disputed);
  CHECK_NEAR(three.offset_deg, 2.1, 1e-9);
}

TEST_CASE("[property] two camps of checks turn nothing") {
  const HeadingCorrection c =
      heading_correction(std::vector{check_of(10, 11, 0.5), check_of(50, 51.2, 0.5),
                                     check_of(100, 112, 0.5), check_of(150, 162.1, 0.5)});
  CHECK(c.disputed);
  CHECK(c.offset_deg == 0);
  CHECK(c.sigma_deg > 11);
}

TEST_CASE(
    "[property] an instrument of unknown north keeps its first check when a second disagrees") {
  HeadingRules rules;
  rules.most_off_deg.reset();
  const HeadingCorrection lone = heading_correction(std::vector{check_of(300, 176, 0.5)}, rules);
  CHECK_FALSE(lone.disputed);
  CHECK_NEAR(lone.offset_deg, -124, 1e-9);
  const HeadingCorrection two =
      heading_correction(std::vector{check_of(300, 176, 0.5), check_of(100, 256, 0.5)}, rules);
  CHECK(two.disputed);
  CHECK_NEAR(two.offset_deg, -124, 1e-9);
  CHECK(two.sigma_deg > 70);
}

TEST_CASE("[property] without a usable check the instrument keeps its own doubt") {
  const HeadingCorrection none = heading_correction({});
  CHECK(none.offset_deg == 0);
  CHECK(none.sigma_deg == HeadingRules{}.unchecked_sigma_deg);
  CHECK(none.used == 0);
  const HeadingCorrection bad = heading_correction(
      std::vector{check_of(std::numeric_limits<double>::quiet_NaN(), 3), check_of(1, 2, 0)});
  CHECK(bad.used == 0);
  REQUIRE(bad.rejected.size() == 2);
  CHECK(bad.rejected[0].unreadable);
}

TEST_CASE("[property] the stated sigma covers the truth, and sound checks are seldom lost") {
  std::mt19937 random(3);
  std::normal_distribution<double> normal(0, 1);
  std::uniform_real_distribution<double> turn(0, 360);
  int inside = 0, lost = 0;
  const int kRuns = 4000;
  for (int run = 0; run < kRuns; ++run) {
    std::vector<HeadingCheck> checks;
    for (int i = 0; i < 4; ++i) {
      const double known = turn(random), sigma = 0.3 + 0.4 * i;
      checks.push_back(check_of(known - 7 + sigma * normal(random), known, sigma));
    }
    const HeadingCorrection c = heading_correction(checks);
    inside += std::abs(c.offset_deg - 7) < 1.6449 * c.sigma_deg;
    lost += !c.rejected.empty();
  }
  // The scatter only ever widens the sigma, so it covers at least the nominal 90 percent.
  CHECK(inside > 0.88 * kRuns);
  CHECK(lost < 0.02 * kRuns);
}

TEST_CASE("[property] every kind has one name") {
  for (int i = 0; i < kCheckKindCount; ++i)
    CHECK(check_kind_named(name_of(static_cast<CheckKind>(i))) == static_cast<CheckKind>(i));
  CHECK_FALSE(check_kind_named("sun").has_value());
}
