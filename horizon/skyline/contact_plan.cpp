#include "horizon/skyline/contact_plan.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include "horizon/sun/moon.h"
#include "horizon/sun/sun.h"
#include "horizon/sun/sun_track.h"

namespace horizon {
namespace {

constexpr double kDay_s = 86400;
constexpr double kStep_s = 60;
constexpr double kLeastSun_s = 60;  // of a day that counts as having sun
constexpr double kDark_deg = -6;    // the sun's elevation when the moon lights the ground
constexpr double kNearlyFull = 0.93, kBeyondBand_deg = 2;
constexpr double kRoughness = 0.35;  // degrees over the root of a degree, of an ordinary ridge
constexpr double kFar_deg = 6;       // beyond, the line may be anywhere within about this

using DiscAt = std::function<Disc(double utc_s)>;

// As horizon/sun/sun_track.h, for the span; the moon by its theory.
DiscAt discs_of(Body body, double from_utc_s, double to_utc_s, const Place& place, const Air& air) {
  if (body == Body::moon)
    return [place, air](double t) { return disc_at(Body::moon, t, place, air); };
  const SunTrack track(place, from_utc_s - kDay_s, to_utc_s + kDay_s);
  return [track, air](double t) {
    const SunDirection sun = track.at(t);
    return Disc{sun.azimuth_deg, apparent_elevation_deg(sun.elevation_deg, air),
                sun.semidiameter_deg, 1, 0};
  };
}

// Where on the limb the last light is.
double last_azimuth(const Disc& disc, const Mask& mask) {
  const double level = std::max(0.05, std::cos(disc.elevation_deg * kDegree));
  double best = -1e9, at = disc.azimuth_deg;
  for (double turn = -85; turn <= 85; turn += 5) {
    const double az = disc.azimuth_deg + disc.semidiameter_deg * std::sin(turn * kDegree) / level;
    const double over = disc.elevation_deg + disc.semidiameter_deg * std::cos(turn * kDegree) -
                        mask.elevation_deg(az);
    if (over > best) best = over, at = az;
  }
  return wrap_360(at);
}

std::vector<ExpectedContact> crossings(Body body, const DiscAt& disc, double from, double to,
                                       const Mask& mask, bool only_first) {
  const auto over = [&](double t) {
    const Disc d = disc(t);
    if (d.elevation_deg < -1) return -1.0;
    if (d.elevation_deg > mask.highest_deg() + 1) return 1.0;
    return over_line_deg(d, mask);
  };
  std::vector<ExpectedContact> found;
  const double step = body == Body::sun ? kStep_s : 3 * kStep_s;
  double before = over(from);
  for (double t = from; t < to; t += step) {
    const double after = over(t + step);
    if ((before > 0) != (after > 0)) {
      double low = t, high = t + step;
      while (high - low > 0.2) {
        const double middle = (low + high) / 2;
        ((over(middle) > 0) == (before > 0) ? low : high) = middle;
      }
      const double at = (low + high) / 2, az = last_azimuth(disc(at), mask);
      const MaskPiece& piece = mask.piece_at(az);
      found.push_back(
          {body, after > 0, at, az, mask.elevation_deg(az), piece.obstacle, piece.open});
      if (only_first) return found;
    }
    before = after;
  }
  return found;
}

double sun_seconds(const std::vector<ExpectedContact>& contacts, double from, double to,
                   bool up_at_start) {
  double seconds = 0, since = from;
  bool up = up_at_start;
  for (const ExpectedContact& c : contacts) {
    if (up && !c.came) seconds += c.utc_s - since;
    up = c.came;
    since = c.utc_s;
  }
  return up ? seconds + to - since : seconds;
}

bool has_sun(double start, const DiscAt& disc, const Mask& mask) {
  const auto contacts = crossings(Body::sun, disc, start, start + kDay_s, mask, false);
  return sun_seconds(contacts, start, start + kDay_s, over_line_deg(disc(start), mask) > 0) >=
         kLeastSun_s;
}

Date day_after(Date date, int days) {
  return std::chrono::year_month_day{std::chrono::sys_days{date} + std::chrono::days{days}};
}

// Declination as seen from the place: of the direction itself.
double seen_declination_deg(double azimuth_deg, double elevation_deg, double latitude_deg) {
  const double el = elevation_deg * kDegree, lat = latitude_deg * kDegree;
  return std::asin(std::sin(lat) * std::sin(el) +
                   std::cos(lat) * std::cos(el) * std::cos(azimuth_deg * kDegree)) /
         kDegree;
}

}  // namespace

std::vector<ExpectedContact> expected_contacts(Body body, double from_utc_s, double to_utc_s,
                                               const Place& place, const Air& air,
                                               const Mask& mask) {
  return crossings(body, discs_of(body, from_utc_s, to_utc_s, place, air), from_utc_s, to_utc_s,
                   mask, false);
}

std::optional<ExpectedContact> next_contact(Body body, double from_utc_s, const Place& place,
                                            const Air& air, const Mask& mask, double within_s) {
  const double to = from_utc_s + within_s;
  const auto found =
      crossings(body, discs_of(body, from_utc_s, to, place, air), from_utc_s, to, mask, true);
  if (found.empty()) return std::nullopt;
  return found.front();
}

SunReturn sun_return(Date first, double utc_offset_h, const Place& place, const Air& air,
                     const Mask& mask) {
  SunReturn answer;
  const double start = start_of_day_utc_s(first, utc_offset_h);
  constexpr int kMost = 250;  // days either way
  const DiscAt disc =
      discs_of(Body::sun, start - kMost * kDay_s, start + kMost * kDay_s, place, air);
  const auto sunny = [&](int day) { return has_sun(start + day * kDay_s, disc, mask); };
  answer.now_without = !sunny(0);
  int day = 0;
  if (!answer.now_without) {
    while (day < kMost && sunny(day)) ++day;
    if (day == kMost) return answer;  // no spell ahead
    answer.gone = day_after(first, day - 1);
  } else {
    int back = 0;
    while (back > -kMost && !sunny(back)) --back;
    if (back > -kMost) answer.gone = day_after(first, back);
  }
  while (day < kMost && !sunny(day)) ++day;
  if (day < kMost) answer.back = day_after(first, day);
  return answer;
}

double line_doubt_deg(const Skyline& skyline, double azimuth_deg) {
  double before = 360, after = 360, sigma = 0, least = 360;
  for (const SkylinePoint& p : skyline.points) {
    if (p.layer != 0 || skyline.obstacles[p.obstacle].kind == Kind::pole) continue;
    const double x = wrap_180(p.azimuth.degrees() - azimuth_deg);
    (x < 0 ? before : after) = std::min(x < 0 ? before : after, std::abs(x));
    if (std::abs(x) < least) {
      least = std::abs(x);
      // Half a degree a degree: how an error sideways lifts an ordinary ridge.
      sigma = std::hypot(p.elevation_sigma_deg, 0.5 * p.azimuth_sigma_deg,
                         p.contact >= 0 || p.computed ? 0 : 0.5 * skyline.heading_sigma_deg);
    }
  }
  if (least > 180) return kFar_deg;
  const double between = kRoughness * std::sqrt(before * after / std::max(1e-9, before + after));
  return std::min(kFar_deg,
                  std::hypot(sigma, std::min(between, kRoughness * std::sqrt(least * 4))));
}

std::vector<DaysToWatch> days_to_watch(const Skyline& skyline, Date first, int days,
                                       double utc_offset_h, const Place& place, const Air& air,
                                       size_t most) {
  const Mask mask(skyline);
  const double start = start_of_day_utc_s(first, utc_offset_h);
  const DiscAt disc = discs_of(Body::sun, start, start + days * kDay_s, place, air);
  constexpr double kLeastDoubt_min = 1.5, kSameStretch_deg = 3;
  std::vector<DaysToWatch> all;
  for (int d = 0; d < days; ++d) {
    const double from = start + d * kDay_s;
    for (const ExpectedContact& c : crossings(Body::sun, disc, from, from + kDay_s, mask, false)) {
      if (c.elevation_deg < 0.5) continue;
      const Disc now = disc(c.utc_s), later = disc(c.utc_s + 60);
      const double rise =
          mask.elevation_deg(c.azimuth_deg + 0.5) - mask.elevation_deg(c.azimuth_deg - 0.5);
      // Degrees a minute by which the sun leaves the line; near 0 it runs along the ridge.
      const double opening = later.elevation_deg - now.elevation_deg -
                             rise * wrap_180(later.azimuth_deg - now.azimuth_deg);
      const double doubt = std::min(
          60.0, line_doubt_deg(skyline, c.azimuth_deg) / std::max(0.02, std::abs(opening)));
      if (doubt < kLeastDoubt_min) continue;
      const Date date = day_after(first, d);
      auto same = std::ranges::find_if(all, [&](const DaysToWatch& w) {
        return w.came == c.came && w.last == day_after(first, d - 1) &&
               (std::abs(wrap_180(c.azimuth_deg - w.to_azimuth_deg)) < kSameStretch_deg ||
                std::abs(wrap_180(c.azimuth_deg - w.from_azimuth_deg)) < kSameStretch_deg);
      });
      if (same == all.end() ||
          std::chrono::sys_days{date} - std::chrono::sys_days{same->first} > std::chrono::days{9}) {
        all.push_back(
            {date, date, c.came, c.azimuth_deg, c.azimuth_deg, c.utc_s, doubt, c.obstacle});
        continue;
      }
      same->last = date;
      if (wrap_180(c.azimuth_deg - same->from_azimuth_deg) < 0)
        same->from_azimuth_deg = c.azimuth_deg;
      if (wrap_180(c.azimuth_deg - same->to_azimuth_deg) > 0) same->to_azimuth_deg = c.azimuth_deg;
      same->doubt_min = std::max(same->doubt_min, doubt);
    }
  }
  std::ranges::stable_sort(all, std::ranges::greater{}, &DaysToWatch::doubt_min);
  if (all.size() > most) all.resize(most);
  return all;
}

std::vector<MoonNight> moon_nights(int year, double utc_offset_h, const Place& place,
                                   const Air& air, const Mask& mask) {
  const bool south = place.latitude_deg < 0;
  // The sun's declination: -23.4 at the solstice, about -14.5 on 1 November and 10 February.
  constexpr double kSolstice_deg = 23.44, kBandEnd_deg = 14.5;
  const double sign = south ? 1 : -1;
  const double first = start_of_day_utc_s(date_of_day(year, 1), utc_offset_h) + kDay_s / 2;
  std::vector<MoonNight> nights;
  for (int day = 0; day < days_in_year(year); ++day) {
    const double noon = first + day * kDay_s;
    if (moon_position(noon + kDay_s / 2, place).lit_share < kNearlyFull - 0.06) continue;
    const SunTrack sun(place, noon - kDay_s, noon + 2 * kDay_s);
    const auto dark = [&](double t) { return sun.at(t).elevation_deg < kDark_deg; };
    double dusk = 0, dawn = 0;
    for (double t = noon; t < noon + kDay_s; t += 300) {
      if (!dark(t)) continue;
      if (dusk == 0) dusk = t;
      dawn = t;
    }
    if (dusk == 0) continue;  // a night without darkness
    MoonNight night;
    night.evening = date_of(noon, utc_offset_h);
    night.highest_deg = -90;
    bool clears = false;
    for (double t = dusk; t <= dawn; t += 600) {
      const MoonPosition moon = moon_position(t, place);
      const double el = apparent_elevation_deg(moon.elevation.degrees(), air);
      if (el > 0 && !clears)
        clears = over_line_deg({moon.azimuth.degrees(), el, moon.semidiameter_deg, 1, 0}, mask) > 0;
      if (el <= night.highest_deg) continue;
      night.highest_deg = el;
      night.highest_utc_s = t;
      night.lit_share = moon.lit_share;
      night.declination_deg = seen_declination_deg(moon.azimuth.degrees(), moon.elevation.degrees(),
                                                   place.latitude_deg);
    }
    const double towards = sign * night.declination_deg;  // positive on the winter side
    night.off_band_deg = std::max({0.0, towards - kSolstice_deg, kBandEnd_deg - towards});
    if (!clears || night.highest_deg < 0 || night.lit_share < kNearlyFull ||
        night.off_band_deg > kBeyondBand_deg)
      continue;
    night.contacts = expected_contacts(Body::moon, dusk, dawn, place, air, mask);
    nights.push_back(std::move(night));
  }
  std::ranges::stable_sort(nights, {}, [&](const MoonNight& n) {
    return std::abs(sign * n.declination_deg - kSolstice_deg) - (n.contacts.empty() ? 0 : 0.5) -
           2 * n.lit_share;
  });
  return nights;
}

}  // namespace horizon
