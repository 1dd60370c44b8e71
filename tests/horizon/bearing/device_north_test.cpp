#include "horizon/bearing/device_north.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <functional>
#include <random>
#include <vector>

#include "tests/near.h"

using namespace horizon;

namespace {

// A phone in a hand: where its back points, how its picture leans, and what it reports. The angles
// are those of the W3C DeviceOrientation Event Specification, the headings of both conventions in
// use (observed behaviour, no source).
struct Hand {
  double camera_deg = 0, elevation_deg = 0, lean_deg = 0;  // true to magnetic north
};

DeviceRotation rotation_of(const Hand& hand) {
  // Upright and facing north: alpha 0, beta 90, gamma 0. Raised: beta grows. Then turned.
  const DeviceRotation raised = rotation_of_angles(0, 90 + hand.elevation_deg, 0);
  const double c = std::cos(hand.lean_deg * kDegree), s = std::sin(hand.lean_deg * kDegree);
  DeviceRotation leaned = raised;
  for (int i = 0; i < 3; ++i) {  // about the screen's own normal
    leaned.rows[i][0] = c * raised.rows[i][0] + s * raised.rows[i][1];
    leaned.rows[i][1] = -s * raised.rows[i][0] + c * raised.rows[i][1];
  }
  return turned(leaned, hand.camera_deg);
}

double top_heading(const DeviceRotation& r) {
  return wrap_360(std::atan2(r.rows[0][1], r.rows[1][1]) / kDegree);
}
double camera_heading(const DeviceRotation& r) {
  return wrap_360(std::atan2(-r.rows[0][2], -r.rows[1][2]) / kDegree);
}

double heading_by(HeadingConvention convention, const DeviceRotation& r) {
  if (convention == HeadingConvention::camera_when_raised && top_edge_elevation(r).degrees() > 45)
    return camera_heading(r);
  return top_heading(r);
}

// Angles out of a rotation, in either of the two ranges in use; then back: what a page receives.
DeviceRotation through_angles(const DeviceRotation& r, bool beta_to_90) {
  double beta = std::asin(std::clamp(r.rows[2][1], -1.0, 1.0)) / kDegree;
  double alpha = std::atan2(-r.rows[0][1], r.rows[1][1]) / kDegree;
  double gamma = std::atan2(-r.rows[2][0], r.rows[2][2]) / kDegree;
  if (!beta_to_90 && std::fabs(gamma) > 90) {  // gamma within 90, beta beyond
    beta = (beta >= 0 ? 180 : -180) - beta;
    alpha = wrap_360(alpha + 180);
    gamma = wrap_180(gamma + 180);
  }
  return rotation_of_angles(wrap_360(alpha), beta, gamma);
}

struct Phone {
  HeadingConvention convention = HeadingConvention::top_edge;
  bool beta_to_90 = false, has_heading = true;
  double zero_deg = 0, drift_deg_s = 0;           // of the free turn
  double compass_off_deg = 0, accuracy_deg = 10;  // constant, and what it states
  double noise_deg = 1;
};

struct Step {
  double time_s;
  Hand hand;
  DeviceNorth north;
  double error_deg;  // of the camera's bearing, where known
};

class Walk {
 public:
  Walk(Phone phone, unsigned seed) : phone_(phone), random_(seed) {}

  void go(const Hand& to, double seconds) {
    const Hand from = hand_;
    const int steps = std::max(1, static_cast<int>(seconds * 60));
    for (int i = 1; i <= steps; ++i) {
      const double t = 0.5 - 0.5 * std::cos(3.14159265358979 * i / steps);
      hand_ = {from.camera_deg + t * wrap_180(to.camera_deg - from.camera_deg),
               from.elevation_deg + t * (to.elevation_deg - from.elevation_deg),
               from.lean_deg + t * (to.lean_deg - from.lean_deg)};
      now_s_ += 1.0 / 60;
      phone_.zero_deg += phone_.drift_deg_s / 60;
      report();
    }
  }
  void hold(double seconds) { go(hand_, seconds); }
  void start_at(const Hand& hand) { hand_ = hand; }
  void gap(double seconds, double new_zero_deg, const Hand& after) {
    now_s_ += seconds;
    phone_.zero_deg = new_zero_deg;
    hand_ = after;
  }
  void jump(double by_deg) { phone_.zero_deg += by_deg; }
  void restart(double new_zero_deg) {
    finder_.restart();
    phone_.zero_deg = new_zero_deg;
  }

  const Step& last() const { return steps_.back(); }
  const std::vector<Step>& steps() const { return steps_; }
  double now_s() const { return now_s_; }

 private:
  void report() {
    std::normal_distribution<double> noise(0, 1);
    Hand shaken = hand_;
    shaken.camera_deg += 0.1 * noise(random_);
    shaken.elevation_deg += 0.1 * noise(random_);
    const DeviceRotation real = rotation_of(shaken);
    FreeTurnReading reading{
        now_s_, through_angles(turned(real, -phone_.zero_deg), phone_.beta_to_90), {}, {}};
    if (phone_.has_heading) {
      reading.heading_deg = wrap_360(heading_by(phone_.convention, real) + phone_.compass_off_deg +
                                     phone_.noise_deg * noise(random_));
      reading.heading_sigma_deg = phone_.accuracy_deg;
    }
    const DeviceNorth north = finder_.update(reading);
    const double bearing = camera_heading(turned(reading.rotation, north.turn_deg));
    steps_.push_back({now_s_, hand_, north, wrap_180(bearing - camera_heading(real))});
  }

  Phone phone_;
  std::mt19937 random_;
  NorthFinder finder_;
  Hand hand_;
  double now_s_ = 0;
  std::vector<Step> steps_;
};

constexpr HeadingConvention kBoth[] = {HeadingConvention::top_edge,
                                       HeadingConvention::camera_when_raised};

}  // namespace

TEST_CASE("[property] opened already raised: north is unknown until the phone was lowered once") {
  for (const auto convention : kBoth)
    for (const bool beta_to_90 : {false, true})
      for (const double elevation : {-20.0, 5.0, 25.0, 40.0}) {
        CAPTURE(int(convention));
        CAPTURE(elevation);
        Walk walk({convention, beta_to_90, true, 77}, 1);
        walk.start_at({100, elevation, 0});
        walk.hold(3);
        CHECK_FALSE(walk.last().north.known);
        walk.go({100, -80, 0}, 0.8);
        walk.hold(0.5);
        walk.go({100, elevation, 0}, 0.8);
        CHECK(walk.last().north.known);
        CHECK(std::fabs(walk.last().error_deg) < 3);
      }
}

TEST_CASE("[property] the first raise past the vertical shows which heading a phone gives") {
  for (const auto convention : kBoth) {
    CAPTURE(int(convention));
    Walk walk({convention, false, true, 211, 0.02}, 2);
    walk.start_at({30, -85, 0});
    walk.hold(1);
    CHECK(walk.last().north.convention == HeadingConvention::unknown);
    walk.go({30, 28, 0}, 1);
    walk.hold(1);
    CHECK(walk.last().north.convention == convention);
    // From then on a raised phone is corrected: the gyro's drift does not add up.
    for (int i = 0; i < 20; ++i) {
      walk.go({30.0 + 18 * i, 28, 0}, 2);
      walk.hold(4);
    }
    CHECK(std::fabs(walk.last().error_deg) < 3);
    // Opened again, raised: this time at once.
    walk.restart(5);
    walk.hold(1.5);
    CHECK(walk.last().north.known);
    CHECK(std::fabs(walk.last().error_deg) < 5);
  }
}

TEST_CASE("[property] a free turn without a compass is never called north") {
  Walk walk({HeadingConvention::top_edge, false, false, 160}, 3);
  walk.start_at({0, -80, 0});
  walk.hold(2);
  walk.go({120, 10, 0}, 2);
  walk.hold(5);
  CHECK_FALSE(walk.last().north.known);
  CHECK(walk.last().north.turn_deg == 0);
}

TEST_CASE("[property] at rest nothing is sent: a gap in place is none, one with a move is") {
  Walk walk({HeadingConvention::top_edge, false, true, 40}, 4);
  walk.start_at({200, -70, 0});
  walk.hold(1);
  walk.go({200, 12, 0}, 1);
  const int turn = walk.last().north.free_turn;
  walk.gap(60, 40, {200, 12, 0});
  walk.hold(0.1);
  CHECK(walk.last().north.known);
  CHECK(walk.last().north.free_turn == turn);
  walk.gap(5, 300, {260, 12, 0});
  walk.hold(0.1);
  CHECK_FALSE(walk.last().north.known);
  CHECK(walk.last().north.free_turn != turn);
}

// Ordinary and less ordinary handling: started low or raised, portrait or leaning, steep ridges,
// gaps, jumps of the free turn, drift, a compass off by what it states.
TEST_CASE("[property] 500 random handlings of each phone: a known north is within 3 sigma") {
  const unsigned trials = std::getenv("ADRET_LONG") ? 500 : 120;
  int marks = 0, known = 0, wrong = 0;
  double slowest_s = 0;
  for (const auto convention : kBoth)
    for (const bool beta_to_90 : {false, true})
      for (unsigned seed = 0; seed < trials; ++seed) {
        std::mt19937 random(seed * 4 + 2 * unsigned(convention) + unsigned(beta_to_90));
        const auto any = [&](double from, double to) {
          return std::uniform_real_distribution<double>(from, to)(random);
        };
        Phone phone{convention, beta_to_90, true, any(0, 360), any(-0.03, 0.03)};
        phone.accuracy_deg = any(4, 20);
        phone.compass_off_deg = phone.accuracy_deg * any(-2, 2);
        phone.noise_deg = any(0.3, 2.5);
        Walk walk(phone, seed);
        const bool portrait = any(0, 1) < 0.7;
        const double lean = portrait ? any(-10, 10) : (any(0, 1) < 0.5 ? 90 : -90) + any(-10, 10);
        walk.start_at({any(0, 360), any(-85, 60), any(-20, 20)});
        walk.hold(any(0.1, 2));
        double lowered_s = -1;
        for (int act = 0; act < 8; ++act) {
          const double dice = any(0, 1);
          if (act == 1 || dice < 0.2) {  // lowered once, as the screen asks
            walk.go({any(0, 360), any(-88, -60), 0}, any(0.4, 1.2));
            if (lowered_s < 0) lowered_s = walk.now_s();
            walk.hold(any(0.4, 1));
          } else if (dice < 0.3) {
            walk.gap(any(2, 30), any(0, 360), {any(0, 360), any(-10, 50), lean});
          } else if (dice < 0.4) {
            walk.jump(any(20, 180) * (any(0, 1) < 0.5 ? 1 : -1));
          }
          walk.go({any(0, 360), any(-5, 60), lean}, any(0.7, 3));
          walk.hold(any(0.5, 6));
          ++marks;
          const Step& mark = walk.last();
          if (!mark.north.known) continue;
          ++known;
          wrong += std::fabs(mark.error_deg) > 3 * mark.north.sigma_deg;
        }
        const auto first = std::ranges::find_if(
            walk.steps(), [&](const Step& s) { return s.time_s >= lowered_s && s.north.known; });
        if (first != walk.steps().end()) slowest_s = std::max(slowest_s, first->time_s - lowered_s);
      }
  MESSAGE(marks << " marks, " << known << " with a known north, " << wrong
                << " beyond 3 sigma; known at most " << slowest_s << " s after lowering");
  CHECK(wrong == 0);
  CHECK(known > marks / 2);
  CHECK(slowest_s < 3);
}
