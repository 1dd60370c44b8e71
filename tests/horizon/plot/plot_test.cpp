#include "horizon/plot/plot.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "horizon/plot/intersection.h"
#include "horizon/plot/predicted_skyline.h"
#include "horizon/skyline/mask.h"
#include "tests/near.h"

using namespace horizon;

namespace {

PlotAim exact_aim(const PlotSurvey& survey, int station, int mark, const Enu& target) {
  const Enu v = target - survey.stations[static_cast<size_t>(station)].eye;
  PlotAim aim;
  aim.station = station;
  aim.mark = mark;
  aim.azimuth = TrueAzimuth::degrees(std::atan2(v.x(), v.y()) / kDegree);
  aim.elevation = Elevation::degrees(std::atan2(v.z(), std::hypot(v.x(), v.y())) / kDegree);
  return aim;
}

PlotStation station(const Enu& eye) {
  PlotStation one;
  one.eye = eye;
  return one;
}

}  // namespace

TEST_CASE("[property] metres of the plot and places on the Earth") {
  const Place origin{46.6213, 10.3478, 1482};
  const Enu point(40, -25, 3);
  const Enu back = to_enu(origin, to_place(origin, point));
  CHECK_NEAR((back - point).norm(), 0, 1e-6);
  // A second of latitude is 30.88 m at 46.6 degrees: meridian radius 6 369 100 m.
  const Enu north = to_enu(origin, {46.6213 + 1.0 / 3600, 10.3478, 1482});
  CHECK_NEAR(north.y(), 30.88, 0.01);
  CHECK_NEAR(north.x(), 0, 1e-6);
}

TEST_CASE("[property] the ground's plane through the stations") {
  const auto up = [](double e, double n) { return 2 + 0.1 * e - 0.05 * n; };
  std::vector<PlotStation> stations;
  for (const auto& [e, n] : {std::pair(0.0, 0.0), {30.0, 5.0}, {10.0, 40.0}, {-15.0, 20.0}})
    stations.push_back(station({e, n, up(e, n) + 1.6}));
  for (PlotStation& one : stations) one.up_sigma_m = 1e-6;
  const GroundPlane plane = ground_plane(stations);
  CHECK_NEAR(plane.up_at(12, -7), up(12, -7), 1e-6);
  // Heights by satellite alone, good to 4 m, make no hillside.
  for (PlotStation& one : stations) one.up_sigma_m = 4;
  CHECK(std::hypot(ground_plane(stations).rise_east, ground_plane(stations).rise_north) < 0.06);
  stations.resize(2);
  CHECK_NEAR(ground_plane(stations).rise_east, 0, 0);
  CHECK_NEAR(ground_plane({}).up_m, 0, 0);
}

// Two lines of sight that cross at right angles at the same distance: the ellipse is a circle of
// distance times bearing error.
TEST_CASE("[property] intersection: exact aims give the point, and the ellipse of a right angle") {
  PlotSurvey survey;
  survey.stations = {station({-100, 0, 1.6}), station({0, -100, 1.6})};
  for (PlotStation& one : survey.stations) {
    one.horizontal_sigma_m = one.up_sigma_m = 1e-4;
    one.heading_sigma_deg = 1e-6;
  }
  survey.obstacles = {{{Kind::evergreen, "spruce"}, 2.0}};
  survey.marks = {{0, "top"}};
  const Enu top(0, 0, 1.6);  // at the eyes' height elevations say nothing of the distance
  survey.aims = {exact_aim(survey, 0, 0, top), exact_aim(survey, 1, 0, top)};
  const auto plot = place_marks(survey);
  REQUIRE(plot.has_value());
  const PlacedMark& mark = plot->marks[0];
  CHECK(mark.placing == Placing::placed);
  CHECK_NEAR((mark.position - top).norm(), 0, 1e-4);
  CHECK_NEAR(mark.ellipse.major_m, 100 * 0.5 * kDegree, 0.01);
  CHECK_NEAR(mark.ellipse.minor_m, 100 * 0.5 * kDegree, 0.01);
  CHECK_NEAR(mark.cut_deg, 90, 1e-9);
  CHECK_NEAR(height_of(*plot, 0).height_m, 1.6, 1e-3);
  // Two elevations of 0.3 degree at 100 m: 0.524 m each, and the mean of two.
  CHECK_NEAR(mark.up_sigma_m, 100 * 0.3 * kDegree / std::sqrt(2.0), 0.01);
  CHECK(mark.worst_residual < 1e-3);
}

TEST_CASE("[property] a small cut stretches the ellipse along the sight") {
  PlotSurvey survey;
  survey.stations = {station({-5, 0, 1.6}), station({5, 0, 1.6})};
  survey.obstacles = {{{Kind::building, "barn"}}};
  survey.marks = {{0, "gable"}};
  const Enu gable(0, 300, 9);
  survey.aims = {exact_aim(survey, 0, 0, gable), exact_aim(survey, 1, 0, gable)};
  const auto plot = place_marks(survey);
  REQUIRE(plot.has_value());
  const ErrorEllipse& ellipse = plot->marks[0].ellipse;
  CHECK(ellipse.major_m > 8 * ellipse.minor_m);
  CHECK(std::min(ellipse.major_azimuth.degrees(), 180 - ellipse.major_azimuth.degrees()) < 5);
  CHECK(plot->marks[0].placing != Placing::placed);
}

TEST_CASE("[property] aims that cannot be are refused by number; a slip shows as a residual") {
  PlotSurvey survey;
  survey.stations = {station({-50, 0, 1.6}), station({50, 0, 1.6}), station({0, -40, 1.6})};
  survey.obstacles = {{{Kind::building, "barn"}}};
  survey.marks = {{0, "gable"}};
  const Enu gable(0, 60, 9);
  for (int s = 0; s < 3; ++s) survey.aims.push_back(exact_aim(survey, s, 0, gable));
  CHECK(place_marks(survey)->marks[0].worst_residual < 0.1);
  PlotSurvey slip = survey;
  slip.aims[1].azimuth = slip.aims[1].azimuth.turned_by(12);
  CHECK(place_marks(slip)->marks[0].worst_residual > 3.3);
  PlotSurvey bad = survey;
  bad.aims[1].station = 7;
  CHECK(place_marks(bad).error().where == "aim 2");
  bad = survey;
  bad.aims[2].elevation = Elevation::degrees(std::nan(""));
  CHECK(place_marks(bad).error().where == "aim 3");
  bad = survey;
  bad.marks.push_back({0, "never aimed at"});
  CHECK(place_marks(bad).error().where == "mark 2");
  bad = survey;
  bad.stations[0].heading_sigma_deg = 0;
  CHECK(place_marks(bad).error().where == "station 1");
  CHECK(place_marks({}).has_value());
}

TEST_CASE("[property] one station keeps the direction, and says that the distance is not known") {
  PlotSurvey survey;
  survey.stations = {station({0, 0, 1.6})};
  survey.obstacles = {{{Kind::building, "barn"}}, {{Kind::ridge, "far"}}};
  survey.marks = {{0, "gable"}, {1, "summit"}};
  survey.aims = {exact_aim(survey, 0, 0, {0, 60, 9}), exact_aim(survey, 0, 1, {3000, 0, 900})};
  const auto plot = place_marks(survey);
  REQUIRE(plot.has_value());
  CHECK(plot->marks[0].placing == Placing::direction);
  // At the station itself the outline is what was aimed at.
  const auto there = predicted_elevation(*plot, {0, 0, 1.6}, TrueAzimuth::degrees(90));
  CHECK_NEAR(there.elevation_deg, survey.aims[1].elevation.degrees(), 1e-6);
  // Ten metres aside a summit of unknown distance moves little, a barn may move much.
  const auto ridge = predicted_elevation(*plot, {0, 10, 1.6}, TrueAzimuth::degrees(90));
  CHECK_NEAR(ridge.elevation_deg, there.elevation_deg, 1.0);
  const Skyline moved = predicted_skyline(*plot, {10, 0, 1.6});
  bool found = false;
  for (const SkylinePoint& point : moved.points)
    if (point.source == 0) {
      CHECK(point.azimuth_sigma_deg > 5);
      found = true;
    }
  CHECK(found);
}

TEST_CASE("[property] nearer, a tree is higher and wider; inside it, no sun") {
  PlotSurvey survey;
  survey.stations = {station({-40, 0, 1.6}), station({0, -40, 1.6})};
  survey.obstacles = {{{Kind::evergreen, "spruce"}, 3.0}};
  survey.marks = {{0, "top"}};
  const Enu top(0, 0, 16.6);
  survey.aims = {exact_aim(survey, 0, 0, top), exact_aim(survey, 1, 0, top)};
  const auto plot = place_marks(survey);
  REQUIRE(plot.has_value());
  const auto far = predicted_elevation(*plot, {0, -40, 1.6}, TrueAzimuth::degrees(0));
  CHECK_NEAR(far.elevation_deg, std::atan2(15, 40) / kDegree, 0.02);
  const auto near = predicted_elevation(*plot, {0, -15, 1.6}, TrueAzimuth::degrees(0));
  CHECK_NEAR(near.elevation_deg, 45, 0.1);
  CHECK(near.sigma_deg > far.sigma_deg);
  CHECK(predicted_elevation(*plot, {0, -15, 1.6}, TrueAzimuth::degrees(12.5)).obstacle == -1);
  CHECK(predicted_elevation(*plot, {0, -15, 1.6}, TrueAzimuth::degrees(11)).obstacle == 0);
  CHECK(SpotView(*plot, plot->rays, {1, 1, 1.6}).inside() == 0);
}

TEST_CASE("[property] the skyline made for the sun's year agrees with the prediction") {
  PlotSurvey survey;
  survey.stations = {station({-30, 0, 1.6}), station({30, 0, 1.6})};
  survey.obstacles = {
      {{Kind::ridge, "far"}}, {{Kind::building, "barn"}}, {{Kind::evergreen, "fir"}, 3.0}};
  std::vector<Enu> targets;
  for (int i = 0; i < 36; ++i) {
    survey.marks.push_back({0, "ridge", 2000.0, 200.0});
    const double az = i * 10 * kDegree;
    targets.emplace_back(2000 * std::sin(az), 2000 * std::cos(az), 500 + 100 * std::cos(3 * az));
  }
  for (const Enu& corner : {Enu(-15, 45, 9), Enu(15, 45, 9), Enu(18, 60, 14)}) {
    survey.marks.push_back({1, "roof"});
    targets.push_back(corner);
  }
  survey.marks.push_back({2, "top"});
  targets.emplace_back(-35, 40, 22);
  for (int m = 0; m < static_cast<int>(targets.size()); ++m)
    for (int s = 0; s < (m < 36 ? 1 : 2); ++s)
      survey.aims.push_back(exact_aim(survey, s, m, targets[static_cast<size_t>(m)]));
  const auto plot = place_marks(survey);
  REQUIRE(plot.has_value());
  const Enu spot(5, 12, 1.2);
  const Mask mask(predicted_skyline(*plot, spot));
  for (double az = 0.5; az < 360; az += 1)
    CHECK_NEAR(mask.elevation_deg(az),
               predicted_elevation(*plot, spot, TrueAzimuth::degrees(az)).elevation_deg, 0.75);
  CHECK(mask.open_stretches().empty());
}
