#include "horizon/light/uncertainty.h"

#include <doctest/doctest.h>

#include <cstdlib>

#include "horizon/light/findings.h"
#include "horizon/light/plane_light.h"
#include "tests/near.h"

using namespace horizon;

namespace {

// A valley of its own for each number.
Skyline valley(Gauss& gauss, double heading_sigma_deg, double lowest_deg = 4,
               double highest_deg = 18) {
  Skyline skyline;
  skyline.obstacles.push_back({Kind::ridge, "ridge"});
  skyline.heading_sigma_deg = heading_sigma_deg;
  double height = (lowest_deg + highest_deg) / 2;
  for (int az = 60; az <= 300; az += 8) {
    height = std::clamp(height + 2 * gauss.next(), lowest_deg, highest_deg);
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

TEST_CASE(
    "the ranges of hours, dates, facing and tilt hold the truth nine times in ten [property]") {
  // The whole findings, as people read them. A date may fall on the range's own end, so that dates
  // are held a little more often. ADRET_SITES=1000 gives the figure to 1 %; the few sites of every
  // day's run (one standard deviation 4.7 %) tell a range that is far too narrow or too wide.
  const char* text = std::getenv("ADRET_SITES");
  const int sites = text ? std::atoi(text) : 40;
  StationInput input;
  input.place = {46.6, 10.3, 1480};
  input.utc_offset_h = 1;
  input.year = 2025;
  input.chosen = Plane{TrueAzimuth::degrees(180), 60};  // the crops' light on one plane for both
  const auto findings = [&input](const Skyline& skyline, int draws) {
    input.skyline = skyline;
    input.draws = draws;
    return findings_of(input);
  };
  struct Count {
    const char* what;
    int held = 0, asked = 0, below = 0;
    // Days and azimuths go round: from the middle figure, less than half a turn either way.
    void add_round(double truth, double middle, double low, double high, double turn) {
      const auto off = [&](double x) { return std::remainder(x - middle, turn); };
      add(off(truth), off(low), off(high));
    }
    void add(double truth, double low, double high) {
      ++asked;
      held += truth >= low && truth <= high;
      below += truth < low;
    }
  };
  Count hours{"winter hours"}, month{"hours in February"}, from{"first day without sun"},
      to{"last day without sun"}, facing{"best facing"}, tilt{"best tilt"},
      spring{"first day of a crop's light"}, autumn{"last day of a crop's light"};
  constexpr double kPlane_deg = 0.1;  // as closely as the best tilt is found, facing.h
  Gauss gauss(20270321);
  for (int i = 0; i < sites; ++i) {
    const Skyline true_line = valley(gauss, 1.5, 15, 24);
    const Skyline sighted = drawn(true_line, input.eye_height_sigma_m, gauss);
    input.seed = static_cast<std::uint32_t>(i + 1);
    const StationFindings truth = findings(true_line, 0);
    const StationFindings seen = findings(sighted, text ? 200 : 60);
    hours.add(truth.hours.winter_h.value, seen.hours.winter_h.low, seen.hours.winter_h.high);
    month.add(truth.months[1].direct_sun_h.value, seen.months[1].direct_sun_h.low,
              seen.months[1].direct_sun_h.high);
    const auto day = [](const Date& date) { return day_of_year(date); };
    if (!truth.hours.without_direct_sun.empty() && !seen.hours.without_direct_sun.empty()) {
      const NoSunSpell &a = truth.hours.without_direct_sun[0],
                       &b = seen.hours.without_direct_sun[0];
      from.add_round(day(a.first), day(b.first), b.first_low_day, b.first_high_day, 365);
      to.add_round(day(a.last), day(b.last), b.last_low_day, b.last_high_day, 365);
    }
    facing.add_round(truth.best_facing.value.degrees(), seen.best_facing.value.degrees(),
                     seen.best_facing.low.degrees(), seen.best_facing.high.degrees(), 360);
    tilt.add(truth.best_tilt_deg.value, seen.best_tilt_deg.low - kPlane_deg,
             seen.best_tilt_deg.high + kPlane_deg);
    for (size_t c = 0; c < truth.growing.crops.size(); ++c) {
      const CropSeason &a = truth.growing.crops[c], &b = seen.growing.crops[c];
      const DaySpell* spell = longest(a.spells, 365);
      const DaySpell* sighted_spell = longest(b.spells, 365);
      if (!spell || !sighted_spell || b.from_low_day == 0) continue;
      spring.add_round(spell->from_day, sighted_spell->from_day, b.from_low_day, b.from_high_day,
                       365);
      autumn.add_round(spell->to_day, sighted_spell->to_day, b.to_low_day, b.to_high_day, 365);
    }
  }
  for (const Count& count : {hours, month, from, to, facing, tilt, spring, autumn}) {
    const std::string what = count.what;
    CAPTURE(what);
    const double share = double(count.held) / count.asked;
    MESSAGE(std::string(count.what)
            << ": held " << 100 * share << " % of " << count.asked << ", below " << count.below);
    CHECK(count.asked >= sites / 4);
    const double slack = std::max(0.03, 3 * std::sqrt(0.09 / count.asked));
    CHECK(share >= 0.90 - slack);
    if (count.what == hours.what) CHECK(share <= 0.90 + slack);
  }
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
