// tests/horizon/skyline/contact_truth.h: when sun or moon truly go and come over a known line, by
// brute force: the whole limb against the line every 0.02 degree, bisected to 0.05 s.
#pragma once

#include <algorithm>
#include <cmath>
#include <functional>
#include <vector>

#include "horizon/skyline/contact.h"
#include "horizon/sun/moon.h"
#include "horizon/sun/sun_track.h"
#include "horizon/time.h"

namespace contact_truth {

using namespace horizon;
using Line = std::function<double(double azimuth_deg)>;

struct Event {
  double utc_s = 0;
  bool came = false;
};

inline double over(const Line& line, double az, double el, double s) {
  double best = -90;
  const double level = std::cos(el * kDegree);
  for (double x = -s; x <= s; x += 0.02)
    best = std::max(best, el + std::sqrt(std::max(0.0, s * s - x * x)) - line(az + x / level));
  return best;
}

// The first and last light of every window of a day.
inline std::vector<Event> sun_events(const Line& line, const Place& place, double from_utc_s,
                                     double to_utc_s, const Air& air, double highest_deg) {
  const SunTrack track(place, from_utc_s - 86400, to_utc_s + 86400);
  const auto at = [&](double t) {
    const SunDirection sun = track.at(t);
    const double el = apparent_elevation_deg(sun.elevation_deg, air);
    if (el > highest_deg + 0.5) return 1.0;
    if (el < -0.5) return -1.0;
    return over(line, sun.azimuth_deg, el, sun.semidiameter_deg);
  };
  std::vector<Event> events;
  double before = at(from_utc_s);
  for (double t = from_utc_s; t < to_utc_s; t += 60) {
    const double after = at(t + 60);
    if ((before > 0) != (after > 0)) {
      double low = t, high = t + 60;
      while (high - low > 0.05) {
        const double middle = (low + high) / 2;
        ((at(middle) > 0) == (before > 0) ? low : high) = middle;
      }
      events.push_back({(low + high) / 2, after > 0});
    }
    before = after;
  }
  return events;
}

}  // namespace contact_truth
