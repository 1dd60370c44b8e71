// horizon/sun/exposure.h: the sunlight exposure of EN 17037 at a station, on one spring day.
// Units:    degrees, hours
// Frame:    the reference point is the station's eye, not a window's inner wall: what a glazed
//           space there could get before its own frame shades it
// Valid:    a day from 1 February to 21 March, as the standard has it
// Source:   EN 17037 levels 1.5, 3 and 4 h, from memory; the lowest sun that counts is the
// country's
//           own figure and must be entered. Check both against the standard before relying on them
#pragma once

#include "horizon/place.h"
#include "horizon/result.h"
#include "horizon/skyline/mask.h"
#include "horizon/sun/refraction.h"
#include "horizon/sun/sun_path.h"
#include "horizon/time.h"

namespace horizon {

enum class ExposureLevel { below, minimum, medium, high };
inline constexpr double kExposureMinimum_h = 1.5, kExposureMedium_h = 3.0, kExposureHigh_h = 4.0;

struct SunlightExposure {
  ExposureLevel level = ExposureLevel::below;
  double hours = 0;
  SunWindows windows;
};

// lowest_sun_deg: of the centre, without refraction.
Result<SunlightExposure> sunlight_exposure(const Place& place, Date date, double utc_offset_h,
                                           const Air& air, const Mask& mask, double lowest_sun_deg);
ExposureLevel exposure_level(double hours);

}  // namespace horizon
