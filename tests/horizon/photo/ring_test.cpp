#include "horizon/photo/ring.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

using namespace horizon;

namespace {

double skyline_el(double az) {
  const double a = az * kDegree;
  return 14 + 5 * std::sin(3 * a + 1) + 2 * std::sin(11 * a) + 0.6 * std::sin(41 * a + 2);
}

std::vector<Direction> seen(double from, double to, double turned, double lifted, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, 0.03);
  std::vector<Direction> line;
  for (double az = from; az <= to; az += 0.07)
    line.push_back({TrueAzimuth::degrees(az + turned),
                    Elevation::degrees(skyline_el(az) + lifted + noise(random))});
  return line;
}

}  // namespace

TEST_CASE("[property] two skylines that overlap give the turn between them, over north too") {
  const auto first = seen(330, 375, 0, 0, 1);
  const auto second = seen(355, 410, -6.3, 0.8, 2);
  const auto turn = turn_between(first, second);
  REQUIRE(turn.has_value());
  CHECK(std::abs(turn->clockwise_deg - 6.3) < 0.05);
  CHECK(std::abs(turn->lift_deg + 0.8) < 0.05);
  CHECK(std::abs(turn->overlap_deg - 20) < 0.5);
  CHECK(std::abs(turn->clockwise_deg - 6.3) < 4 * turn->sigma_deg);
  CHECK_FALSE(turn_between(first, seen(20, 60, 0, 0, 3), 3).has_value());
  CHECK_FALSE(turn_between(first, {}).has_value());
}

// A closed traverse: the misclosure is shared in proportion to the variances of the legs (Ghilani).
TEST_CASE("[published] a turn that closes at 361 degrees gives each equal step its share") {
  std::vector<RingPhoto> photos = {{0, 1e-6}, {90, {}}, {180, {}}, {270, {}}};
  std::vector<RingStep> steps;
  for (int i = 0; i < 4; ++i) steps.push_back({i, (i + 1) % 4, 90.25, 0.5});
  const auto ring = closed_ring(photos, steps);
  REQUIRE(ring.has_value());
  CHECK(std::abs(ring->misclosure_deg - 1) < 1e-9);
  for (int i = 0; i < 4; ++i) CHECK(std::abs(wrap_180(ring->bearing_deg[i] - 90 * i)) < 1e-6);
  // Legs in parallel, one and three long: 1 / (1 + 1/3) of the variance of one.
  CHECK(std::abs(ring->sigma_deg[1] - 0.5 * std::sqrt(0.75)) < 1e-6);
  CHECK(std::abs(ring->sigma_deg[2] - 0.5) < 1e-6);
  steps[1].clockwise_deg = 95;
  CHECK_FALSE(closed_ring(photos, steps).has_value());
}

TEST_CASE("[property] without marks anywhere, or with a photo on its own, it says what to do") {
  std::vector<RingPhoto> photos = {{0, {}}, {90, {}}};
  std::vector<RingStep> steps = {{0, 1, 90, 0.1}};
  CHECK_FALSE(closed_ring(photos, steps).has_value());
  photos[0].sigma_deg = 0.1;
  CHECK(closed_ring(photos, steps).has_value());
  CHECK_FALSE(closed_ring(photos, {}).has_value());
  CHECK_FALSE(closed_ring({}, {}).has_value());
}
