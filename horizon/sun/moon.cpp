#include "horizon/sun/moon.h"

#include <erfa.h>
#include <erfam.h>

#include <algorithm>
#include <cmath>

#include "horizon/sun/sun_frame.h"

namespace horizon {
namespace {

constexpr double kDay_s = 86400.0;
constexpr double kUnixEpochJd = 2440587.5;
constexpr double kAu_km = ERFA_DAU / 1000;
constexpr double kEarthRadius_km = 6378.137;
constexpr double kFlatRefraction_deg = 34.0 / 60.0;  // as almanacs use it for rise and set

double length(const Vec3& v) { return std::sqrt(v.x * v.x + v.y * v.y + v.z * v.z); }

// The matrices of a date, from GCRS.
struct Frames {
  double of_date[3][3], intermediate[3][3];
  double nutation = 0;  // in longitude, radians
  explicit Frames(double tt_s) {
    const double tt_day = tt_s / kDay_s;
    double dpsi, deps, epsa, rb[3][3], rp[3][3], rbp[3][3], rn[3][3];
    eraNut00b(kUnixEpochJd, tt_day, &dpsi, &deps);
    eraPn06(kUnixEpochJd, tt_day, dpsi, deps, &epsa, rb, rp, rbp, rn, of_date);
    nutation = dpsi;
    const double x = of_date[2][0], y = of_date[2][1];
    eraC2ixys(x, y, eraS06(kUnixEpochJd, tt_day, x, y), intermediate);
  }
};

Vec3 turned(const double (&matrix)[3][3], const Vec3& v) {
  double m[3][3], in[3] = {v.x, v.y, v.z}, out[3];
  std::copy(&matrix[0][0], &matrix[0][0] + 9, &m[0][0]);
  eraRxp(m, in, out);
  return {out[0], out[1], out[2]};
}

// In GCRS axes. The moon goes with the Earth, so its light time is that of its own orbit alone.
Vec3 moon_apparent_gcrs(double tt_s) {
  double pv[2][3];
  eraMoon98(kUnixEpochJd, tt_s / kDay_s, pv);
  const double light_days = eraPm(pv[0]) * ERFA_AULT / kDay_s;
  return {pv[0][0] - light_days * pv[1][0], pv[0][1] - light_days * pv[1][1],
          pv[0][2] - light_days * pv[1][2]};
}

// From the eye along east, north and up; the observer's own speed counts by the distance.
Vec3 local_of(const Observer& observer, const Vec3& cirs, double utc_s) {
  Vec3 local = observer.local(cirs, earth_rotation_turns(utc_s));
  local.x += observer.east_speed() * (length(local) - 1);
  return local;
}

struct Level {
  double azimuth_deg, elevation_deg;
};
Level level_of(const Vec3& v) {
  return {wrap_360(std::atan2(v.x, v.y) / kDegree),
          std::atan2(v.z, std::hypot(v.x, v.y)) / kDegree};
}

// Elevation of the upper limb over the flat horizon of almanacs.
double over_horizon_deg(double utc_s, const Observer& observer, const Frames& frames) {
  const Vec3 gcrs = moon_apparent_gcrs(utc_s + tt_minus_utc_s(utc_s));
  const Vec3 local = local_of(observer, turned(frames.intermediate, gcrs), utc_s);
  return level_of(local).elevation_deg + kFlatRefraction_deg +
         std::asin(kMoonRadius_km / kAu_km / length(local)) / kDegree;
}

}  // namespace

MoonPosition moon_position(double utc_s, const Place& place) {
  const double tt_s = utc_s + tt_minus_utc_s(utc_s);
  const Frames frames(tt_s);
  const Observer observer(place);
  const Vec3 gcrs = moon_apparent_gcrs(tt_s);
  const Vec3 moon = local_of(observer, turned(frames.intermediate, gcrs), utc_s);
  const Vec3 sun = observer.local(turned(frames.intermediate, sun_apparent_gcrs(tt_s)),
                                  earth_rotation_turns(utc_s));
  const Vec3 equator = turned(frames.of_date, gcrs);
  const Level at = level_of(moon), sun_at = level_of(sun);

  MoonPosition position;
  position.azimuth = TrueAzimuth::degrees(at.azimuth_deg);
  position.elevation = Elevation::degrees(at.elevation_deg);
  const double away = length(moon);
  position.semidiameter_deg = std::asin(kMoonRadius_km / kAu_km / away) / kDegree;
  position.distance_km = length(gcrs) * kAu_km;
  position.parallax_deg = std::asin(kEarthRadius_km / position.distance_km) / kDegree;
  position.right_ascension_deg = wrap_360(std::atan2(equator.y, equator.x) / kDegree);
  position.declination_deg = std::atan2(equator.z, std::hypot(equator.x, equator.y)) / kDegree;

  // Phase angle at the moon, between observer and sun.
  const Vec3 to_sun{sun.x - moon.x, sun.y - moon.y, sun.z - moon.z};
  const double cosine =
      -(to_sun.x * moon.x + to_sun.y * moon.y + to_sun.z * moon.z) / (length(to_sun) * away);
  position.lit_share = (1 + std::clamp(cosine, -1.0, 1.0)) / 2;
  // The great circle from the moon to the sun leaves the disc where the lit limb's middle is.
  const double turn = (sun_at.azimuth_deg - at.azimuth_deg) * kDegree;
  const double el = at.elevation_deg * kDegree, sun_el = sun_at.elevation_deg * kDegree;
  position.lit_limb_deg =
      wrap_360(std::atan2(std::cos(sun_el) * std::sin(turn),
                          std::sin(sun_el) * std::cos(el) -
                              std::cos(sun_el) * std::sin(el) * std::cos(turn)) /
               kDegree);
  return position;
}

MoonEcliptic moon_ecliptic(double tt_s) {
  const double tt_day = tt_s / kDay_s;
  double pv[2][3], gamb, phib, psib, epsa, to_gcrs[3][3], of_date[3], theta, phi, r;
  eraMoon98(kUnixEpochJd, tt_day, pv);
  // The way back from the frame that eraMoon98 turns its mean ecliptic of date into.
  eraPfw06(kUnixEpochJd, tt_day, &gamb, &phib, &psib, &epsa);
  eraIr(to_gcrs);
  eraRz(psib, to_gcrs);
  eraRx(-phib, to_gcrs);
  eraRz(-gamb, to_gcrs);
  eraTrxp(to_gcrs, pv[0], of_date);
  eraP2s(of_date, &theta, &phi, &r);
  return {wrap_360(theta / kDegree), phi / kDegree,
          wrap_360((theta + Frames(tt_s).nutation) / kDegree), r * kAu_km};
}

bool limb_lit(const MoonPosition& moon, double from_top_deg) {
  return std::abs(wrap_180(from_top_deg - moon.lit_limb_deg)) < 90;
}

SunDay moon_day(Date date, double utc_offset_h, const Place& place) {
  const double start = start_of_day_utc_s(date, utc_offset_h), end = start + kDay_s;
  const Observer observer(place);
  const Frames frames(start + kDay_s / 2 + tt_minus_utc_s(start));  // moves 0.15" a day
  const auto above = [&](double t) { return over_horizon_deg(t, observer, frames); };
  SunDay day;
  // Ten-minute steps: a moon that shows for less than that at the horizon's edge is passed over.
  constexpr double kStep_s = 600;
  double before = above(start);
  for (double t = start; t < end; t += kStep_s) {
    const double after = above(t + kStep_s);
    if ((before > 0) != (after > 0)) {
      double low = t, high = t + kStep_s;
      while (high - low > 0.1) {
        const double middle = (low + high) / 2;
        ((above(middle) > 0) == (before > 0) ? low : high) = middle;
      }
      const double at = (low + high) / 2;
      (after > 0 ? day.rises_utc_s : day.sets_utc_s).push_back(at);
      day.up_h += (after > 0 ? t + kStep_s - at : at - t) / 3600.0;
    } else if (before > 0) {
      day.up_h += kStep_s / 3600.0;
    }
    before = after;
  }
  if (day.rises_utc_s.empty() && day.sets_utc_s.empty())
    (before > 0 ? day.always_up : day.always_down) = true;
  return day;
}

}  // namespace horizon
