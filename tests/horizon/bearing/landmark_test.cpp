#include "horizon/bearing/landmark.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "tests/near.h"
#include "tests/said.h"

using namespace horizon;

// Independent ECEF to ENU arithmetic on WGS 84, with k d / 2R for refraction.
TEST_CASE("[published] bearing and expected elevation of known summits") {
  const auto north = landmark_bearing({{47.27, 11.39, 574}}, {"summit", {47.31, 11.38, 2334}});
  REQUIRE(north.has_value());
  CHECK_NEAR(north->known.degrees(), 350.35018, 6e-6);
  CHECK_NEAR(north->expected->degrees(), 21.29181, 1.1e-5);
  CHECK_NEAR(north->distance_m, 4510.935, 6e-4);
  const auto south = landmark_bearing({{-41.13, -71.31, 770}}, {"summit", {-41.16, -71.89, 3491}});
  CHECK_NEAR(south->known.degrees(), 265.89486, 6e-6);
  CHECK_NEAR(south->expected->degrees(), 2.99963, 1.1e-5);
}

// Worked figures of the reference: 10 m at 4511 m is 0.127 degree; rise 1760 m over 4510.9 m with
// 20 m in height and 30 m in distance is 0.2555 degree.
TEST_CASE("[published] position and height errors become angles") {
  Landmark landmark{"summit", {47.31, 11.38, 2334}};
  landmark.position_sigma_m = 10;
  Eye eye{{47.27, 11.39, 574}, 0, 0};
  CHECK_NEAR(landmark_bearing(eye, landmark)->known_sigma_deg, 0.127, 5e-4);
  landmark.position_sigma_m = 30;
  landmark.height_sigma_m = 20;
  CHECK_NEAR(landmark_bearing(eye, landmark)->expected_sigma_deg, 0.2555, 2e-3);
}

// 10 m are 2 degrees at 286.4 m. Air that bends light by a twentieth more or less of the earth's
// curve lifts what stands 40 km away by 0.05 d / 2R = 0.0090 degree (R = 6371 km).
TEST_CASE(
    "[published] a landmark is refused nearer than two degrees, the air's doubt grows with distance") {
  const Eye eye{{46.62, 10.35, 1480}, 0, 0};
  const auto at = [&](double distance_m, double position_sigma_m) {
    Landmark landmark{"summit", destination(eye.place, TrueAzimuth::degrees(90), distance_m)};
    landmark.place.height_m = 1480;
    landmark.position_sigma_m = position_sigma_m;
    landmark.height_sigma_m = 0;
    return landmark_bearing(eye, landmark);
  };
  const auto near = at(280, 10);
  REQUIRE_FALSE(near);
  CHECK(said(near.error()).find("error.landmark_too_near 286") != std::string::npos);
  REQUIRE(at(293, 10));
  CHECK_NEAR(at(40000, 0)->expected_sigma_deg, 0.0090, 1e-4);
}

TEST_CASE("[property] the elevation tells a wrong landmark from the right one") {
  const Eye eye{{46.6213, 10.3478, 1483.6}};
  const Landmark meant{"high", {46.70, 10.40, 3200}}, other{"lower", {46.70, 10.41, 2600}};
  const auto bearing = landmark_bearing(eye, meant);
  const auto seen = landmark_bearing(eye, other);
  CHECK(landmark_verdict(*bearing, bearing->expected).fit == LandmarkFit::fits);
  const LandmarkVerdict wrong = landmark_verdict(*bearing, seen->expected);
  CHECK(wrong.fit == LandmarkFit::wrong);
  CHECK(wrong.off_deg < -3);
  CHECK(landmark_verdict(*bearing, std::nullopt).fit == LandmarkFit::unknown);
  Landmark flat = meant;
  flat.height_known = false;
  CHECK(landmark_verdict(*landmark_bearing(eye, flat), Elevation::degrees(3)).fit ==
        LandmarkFit::unknown);
}

// Of a normal variate 4.6 % lie beyond 2 sigma, 0.1 % beyond 3.3.
TEST_CASE("[published] an aim two sigmas off is doubtful, 3.3 off is wrong") {
  LandmarkBearing bearing;
  bearing.expected = Elevation::degrees(10);
  bearing.expected_sigma_deg = 0.3;
  const auto fit = [&](double sigmas) {
    return landmark_verdict(bearing, Elevation::degrees(10 - 0.5 * sigmas), 0.4).fit;
  };
  CHECK(fit(1.95) == LandmarkFit::fits);
  CHECK(fit(2.05) == LandmarkFit::doubtful);
  CHECK(fit(3.25) == LandmarkFit::doubtful);
  CHECK(fit(3.35) == LandmarkFit::wrong);
}

TEST_CASE("[property] simulated aims: the right landmark is called wrong once in a thousand") {
  std::mt19937 random(23);
  std::normal_distribution<double> normal(0, 1);
  const Eye eye{{46.6213, 10.3478, 1483.6}};
  const Landmark landmark{"summit", {46.66, 10.40, 2900}};
  const auto believed = landmark_bearing(eye, landmark);
  int doubted = 0, wrong = 0, covered = 0;
  const int kRuns = 5000;
  for (int i = 0; i < kRuns; ++i) {
    const auto moved = [&](Place place, double across_m, double up_m) {
      place = destination(place, TrueAzimuth::degrees(0), across_m * normal(random));
      place = destination(place, TrueAzimuth::degrees(90), across_m * normal(random));
      place.height_m += up_m * normal(random);
      return place;
    };
    const Sight real =
        sight(moved(eye.place, eye.position_sigma_m, eye.height_sigma_m),
              moved(landmark.place, landmark.position_sigma_m, landmark.height_sigma_m),
              0.13 + 0.05 * normal(random));
    const auto fit =
        landmark_verdict(*believed,
                         Elevation::degrees(real.apparent.degrees() + 0.3 * normal(random)), 0.3)
            .fit;
    doubted += fit != LandmarkFit::fits;
    wrong += fit == LandmarkFit::wrong;
    const HeadingCheck check =
        landmark_check(*believed, "summit", real.azimuth.turned_by(5 + 0.5 * normal(random)), 0.5);
    const HeadingCorrection c = heading_correction(std::span(&check, 1));
    covered += std::abs(c.offset_deg + 5) < 1.6449 * c.sigma_deg;
  }
  CHECK_NEAR(static_cast<double>(doubted) / kRuns, 0.0455, 0.012);  // beyond 2 sigmas
  CHECK(wrong < 0.003 * kRuns);
  CHECK_NEAR(static_cast<double>(covered) / kRuns, 0.90, 0.03);
}

TEST_CASE("[property] over the date line and in the south; too near and no place are refused") {
  const auto bearing = landmark_bearing({{-17.5, 179.99, 10}}, {"islet", {-17.5, -179.99, 200}});
  REQUIRE(bearing.has_value());
  CHECK_NEAR(bearing->known.degrees(), 90, 0.01);
  CHECK(bearing->distance_m < 3000);
  const auto near =
      landmark_bearing({{46.6213, 10.3478, 1482}}, {"fence", {46.6214, 10.3478, 1482}});
  REQUIRE_FALSE(near.has_value());
  CHECK(said(near.error()).find("error.landmark_too_near ") != std::string::npos);
  CHECK(near.error().where == "fence");
  CHECK_FALSE(landmark_bearing({{NAN, 0, 0}}, {"x", {46, 10, 0}}).has_value());
  CHECK_FALSE(landmark_bearing({{46, 10, 0}}, {"x", {46, 10, 0}}).has_value());
}

TEST_CASE("[property] an aim from a second station gives the bearing back, meridians and all") {
  const Place here{69.65, 18.96, 0}, there{69.70, 19.50, 0};
  const Geodesic line = geodesic(there, here);
  const HeadingCheck check =
      back_bearing_check(there, line.azimuth, 0.2, here, TrueAzimuth::degrees(80), 0.5);
  CHECK_NEAR(check.known.degrees(), 74.83212175, 1e-8);  // GeodSolve 2.1.2
  CHECK(check.kind == CheckKind::back_bearing);
}
