// survey/assess/site_clock.h: can a site's clock be that of the place?
// Units:  hours, degrees east
// Source: IANA time zone data: no country's clock is four hours from its sun, summer time included
#pragma once

#include <cmath>
#include <cstdio>
#include <string>

#include "horizon/angle.h"
#include "horizon/result.h"
#include "horizon/sun/sun.h"

namespace survey {

inline constexpr double kClockFromSun_h = 4;

// How far a clock is from the sun's mean time there, -12 to 12.
inline double clock_from_sun_h(double utc_offset_h, double longitude_deg) {
  return horizon::wrap_180(15 * utc_offset_h - longitude_deg) / 15;
}

// What to say of a clock that is farther than that.
inline horizon::Sentence site_clock_off(double utc_offset_h, double longitude_deg) {
  const auto signed_h = [](double h) {
    char text[24];
    std::snprintf(text, sizeof text, "%+g", h);
    return std::string(text);
  };
  return {"error.site_clock_off",
          {signed_h(utc_offset_h), signed_h(horizon::solar_zone_h(longitude_deg))}};
}

}  // namespace survey
