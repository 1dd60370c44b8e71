// horizon/sun/sun_track.h: the sun over a span of time, fast.
// Units:    degrees, astronomical units, seconds UTC
// Frame:    as horizon/sun/sun.h: true azimuth, topocentric elevation without refraction
// Valid:    the span asked for, within 1950 to 2100
// Accuracy: within 1e-6 degree of sun_position(); 1.2e-5 in a year with a leap second and
//           from 1960 to 1972
// Cost:     see tests/bench; making one takes a few milliseconds a year
// Source:   ERFA: orbit every third day, nutation IAU 2000B (0.001") every day, interpolated to a
//           cubic a day; the Earth turns exactly
#pragma once

#include <memory>
#include <span>
#include <utility>
#include <vector>

#include "horizon/place.h"
#include "horizon/sun/sun_frame.h"

namespace horizon {

// The sun from the Earth's centre, for every place.
class SunEphemeris {
 public:
  SunEphemeris(double from_utc_s, double to_utc_s);

  // Apparent, in the celestial intermediate frame of date, through one day; x is its fraction.
  struct Cubic {
    double c[4][3];
    Vec3 position(double x) const {
      const auto axis = [&](int a) {
        return c[0][a] + x * (c[1][a] + x * (c[2][a] + x * c[3][a]));
      };
      return {axis(0), axis(1), axis(2)};
    }
    Vec3 rate(double x) const {  // a second
      const auto axis = [&](int a) {
        return (c[1][a] + x * (2 * c[2][a] + x * 3 * c[3][a])) / 86400.0;
      };
      return {axis(0), axis(1), axis(2)};
    }
  };
  // Days since the span's first. Instants outside the span get the nearest day's cubic.
  double day_at(double utc_s) const { return utc_s * (1 / 86400.0) - first_day_; }
  int cubic_index(double day) const {
    const int last = static_cast<int>(days_.size()) - 1;
    return day < 0 ? 0 : day < last ? static_cast<int>(day) : last;
  }
  const Cubic& cubic(int index) const { return days_[index]; }

  Vec3 position_at(double utc_s) const {
    const double day = day_at(utc_s);
    const int i = cubic_index(day);
    return days_[i].position(day - i);
  }

  double first_day() const { return first_day_; }  // since 1970
  double from_utc_s() const { return from_; }
  double to_utc_s() const { return to_; }

 private:
  double from_ = 0, to_ = 0, first_day_ = 0;
  std::vector<Cubic> days_;
};

class SunTrack {
 public:
  // Tracks of one span share their ephemeris, whatever the place.
  SunTrack(const Place& place, double from_utc_s, double to_utc_s);
  SunTrack(const Place& place, std::shared_ptr<const SunEphemeris> ephemeris);

  SunDirection at(double utc_s) const { return Observer::direction_of(local_at(utc_s)); }
  // At from_utc_s, step_s later and so on: the same values as at(), several times faster.
  void at_even_steps(double from_utc_s, double step_s, std::span<SunDirection> directions) const;
  // From the eye along east, north and up, in astronomical units.
  Vec3 local_at(double utc_s) const {
    return observer_.local(ephemeris_->position_at(utc_s), earth_rotation_turns(utc_s));
  }
  SunMotion motion_at(double utc_s) const;

  const Place& place() const { return place_; }
  const SunEphemeris& ephemeris() const { return *ephemeris_; }

 private:
  Place place_;
  std::shared_ptr<const SunEphemeris> ephemeris_;
  Observer observer_;
};

}  // namespace horizon
