#include "horizon/light/uncertainty.h"

#include <doctest/doctest.h>

#include <cmath>

#include "horizon/light/plane_light.h"
#include "horizon/parallel.h"
#include "tests/near.h"

using namespace horizon;

namespace {

// A ridge that wanders in steps of 8 degrees.
Skyline valley(Gauss& gauss, double heading_sigma_deg) {
  Skyline skyline;
  skyline.obstacles.push_back({Kind::ridge, "ridge"});
  skyline.heading_sigma_deg = heading_sigma_deg;
  double height = 11;
  for (int az = 60; az <= 300; az += 8) {
    height = std::clamp(height + 2 * gauss.next(), 4.0, 18.0);
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(az);
    point.elevation = Elevation::degrees(height);
    point.distance_m = 400;
    skyline.points.push_back(point);
  }
  return skyline;
}

}  // namespace

TEST_CASE("normal deviates have their moments and are the same on every machine [property]") {
  Gauss gauss(7);
  double sum = 0, squares = 0, within = 0;
  const int n = 200000;
  for (int i = 0; i < n; ++i) {
    const double x = gauss.next();
    sum += x;
    squares += x * x;
    within += std::abs(x) < 1.959964;
  }
  CHECK_NEAR(sum / n, 0, 0.01);
  CHECK_NEAR(squares / n, 1, 0.01);
  CHECK_NEAR(within / n, 0.95, 0.002);
  // mt19937_64 is fixed by the C++ standard: 10000th number of the default seed.
  std::mt19937_64 bits;
  bits.discard(9999);
  CHECK(bits() == 9981545732273789042ull);
}

TEST_CASE("quantiles between ranks [published]") {
  // Definition 7 of Hyndman & Fan 1996.
  CHECK_NEAR(quantile({4, 1, 3, 2, 5}, 0.5), 3, 1e-12);
  CHECK_NEAR(quantile({4, 1, 3, 2, 5}, 0.05), 1.2, 1e-12);
  CHECK_NEAR(quantile({10}, 0.95), 10, 1e-12);
  // Definition 6: (n + 1) p = 19 x 0.05 = 0.95th of 18 values is the least; of 199 the 10th.
  std::vector<double> values;
  for (int i = 1; i <= 199; ++i) values.push_back(i);
  CHECK_NEAR(end_of_range(values, 0.05), 10, 1e-9);
  CHECK_NEAR(end_of_range(values, 0.95), 190, 1e-9);
  values.resize(18);
  CHECK_NEAR(end_of_range(values, 0.05), 1, 1e-9);
}

TEST_CASE("a station's draws: same seed, same ranges [property]") {
  Gauss gauss(5);
  Skyline skyline = valley(gauss, 1);
  const SunSteps sun = sun_steps({46.6, 10.3, 1480}, 2025, 1, 10, 4);
  const std::vector<SkyStep> sky = sky_steps(sun, {});
  const SiteLight light(sun, sky, skyline, masks_of(skyline), {}, kGrassAlbedo, 0.2);
  const TransmittanceCurve glazing(twin_wall_polycarbonate());
  DrawSettings settings;
  settings.draws = 8;
  settings.winter_months = 0b110000000011;
  settings.shortest_day = 353;
  settings.start = settings.bed = {TrueAzimuth::degrees(180), 60};
  settings.needs = default_crop_needs();
  settings.draws = 33;
  // With one processor and with four.
  const int free = free_processors();
  free_processors() = 0;
  const Draws a = draw_sites(light, skyline, glazing, settings);
  free_processors() = 3;
  const Draws b = draw_sites(light, skyline, glazing, settings);
  CHECK(free_processors() == 3);
  free_processors() = free;
  REQUIRE(a.draws.size() == 33);
  REQUIRE(b.draws.size() == 33);
  bool moved = false;
  for (int d = 0; d < 33; ++d) {
    CHECK(a.draws[d].winter_h == b.draws[d].winter_h);
    CHECK(a.draws[d].best.facing == b.draws[d].best.facing);
    CHECK(a.draws[d].best.tilt_deg == b.draws[d].best.tilt_deg);
    CHECK(a.draws[d].months_h == b.draws[d].months_h);
    moved = moved || a.draws[d].winter_h != a.centre.winter_h;
  }
  CHECK(moved);
}

TEST_CASE("[property] the range of a count solves the score equation of Wilson (1927) at 90 %") {
  // The score interval solves |p - phat| = z sqrt(p (1 - p) / n): put back in, it must hold.
  for (const auto& [hits, of] : {std::pair(10, 10), {0, 10}, {5, 10}, {23, 24}, {57, 60}}) {
    const ShareRange range = wilson_90(hits, of);
    const double phat = double(hits) / of, z = 1.6448536;
    for (const double p : {range.low, range.high}) {
      if (p <= 0 || p >= 1) continue;
      CHECK(std::abs(std::abs(p - phat) - z * std::sqrt(p * (1 - p) / of)) < 1e-9);
    }
    CHECK(range.low <= phat);
    CHECK(range.high >= phat);
  }
}
