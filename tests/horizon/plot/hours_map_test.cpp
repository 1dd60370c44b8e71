#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "horizon/plot/footprint.h"
#include "horizon/plot/verdict.h"
#include "horizon/sun/sun_year.h"
#include "tests/horizon/plot/wooded_valley.h"
#include "tests/near.h"

using namespace horizon;
using namespace wooded;

TEST_CASE("[property] the outline at many azimuths is what each alone is told") {
  const PlacedPlot plot = valley();
  for (const Enu& spot : {Enu(0, 0, 1), Enu(15, -15, 1), Enu(12, -44, 1), Enu(-34, -35, 1)}) {
    const SpotView view(plot, plot.rays, spot);
    std::vector<double> azimuths, heights;
    for (int i = 0; i < 7200; ++i) azimuths.push_back(i / 20.0);
    for (const auto& piece : view.pieces()) azimuths.push_back(piece.from_deg);  // its very end
    std::sort(azimuths.begin(), azimuths.end());
    view.highest_at(azimuths, -99, heights);
    REQUIRE(heights.size() == azimuths.size());
    for (size_t i = 0; i < azimuths.size(); ++i) {
      double alone = -99;
      view.highest_at(azimuths[i], &alone);
      CHECK(heights[i] == alone);
    }
  }
}

TEST_CASE("[property] a spot's hours agree with the exact windows of the sun") {
  const PlacedPlot plot = valley();
  const SunPath path = SunPath::of_year(kPlot, 2026);
  const SunSamples sun(path, kWinter);
  for (const Enu& spot : {Enu(0, 0, 1), Enu(15, -15, 1), Enu(-18, -10, 1), Enu(-10, 28, 3)}) {
    const Skyline skyline = predicted_skyline(plot, spot);
    const SunYear year = sun_year(path, masks_of(skyline), skyline.obstacles, kWinter);
    std::vector<ObstacleShare> shares;
    const SpotHours hours = spot_hours(plot, spot, sun, &shares);
    CAPTURE(spot.x());
    CHECK_NEAR(hours.direct_h, year.winter.direct_h, 0.015 * year.winter.direct_h + 2);
    CHECK_NEAR(hours.filtered_light_h, year.winter.filtered_light_h, 4);
    double hidden = hours.direct_h;
    for (const ObstacleShare& share : shares) {
      CHECK(share.alone_h <= share.hidden_h + 1e-9);
      hidden += share.hidden_h;
    }
    CHECK_NEAR(hidden, year.winter.flat_h, 0.01 * year.winter.flat_h);
  }
}

TEST_CASE("[property] felling a thing brings back what it alone takes") {
  const PlacedPlot plot = valley();
  const SunSamples sun(SunPath::of_year(kPlot, 2026), kWinter);
  const Enu spot(10, -12, 1);
  std::vector<ObstacleShare> shares;
  const SpotHours with = spot_hours(plot, spot, sun, &shares);
  PlotSurvey felled = plot.survey;
  std::erase_if(felled.aims, [&](const PlotAim& aim) {
    return felled.marks[static_cast<size_t>(aim.mark)].obstacle == 1;
  });
  // The ash's mark follows the wood's three.
  for (PlotAim& aim : felled.aims)
    if (aim.mark > 38) aim.mark -= 3;
  felled.marks.erase(felled.marks.begin() + 36, felled.marks.begin() + 39);
  const SpotHours without = spot_hours(*place_marks(felled), spot, sun);
  CHECK(shares[1].alone_h > 20);
  CHECK_NEAR(without.direct_h - with.direct_h, shares[1].alone_h, 2);
}

TEST_CASE("[property] of 50 by 50 spots the best place is away from the wood") {
  const PlacedPlot plot = valley();
  const SunSamples sun(SunPath::of_year(kPlot, 2026), kWinter);
  MapGrid grid{-24.5, -24.5, 1, 50, 50, 1};
  const auto map = hours_map(plot, grid, sun);
  REQUIRE(map.has_value());
  const auto best = best_places(*map, {10, 5, TrueAzimuth::degrees(170)});
  REQUIRE(best.size() == 3);
  CHECK(best[0].mean_h >= best[1].mean_h);
  CHECK(best[0].least_h <= best[0].mean_h);
  // No spot's footprint of the same size has more.
  double highest = 0;
  for (const SpotHours& spot : map->spots) highest = std::max(highest, spot.direct_h);
  CHECK(best[0].mean_h <= highest);
  CHECK(best[0].mean_h > map->at(40, 2).direct_h);
  // Land on the eastern third only.
  const Eigen::Vector2d east[] = {{8, -25}, {25, -25}, {25, 25}, {8, 25}};
  for (const FootprintPlace& place : best_places(*map, {8, 4}, east)) CHECK(place.east_m >= 12);
  // Inside by the setback, off a stream down the middle, a length apart; about any spot on demand.
  const Eigen::Vector2d all[] = {{-24, -24}, {24, -24}, {24, 24}, {-24, 24}};
  const KeepOff stream[] = {{{{0, -25}, {0, 25}}, 5}};
  const auto kept = best_places(*map, {8, 4}, all, 3, 6, stream);
  REQUIRE(kept.size() == 3);
  for (const FootprintPlace& place : kept) {
    CHECK(std::abs(place.east_m) >= 5 + 4 - 0.51);
    CHECK(std::abs(place.east_m) <= 24 - 6 - 4 + 0.01);
    CHECK(std::abs(place.north_m) <= 24 - 6 - 2 + 0.01);
    for (const FootprintPlace& other : kept)
      if (&other != &place)
        CHECK(std::hypot(place.east_m - other.east_m, place.north_m - other.north_m) >= 8);
  }
  const auto here = place_at(*map, {8, 4}, kept[0].east_m, kept[0].north_m);
  REQUIRE(here.has_value());
  CHECK_NEAR(here->mean_h, kept[0].mean_h, 1e-9);
  CHECK_FALSE(place_at(*map, {8, 4}, 24, 24).has_value());
  const Eigen::Vector2d tiny[] = {{0, 0}, {2, 0}, {2, 2}};
  CHECK(best_places(*map, {8, 4}, tiny).empty());
  CHECK_FALSE(hours_map(plot, {0, 0, 1, 0, 5}, sun).has_value());
  CHECK_FALSE(hours_map(plot, {0, 0, 1, 5000, 5000}, sun).has_value());
}

TEST_CASE("[property] the verdict traces every line to its evidence and hides no gap") {
  CandidateSpot known;
  known.name = "A";
  known.winter_sun_h_day = {4.6, "station A, 34 sightings"};
  known.winter_sun_sigma_h_day = 0.1;
  known.cold_air = {ColdAir::likely, "checklist of 12 March"};
  known.storm_shelter = {Shelter::open, "station A"};
  PercolationResult test;
  test.steady = test.planting_sure = true;
  test.fall_mm_h = 40;
  known.percolation = {test, "percolation test 1"};
  known.access_m = {20.0, "paced"};
  CandidateSpot bare;
  bare.name = "B";
  const auto all = verdicts({known, bare});
  REQUIRE(all.has_value());
  for (const VerdictLine& line : (*all)[0].lines) {
    CHECK((line.stance == Stance::unknown) == line.evidence.empty());
    CHECK_FALSE(line.about.empty());
  }
  CHECK((*all)[0].lines[0].criterion == Criterion::light);
  CHECK((*all)[0].lines[0].stance == Stance::speaks_for);
  CHECK((*all)[0].count(Stance::against) == 2);
  CHECK((*all)[1].count(Stance::unknown) == kCriterionCount);
  // Within its own error of the limit it speaks neither way.
  known.winter_sun_sigma_h_day = 0.5;
  CHECK((*verdicts({known}))[0].lines[0].stance == Stance::unsure);
  // Weights order the lines, whatever they are.
  Weights weights = kDefaultWeights;
  weights[static_cast<size_t>(Criterion::access)] = 9;
  CHECK((*verdicts({known}, weights))[0].lines[0].criterion == Criterion::access);
  weights[0] = -1;
  CHECK_FALSE(verdicts({known}, weights).has_value());
}
