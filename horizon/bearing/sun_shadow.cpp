#include "horizon/bearing/sun_shadow.h"

#include <algorithm>
#include <cmath>

#include "horizon/geodesy.h"
#include "horizon/sun/refraction.h"
#include "horizon/sun/sun.h"

namespace horizon {
namespace {

constexpr double kLowest_deg = 3, kHighest_deg = 60, kWorstSigma_deg = 2;

TrueAzimuth sun_azimuth(double utc_s, const Place& place) {
  return sun_position(utc_s, place).azimuth;
}

}  // namespace

ShadowErrors usual_errors(ShadowMethod method) {
  ShadowErrors errors;
  switch (method) {
    // The half-shadow of a thread is half a degree wide; its middle is read to a third of that.
    case ShadowMethod::plumb_line:
      errors.reading_sigma_deg = 0.5;
      errors.levelling_sigma_deg = 0.3;
      break;
    case ShadowMethod::device_edge:
      errors.reading_sigma_deg = 0.7;
      errors.levelling_sigma_deg = 0.8;
      break;
    case ShadowMethod::pinhole:
      errors.reading_sigma_deg = 0.3;
      errors.levelling_sigma_deg = 0.5;
      break;
  }
  return errors;
}

Result<ShadowBearing> shadow_bearing(const Place& place, const ShadowReading& reading) {
  if (!is_place(place)) return fail(Code::bad_input, "error.sun_check_place_needed");
  if (auto known = check_sun_time(reading.utc_s); !known) return tl::unexpected(known.error());
  const ShadowErrors& e = reading.errors;
  if (!(e.clock_sigma_s >= 0 && e.position_sigma_m >= 0 && e.reading_sigma_deg > 0 &&
        e.levelling_sigma_deg >= 0))
    return fail(Code::bad_input, "error.sun_check_errors_needed");

  const SunPosition sun = sun_position(reading.utc_s, place);
  ShadowBearing result;
  result.sun = sun.azimuth;
  result.sun_apparent = Elevation::degrees(
      apparent_elevation_deg(sun.elevation.degrees(), standard_air(place.height_m)));
  const double el = result.sun_apparent.degrees();
  if (el < 0) return fail(Code::out_of_range, "error.sun_below_horizon");
  if (el < kLowest_deg) return fail(Code::out_of_range, "error.sun_too_low");
  if (el > kHighest_deg) return fail(Code::out_of_range, "error.sun_too_high");

  result.known = sun.azimuth.turned_by(reading.towards_sun ? 0 : 180);
  constexpr double kHalfMinute_s = 30;
  result.turn_deg_per_min = clockwise_deg(sun_azimuth(reading.utc_s - kHalfMinute_s, place),
                                          sun_azimuth(reading.utc_s + kHalfMinute_s, place));
  const double by_clock = result.turn_deg_per_min * e.clock_sigma_s / 60;
  const auto by_step = [&](double towards_deg) {
    const Place moved = destination(place, TrueAzimuth::degrees(towards_deg), 1000);
    return clockwise_deg(sun.azimuth, sun_azimuth(reading.utc_s, moved)) * e.position_sigma_m /
           1000;
  };
  result.known_sigma_deg = std::hypot(by_clock, by_step(0), by_step(90));
  result.measured_sigma_deg = std::hypot(
      e.reading_sigma_deg, e.levelling_sigma_deg * std::tan(result.sun_apparent.radians()));
  if (result.known_sigma_deg > kWorstSigma_deg)
    return fail(Code::out_of_range, "error.sun_turns_too_fast");
  return result;
}

Result<HeadingCheck> shadow_check(const Place& place, const ShadowReading& reading) {
  if (!reading.measured.finite()) return fail(Code::bad_input, "error.shadow_bearing_missing");
  const auto bearing = shadow_bearing(place, reading);
  if (!bearing) return tl::unexpected(bearing.error());
  HeadingCheck check;
  check.kind = CheckKind::sun_shadow;
  check.measured = reading.measured;
  check.known = bearing->known;
  check.measured_sigma_deg = bearing->measured_sigma_deg;
  check.known_sigma_deg = bearing->known_sigma_deg;
  return check;
}

}  // namespace horizon
