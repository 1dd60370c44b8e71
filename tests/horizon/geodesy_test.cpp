#include "horizon/geodesy.h"

#include <doctest/doctest.h>

#include <cmath>

#include "tests/csv_rows.h"
#include "tests/near.h"

using namespace horizon;

// GeographicLib tests/geodtest.cpp (20 rows) and short lines on which GeographicLib's GeodSolve
// 2.1.2 and PROJ's geod 9.1.1 agree.
TEST_CASE("[published] geodesics to 1 mm and 1e-9 degree, both ways and direct") {
  for (const CsvRow& row : csv_rows("geodesic_test.csv")) {
    const Place from{row["lat1"], row["lon1"], 0}, to{row["lat2"], row["lon2"], 0};
    const Geodesic line = geodesic(from, to);
    CHECK_NEAR(line.distance_m, row["s12_m"], 1e-3);
    CHECK_NEAR(wrap_180(line.azimuth.degrees() - row["azi1"]), 0, 1e-9);
    CHECK_NEAR(wrap_180(line.onward.degrees() - row["azi2"]), 0, 1e-9);
    const Geodesic back = geodesic(to, from);
    CHECK_NEAR(back.distance_m, line.distance_m, 1e-6);
    CHECK_NEAR(clockwise_deg(line.back(), back.azimuth), 0, 1e-9);
    // The printed azimuths of the short lines end at 1e-11 degree, their lengths at 1e-6 m.
    const Place there = destination(from, TrueAzimuth::degrees(row["azi1"]), row["s12_m"]);
    CHECK_NEAR(there.latitude_deg, row["lat2"], 1e-9);
    CHECK_NEAR(wrap_180(there.longitude_deg - row["lon2"]), 0, 1e-9);
  }
}

// GeographicLib tests/CMakeLists.txt: GeodSolve0 and GeodSolve1.
TEST_CASE("[published] across the ocean, as GeographicLib prints it") {
  const Geodesic line = geodesic({40.6, -73.8, 0}, {49 + 1 / 60.0, 2.55, 0});
  CHECK_NEAR(line.azimuth.degrees(), 53.47022, 5.1e-6);
  CHECK_NEAR(line.onward.degrees(), 111.59367, 5.1e-6);
  CHECK_NEAR(line.distance_m, 5853226, 0.51);
  const Place there =
      destination({40 + 38 / 60.0 + 23 / 3600.0, -(73 + 46 / 60.0 + 44 / 3600.0), 0},
                  TrueAzimuth::degrees(53.5), 5850e3);
  CHECK_NEAR(there.latitude_deg, 49.01467, 5.1e-6);
  CHECK_NEAR(there.longitude_deg, 2.56106, 5.1e-6);
}

// Made with independent ECEF to ENU arithmetic on WGS 84; the last column adds k d / 2R.
TEST_CASE("[published] elevation of distant peaks, with curvature and refraction") {
  struct Row {
    Place eye, peak;
    double azimuth, distance_m, geometric, apparent;
  };
  const Row rows[] = {
      {{46.5, 7.9, 1000}, {46.60, 8.05, 4000}, 45.92731, 15997.123, 10.54561, 10.55497},
      {{34.15, 77.58, 3500}, {34.00, 77.40, 6000}, 225.00923, 23513.555, 5.95874, 5.97249},
      {{39.7392, -104.9903, 1609},
       {40.2549, -105.6160, 4346},
       317.18095,
       78318.627,
       1.64851,
       1.69429},
      {{27.7, 85.3, 1400}, {28.2086, 85.5, 7227}, 19.20142, 59699.615, 5.30171, 5.33661},
      {{-41.13, -71.31, 770}, {-41.16, -71.89, 3491}, 265.89486, 48805.069, 2.97110, 2.99963},
      {{47.27, 11.39, 574}, {47.31, 11.38, 2334}, 350.35018, 4510.935, 21.28918, 21.29181}};
  for (const Row& r : rows) {
    const Sight s = sight(r.eye, r.peak);
    CHECK_NEAR(s.azimuth.degrees(), r.azimuth, 5.1e-6);
    CHECK_NEAR(s.distance_m, r.distance_m, 6e-4);
    CHECK_NEAR(s.geometric.degrees(), r.geometric, 5.1e-6);
    CHECK_NEAR(s.apparent.degrees(), r.apparent, 1.1e-5);
  }
}

// The usual formula of levelling: drop = (1 - k) d^2 / 2R, figures for k = 0.13 and R = 6371 km.
TEST_CASE("[published] curvature and refraction together hide what levelling tables say") {
  const double tables[][2] = {{1e3, 0.068}, {5e3, 1.707}, {10e3, 6.828}, {20e3, 27.311}};
  for (const auto& [distance_m, drop_m] : tables) {
    // On the sphere of the tables: a sight along the equator differs by its radius only.
    const Place eye{0, 0, 0};
    Place target = destination(eye, TrueAzimuth::degrees(90), distance_m);
    target.height_m = drop_m * kEarthRadius_m / 6378137.0;
    CHECK_NEAR(sight(eye, target).apparent.degrees(), 0,
               0.0006 / distance_m / kDegree + 0.0002 * drop_m / distance_m / kDegree + 2e-5);
  }
  CHECK_NEAR(refraction_lift_deg(20e3), 0.13 * 20e3 / 2 / 6371e3 / kDegree, 1e-12);
}

// acos(R / (R + h)), figures for 2, 10, 100 and 1000 m.
TEST_CASE("[published] dip of the sea horizon") {
  CHECK_NEAR(dip_of_horizon_deg(2), 0.0454, 5.1e-5);
  CHECK_NEAR(dip_of_horizon_deg(10), 0.1015, 5.1e-5);
  CHECK_NEAR(dip_of_horizon_deg(100), 0.3210, 5.1e-5);
  CHECK_NEAR(dip_of_horizon_deg(1000), 1.0151, 5.1e-5);
  CHECK(dip_of_horizon_deg(0) == 0);
  CHECK(dip_of_horizon_deg(100, 0.13) < dip_of_horizon_deg(100));
}

TEST_CASE("[property] poles, date line, straight up and the same place") {
  CHECK_NEAR(geodesic({0, 179.5, 0}, {0, -179.5, 0}).azimuth.degrees(), 90, 1e-12);
  CHECK_NEAR(geodesic({-43, -179.9, 0}, {-43, 179.9, 0}).distance_m,
             geodesic({-43, 0.1, 0}, {-43, -0.1, 0}).distance_m, 1e-6);
  CHECK_NEAR(geodesic({89.99, 0, 0}, {89.99, 180, 0}).azimuth.degrees(), 0, 1e-9);
  const Geodesic none = geodesic({46.6, 10.3, 0}, {46.6, 10.3, 0});
  CHECK(none.distance_m == 0);
  CHECK(none.azimuth.degrees() == 0);
  CHECK_NEAR(sight({46.6, 10.3, 1500}, {46.6, 10.3, 1600}).geometric.degrees(), 90, 1e-6);
  CHECK_NEAR(sight({46.6, 10.3, 1500}, {46.6, 10.3, 1600}).slant_m, 100, 1e-6);
}
