#include "horizon/bearing/attitude.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

#include "tests/near.h"

using namespace horizon;

namespace {

constexpr double kTolerance_deg = 0.01;

struct Pose {
  const char* what;
  double alpha, beta, gamma, screen;
  double bearing, elevation, roll;
};

void check(const Pose& pose) {
  INFO(pose.what);
  const auto aim =
      camera_aim<MagneticNorth>(rotation_of_angles(pose.alpha, pose.beta, pose.gamma), pose.screen);
  CHECK_NEAR(wrap_180(aim.bearing.degrees() - pose.bearing), 0, kTolerance_deg);
  CHECK_NEAR(aim.elevation.degrees(), pose.elevation, kTolerance_deg);
  CHECK_NEAR(wrap_180(aim.roll_deg - pose.roll), 0, kTolerance_deg);
}

// The heading of the axis out of the screen's back, written out as in the specification.
double w3c_heading_deg(double alpha, double beta, double gamma) {
  const double a = alpha * kDegree, b = beta * kDegree, g = gamma * kDegree;
  const double vx = -std::cos(a) * std::sin(g) - std::sin(a) * std::sin(b) * std::cos(g);
  const double vy = -std::sin(a) * std::sin(g) + std::cos(a) * std::sin(b) * std::cos(g);
  double heading = std::atan(vx / vy);
  if (vy < 0)
    heading += std::numbers::pi;
  else if (vx < 0)
    heading += 2 * std::numbers::pi;
  return heading / kDegree;
}

}  // namespace

// W3C DeviceOrientation Event Specification, section on the event's angles and its worked example
// of a compass heading: flat with the top to the west alpha is 90, beta and gamma 0; held upright
// with the screen vertical and the reader facing the heading h, alpha is 360 - h, beta 90, gamma 0.
TEST_CASE("[published] a phone held upright looks where its reader faces") {
  for (double heading : {0.0, 1.0, 45.0, 90.0, 179.5, 180.0, 270.0, 359.9})
    check({"upright", 360 - heading, 90, 0, 0, heading, 0, 0});
}

TEST_CASE(
    "[published] flat on the table with the top to the west: the camera looks down, the top edge "
    "is ahead") {
  check({"flat, top west", 90, 0, 0, 0, 270, -90, 0});
  CHECK_NEAR(top_edge_elevation(rotation_of_angles(90, 0, 0)).degrees(), 0, 1e-9);
}

// The same rotations, worked out by hand from the definitions.
TEST_CASE("[published] a table of poses: tilted, rolled, landscape both ways, upside down") {
  const Pose poses[] = {
      {"tilted back: aims 20 up", 0, 110, 0, 0, 0, 20, 0},
      {"tilted forward: aims 30 down", 0, 60, 0, 0, 0, -30, 0},
      {"aims 20 up to the south-east", 225, 110, 0, 0, 135, 20, 0},
      // Turned counter-clockwise from upright: the left side is below and the top points left.
      {"landscape, top to the left, north", 90, 0, -90, 90, 0, 0, 0},
      {"landscape, top to the left, east", 0, 0, -90, 90, 90, 0, 0},
      {"landscape, top to the left, 25 up", 90, 0, -115, 90, 0, 25, 0},
      // Turned clockwise: the right side is below and the top points right.
      {"landscape, top to the right, north", 270, 0, 90, 270, 0, 0, 0},
      {"landscape, top to the right, 12 down", 270, 0, 78, 270, 0, -12, 0},
      // The same two poses while the picture has not been turned: it lies on its side.
      {"portrait picture, turned left", 90, 0, -90, 0, 0, 0, -90},
      {"portrait picture, turned right", 270, 0, 90, 0, 0, 0, 90},
      {"upside down", 180, -90, 0, 0, 0, 0, 180},
      {"upside down, picture turned with it", 180, -90, 0, 180, 0, 0, 0},
      {"flat on its back, top north", 0, 0, 0, 0, 0, -90, 0},
      {"face down overhead: the camera looks up", 0, 180, 0, 0, 0, 90, 0},
  };
  for (const Pose& pose : poses) check(pose);
}

// The pose is built from its answer: first the roll about the axis, then the elevation, then the
// bearing, as three plain turns, and the angles are taken out of the product as W3C defines them.
TEST_CASE("[property] bearing, elevation and roll come back out of W3C angles made from them") {
  for (double bearing = 0; bearing < 360; bearing += 31)
    for (double elevation = -80; elevation <= 80;
         elevation += 17)  // never 0: upright, alpha and gamma are one turn
      for (double roll = -175; roll <= 175; roll += 25) {
        const double b = bearing * kDegree, e = elevation * kDegree, r = roll * kDegree;
        const double axis[3] = {std::cos(e) * std::sin(b), std::cos(e) * std::cos(b), std::sin(e)};
        const double side[3] = {std::cos(b), -std::sin(b), 0};  // level, to the right
        const double top[3] = {-std::sin(e) * std::sin(b), -std::sin(e) * std::cos(b), std::cos(e)};
        double m[3][3];  // columns: device x, y, z in the Earth's frame
        for (int i = 0; i < 3; ++i) {
          m[i][0] = std::cos(r) * side[i] - std::sin(r) * top[i];
          m[i][1] = std::sin(r) * side[i] + std::cos(r) * top[i];
          m[i][2] = -axis[i];
        }
        const double beta = std::asin(std::clamp(m[2][1], -1.0, 1.0)) / kDegree;
        const double alpha = std::atan2(-m[0][1], m[1][1]) / kDegree;
        const double gamma = std::atan2(-m[2][0], m[2][2]) / kDegree;
        for (double screen : {0.0, 90.0, 180.0, 270.0})
          check({"made", alpha, beta, gamma, screen, bearing, elevation, roll + screen});
      }
}

TEST_CASE("[published] the bearing is the W3C heading of the axis out of the back") {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> turn(0, 360), tilt(20, 160), side(-60, 60);
  for (int i = 0; i < 1000; ++i) {
    const double alpha = turn(random), beta = tilt(random), gamma = side(random);
    const auto aim = camera_aim<TrueNorth>(rotation_of_angles(alpha, beta, gamma), 0);
    CHECK_NEAR(wrap_180(aim.bearing.degrees() - w3c_heading_deg(alpha, beta, gamma)), 0,
               kTolerance_deg);
  }
}

// W3C Orientation Sensor: the quaternion is that of the same rotation; its components by the
// half-angle product of the three turns.
TEST_CASE("[published] a quaternion and the angles it stands for aim alike") {
  for (double alpha = 3; alpha < 360; alpha += 47)
    for (double beta = -170; beta < 180; beta += 33)
      for (double gamma = -80; gamma < 90; gamma += 29) {
        const double a = alpha / 2 * kDegree, b = beta / 2 * kDegree, g = gamma / 2 * kDegree;
        const double ca = std::cos(a), sa = std::sin(a), cb = std::cos(b), sb = std::sin(b);
        const double cg = std::cos(g), sg = std::sin(g);
        const double length = 0.7;  // of any length
        const auto rotation = rotation_of_quaternion(
            length * (ca * sb * cg - sa * cb * sg), length * (ca * cb * sg + sa * sb * cg),
            length * (sa * cb * cg + ca * sb * sg), length * (ca * cb * cg - sa * sb * sg));
        const auto expected = rotation_of_angles(alpha, beta, gamma);
        for (int i = 0; i < 3; ++i)
          for (int j = 0; j < 3; ++j) CHECK_NEAR(rotation.rows[i][j], expected.rows[i][j], 1e-12);
      }
}

TEST_CASE("[property] turning the north moves the bearing and nothing else") {
  const auto rotation = rotation_of_angles(40, 85, 12);
  const auto before = camera_aim<MagneticNorth>(rotation, 0);
  const auto after = camera_aim<MagneticNorth>(turned(rotation, 33), 0);
  CHECK_NEAR(clockwise_deg(before.bearing, after.bearing), 33, 1e-9);
  CHECK_NEAR(after.elevation.degrees(), before.elevation.degrees(), 1e-9);
  CHECK_NEAR(after.roll_deg, before.roll_deg, 1e-9);
}
