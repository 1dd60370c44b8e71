// horizon/skyline/contact_plan.h: when will the light come and go next, and which days and nights are
// worth watching?
// Units:    degrees, seconds UTC
// Frame:    true azimuths; elevations as seen; dates at the clock's offset
// Valid:    1950 to 2100; over the line as it is known now
// Accuracy: seconds of the line given; sigma_s says what the line's own doubt makes of it
// Source:   contacts as in horizon/skyline/contact.h; the winter sun's band: its declination from
//           1 November to 10 February (south: May to August)
#pragma once

#include <optional>
#include <vector>

#include "horizon/skyline/contact.h"
#include "horizon/skyline/skyline.h"
#include "horizon/time.h"

namespace horizon {

struct ExpectedContact {
  Body body = Body::sun;
  bool came = false;
  double utc_s = 0;
  double azimuth_deg = 0, elevation_deg = 0;  // of the line where it is touched, about
  int obstacle = -1;                          // of the skyline; -1 where nothing was sighted
  bool open = false;                          // nobody aimed there
};
// In time order. A stretch of light shorter than a minute may be passed over.
std::vector<ExpectedContact> expected_contacts(Body body, double from_utc_s, double to_utc_s,
                                               const Place& place, const Air& air,
                                               const Mask& mask);
std::optional<ExpectedContact> next_contact(Body body, double from_utc_s, const Place& place,
                                            const Air& air, const Mask& mask,
                                            double within_s = 20 * 3600);

// The next day with at least a minute of sun after one without; `gone`: the last with sun before.
struct SunReturn {
  bool now_without = false;  // the first day asked about has no sun
  std::optional<Date> gone, back;
};
SunReturn sun_return(Date first, double utc_offset_h, const Place& place, const Air& air,
                     const Mask& mask);

// Days on which a contact falls where the line is least sure, most minutes of doubt first.
struct DaysToWatch {
  Date first, last;
  bool came = false;
  double from_azimuth_deg = 0, to_azimuth_deg = 0;
  double about_utc_s = 0;  // on the first day
  double doubt_min = 0;    // how far the contact may be from the time expected, the largest
  int obstacle = -1;
};
std::vector<DaysToWatch> days_to_watch(const Skyline& skyline, Date first, int days,
                                       double utc_offset_h, const Place& place, const Air& air,
                                       size_t most = 5);
// One standard deviation of the line between and beyond what was aimed at or touched, degrees.
double line_doubt_deg(const Skyline& skyline, double azimuth_deg);

struct MoonNight {
  Date evening;
  double lit_share = 0;
  double declination_deg = 0;  // as seen from the place, when highest
  double highest_utc_s = 0, highest_deg = 0;
  std::vector<ExpectedContact> contacts;  // in the dark
  double off_band_deg = 0;                // beyond the winter sun's band; 0 within
};
// The moon nearly full (93 % and more), within 2 degrees of the winter sun's band, over the line
// in the dark; nearest to the shortest day's path first.
std::vector<MoonNight> moon_nights(int year, double utc_offset_h, const Place& place,
                                   const Air& air, const Mask& mask);

}  // namespace horizon
