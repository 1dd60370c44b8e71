#include "horizon/light/uncertainty.h"

#include <doctest/doctest.h>

#include "horizon/light/plane_light.h"
#include "tests/near.h"

using namespace horizon;

namespace {

// A valley of its own for each number.
Skyline valley(Gauss& gauss, double heading_sigma_deg) {
  Skyline skyline;
  skyline.obstacles.push_back({Kind::ridge, "ridge"});
  skyline.heading_sigma_deg = heading_sigma_deg;
  double height = 12;
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

double hours(const FastView& fast, const SunSteps& sun, const Skyline& skyline,
             std::vector<float>& shares) {
  fast.view(Mask(skyline), shares);
  double total = 0;
  for (float share : shares) total += share * sun.step_h;
  return total;
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
}

TEST_CASE(
    "a computed mark keeps clear of the heading's error; a near mark feels the eye's height "
    "[property]") {
  Skyline skyline;
  skyline.obstacles.push_back({Kind::ridge, "ridge"});
  skyline.heading_sigma_deg = 5;
  for (int i = 0; i < 3; ++i) {
    SkylinePoint p;
    p.azimuth = TrueAzimuth::degrees(180 + i);
    p.elevation = Elevation::degrees(10);
    p.azimuth_sigma_deg = p.elevation_sigma_deg = 0;
    p.computed = i == 0;
    if (i == 1) p.distance_m = 10;
    skyline.points.push_back(p);
  }
  Gauss gauss(3);
  double turn2 = 0, lift2 = 0;
  for (int i = 0; i < 4000; ++i) {
    const Skyline other = drawn(skyline, 0.1, gauss);
    CHECK(other.points[0].azimuth.degrees() == 180);
    CHECK(other.points[2].elevation.degrees() == 10);
    const double turn = clockwise_deg(skyline.points[2].azimuth, other.points[2].azimuth);
    CHECK_NEAR(turn, clockwise_deg(skyline.points[1].azimuth, other.points[1].azimuth), 1e-9);
    turn2 += turn * turn / 4000;
    lift2 += std::pow(other.points[1].elevation.degrees() - 10, 2) / 4000;
  }
  CHECK_NEAR(std::sqrt(turn2), 5, 0.3);
  // 0.1 m at 10 m and 10 degrees up: atan's slope, 0.573 degrees x cos^2.
  CHECK_NEAR(std::sqrt(lift2), 0.573 * 0.9698, 0.03);
}

TEST_CASE("the ranges of 1,000 sites with known truth hold it nine times in ten [property]") {
  // Each site has a true skyline; what is sighted is the truth with errors; the range is drawn
  // from the sighted. 90 +- 3 %: one standard deviation of 1,000 trials is 0.95 %.
  const SunSteps sun = in_months(sun_steps({46.6, 10.3, 1480}, 2025, 1, 10, 10), 0b110000000011);
  const FastView fast(sun);
  std::vector<float> shares;
  Gauss gauss(20261225);
  int held = 0, below = 0;
  const int sites = 1000;
  for (int site = 0; site < sites; ++site) {
    const Skyline truth = valley(gauss, 1.5);
    const Skyline sighted = drawn(truth, 0.2, gauss);
    const double true_h = hours(fast, sun, truth, shares);
    const double centre = hours(fast, sun, sighted, shares);
    std::vector<double> offsets;
    for (int d = 0; d < 200; ++d)
      offsets.push_back(hours(fast, sun, drawn(sighted, 0.2, gauss), shares) - centre);
    const double low = centre + quantile(offsets, 0.05), high = centre + quantile(offsets, 0.95);
    held += true_h >= low && true_h <= high;
    below += true_h < low;
  }
  MESSAGE("held " << held << " of " << sites << ", below " << below);
  CHECK(held >= 870);
  CHECK(held <= 930);
}

TEST_CASE("a station's draws: same seed, same ranges; no errors, no width [property]") {
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
  const Draws a = draw_sites(light, skyline, glazing, settings);
  const Draws b = draw_sites(light, skyline, glazing, settings);
  REQUIRE(a.draws.size() == 8);
  bool moved = false;
  for (int d = 0; d < 8; ++d) {
    CHECK(a.draws[d].winter_h == b.draws[d].winter_h);
    CHECK(a.draws[d].best.facing == b.draws[d].best.facing);
    moved = moved || a.draws[d].winter_h != a.centre.winter_h;
  }
  CHECK(moved);
  for (SkylinePoint& p : skyline.points) p.azimuth_sigma_deg = p.elevation_sigma_deg = 0;
  skyline.heading_sigma_deg = 0;
  settings.eye_height_sigma_m = 0;
  const Draws still = draw_sites(light, skyline, glazing, settings);
  for (const DrawnSite& site : still.draws) CHECK(site.winter_h == still.centre.winter_h);
}
