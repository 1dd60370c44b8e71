#include "horizon/plot/in_years.h"

#include <doctest/doctest.h>

#include <cmath>

#include "horizon/plot/hours_map.h"
#include "horizon/skyline/mask.h"
#include "tests/near.h"

using namespace horizon;

namespace {

constexpr double kRidge_deg = 2;

// A plain with a low ridge far off all round; one station on level ground.
PlacedPlot plain() {
  PlotSurvey survey;
  PlotStation station;
  station.name = "A";
  station.eye = {0, 0, 1.6};
  station.eye_height_m = 1.6;
  survey.stations = {station};
  survey.obstacles = {{{Kind::ridge, "ridge"}, {}}};
  for (int i = 0; i < 36; ++i) {
    survey.marks.push_back({0, "ridge", 5000.0, 50.0});
    PlotAim aim;
    aim.mark = i;
    aim.azimuth = TrueAzimuth::degrees(i * 10);
    aim.elevation = Elevation::degrees(kRidge_deg);
    survey.aims.push_back(aim);
  }
  return *place_marks(survey);
}

const SunSamples& winter() {
  static const SunSamples sun(SunPath::of_year({46.6213, 10.3478, 1482}, 2027, 1),
                              1U << 10 | 1U << 11 | 1U << 0 | 1U << 1);
  return sun;
}

// A long box square to the south: its near upper edge, `up` above the eye and `away` from it, rises
// to atan(up cos(a) / away) at the angle a from south, as far as its near corners.
double hidden_h(double up_m, double away_m, double half_m) {
  double hours = 0;
  for (const auto& sample : winter().samples()) {
    const double off = std::abs((sample.bin + 0.5) / SunSamples::kBinsPerDegree - 180) * kDegree;
    if (off > std::atan2(half_m, away_m)) continue;
    const double edge = std::atan(up_m * std::cos(off) / away_m) / kDegree;
    if (sample.elevation_deg > kRidge_deg && sample.elevation_deg < edge)
      hours += SunSamples::kStep_s / 3600;
  }
  return hours;
}

ToBuild wing() {
  ToBuild one;
  one.name = "wing";
  one.north_m = -20;
  one.long_side = TrueAzimuth::degrees(90);
  one.length_m = 30;
  one.width_m = 6;
  one.height_m = 8;
  one.in_years = 8;
  return one;
}

}  // namespace

TEST_CASE(
    "[property] what will be built hides the sun as plane geometry has it, from its year on") {
  const PlacedPlot now = plain();
  const ToBuild built[] = {wing()};
  const Enu eye(0, 0, 1.6);
  const double open_h = spot_hours(now, eye, winter()).direct_h;
  CHECK_NEAR(spot_hours(in_years(now, 7, {}, {}, built), eye, winter()).direct_h, open_h, 1e-9);
  const PlacedPlot later = in_years(now, 10, {}, {}, built);
  const double lost_h = hidden_h(8 - 1.6, 17, 15);
  CHECK(lost_h > 50);
  CHECK(std::abs(open_h - spot_hours(later, eye, winter()).direct_h - lost_h) < 0.01 * lost_h + 1);
  // The skyline there: the near edge at and beside the middle; past its corners the ridge.
  const Mask line(predicted_skyline(later, eye));
  for (const double off : {0.0, 20.0, -35.0})
    CHECK_NEAR(line.elevation_deg(180 + off),
               std::atan(6.4 * std::cos(off * kDegree) / 17) / kDegree, 0.1);
  CHECK_NEAR(line.elevation_deg(230), kRidge_deg, 0.1);
  CHECK(later.survey.obstacles.back().what.label == "wing");
}

TEST_CASE("[property] the map in some years holds what will be built, and its floor is taken") {
  const PlacedPlot now = plain();
  const ToBuild built[] = {wing()};
  const PlacedPlot later = in_years(now, 10, {}, {}, built);
  const MapGrid grid{0, -20, 10, 1, 3, 1};  // in it, 7 m before it, 17 m before it
  const auto then = hours_map(later, grid, winter()), before = hours_map(now, grid, winter());
  REQUIRE(then);
  REQUIRE(before);
  CHECK(then->at(0, 0).occupied);
  CHECK_FALSE(before->at(0, 0).occupied);
  for (const auto& [row, away] : {std::pair(1, 7.0), {2, 17.0}}) {
    const double lost = hidden_h(8 - 1, away, 15);
    CHECK(std::abs(before->at(0, row).direct_h - then->at(0, row).direct_h - lost) <
          0.03 * lost + 2);
  }
}
