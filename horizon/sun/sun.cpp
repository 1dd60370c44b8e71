#include "horizon/sun/sun.h"

#include <erfa.h>

#include <algorithm>
#include <cmath>

#include "horizon/sun/sun_frame.h"
#include "horizon/sun/sun_track.h"

namespace horizon {
namespace {

constexpr double kDay_s = 86400.0;
constexpr double kUnixEpochJd = 2440587.5;

// Zero of f between a and b, where it changes sign, to 0.01 s.
template <class F>
double zero_between(double a, double b, const F& f) {
  double fa = f(a);
  while (b - a > 0.01) {
    const double middle = (a + b) / 2, fm = f(middle);
    if ((fm > 0) == (fa > 0)) {
      a = middle;
      fa = fm;
    } else {
      b = middle;
    }
  }
  return (a + b) / 2;
}

}  // namespace

SunPosition sun_position(double utc_s, const Place& place) {
  const double tt_s = utc_s + tt_minus_utc_s(utc_s), tt_day = tt_s / kDay_s;
  const Vec3 gcrs = sun_apparent_gcrs(tt_s);
  double gcrs_axes[3] = {gcrs.x, gcrs.y, gcrs.z};
  double npb[3][3], intermediate[3][3], of_date[3], cirs[3];
  eraPnm06a(kUnixEpochJd, tt_day, npb);
  const double s = eraS06(kUnixEpochJd, tt_day, npb[2][0], npb[2][1]);
  eraC2ixys(npb[2][0], npb[2][1], s, intermediate);
  eraRxp(npb, gcrs_axes, of_date);
  eraRxp(intermediate, gcrs_axes, cirs);

  const SunDirection seen = Observer::direction_of(
      Observer(place).local({cirs[0], cirs[1], cirs[2]}, earth_rotation_turns(utc_s)));
  double right_ascension, declination;
  eraC2s(of_date, &right_ascension, &declination);
  const double greenwich_hour_angle_deg =
      (eraEra00(kUnixEpochJd, utc_s / kDay_s) - eraEors(npb, s) - right_ascension) /
      kDegree;  // apparent sidereal time - RA
  const double mean_clock_deg = 360.0 * (utc_s / kDay_s - std::floor(utc_s / kDay_s)) - 180.0;

  SunPosition position;
  position.azimuth = TrueAzimuth::degrees(seen.azimuth_deg);
  position.elevation = Elevation::degrees(seen.elevation_deg);
  position.semidiameter_deg = seen.semidiameter_deg;
  position.distance_au = eraPm(of_date);
  position.right_ascension_deg = wrap_360(right_ascension / kDegree);
  position.declination_deg = declination / kDegree;
  position.hour_angle_deg = wrap_180(greenwich_hour_angle_deg + place.longitude_deg);
  position.equation_of_time_min = wrap_180(greenwich_hour_angle_deg - mean_clock_deg) * 4.0;
  return position;
}

Result<void> check_sun_year(int year) {
  if (year >= kFirstSunYear && year <= kLastSunYear) return {};
  return fail(Code::out_of_range, "error.sun_years", "year " + std::to_string(year));
}

Result<void> check_sun_time(double utc_s) {
  if (!std::isfinite(utc_s)) return fail(Code::bad_input, "error.not_a_time");
  if (utc_s >= start_of_day_utc_s(date_of_day(kFirstSunYear, 1)) &&
      utc_s < start_of_day_utc_s(date_of_day(kLastSunYear + 1, 1)))
    return {};
  return fail(Code::out_of_range, "error.sun_years");
}

double solar_zone_h(double longitude_deg) { return std::round(wrap_180(longitude_deg) / 15.0); }

SunDay sun_day(Date date, double utc_offset_h, const Place& place, double elevation_deg) {
  const double start = start_of_day_utc_s(date, utc_offset_h), end = start + kDay_s;
  const SunTrack track(place, start, end);
  const auto above = [&](double t) { return track.at(t).elevation_deg - elevation_deg; };
  const auto climbing = [&](double t) { return track.motion_at(t).elevation_rate; };
  const auto hour_angle = [&](double t) {
    const Vec3 sun = track.ephemeris().position_at(t);
    return std::sin(eraEra00(kUnixEpochJd, t / kDay_s) + place.longitude_deg * kDegree -
                    std::atan2(sun.y, sun.x));
  };

  // Between two of its highest and lowest points the sun only climbs or only sinks. Half-hour steps
  // find them: a turn back within one would move the elevation by less than the solver sees.
  std::vector<double> turns{start};
  SunDay day;
  constexpr double kStep_s = 1800;
  for (double t = start; t < end; t += kStep_s) {
    const double next = std::min(end, t + kStep_s);
    if ((climbing(t) > 0) != (climbing(next) > 0)) turns.push_back(zero_between(t, next, climbing));
    const double h0 = hour_angle(t), h1 = hour_angle(next);
    if (!day.transit_utc_s && h0 <= 0 && h1 > 0)
      day.transit_utc_s = zero_between(t, next, hour_angle);
  }
  turns.push_back(end);

  for (size_t i = 0; i + 1 < turns.size(); ++i) {
    const double from = turns[i], to = turns[i + 1];
    const bool before = above(from) > 0, after = above(to) > 0;
    if (before == after) {
      if (before) day.up_h += (to - from) / 3600.0;
      continue;
    }
    const double at = zero_between(from, to, above);
    (after ? day.rises_utc_s : day.sets_utc_s).push_back(at);
    day.up_h += (after ? to - at : at - from) / 3600.0;
  }
  if (day.rises_utc_s.empty() && day.sets_utc_s.empty())
    (above(start) > 0 ? day.always_up : day.always_down) = true;
  return day;
}

}  // namespace horizon
