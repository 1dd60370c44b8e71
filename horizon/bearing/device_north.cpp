#include "horizon/bearing/device_north.h"

#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

constexpr double kLowTop_deg = 40, kScreenUp = 0.5;  // where the conventions mean the same
constexpr double kSteepTop_deg = 75;                 // above it a heading says nothing
constexpr double kFastest_deg_s = 400, kStep_deg = 6;
constexpr double kGap_s = 1.5, kStill_deg = 2;
constexpr double kSlow_deg_s = 40;  // compasses lag behind a faster turn
constexpr int kLearn_readings = 4;
constexpr double kLearn_s = 0.2, kLearn_spread_deg = 8;
constexpr double kAgainst_s = 0.7;  // headings that contradict for so long are believed
constexpr int kRecognise = 8;
constexpr double kDrift_deg_s = 0.03, kLeast_sigma_deg = 3, kWorst_sigma_deg = 25;
constexpr double kOld_s = 300;
constexpr double kPlainSigma_deg = 8;  // of a heading whose phone states none

double azimuth(double east, double north) { return wrap_360(std::atan2(east, north) / kDegree); }

// The angle of the smallest rotation from one to the other.
double step_deg(const DeviceRotation& a, const DeviceRotation& b) {
  double trace = 0;
  for (int i = 0; i < 3; ++i)
    for (int j = 0; j < 3; ++j) trace += a.rows[i][j] * b.rows[i][j];
  return std::acos(std::clamp((trace - 1) / 2, -1.0, 1.0)) / kDegree;
}

}  // namespace

NorthFinder::Directions NorthFinder::directions_of(const DeviceRotation& r) {
  return {azimuth(r.rows[0][1], r.rows[1][1]), azimuth(-r.rows[0][2], -r.rows[1][2]),
          top_edge_elevation(r).degrees(), r.rows[2][2]};
}

void NorthFinder::forget_north() {
  const HeadingConvention convention = north_.convention;
  north_ = {.convention = convention, .free_turn = north_.free_turn + 1};
  base_sigma_deg_ = 0;
  window_ = against_ = {};
}

void NorthFinder::restart() {
  forget_north();
  started_ = false;
}

void NorthFinder::look_for_steps(const FreeTurnReading& reading) {
  const double dt = reading.time_s - last_s_, step = step_deg(last_, reading.rotation);
  const bool gap = dt < 0 || dt > kGap_s;
  // A phone at rest sends nothing: a gap after which it lies as before is none.
  if (gap ? step > kStill_deg : step > kStep_deg + kFastest_deg_s * dt) forget_north();
}

// What the heading says the turn is, where this phone's convention gives it a meaning.
std::optional<double> NorthFinder::turn_by_heading(double heading_deg,
                                                   const Directions& now) const {
  const double top = std::fabs(now.top_elevation_deg);
  if (top < kLowTop_deg && now.screen_up > kScreenUp) return wrap_180(heading_deg - now.top_deg);
  if (top > kSteepTop_deg) return {};
  if (north_.convention == HeadingConvention::top_edge) return wrap_180(heading_deg - now.top_deg);
  // Either side of 45 degrees it changes over: nothing is learned there.
  if (north_.convention == HeadingConvention::camera_when_raised && now.top_elevation_deg > 50)
    return wrap_180(heading_deg - now.camera_deg);
  return {};
}

// Past the vertical the two conventions differ by about half a turn.
void NorthFinder::recognise(double heading_deg, const Directions& now) {
  if (!north_.known || now.top_elevation_deg < 50 || now.top_elevation_deg > kSteepTop_deg) return;
  if (std::fabs(wrap_180(now.top_deg - now.camera_deg)) < 120) return;
  const double by_top = std::fabs(wrap_180(heading_deg - now.top_deg - north_.turn_deg));
  const double by_camera = std::fabs(wrap_180(heading_deg - now.camera_deg - north_.turn_deg));
  const double near = std::clamp(3 * north_.sigma_deg, 15.0, 50.0);
  int& mine = by_top < by_camera ? for_top_ : for_camera_;
  int& other = by_top < by_camera ? for_camera_ : for_top_;
  if (std::min(by_top, by_camera) > near) return;
  other = 0;
  if (++mine < kRecognise) return;
  north_.convention =
      by_top < by_camera ? HeadingConvention::top_edge : HeadingConvention::camera_when_raised;
}

void NorthFinder::learn(const FreeTurnReading& reading, const Directions& now) {
  const auto turn = turn_by_heading(*reading.heading_deg, now);
  const double dt = reading.time_s - last_s_;
  const bool slow = started_ && dt > 0 && step_deg(last_, reading.rotation) < kSlow_deg_s * dt;
  const bool still = started_ && dt > 0 && step_deg(last_, reading.rotation) < 0.2;
  if (!turn || !(slow || still)) {
    if (!turn) window_ = against_ = {};
    return;
  }
  const double compass = std::clamp(reading.heading_sigma_deg.value_or(kPlainSigma_deg),
                                    kLeast_sigma_deg, kWorst_sigma_deg);
  const auto take = [&](Window& w) {
    if (w.count == 0 || std::fabs(wrap_180(*turn - w.mean_deg)) > kLearn_spread_deg ||
        reading.time_s - w.last_s > kGap_s)
      w = {0, reading.time_s, reading.time_s, *turn, 0};
    ++w.count;
    const double off = wrap_180(*turn - w.mean_deg);
    w.mean_deg = wrap_180(w.mean_deg + off / w.count);
    w.square += off * wrap_180(*turn - w.mean_deg);
    w.last_s = reading.time_s;
    return w.count >= kLearn_readings;
  };
  const auto settle = [&](const Window& w) {
    const double spread = std::sqrt(w.square / w.count);
    north_.known = true;
    north_.turn_deg = w.mean_deg;
    north_.learned_s = reading.time_s;
    base_sigma_deg_ = std::hypot(compass, spread);
  };
  if (!north_.known) {
    if (take(window_) && reading.time_s - window_.since_s >= kLearn_s) settle(window_);
    return;
  }
  const double off = wrap_180(*turn - north_.turn_deg);
  if (std::fabs(off) > std::max(10.0, 3 * north_.sigma_deg)) {
    // It contradicts what was learned: an error of the compass if short, another zero if it lasts.
    if (take(against_) && reading.time_s - against_.since_s >= kAgainst_s) {
      const Window w = against_;
      forget_north();
      settle(w);
    }
    return;
  }
  against_ = {};
  const double share = 1 - std::exp(-dt / 3);
  north_.turn_deg = wrap_180(north_.turn_deg + share * off);
  north_.learned_s = reading.time_s;
  base_sigma_deg_ = std::max(compass, base_sigma_deg_ * (1 - share) + compass * share);
}

DeviceNorth NorthFinder::update(const FreeTurnReading& reading) {
  const Directions now = directions_of(reading.rotation);
  if (started_) look_for_steps(reading);
  if (reading.heading_deg) {
    recognise(*reading.heading_deg, now);
    learn(reading, now);
  }
  started_ = true;
  last_s_ = reading.time_s;
  last_ = reading.rotation;
  const double age = reading.time_s - north_.learned_s;
  if (north_.known && age > kOld_s) forget_north();
  if (!north_.known) return north_;
  north_.sigma_deg = std::hypot(base_sigma_deg_, kDrift_deg_s * age);
  // While headings contradict it, the doubt is as large as the contradiction.
  DeviceNorth told = north_;
  if (against_.count > 0)
    told.sigma_deg = std::hypot(told.sigma_deg, wrap_180(against_.mean_deg - told.turn_deg));
  return told;
}

}  // namespace horizon
