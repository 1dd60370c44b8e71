#include "app/touch/session/aim.h"

#include <doctest/doctest.h>

#include <cmath>

#include "app/touch/screens/slope_of.h"
#include "app/touch/session/trace.h"
#include "horizon/angle.h"
#include "horizon/time.h"
#include "platform/fusion.h"
#include "platform/recorded.h"
#ifdef __linux__
#include "platform/linux/gpsd.h"
#endif

using namespace app;
using platform::Pose;
using platform::Vector3;

namespace {

Pose pose(double t, double az, double el) {
  Pose p;
  p.time_s = t;
  p.azimuth_deg = az;
  p.elevation_deg = el;
  return p;
}

// The Earth's up and field, as a device sees them that looks at azimuth and elevation, rolled.
struct Seen {
  Vector3 up, field;
};
Seen seen(double az, double el, double roll, double dip) {
  const double d = std::acos(-1) / 180;
  const auto dot = [](const Vector3& a, const Vector3& b) {
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  };
  // East, north, up. The camera's axis, then right and top of the screen without roll.
  const Vector3 ahead{std::sin(az * d) * std::cos(el * d), std::cos(az * d) * std::cos(el * d),
                      std::sin(el * d)};
  const Vector3 right0{std::cos(az * d), -std::sin(az * d), 0};
  const Vector3 top0{-std::sin(az * d) * std::sin(el * d), -std::cos(az * d) * std::sin(el * d),
                     std::cos(el * d)};
  Vector3 right{}, top{}, out{};
  for (int i = 0; i < 3; ++i) {  // clockwise as seen from behind: the right side goes down
    right[i] = right0[i] * std::cos(roll * d) - top0[i] * std::sin(roll * d);
    top[i] = right0[i] * std::sin(roll * d) + top0[i] * std::cos(roll * d);
    out[i] = -ahead[i];
  }
  const Vector3 up{0, 0, 9.81}, field{0, 48000 * std::cos(dip * d), -48000 * std::sin(dip * d)};
  return {{dot(up, right), dot(up, top), dot(up, out)},
          {dot(field, right), dot(field, top), dot(field, out)}};
}

}  // namespace

TEST_CASE("a pose follows from up and field for every aim, roll and dip [property]") {
  for (double az : {0.0, 1.0, 89.0, 180.0, 221.0, 359.5})
    for (double el : {-60.0, -5.0, 0.0, 24.8, 70.0})
      for (double roll : {-120.0, -30.0, 0.0, 45.0, 90.0})
        for (double dip : {-40.0, 0.0, 63.0}) {
          const Seen s = seen(az, el, roll, dip);
          const auto p = platform::pose_of(s.up, s.field);
          REQUIRE(p);
          CHECK(std::fabs(horizon::wrap_180(p->azimuth_deg - az)) < 1e-6);
          CHECK(std::fabs(p->elevation_deg - el) < 1e-6);
          CHECK(std::fabs(horizon::wrap_180(p->roll_deg - roll)) < 1e-6);
          CHECK(std::fabs(*p->inclination_deg - dip) < 1e-6);
        }
}

TEST_CASE("a device in free fall or a field straight down gives no pose [property]") {
  CHECK_FALSE(platform::pose_of({0, 0, 0}, {0, 30000, 0}));
  CHECK_FALSE(platform::pose_of({0, 0, 9.8}, {0, 0, -50000}));
}

TEST_CASE("the fusion follows a turn by gyro and settles on the compass [property]") {
  platform::Fusion fusion;
  std::optional<Pose> p;
  const double rate = 20 * horizon::kDegree;  // turning right about the vertical
  double t = 0, az = 100;
  for (; t < 2; t += 0.02, az += 20 * 0.02) {
    const Seen s = seen(az, 0, 0, 60);
    p = fusion.update(t, s.up, s.field, Vector3{0, -rate, 0});
  }
  REQUIRE(p);
  CHECK(std::fabs(horizon::wrap_180(p->azimuth_deg - (az - 0.4))) < 0.5);
}

TEST_CASE("an aim is the circular mean over north, and knows how long it was steady [property]") {
  AimTracker tracker;
  for (int i = 0; i <= 60; ++i)
    tracker.add(pose(i / 30.0, i % 2 ? 359.9 : 0.1, 10 + (i % 3 - 1) * 0.05));
  const auto aim = tracker.aim(2);
  REQUIRE(aim);
  CHECK(std::fabs(horizon::wrap_180(aim->azimuth_deg)) < 0.02);
  CHECK(std::fabs(aim->elevation_deg - 10) < 0.02);
  CHECK(std::fabs(aim->steady_s - 2) < 0.05);
  tracker.add(pose(2.1, 8, 10));
  CHECK(tracker.aim(2.1)->steady_s < 0.01);
}

TEST_CASE("stuck, jumping and silent sensors are told in words [property]") {
  AimTracker stuck, level, jumping, sound;
  for (int i = 0; i < 200; ++i) {
    stuck.add(pose(i / 30.0, 120, 10));
    jumping.add(pose(i / 30.0, i / 10 % 2 ? 120 : 170, 10 + 0.01 * (i % 2)));
    sound.add(pose(i / 30.0, 120 + 0.05 * std::sin(i), 10 + 0.02 * std::cos(i)));
    level.add(pose(i / 30.0, 120 + 0.05 * std::sin(i), 10));
  }
  CHECK(stuck.aim(200 / 30.0)->fault == AimFault::stuck);
  CHECK(level.aim(200 / 30.0)->fault == AimFault::stuck_level);
  CHECK(jumping.aim(200 / 30.0)->fault == AimFault::jumping);
  CHECK(sound.aim(200 / 30.0)->fault == AimFault::none);
  CHECK(sound.aim(200 / 30.0 + 10)->fault == AimFault::silent);
  for (const AimFault fault :
       {AimFault::stuck, AimFault::stuck_level, AimFault::jumping, AimFault::silent})
    CHECK(words_for(fault).size() > 30);
}

TEST_CASE("a thinned trace loses no point by more than 0.1 degree, over north too [property]") {
  std::vector<Aim> trace;
  for (int i = 0; i < 900; ++i) {
    Aim aim;
    aim.azimuth_deg = horizon::wrap_360(330 + i * 0.08);
    aim.elevation_deg = 15 + 4 * std::sin(i / 37.0) + 0.6 * std::sin(i / 5.0);
    trace.push_back(aim);
  }
  const auto kept = thinned(trace);
  CHECK(kept.front() == 0);
  CHECK(kept.back() == 899);
  CHECK(kept.size() < 400);
  for (std::size_t k = 1; k < kept.size(); ++k)
    for (int i = kept[k - 1]; i <= kept[k]; ++i) {
      const double x0 = kept[k - 1] * 0.08, x1 = kept[k] * 0.08, x = i * 0.08;
      const double y0 = trace[std::size_t(kept[k - 1])].elevation_deg,
                   y1 = trace[std::size_t(kept[k])].elevation_deg;
      const double shrink = std::cos(trace[std::size_t(i)].elevation_deg * horizon::kDegree);
      const double bx = (x1 - x0) * shrink, by = y1 - y0, px = (x - x0) * shrink,
                   py = trace[std::size_t(i)].elevation_deg - y0;
      const double off = std::fabs(bx * py - by * px) / std::max(1e-12, std::hypot(bx, by));
      CHECK(off < 0.1001);
    }
}

TEST_CASE(
    "a thinned trace keeps points 5 degrees apart at most where the ridge is smooth [regression]") {
  // Straight: by the tolerance alone two marks would do, and the rest would read as open.
  std::vector<Aim> trace;
  for (int i = 0; i <= 900; ++i) {
    Aim aim;
    aim.azimuth_deg = horizon::wrap_360(320 + i * 0.1);
    aim.elevation_deg = 12;
    trace.push_back(aim);
  }
  const auto kept = thinned(trace);
  CHECK(kept.back() == 900);
  CHECK(kept.size() <= 20);
  for (std::size_t k = 1; k < kept.size(); ++k) CHECK((kept[k] - kept[k - 1]) * 0.1 < 5.001);
  // Where the sweep itself jumped nothing can be kept between.
  trace.erase(trace.begin() + 300, trace.begin() + 500);
  CHECK(thinned(trace).size() < 18);
}

TEST_CASE("a device on its back gives the ground's slope and where it falls [property]") {
  // Level ground: the camera looks straight down. Ground that falls 10 degrees to the east: its
  // inner normal points down and to the west.
  CHECK(std::fabs(lean_of(123, -90).slope_deg) < 1e-9);
  CHECK(std::fabs(lean_of(270, -80).slope_deg - 10) < 1e-9);
  CHECK(std::fabs(lean_of(270, -80).falls_to_deg - 90) < 1e-9);
}

TEST_CASE("a recording names the line that cannot be read [property]") {
  platform::Recording recording;
  const auto read = recording.load("# a walk\n0 aim 180 10\n1.5 fix north\n");
  REQUIRE_FALSE(read);
  CHECK(read.error().where == "line 3");
}

#ifdef __linux__
TEST_CASE("a position report of gpsd is read, and one without a fix is not [published]") {
  // Source: gpsd JSON protocol documentation, class TPV: mode 3 = 3D fix, eph = 95 % error, metres.
  const auto fix = platform::fix_of_gpsd_line(
      R"({"class":"TPV","mode":3,"lat":46.6213,"lon":10.3478,"altHAE":1530.2,"eph":9.8,"epv":19.6})",
      5);
  REQUIRE(fix);
  CHECK(std::fabs(fix->place.latitude_deg - 46.6213) < 1e-9);
  CHECK(std::fabs(fix->accuracy_m - 5.0) < 1e-9);
  CHECK(std::fabs(*fix->height_accuracy_m - 10.0) < 1e-9);
  CHECK_FALSE(fix->clock_ahead_s);
  // The same class: time is UTC in ISO 8601; here the device is 7.5 s ahead of it.
  const auto timed = platform::fix_of_gpsd_line(
      R"({"class":"TPV","mode":2,"time":"2026-12-21T12:00:00.500Z","lat":46.6,"lon":10.3})",
      horizon::parse_utc_s("2026-12-21T12:00:08Z").value());
  REQUIRE(timed);
  REQUIRE(timed->clock_ahead_s);
  CHECK(std::fabs(*timed->clock_ahead_s - 7.5) < 1e-3);
  CHECK_FALSE(platform::fix_of_gpsd_line(R"({"class":"TPV","mode":1})", 5));
  CHECK_FALSE(platform::fix_of_gpsd_line("{\"class\":\"TPV\",\"mode\":3,\"lat\":", 5));
  CHECK_FALSE(platform::fix_of_gpsd_line(R"({"class":"SKY"})", 5));
}
#endif
