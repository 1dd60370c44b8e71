#include "horizon/light/sun_steps.h"

#include <algorithm>
#include <cmath>

#include "horizon/sun/refraction.h"
#include "horizon/sun/sun_track.h"
#include "horizon/time.h"

namespace horizon {
namespace {

// Antiderivative of the share of a unit disc above a line, x from its centre in radii.
double disc_area(double x) {
  if (x <= -1) return 0;
  if (x >= 1) return x;
  const double s = std::sqrt(1 - x * x);
  return x / 2 + (x * std::asin(x) + s - s * s * s / 3) / std::numbers::pi;
}

double height_over(const Mask& mask, const GroundSlope& slope, const SunNode& node) {
  const double ground = std::max(0.0, ground_elevation_deg(slope, node.azimuth_deg));
  return node.seen_deg - std::max(ground, mask.elevation_deg(node.azimuth_deg));
}

}  // namespace

SunSteps sun_steps(const Place& place, int year, double utc_offset_h, double step_min,
                   int day_stride) {
  SunSteps sun;
  sun.place = place;
  sun.utc_offset_h = utc_offset_h;
  sun.year = year;
  sun.step_h = step_min / 60;
  for (unsigned m = 0; m < 12; ++m) {
    const Date first = std::chrono::year{year} / std::chrono::month{m + 1} / 1;
    sun.month_begins[m] = static_cast<std::int16_t>(day_of_year(first) - 1);
  }
  const int days = days_in_year(year);
  sun.month_begins[12] = static_cast<std::int16_t>(days);

  const double start = start_of_day_utc_s(date_of_day(year, 1), utc_offset_h);
  const SunTrack track(place, start, start + days * 86400.0);
  const Air air = standard_air(std::clamp(place.height_m, -500.0, 9000.0));
  const int per_day = static_cast<int>(std::lround(1440 / step_min));
  // Lower than this at both ends of a step, refraction or not, the sun stays down: it climbs by
  // a quarter of a degree a minute at most.
  const double lowest_deg = -(1 + 0.25 * step_min);
  const auto node_of = [&](const SunDirection& s) {
    return SunNode{s.azimuth_deg, apparent_elevation_deg(s.elevation_deg, air), s.elevation_deg};
  };

  std::vector<SunDirection> directions(per_day + 1);
  for (int day = 0, month = 0; day < days; day += day_stride) {
    while (day >= sun.month_begins[month + 1]) ++month;
    const double midnight = start + day * 86400.0;
    const double step_s = 86400.0 / per_day;
    track.at_even_steps(midnight, step_s, directions);
    bool was_up = false;
    for (int k = 0; k <= per_day; ++k) {
      const double utc_s = midnight + k * step_s;
      const SunDirection& direction = directions[k];
      const bool up = direction.elevation_deg > lowest_deg;
      if (up || was_up) {
        const bool joins = was_up && k > 0;
        sun.nodes.push_back(node_of(direction));
        sun.utc_s.push_back(utc_s);
        if (joins) {
          const SunNode &a = sun.nodes[sun.nodes.size() - 2], &b = sun.nodes.back();
          if (a.seen_deg > 0 || b.seen_deg > 0) {
            SunStep step;
            step.node = static_cast<int>(sun.nodes.size()) - 2;
            step.day = static_cast<std::int16_t>(day);
            step.month = static_cast<std::int8_t>(month);
            double e = 0, n = 0, u = 0;
            for (const SunNode* node : {&a, &b}) {
              const double c = std::cos(node->el_deg * kDegree);
              e += c * std::sin(node->azimuth_deg * kDegree);
              n += c * std::cos(node->azimuth_deg * kDegree);
              u += std::sin(node->el_deg * kDegree);
            }
            const double length = std::sqrt(e * e + n * n + u * u);
            step.east = static_cast<float>(e / length);
            step.north = static_cast<float>(n / length);
            step.up = static_cast<float>(u / length);
            sun.steps.push_back(step);
          }
        }
      }
      was_up = up;
      // It is still down for as long as it takes to climb at its fastest.
      if (!up)
        k = std::min(std::max(k, k - 1 +
                                     static_cast<int>((lowest_deg - direction.elevation_deg) /
                                                      (0.25 * step_min))),
                     std::max(k, per_day - 1));
    }
  }
  return sun;
}

SunSteps in_months(const SunSteps& sun, unsigned months, std::vector<int>* original) {
  SunSteps part = sun;
  part.nodes.clear();
  part.utc_s.clear();
  part.steps.clear();
  int last = -1;
  for (size_t i = 0; i < sun.steps.size(); ++i) {
    SunStep step = sun.steps[i];
    if (!(months >> step.month & 1)) continue;
    const int node = step.node;
    for (int n = node == last ? node + 1 : node; n <= node + 1; ++n) {
      part.nodes.push_back(sun.nodes[n]);
      part.utc_s.push_back(sun.utc_s[n]);
    }
    last = node + 1;
    step.node = static_cast<int>(part.nodes.size()) - 2;
    part.steps.push_back(step);
    if (original) original->push_back(static_cast<int>(i));
  }
  return part;
}

MaskTable::MaskTable(const Mask& mask) {
  const auto pieces = mask.pieces();
  size_t at = 0;
  for (int i = 0; i < 360 * kPerDegree; ++i) {
    const double azimuth = static_cast<double>(i) / kPerDegree;
    while (at + 1 < pieces.size() && pieces[at].to_deg <= azimuth) ++at;
    height_[i] = static_cast<float>(std::max(0.0, pieces[at].elevation_deg(azimuth)));
  }
  height_[360 * kPerDegree] = height_[0];
  height_[360 * kPerDegree + 1] = height_[1];
}

double disc_shown(double d0, double d1, double r) {
  if (d0 >= r && d1 >= r) return 1;
  if (d0 <= -r && d1 <= -r) return 0;
  const double x0 = d0 / r, x1 = d1 / r;
  if (std::abs(x1 - x0) < 1e-6) {
    const double x = std::clamp((x0 + x1) / 2, -1.0, 1.0);
    return 0.5 + (x * std::sqrt(1 - x * x) + std::asin(x)) / std::numbers::pi;
  }
  return (disc_area(x1) - disc_area(x0)) / (x1 - x0);
}

SunSeen sun_seen(const SunSteps& sun, const Skyline& skyline, const Masks& masks,
                 const GroundSlope& slope) {
  SunSeen seen;
  seen.light.resize(sun.steps.size());
  seen.in_view.resize(sun.steps.size());
  const bool southern = sun.place.latitude_deg < 0;
  const double r = sun.semidiameter_deg;
  int last = -1;
  double d1 = 0, s1 = 0;
  for (size_t i = 0; i < sun.steps.size(); ++i) {
    const SunStep& step = sun.steps[i];
    const SunNode &a = sun.nodes[step.node], &b = sun.nodes[step.node + 1];
    const double d0 = step.node == last ? d1 : height_over(masks.all, slope, a);
    const double s0 = !masks.has_leafy    ? d0
                      : step.node == last ? s1
                                          : height_over(masks.solid, slope, a);
    d1 = height_over(masks.all, slope, b);
    s1 = masks.has_leafy ? height_over(masks.solid, slope, b) : d1;
    last = step.node + 1;
    seen.in_view[i] = static_cast<float>(share_above(d0, d1));
    double light = disc_shown(d0, d1, r);
    if (s0 != d0 || s1 != d1) {
      const double through = disc_shown(s0, s1, r) - light;
      if (through > 0) {
        const SunNode& behind = s0 > d0 ? a : b;
        const int tree = masks.all.piece_at(behind.azimuth_deg).obstacle;
        if (tree >= 0)
          light +=
              through * light_through(skyline.obstacles[tree].foliage, step.month + 1, southern);
      }
    }
    seen.light[i] = static_cast<float>(light);
  }
  return seen;
}

std::vector<double> daily_hours(const SunSteps& sun, const std::vector<float>& in_view) {
  std::vector<double> hours(sun.days());
  for (size_t i = 0; i < sun.steps.size(); ++i) hours[sun.steps[i].day] += in_view[i] * sun.step_h;
  return hours;
}

std::vector<double> daily_flat_hours(const SunSteps& sun) {
  std::vector<double> hours(sun.days());
  for (const SunStep& step : sun.steps)
    hours[step.day] +=
        share_above(sun.nodes[step.node].seen_deg, sun.nodes[step.node + 1].seen_deg) * sun.step_h;
  return hours;
}

}  // namespace horizon
