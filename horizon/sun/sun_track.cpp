#include "horizon/sun/sun_track.h"

#include <erfa.h>

#include <array>
#include <cmath>
#include <mutex>

namespace horizon {
namespace {

constexpr double kDay_s = 86400.0;
constexpr double kUnixEpochJd = 2440587.5;
constexpr int kOrbitStep = 3;     // days between evaluations of the Earth's orbit
constexpr int kOrbitPoints = 12;  // of the interpolating polynomial: the Moon tugs every 14 days
constexpr int kMargin = 4;        // days beyond the span, for the differences

// Weights of the polynomial through kOrbitPoints even nodes, at `at` steps from the first.
void lagrange_weights(double at, double (&weights)[kOrbitPoints]) {
  for (int i = 0; i < kOrbitPoints; ++i) {
    weights[i] = 1;
    for (int j = 0; j < kOrbitPoints; ++j)
      if (j != i) weights[i] *= (at - j) / (i - j);
  }
}

// The celestial intermediate origin's s + XY/2, which grows evenly to 0.0001" over some days.
double locator_sum(double tt_s) { return eraS06(kUnixEpochJd, tt_s / kDay_s, 0, 0); }

// From GCRS to the celestial intermediate frame of date, with the short nutation series.
void intermediate_matrix(double tt_s, double locator, double (&matrix)[3][3]) {
  double dpsi, deps, epsa, frame_bias[3][3], precession[3][3], rbp[3][3], nutation[3][3], npb[3][3];
  const double tt_day = tt_s / kDay_s;
  eraNut00b(kUnixEpochJd, tt_day, &dpsi, &deps);
  eraPn06(kUnixEpochJd, tt_day, dpsi, deps, &epsa, frame_bias, precession, rbp, nutation, npb);
  const double x = npb[2][0], y = npb[2][1];
  eraC2ixys(x, y, locator - x * y / 2, matrix);
}

}  // namespace

SunEphemeris::SunEphemeris(double from_utc_s, double to_utc_s) : from_(from_utc_s), to_(to_utc_s) {
  first_day_ = std::floor(from_ / kDay_s);
  const int days = static_cast<int>(std::floor(to_ / kDay_s) - first_day_) + 1;

  // The orbit with light time and aberration, every third day.
  const double first_orbit = first_day_ - kMargin - kOrbitStep * (kOrbitPoints / 2);
  const int orbit_nodes = (days + 2 * kMargin) / kOrbitStep + kOrbitPoints + 2;
  const double tt = tt_minus_utc_s((from_ + to_) / 2);  // one for the span
  std::vector<Vec3> orbit(orbit_nodes);
  std::vector<double> locator(orbit_nodes);
  for (int i = 0; i < orbit_nodes; ++i) {
    const double at = (first_orbit + kOrbitStep * i) * kDay_s + tt;
    orbit[i] = sun_apparent_gcrs(at);
    locator[i] = locator_sum(at);
  }
  double weights[kOrbitStep][kOrbitPoints];
  for (int i = 0; i < kOrbitStep; ++i)
    lagrange_weights(kOrbitPoints / 2 - 1 + double(i) / kOrbitStep, weights[i]);

  // Every day at 0 h UTC, in the frame of the day.
  std::vector<Vec3> daily(days + 1 + 2 * kMargin);
  for (int i = 0; i < static_cast<int>(daily.size()); ++i) {
    const double day = first_day_ - kMargin + i;
    const int steps = static_cast<int>(day - first_orbit);
    const double* w = weights[steps % kOrbitStep];
    const Vec3* nodes = &orbit[steps / kOrbitStep - (kOrbitPoints / 2 - 1)];
    double gcrs[3] = {0, 0, 0}, matrix[3][3], cirs[3];
    for (int k = 0; k < kOrbitPoints; ++k) {
      gcrs[0] += w[k] * nodes[k].x;
      gcrs[1] += w[k] * nodes[k].y;
      gcrs[2] += w[k] * nodes[k].z;
    }
    const int node = steps / kOrbitStep;
    const double past = double(steps % kOrbitStep) / kOrbitStep;
    intermediate_matrix(day * kDay_s + tt,
                        locator[node] + past * (locator[node + 1] - locator[node]), matrix);
    eraRxp(matrix, gcrs, cirs);
    daily[i] = {cirs[0], cirs[1], cirs[2]};
  }

  // A cubic a day through values and central-difference rates (eighth order).
  const auto rate = [&](int i, double Vec3::*axis) {
    const auto d = [&](int k) { return daily[i + k].*axis - daily[i - k].*axis; };
    return 4.0 / 5 * d(1) - 1.0 / 5 * d(2) + 4.0 / 105 * d(3) - 1.0 / 280 * d(4);
  };
  days_.resize(days);
  double Vec3::*const axes[3] = {&Vec3::x, &Vec3::y, &Vec3::z};
  for (int i = 0; i < days; ++i)
    for (int a = 0; a < 3; ++a) {
      const double y0 = daily[i + kMargin].*axes[a], y1 = daily[i + kMargin + 1].*axes[a];
      const double r0 = rate(i + kMargin, axes[a]);
      const double r1 = rate(i + kMargin + 1, axes[a]);
      auto& c = days_[i].c;
      c[0][a] = y0;
      c[1][a] = r0;
      c[2][a] = 3 * (y1 - y0) - 2 * r0 - r1;
      c[3][a] = 2 * (y0 - y1) + r0 + r1;
    }
}

namespace {

// The last few, since one site asks for the same year again and again.
std::shared_ptr<const SunEphemeris> ephemeris_of(double from_utc_s, double to_utc_s) {
  static std::mutex lock;
  static std::array<std::shared_ptr<const SunEphemeris>, 4> kept;
  static size_t oldest = 0;
  const std::lock_guard guard(lock);
  for (const auto& known : kept)
    if (known && known->from_utc_s() == from_utc_s && known->to_utc_s() == to_utc_s) return known;
  oldest = (oldest + 1) % kept.size();
  return kept[oldest] = std::make_shared<const SunEphemeris>(from_utc_s, to_utc_s);
}

}  // namespace

SunTrack::SunTrack(const Place& place, double from_utc_s, double to_utc_s)
    : SunTrack(place, ephemeris_of(from_utc_s, to_utc_s)) {}

SunTrack::SunTrack(const Place& place, std::shared_ptr<const SunEphemeris> ephemeris)
    : place_(place), ephemeris_(std::move(ephemeris)), observer_(place) {}

SunMotion SunTrack::motion_at(double utc_s) const {
  const double day = ephemeris_->day_at(utc_s);
  const int i = ephemeris_->cubic_index(day);
  const SunEphemeris::Cubic& cubic = ephemeris_->cubic(i);
  return observer_.motion(cubic.position(day - i), cubic.rate(day - i),
                          earth_rotation_turns(utc_s));
}

}  // namespace horizon
