#include "horizon/house/plane_hours.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "horizon/house/sky_temperature.h"
#include "horizon/time.h"

namespace horizon {
namespace {

constexpr int kHours = 8760;
constexpr int kMonthBegins[13] = {0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365};

void add(PlaneShares& to, double weight, const PaneAngles::Shares& pane) {
  to.incident += static_cast<float>(weight);
  to.through += static_cast<float>(weight * pane.through);
  to.outer += static_cast<float>(weight * pane.outer);
  to.inner += static_cast<float>(weight * pane.inner);
}

}  // namespace

int month_of_hour(int hour) {
  const int day = hour / 24;
  int month = 0;
  while (day >= kMonthBegins[month + 1]) ++month;
  return month;
}

PaneAngles::PaneAngles(const Glazing& glazing) {
  for (int i = 0; i <= kSteps; ++i) {
    const Optics o = optics(glazing, std::acos(static_cast<double>(i) / kSteps) / kDegree);
    const float half = static_cast<float>(o.absorptance / 2);
    table_[i] = {static_cast<float>(o.transmittance), half, half};
  }
}

PaneAngles PaneAngles::opaque() {
  return PaneAngles(std::vector<Row>{{0, 0, 1, 0}, {90, 0, 1, 0}});
}

PaneAngles::PaneAngles(const std::vector<Row>& rows) {
  for (int i = 0; i <= kSteps; ++i) {
    const double angle = std::acos(static_cast<double>(i) / kSteps) / kDegree;
    size_t at = 1;
    while (at + 1 < rows.size() && rows[at].angle_deg < angle) ++at;
    const Row &a = rows[at - 1], &b = rows[at];
    const double x = std::clamp((angle - a.angle_deg) / (b.angle_deg - a.angle_deg), 0.0, 1.0);
    table_[i] = {static_cast<float>(a.through + x * (b.through - a.through)),
                 static_cast<float>(a.outer + x * (b.outer - a.outer)),
                 static_cast<float>(a.inner + x * (b.inner - a.inner))};
  }
}

PaneAngles::Shares PaneAngles::at(double cos_incidence) const {
  const double x = std::clamp(cos_incidence, 0.0, 1.0) * kSteps;
  const int i = std::min(static_cast<int>(x), kSteps - 1);
  const float f = static_cast<float>(x - i);
  const Shares &a = table_[i], &b = table_[i + 1];
  return {a.through + f * (b.through - a.through), a.outer + f * (b.outer - a.outer),
          a.inner + f * (b.inner - a.inner)};
}

SiteSun::SiteSun(const SunSteps& sun, const Skyline& skyline, const Masks& masks,
                 const GroundSlope& slope)
    : sun_(sun),
      seen_(sun_seen(sun, skyline, masks, slope).light),
      hour_of_(sun.steps.size()),
      hours_(kHours),
      patches_(patches_of(skyline, masks, slope, sun.place.latitude_deg < 0)) {
  assert(sun.days() == 365);
  const double begins = start_of_day_utc_s(date_of_day(sun.year, 1), sun.utc_offset_h);
  const int per_hour = static_cast<int>(std::lround(1 / sun.step_h));
  for (int h = 0; h < kHours; ++h) {
    const double solar = h % 24 + 0.5 + sun.place.longitude_deg / 15 - sun.utc_offset_h;
    hours_[h].solar_hour = static_cast<float>(solar - 24 * std::floor(solar / 24));
    hours_[h].sky_term = sky_hour_term(hours_[h].solar_hour);
  }
  for (size_t i = 0; i < sun.steps.size(); ++i) {
    const int node = sun.steps[i].node;
    const double middle = (sun.utc_s[node] + sun.utc_s[node + 1]) / 2;
    const int h = std::clamp(static_cast<int>(std::floor((middle - begins) / 3600)), 0, kHours - 1);
    hour_of_[i] = h;
    if (sun.steps[i].up <= 0) continue;
    hours_[h].up += sun.steps[i].up;
    hours_[h].in_view += seen_[i];
    hours_[h].sunlit += 1;
  }
  for (Hour& h : hours_) {
    if (h.sunlit <= 0) continue;
    h.up /= h.sunlit;
    h.in_view /= h.sunlit;
    h.sunlit /= static_cast<float>(per_hour);
  }
}

PlaneHours SiteSun::plane(const Plane& plane, const PaneAngles& pane) const {
  return received(plane, pane, false);
}

PlaneHours SiteSun::bed(const Plane& plane, const PaneAngles& pane) const {
  return received(plane, pane, true);
}

PlaneHours SiteSun::received(const Plane& plane, const PaneAngles& pane, bool on_bed) const {
  PlaneHours out;
  out.sun.resize(kHours);
  const double tilt = plane.tilt_deg * kDegree, facing = plane.facing.radians();
  const double east = std::sin(tilt) * std::sin(facing), north = std::sin(tilt) * std::cos(facing),
               up = std::cos(tilt);
  const double per_hour = std::lround(1 / sun_.step_h);
  for (size_t i = 0; i < sun_.steps.size(); ++i) {
    const SunStep& s = sun_.steps[i];
    const double c = s.east * east + s.north * north + s.up * up;
    if (c <= 0 || s.up <= 0 || seen_[i] == 0) continue;
    const int h = hour_of_[i];
    // The hour's beam came in its sunlit part.
    add(out.sun[h], seen_[i] * (on_bed ? s.up : c) / (hours_[h].sunlit * per_hour), pane.at(c));
  }
  for (const Patch& p : patches_) {
    const double c = p.east * east + p.north * north + p.up * up;
    if (c <= 0 || (on_bed && p.up <= 0)) continue;
    const double weight = p.weight * (on_bed ? static_cast<double>(p.up) : c);
    const PaneAngles::Shares past = pane.at(c);
    switch (p.what) {
      case Patch::What::sky:
        for (PlaneShares& month : out.sky) add(month, weight, past);
        break;
      case Patch::What::skyline:
        for (PlaneShares& month : out.skyline) add(month, weight, past);
        break;
      case Patch::What::leaves:
        for (int m = 0; m < 12; ++m) {
          add(out.sky[m], weight * p.leaf[m], past);
          add(out.skyline[m], weight * (1 - p.leaf[m]), past);
        }
        break;
      case Patch::What::ground:
        add(out.ground, weight, past);
        break;
      case Patch::What::band:
        add(out.band, weight, past);
        break;
    }
  }
  return out;
}

}  // namespace horizon
