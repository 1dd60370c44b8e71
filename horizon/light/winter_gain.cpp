#include "horizon/light/winter_gain.h"

#include <algorithm>

namespace horizon {

Ranged winter_gain_kwh_m2(const StationFindings& found) {
  Ranged sum;
  int days = 0;
  double most_an_hour = 0;
  const auto winter = [&](const MonthLight& m) {
    return (found.winter_months >> (m.month - 1) & 1) != 0;
  };
  for (const auto& m : found.months)
    if (winter(m) && m.direct_sun_h.value > 1)
      most_an_hour = std::max(most_an_hour, m.beam_kwh_m2 / m.direct_sun_h.value);
  for (const auto& m : found.months) {
    if (!winter(m)) continue;
    const auto& hours = m.direct_sun_h;
    const double an_hour = hours.value > 1 ? m.beam_kwh_m2 / hours.value : most_an_hour;
    sum.value += m.on_plane_kwh_m2;
    sum.low += std::max(0.0, m.on_plane_kwh_m2 - an_hour * (hours.value - hours.low));
    sum.high += m.on_plane_kwh_m2 + an_hour * (hours.high - hours.value);
    days += m.days;
  }
  const double each = 1.0 / std::max(1, days);
  return {sum.value * each, std::min(sum.low, sum.high) * each, sum.high * each};
}

}  // namespace horizon
