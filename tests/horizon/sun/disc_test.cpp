#include "horizon/sun/disc.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <numbers>

#include "tests/horizon/skylines.h"
#include "tests/near.h"

using namespace horizon;

namespace {

// Share of the disc above the line, by counting points of a fine grid.
double counted(const Mask& mask, double az, double el, double radius) {
  int in = 0, above = 0;
  constexpr int kGrid = 1000;
  for (int i = 0; i < kGrid; ++i)
    for (int j = 0; j < kGrid; ++j) {
      const double x = (2 * i + 1.0) / kGrid - 1, y = (2 * j + 1.0) / kGrid - 1;
      if (x * x + y * y > 1) continue;
      ++in;
      const double at = az + x * radius / std::cos(el * kDegree);
      if (el + y * radius > mask.elevation_deg(at)) ++above;
    }
  return double(above) / in;
}

constexpr double kRadius = 0.2667;

}  // namespace

// A circular segment: share below a chord at distance d from the centre is
// (acos(d) - d sqrt(1 - d^2)) / pi.
TEST_CASE("[published] a level line cuts a circular segment") {
  for (double d = -1.2; d <= 1.2; d += 0.1) {
    const double el = 12 + d * kRadius;
    const double in = std::clamp(d, -1.0, 1.0);
    const double above = 1 - (std::acos(in) - in * std::sqrt(1 - in * in)) / std::numbers::pi;
    CHECK_NEAR(disc_fraction_above(mask_through({{0, 12}, {180, 12}}), 200, el, kRadius), above,
               1e-9);
  }
}

TEST_CASE("[property] a vertical wall through the centre leaves half, over north as well") {
  const Mask wall = mask_through({{90, 0}, {180, 0}, {180, 60}, {270, 60}});
  CHECK_NEAR(disc_fraction_above(wall, 180, 30, kRadius), 0.5, 1e-9);
  const Mask north = mask_through({{0, 0}, {0, 50}, {90, 50}, {270, 0}});
  CHECK_NEAR(disc_fraction_above(north, 0, 20, kRadius), 0.5, 1e-3);
  CHECK_NEAR(disc_fraction_above(Mask(), 359.9, 0, kRadius), 0.5, 1e-9);
}

TEST_CASE("[property] a notch and a pole narrower than the sun, slopes and corners, by counting") {
  const Mask masks[] = {
      mask_through({{90, 20}, {180, 20}, {180, 3}, {180.2, 3}, {180.2, 20}, {270, 20}}),
      mask_through({{90, 3}, {180, 3}, {180, 40}, {180.2, 40}, {180.2, 3}, {270, 3}}),
      mask_through({{90, 3}, {179.7, 9.8}, {180.1, 10.3}, {180.4, 9.9}, {270, 3}}),
      mask_through({{90, 3}, {179.95, 5}, {180.0, 15}, {180.05, 5}, {270, 3}})};
  for (const Mask& mask : masks)
    for (double az : {179.8, 180.0, 180.1, 180.31})
      for (double el : {9.8, 10.0, 10.3})
        CHECK_NEAR(disc_fraction_above(mask, az, el, kRadius), counted(mask, az, el, kRadius),
                   0.002);
}

TEST_CASE("[property] high in the sky the disc is as wide in azimuth as it is there") {
  const Mask pole =
      mask_through({{90, 3}, {179.9, 3}, {179.9, 85}, {180.1, 85}, {180.1, 3}, {270, 3}});
  for (double el : {60.0, 75.0, 80.0})
    CHECK_NEAR(disc_fraction_above(pole, 180, el, kRadius), counted(pole, 180, el, kRadius), 0.002);
  CHECK(disc_fraction_above(mask_through({{0, 5}, {180, 5}}), 10, 89.9, kRadius) == 1);
}
