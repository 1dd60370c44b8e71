#include "horizon/photo/camera.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "tests/said.h"

using namespace horizon;

namespace {

Camera camera_of(double bearing, double tilt, double roll, double view) {
  Camera camera;
  camera.width_px = 4000;
  camera.height_px = 3000;
  camera.focal_px = focal_px_of_view(4000, view);
  camera.bearing = TrueAzimuth::degrees(bearing);
  camera.tilt = Elevation::degrees(tilt);
  camera.roll_deg = roll;
  return camera;
}

}  // namespace

// Elementary geometry of the pinhole: the middle pixel looks along the axis; a pixel one focal
// length to the side of a level camera looks 45 degrees to that side.
TEST_CASE("[published] the pinhole's plain cases") {
  const Camera level = camera_of(350, 0, 0, 90);
  CHECK(std::abs(level.focal_px - 2000) < 1e-9);
  CHECK(std::abs(direction_of(level, {2000, 1500}).azimuth.degrees() - 350) < 1e-9);
  CHECK(std::abs(direction_of(level, {4000, 1500}).azimuth.degrees() - 35) < 1e-9);
  CHECK(std::abs(direction_of(level, {0, 1500}).azimuth.degrees() - 305) < 1e-9);
  CHECK(std::abs(direction_of(level, {2000, 0}).elevation.degrees() - 36.86989764584402) < 1e-9);
  // Rolled a quarter turn clockwise: the picture's right side looks down.
  const Camera rolled = camera_of(100, 0, 90, 90);
  CHECK(std::abs(direction_of(rolled, {4000, 1500}).elevation.degrees() + 45) < 1e-9);
  // Tilted up by 30: the pixel 30 degrees under the middle is on the horizon, straight ahead.
  const Camera up = camera_of(100, 30, 0, 90);
  const Direction ahead = direction_of(up, {2000, 1500 + 2000 * std::tan(30 * kDegree)});
  CHECK(std::abs(ahead.azimuth.degrees() - 100) < 1e-9);
  CHECK(std::abs(ahead.elevation.degrees()) < 1e-9);
  CHECK(std::abs(focal_px_of_35mm(3600, 2400, 36) - 3600) < 0.1);  // 36 mm wide film
}

TEST_CASE("[property] pixel to direction and back, tilted, rolled and distorted") {
  std::mt19937 random(4);
  std::uniform_real_distribution<double> unit(0, 1);
  for (int i = 0; i < 500; ++i) {
    Camera camera = camera_of(360 * unit(random), -40 + 80 * unit(random),
                              -180 + 360 * unit(random), 30 + 60 * unit(random));
    camera.k1 = -0.08 + 0.16 * unit(random);
    const Pixel pixel{4000 * unit(random), 3000 * unit(random)};
    const auto back = pixel_of(camera, direction_of(camera, pixel));
    REQUIRE(back.has_value());
    CHECK(std::hypot(back->x - pixel.x, back->y - pixel.y) < 1e-6);
  }
  CHECK_FALSE(pixel_of(camera_of(0, 0, 0, 60), {TrueAzimuth::degrees(180), Elevation::degrees(0)}));
}

TEST_CASE("[property] two exact marks give bearing, tilt, roll and focal length") {
  const Camera truth = camera_of(5, 12, -3, 62);
  std::vector<PhotoMark> marks;
  for (const Pixel p : {Pixel{500, 1400}, Pixel{3600, 1100}})
    marks.push_back({p, direction_of(truth, p)});
  Camera start;
  start.width_px = 4000;
  start.height_px = 3000;
  const auto found = orientation_of(start, marks, false);
  REQUIRE(found.has_value());
  CHECK(std::abs(clockwise_deg(truth.bearing, found->camera.bearing)) < 1e-5);
  CHECK(std::abs(found->camera.tilt.degrees() - 12) < 1e-5);
  CHECK(std::abs(found->camera.roll_deg + 3) < 1e-5);
  CHECK(std::abs(found->camera.focal_px / truth.focal_px - 1) < 1e-6);
}

TEST_CASE(
    "[property] marks of 0.1 degree give the bearing to 0.1 degree and the focal length to half a "
    "percent") {
  std::mt19937 random(11);
  std::normal_distribution<double> noise(0, 0.1);
  std::uniform_real_distribution<double> unit(0, 1);
  double bearing_sum = 0, focal_sum = 0, normed = 0;
  const int kPhotos = 60;
  for (int photo = 0; photo < kPhotos; ++photo) {
    const Camera truth = camera_of(360 * unit(random), -5 + 25 * unit(random),
                                   -6 + 12 * unit(random), 45 + 35 * unit(random));
    std::vector<PhotoMark> marks;
    for (int i = 0; i < 8; ++i) {
      const Pixel p{250 + 500.0 * i, 900 + 1200 * unit(random)};
      const Direction d = direction_of(truth, p);
      marks.push_back({p,
                       {d.azimuth.turned_by(noise(random)),
                        Elevation::degrees(d.elevation.degrees() + noise(random))},
                       0.1,
                       0.1,
                       0.5});
    }
    Camera start;
    start.width_px = 4000;
    start.height_px = 3000;
    const auto found = orientation_of(start, marks, false);
    REQUIRE(found.has_value());
    const double off = clockwise_deg(truth.bearing, found->camera.bearing);
    bearing_sum += off * off;
    focal_sum += std::pow(found->camera.focal_px / truth.focal_px - 1, 2);
    normed += std::pow(off / found->bearing_sigma_deg(), 2);
  }
  CHECK(std::sqrt(bearing_sum / kPhotos) < 0.1);
  CHECK(std::sqrt(focal_sum / kPhotos) < 0.005);
  // The stated sigma is the true one: the mean of 60 squared normal variates is 1 +- 0.18.
  CHECK(normed / kPhotos > 0.5);
  CHECK(normed / kPhotos < 1.6);
}

TEST_CASE("[property] the distortion comes out too, and a wrong mark is named") {
  Camera truth = camera_of(200, 8, 1, 75);
  truth.k1 = -0.06;
  std::vector<PhotoMark> marks;
  for (int i = 0; i < 9; ++i) {
    const Pixel p{100 + 470.0 * i, 700.0 + 250 * (i % 4)};
    marks.push_back({p, direction_of(truth, p), 0.1, 0.1, 0.5});
  }
  Camera start;
  start.width_px = 4000;
  start.height_px = 3000;
  const auto found = orientation_of(start, marks, false);
  REQUIRE(found.has_value());
  CHECK(std::abs(found->camera.k1 + 0.06) < 1e-4);
  marks[4].direction.azimuth = marks[4].direction.azimuth.turned_by(8);
  const auto wrong = orientation_of(start, marks, false);
  REQUIRE_FALSE(wrong.has_value());
  CHECK(said(wrong.error()).find("error.photo_mark_off ") != std::string::npos);
  CHECK_FALSE(orientation_of(start, std::span(marks).first(1), false).has_value());
}

TEST_CASE("[property] a direction's sigma follows from the marks: simulated scatter agrees") {
  std::mt19937 random(5);
  std::normal_distribution<double> noise(0, 0.2);
  const Camera truth = camera_of(30, 10, 2, 60);
  const Pixel asked{700, 900};
  const Direction exact = direction_of(truth, asked);
  double sum_az = 0, sum_el = 0, stated_az = 0, stated_el = 0;
  const int kRuns = 200;
  for (int run = 0; run < kRuns; ++run) {
    std::vector<PhotoMark> marks;
    for (const Pixel p :
         {Pixel{300, 1500}, Pixel{1500, 1200}, Pixel{2600, 1700}, Pixel{3700, 1300}}) {
      const Direction d = direction_of(truth, p);
      marks.push_back({p,
                       {d.azimuth.turned_by(noise(random)),
                        Elevation::degrees(d.elevation.degrees() + noise(random))},
                       0.2,
                       0.2,
                       0.01});
    }
    Camera start = truth;
    const auto found = orientation_of(start, marks, true);
    REQUIRE(found.has_value());
    const UncertainDirection d = direction_of(*found, asked, 0);
    sum_az += std::pow(clockwise_deg(exact.azimuth, d.direction.azimuth), 2);
    sum_el += std::pow(d.direction.elevation.degrees() - exact.elevation.degrees(), 2);
    stated_az += d.azimuth_sigma_deg / kRuns;
    stated_el += d.elevation_sigma_deg / kRuns;
  }
  CHECK(std::abs(std::sqrt(sum_az / kRuns) / stated_az - 1) < 0.15);
  CHECK(std::abs(std::sqrt(sum_el / kRuns) / stated_el - 1) < 0.15);
}
