#include "horizon/sun/exposure.h"

#include <cmath>

#include "horizon/sun/sun.h"

namespace horizon {

ExposureLevel exposure_level(double hours) {
  if (hours >= kExposureHigh_h) return ExposureLevel::high;
  if (hours >= kExposureMedium_h) return ExposureLevel::medium;
  if (hours >= kExposureMinimum_h) return ExposureLevel::minimum;
  return ExposureLevel::below;
}

Result<SunlightExposure> sunlight_exposure(const Place& place, Date date, double utc_offset_h,
                                           const Air& air, const Mask& mask,
                                           double lowest_sun_deg) {
  const Date first = date.year() / 2 / 1, last = date.year() / 3 / 21;
  if (!date.ok() || date < first || date > last)
    return fail(Code::bad_input, "error.exposure_day_range");
  if (auto valid = check_sun_year(static_cast<int>(date.year())); !valid)
    return tl::unexpected(valid.error());
  if (!(std::abs(lowest_sun_deg) <= 90)) return fail(Code::bad_input, "error.lowest_sun_range");
  const SunPath path(place, date, 1, utc_offset_h, air);
  const SunWindows seen = windows_above(path, mask);
  const SunDay day = sun_day(date, utc_offset_h, place, lowest_sun_deg);

  // From each rise over the lowest elevation to the next fall under it.
  SunlightExposure exposure;
  double from = path.day_start_utc_s(0);
  bool up = path.track().at(from).elevation_deg > lowest_sun_deg;
  size_t rise = 0, set = 0;
  const auto add = [&](double to) {
    for (const SunWindow& window : clipped(seen, from, to)) exposure.windows.push_back(window);
  };
  while (rise < day.rises_utc_s.size() || set < day.sets_utc_s.size()) {
    if (up && set < day.sets_utc_s.size())
      add(day.sets_utc_s[set++]);
    else if (!up && rise < day.rises_utc_s.size())
      from = day.rises_utc_s[rise++];
    else
      break;
    up = !up;
  }
  if (up) add(path.end_utc_s());
  exposure.hours = hours_in(exposure.windows);
  exposure.level = exposure_level(exposure.hours);
  return exposure;
}

}  // namespace horizon
