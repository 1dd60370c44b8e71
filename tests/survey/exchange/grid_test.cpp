#include "survey/exchange/grid.h"

#include <doctest/doctest.h>

#include <cmath>

#include "horizon/angle.h"
#include "horizon/geodesy.h"
#include "tests/near.h"

using namespace survey;

// Rows on which GeographicLib 2.1.2 and PROJ 9.1.1 agree to 1 mm, 1e-9 degree and 1e-10.
TEST_CASE("[published] UTM, convergence and scale, with the wide Norwegian zone") {
  struct Row {
    double lat, lon;
    int zone;
    bool north;
    double easting_m, northing_m, convergence_deg, scale;
  };
  for (const Row& r :
       {Row{33.3, 44.4, 38, true, 444140.545, 3684706.356, -0.3294222220, 0.999638469346},
        Row{46.5, 7.9, 32, true, 415595.187, 5150191.116, -0.7979587068, 0.999687568638},
        Row{47.27, 11.39, 32, true, 680779.665, 5237939.347, 1.7560702517, 1.000001657696},
        Row{39.742476, -105.1786, 13, true, 484697.638, 4399190.458, -0.1141859940, 0.999602882772},
        Row{34.15, 77.58, 43, true, 737867.761, 3781795.488, 1.4489924352, 1.000297523614},
        Row{-16.5, -68.15, 19, false, 590716.042, 8175564.991, -0.2414296301, 0.999701760598},
        Row{-41.13, -71.31, 19, false, 306100.500, 5444239.746, 1.5199206078, 1.000062741869},
        Row{60.0, 5.0, 32, true, 276979.926, 6658157.202, -3.4655153412, 1.000209576447},
        Row{0, 3, 31, true, 500000, 0, 0, 0.9996},
        Row{0, 0, 31, true, 166021.443, 0, 0, 1.000981061508},
        Row{69.65, 18.96, 34, true, 420838.901, 7728164.293, -1.9127730355, 0.999676661093},
        Row{-43.5, 172.6, 59, false, 629351.834, 5182415.220, -1.1015195775, 0.999805812986},
        Row{27.7, 85.3, 45, true, 332377.023, 3065126.718, -0.7904161990, 0.999946822857},
        Row{36.2, 138.0, 54, true, 230263.911, 4010304.627, -1.7728858734, 1.000496567643}}) {
    const auto utm = utm_of({r.lat, r.lon, 0});
    REQUIRE(utm.has_value());
    CHECK(utm->zone == r.zone);
    CHECK(utm->north == r.north);
    CHECK_NEAR(utm->easting_m, r.easting_m, 6e-4);
    CHECK_NEAR(utm->northing_m, r.northing_m, 6e-4);
    CHECK_NEAR(utm->convergence_deg, r.convergence_deg, 1e-9);
    CHECK_NEAR(utm->scale, r.scale, 1e-10);
    const auto back = place_of(*utm);
    REQUIRE(back.has_value());
    CHECK_NEAR(back->latitude_deg, r.lat, 1e-9);
    CHECK_NEAR(back->longitude_deg, r.lon, 1e-9);
  }
}

// NGA.STND.0037: zone 32 is widened over south-west Norway; Svalbard has 31, 33, 35 and 37 only.
TEST_CASE("[published] the irregular zones, and the regular ones on request") {
  CHECK(utm_zone_of({60, 5, 0}) == 32);
  CHECK(utm_zone_of({60, 5, 0}, true) == 31);
  CHECK(utm_zone_of({55.9, 5, 0}) == 31);
  CHECK(utm_zone_of({64, 5, 0}) == 31);
  CHECK(utm_zone_of({78, 8.9, 0}) == 31);
  CHECK(utm_zone_of({78, 9, 0}) == 33);
  CHECK(utm_zone_of({78, 21, 0}) == 35);
  CHECK(utm_zone_of({78, 33, 0}) == 37);
  CHECK(utm_zone_of({78, 42, 0}) == 38);
  CHECK(utm_zone_of({0, 180, 0}) == 1);
  CHECK(utm_zone_of({0, -180, 0}) == 1);
  CHECK(utm_zone_of({0, 179.99, 0}) == 60);
  CHECK_FALSE(utm_of({84.1, 0, 0}).has_value());
  CHECK_FALSE(utm_of({-80.1, 0, 0}).has_value());
  CHECK_FALSE(utm_of({NAN, 0, 0}).has_value());
  CHECK_FALSE(utm_of({46, 10, 0}, 61).has_value());
  CHECK_FALSE(utm_of({46, 10, 0}, 50).has_value());
  CHECK(utm_of({46, 10, 0}, 33).value().easting_m < 200000);
}

// swisstopo's formulas and their worked figures: the old observatory of Bern is the origin of LV95,
// E 2600000, N 1200000, at 46 57 08.66 N, 7 26 22.50 E (CH1903+).
TEST_CASE("[published] a national grid by its code") {
  const auto grid = Grid::open("EPSG:2056");
  REQUIRE(grid.has_value());
  const auto bern = grid->place_of(2600000, 1200000);
  REQUIRE(bern.has_value());
  CHECK_NEAR(bern->latitude_deg, 46.951083, 2e-5);
  CHECK_NEAR(bern->longitude_deg, 7.438637, 2e-5);
  const auto point = grid->at(*bern);
  REQUIRE(point.has_value());
  CHECK_NEAR(point->easting, 2600000, 2e-3);
  CHECK_NEAR(point->northing, 1200000, 2e-3);
  CHECK_NEAR(point->convergence_deg, 0, 1e-3);
  CHECK_NEAR(point->scale, 1, 1e-4);
}

TEST_CASE("[property] UTM by its EPSG code gives the same convergence as by its formula") {
  for (const char* code : {"EPSG:32632", "EPSG:25832"}) {
    const auto grid = Grid::open(code);
    REQUIRE(grid.has_value());
    const horizon::Place place{46.6213, 10.3478, 1482};
    const auto point = grid->at(place);
    const auto utm = utm_of(place);
    REQUIRE(point.has_value());
    CHECK_NEAR(point->easting, utm->easting_m, 1e-3);
    CHECK_NEAR(point->convergence_deg, utm->convergence_deg, 2e-6);
    CHECK_NEAR(point->scale, utm->scale, 1e-7);
  }
}

// The axes of the German Gauss-Krueger grid come as northing, easting in the EPSG data set.
TEST_CASE("[property] grid north of systems with northing first, and in feet") {
  for (const char* code : {"EPSG:31467", "EPSG:27700", "EPSG:2193", "EPSG:2229"}) {
    const auto grid = Grid::open(code);
    REQUIRE(grid.has_value());
    const horizon::Place place =
        std::string(code) == "EPSG:2193"    ? horizon::Place{-43.5, 172.6, 0}
        : std::string(code) == "EPSG:2229"  ? horizon::Place{34.2, -118.3, 0}
        : std::string(code) == "EPSG:27700" ? horizon::Place{57.1, -4.7, 0}
                                            : horizon::Place{47.5, 10.3, 0};
    const auto at = grid->at(place);
    REQUIRE(at.has_value());
    const auto north = grid->place_of(at->easting, at->northing + 1000);
    REQUIRE(north.has_value());
    CHECK_NEAR(horizon::wrap_180(horizon::geodesic(place, *north).azimuth.degrees()),
               at->convergence_deg, 1e-3);
    CHECK_NEAR(at->scale, 1, 5e-4);
  }
}

TEST_CASE("[property] what is no grid is refused by name") {
  for (const char* code : {"EPSG:4326", "EPSG:999999", "nonsense", "", "EPSG:2053"}) {
    const auto grid = Grid::open(code);
    REQUIRE_FALSE(grid.has_value());
    CHECK_FALSE(grid.error().empty());
  }
  CHECK_FALSE(Grid::open("EPSG:32632")->at({NAN, 3, 0}).has_value());
  CHECK_FALSE(Grid::open("EPSG:32632")->place_of(NAN, 3).has_value());
}
