#include "horizon/sun/sun_year.h"

#include <algorithm>
#include <cmath>

#include "horizon/sun/disc.h"

namespace horizon {
namespace {

unsigned month_of(Date date) { return static_cast<unsigned>(date.month()); }

// Share of the beam behind the obstacle; only leafy trees let any through.
double light_behind(std::span<const Obstacle> obstacles, int obstacle, Date date, bool southern) {
  if (obstacle < 0 || obstacle >= static_cast<int>(obstacles.size())) return 0;
  return light_through(obstacles[obstacle].foliage, static_cast<int>(month_of(date)), southern);
}

// Hands each day its share of a window that may run over midnight.
template <class Add>
void by_day(const SunPath& path, const SunWindow& window, const Add& add) {
  const double from_start = window.from_utc_s - path.day_start_utc_s(0);
  for (int day = static_cast<int>(from_start / 86400.0); day < path.days(); ++day) {
    const double from = std::max(window.from_utc_s, path.day_start_utc_s(day));
    const double to = std::min(window.to_utc_s, path.day_start_utc_s(day + 1));
    if (to <= from) break;
    add(day, SunWindow{from, to});
  }
}

// Days without sun from New Year on in the year after the path's.
int dark_days_after(const SunPath& path, const Mask& mask, int at_most) {
  const Date first = date_of_day(static_cast<int>(path.date(0).year()) + 1, 1);
  const SunPath next(path.place(), first, at_most, path.utc_offset_h(), path.air());
  const std::vector<double> hours = hours_by_day(next, windows_above(next, mask));
  const auto sunny =
      std::find_if(hours.begin(), hours.end(), [](double h) { return h >= kDayWithSun_h; });
  return static_cast<int>(sunny - hours.begin());
}

std::vector<SunlessSpell> sunless_spells(const SunPath& path, const Mask& mask,
                                         const std::vector<SunYearDay>& days) {
  std::vector<SunlessSpell> spells;
  const int n = static_cast<int>(days.size());
  const auto dark = [&](int i) { return days[i].hours.direct_h < kDayWithSun_h; };
  for (int i = 0; i < n; ++i) {
    if (!dark(i)) continue;
    int end = i;
    while (end + 1 < n && dark(end + 1)) ++end;
    spells.push_back({days[i].date, days[end].date, end - i + 1});
    i = end;
  }
  // The winter's spell runs over New Year.
  if (spells.size() > 1 && dark(0) && dark(n - 1)) {
    SunlessSpell& winter = spells.back();
    const int year = static_cast<int>(winter.last.year());
    // Days shift by one at most from year to year, dates by a leap day.
    const int seen = spells.front().days;
    const int more = year < 2100 ? dark_days_after(path, mask, std::min(n, seen + 7)) : seen;
    if (more > 0) winter.last = date_of_day(year + 1, more);
    winter.days += more;
    spells.erase(spells.begin());
  }
  std::stable_sort(spells.begin(), spells.end(),
                   [](const auto& a, const auto& b) { return a.days > b.days; });
  return spells;
}

}  // namespace

SunHoursSum& SunHoursSum::operator+=(const SunHoursSum& other) {
  direct_h += other.direct_h;
  flat_h += other.flat_h;
  filtered_h += other.filtered_h;
  filtered_light_h += other.filtered_light_h;
  open_h += other.open_h;
  return *this;
}

unsigned default_winter_months(bool southern) { return southern ? 0x0F0 : 0xC03; }

SunYear sun_year(const SunPath& path, const Masks& masks, std::span<const Obstacle> obstacles,
                 unsigned winter_months) {
  const bool southern = path.place().latitude_deg < 0;
  SunYear year;
  year.year = static_cast<int>(path.date(0).year());
  year.winter_months = winter_months ? winter_months : default_winter_months(southern);
  year.days.resize(path.days());
  for (int i = 0; i < path.days(); ++i) year.days[i].date = path.date(i);

  const SunWindows direct = windows_above(path, masks.all);
  for (const SunWindow& w : direct)
    by_day(path, w, [&](int day, const SunWindow& part) {
      year.days[day].direct.push_back(part);
      year.days[day].hours.direct_h += part.hours();
    });
  for (const SunWindow& w : windows_above(path, masks.all, Limb::upper))
    by_day(path, w, [&](int day, const SunWindow& part) { year.days[day].upper.push_back(part); });
  for (const SunWindow& w : windows_above(path, masks.all, Limb::lower))
    by_day(path, w, [&](int day, const SunWindow& part) { year.days[day].lower.push_back(part); });
  for (const SunWindow& w : windows_above(path, Mask()))
    by_day(path, w,
           [&](int day, const SunWindow& part) { year.days[day].hours.flat_h += part.hours(); });
  if (!masks.all.open_stretches().empty())
    for (const SunStretch& stretch : by_obstacle(path, direct, masks.all))
      if (stretch.open)
        by_day(path, stretch.window, [&](int day, const SunWindow& part) {
          year.days[day].hours.open_h += part.hours();
        });
  if (masks.has_leafy) {
    const SunWindows filtered = difference(windows_above(path, masks.solid), direct);
    for (const SunStretch& stretch : by_obstacle(path, filtered, masks.all))
      by_day(path, stretch.window, [&](int day, const SunWindow& part) {
        SunYearDay& row = year.days[day];
        row.hours.filtered_h += part.hours();
        row.hours.filtered_light_h +=
            part.hours() * light_behind(obstacles, stretch.obstacle, row.date, southern);
      });
  }

  for (const SunYearDay& day : year.days) {
    const unsigned month = month_of(day.date);
    year.months[month - 1] += day.hours;
    year.whole += day.hours;
    if (year.winter_months >> (month - 1) & 1) year.winter += day.hours;
    if (static_cast<unsigned>(day.date.day()) == 21 && !day.direct.empty())
      year.on_the_21st[month - 1] = {day.direct.front().from_utc_s, day.direct.back().to_utc_s};
  }
  year.without_direct_sun = sunless_spells(path, masks.all, year.days);
  return year;
}

SunSight sun_sight(const SunPath& path, const Masks& masks, std::span<const Obstacle> obstacles,
                   double utc_s) {
  const SunPath::Seen sun = path.at(utc_s);
  const MaskPiece& line = masks.all.piece_at(sun.azimuth_deg);
  SunSight sight;
  sight.azimuth_deg = sun.azimuth_deg;
  sight.elevation_deg = sun.elevation_deg;
  sight.disc_in_view =
      disc_fraction_above(masks.all, sun.azimuth_deg, sun.elevation_deg, sun.semidiameter_deg);
  sight.open = line.open;
  if (sun.elevation_deg > line.elevation_deg(sun.azimuth_deg)) {
    sight.sight = SightOfSun::in_view;
    sight.light = 1;
    return sight;
  }
  const MaskPiece& solid = masks.solid.piece_at(sun.azimuth_deg);
  if (masks.has_leafy && sun.elevation_deg > solid.elevation_deg(sun.azimuth_deg)) {
    sight.sight = SightOfSun::filtered;
    sight.obstacle = line.obstacle;
    sight.light = light_behind(obstacles, line.obstacle, date_of(utc_s, path.utc_offset_h()),
                               path.place().latitude_deg < 0);
    return sight;
  }
  if (sun.elevation_deg <= 0) return sight;
  sight.sight = SightOfSun::hidden;
  sight.obstacle = solid.obstacle;
  sight.open = solid.open;
  return sight;
}

}  // namespace horizon
