// Contacts in the one skyline: bounds from where the sun was seen, and points beside the aims.
#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "horizon/skyline/contact_internal.h"
#include "horizon/sun/sun_track.h"
#include "horizon/time.h"

namespace horizon {
namespace {

constexpr double kSide_deg = 0.8;  // the limb's own width beside a bound
constexpr double kLongestHidden_s = 8 * 3600, kLongestSeen_s = 14 * 3600;
constexpr double kNear_deg = 2;  // nothing is added so near to a point
constexpr double kAimGivesWay_deg = 1, kBetween_deg = 3;
constexpr double kTooFar = 3;

// The sun's way from one instant to another, less the limb's width at both ends.
SunWay way_of(const SunTrack& track, const Air& air, double from_utc_s, double to_utc_s, bool seen,
              int first_reading, int last_reading) {
  SunWay way{seen, first_reading, last_reading, {}};
  const double first = track.at(from_utc_s).azimuth_deg, last = track.at(to_utc_s).azimuth_deg;
  for (double t = from_utc_s; t <= to_utc_s; t += 60) {
    const SunDirection sun = track.at(t);
    const double step = wrap_360(sun.azimuth_deg) / kBoundStep_deg;
    if (std::abs(step - std::round(step)) > 0.15) continue;
    const double el = apparent_elevation_deg(sun.elevation_deg, air);
    if (el < 0.3) continue;
    const double level = std::max(0.1, std::cos(sun.elevation_deg * kDegree));
    // Near a contact the point itself says more.
    if (std::abs(wrap_180(sun.azimuth_deg - first)) < kSide_deg / level ||
        std::abs(wrap_180(sun.azimuth_deg - last)) < kSide_deg / level)
      continue;
    way.at.push_back({static_cast<int>(std::round(step)) % static_cast<int>(360 / kBoundStep_deg),
                      el + sun.semidiameter_deg});
  }
  return way;
}

}  // namespace

std::vector<SunWay> ways_between(std::span<const ContactEvidence> evidence, const ContactFit& fit) {
  // The ones left out too: what lies beyond them, or between, is not known.
  std::vector<int> order;
  for (size_t i = 0; i < evidence.size(); ++i)
    if (evidence[i].reading.body == Body::sun) order.push_back(static_cast<int>(i));
  std::ranges::stable_sort(order, {}, [&](int i) { return evidence[i].reading.utc_s; });
  std::vector<SunWay> ways;
  std::optional<SunTrack> track;
  const auto day_of = [&](int i) {
    const ContactReading& r = evidence[i].reading;
    return std::floor(r.utc_s / 86400 + r.place.longitude_deg / 360);
  };
  for (size_t k = 0; k < order.size(); ++k) {
    const int i = order[k];
    const ContactReading& a = evidence[i].reading;
    if (!fit.contacts[i].used()) continue;
    // One ephemeris for half a year and more of readings.
    constexpr double kSpan_s = 200 * 86400.0;
    if (!track || a.utc_s > track->ephemeris().to_utc_s() - 2 * 86400)
      track.emplace(a.place, a.utc_s - 2 * 86400, a.utc_s + kSpan_s);
    const Air air = a.air.value_or(standard_air(a.place.height_m));
    const bool day_begins = k == 0 || day_of(order[k - 1]) != day_of(i);
    const bool day_ends = k + 1 == order.size() || day_of(order[k + 1]) != day_of(i);
    if (day_begins && a.came && evidence[i].watched_on)
      ways.push_back(way_of(*track, air, a.utc_s - kLongestHidden_s, a.utc_s, false, -1, i));
    if (day_ends) {
      if (!a.came && evidence[i].watched_on)
        ways.push_back(way_of(*track, air, a.utc_s, a.utc_s + kLongestHidden_s, false, i, -1));
      continue;
    }
    const ContactReading& b = evidence[order[k + 1]].reading;
    if (!fit.contacts[order[k + 1]].used() || a.came == b.came) continue;  // or one was not noted
    if (b.utc_s - a.utc_s < (a.came ? kLongestSeen_s : kLongestHidden_s))
      ways.push_back(way_of(*track, air, a.utc_s, b.utc_s, a.came, i, order[k + 1]));
  }
  for (const FittedDay& dark : fit.dark) {
    if (dark.fault != ContactFault::none) continue;
    const auto& [place, noon] = dark.day;
    constexpr double kHalf_s = 43000;  // what lies below the horizon is left away
    ways.push_back(way_of(SunTrack(place, noon - 86400, noon + 86400), standard_air(place.height_m),
                          noon - kHalf_s, noon + kHalf_s, false, -1, -1));
  }
  return ways;
}

std::vector<SkyBound> bounds_of(std::span<const SunWay> ways) {
  std::map<int, SkyBound> by_step;
  for (const SunWay& way : ways)
    for (const auto& [step, el] : way.at) {
      SkyBound& bound = by_step[step];
      bound.azimuth_deg = step * kBoundStep_deg;
      if (way.seen)
        bound.below_deg = std::min(bound.below_deg.value_or(90), el);
      else
        bound.above_deg = std::max(bound.above_deg.value_or(-90), el);
    }
  std::vector<SkyBound> all;
  for (const auto& [step, bound] : by_step) all.push_back(bound);
  return all;
}

namespace {

// Where a bound alone tells of the line: a point within it, as unsure as the bound is wide.
std::optional<SkylinePoint> point_of(const SkyBound& bound, const Mask& line) {
  const double join = line.elevation_deg(bound.azimuth_deg);
  double el = join, sigma = 0;
  if (bound.below_deg && bound.above_deg) {
    if (*bound.below_deg < *bound.above_deg) return std::nullopt;  // one day of them is wrong
    const double low = std::min(*bound.above_deg, *bound.below_deg),
                 high = std::max(*bound.above_deg, *bound.below_deg);
    sigma = std::max(0.1, (high - low) / 4);
    el = std::clamp(join, low + std::min(sigma, (high - low) / 2),
                    high - std::min(sigma, (high - low) / 2));
  } else if (bound.below_deg) {
    sigma = std::clamp((*bound.below_deg - join) / 2, 0.3, 4.0);
    el = std::min(join, *bound.below_deg - 2 * sigma);
  } else {
    sigma = std::clamp((join - *bound.above_deg) / 2, 0.3, 4.0);
    el = std::max(join, *bound.above_deg + 2 * sigma);
  }
  SkylinePoint point;
  point.azimuth = TrueAzimuth::degrees(bound.azimuth_deg);
  point.elevation = Elevation::degrees(std::clamp(el, -5.0, 89.0));
  point.azimuth_sigma_deg = 0;
  point.elevation_sigma_deg = sigma;
  point.computed = true;
  point.below_deg = bound.below_deg;
  point.above_deg = bound.above_deg;
  return point;
}

int ridge_of(Skyline& skyline) {
  for (size_t i = 0; i < skyline.obstacles.size(); ++i)
    if (skyline.obstacles[i].kind == Kind::ridge) return static_cast<int>(i);
  skyline.obstacles.push_back({Kind::ridge, ""});
  return static_cast<int>(skyline.obstacles.size()) - 1;
}

bool outline(const Skyline& skyline, const SkylinePoint& point) {
  return point.layer == 0 && skyline.obstacles[point.obstacle].kind != Kind::pole;
}

// A contact against the nearest aim, by the line through it; nothing where both agree.
std::optional<AimAgainstContact> disagreement(const Skyline& aims, const Mask& by_aims,
                                              const ContactFit& fit, int contact) {
  const Contact& c = *fit.contacts[contact].contact;
  const double az = c.azimuth.degrees();
  int nearest = -1;
  double least = kAimGivesWay_deg * 2;
  for (size_t p = 0; p < aims.points.size(); ++p) {
    const double apart = std::abs(clockwise_deg(aims.points[p].azimuth, c.azimuth));
    if (outline(aims, aims.points[p]) && !aims.points[p].computed && apart < least)
      least = apart, nearest = static_cast<int>(p);
  }
  if (nearest < 0) return std::nullopt;
  const SkylinePoint& aim = aims.points[nearest];
  const double rise = by_aims.elevation_deg(az + 0.5) - by_aims.elevation_deg(az - 0.5);
  const double turn = std::hypot(aim.azimuth_sigma_deg, aims.heading_sigma_deg) * rise;
  const double sigma = std::hypot(std::hypot(aim.elevation_sigma_deg, turn), c.line_sigma_deg,
                                  fit.roughness * std::sqrt(least + 0.1));
  const double off = by_aims.elevation_deg(az) - c.elevation.degrees();
  if (std::abs(off) <= kTooFar * sigma) return std::nullopt;
  return AimAgainstContact{nearest, contact, off, sigma};
}

}  // namespace

Skyline with_contacts(const Skyline& aims, const ContactFit& fit,
                      std::vector<AimAgainstContact>* disagreements) {
  if (fit.used == 0 && fit.bounds.empty()) return aims;
  const Mask by_aims(aims);
  Skyline all = aims;
  const int ridge = ridge_of(all);
  std::vector<std::pair<double, int>> touched;  // azimuth, reading
  for (size_t i = 0; i < fit.contacts.size(); ++i)
    if (fit.contacts[i].used())
      touched.emplace_back(fit.contacts[i].contact->azimuth.degrees(), static_cast<int>(i));
  std::ranges::sort(touched);
  // The nearest contact on each side of an azimuth.
  const auto around = [&](double azimuth_deg) {
    std::pair<double, double> gaps{360, 360};
    int nearest = -1;
    double least = 360;
    for (const auto& [az, i] : touched) {
      const double x = wrap_180(az - azimuth_deg);
      if (x <= 0) gaps.first = std::min(gaps.first, -x);
      if (x >= 0) gaps.second = std::min(gaps.second, x);
      if (std::abs(x) < least) least = std::abs(x), nearest = i;
    }
    return std::tuple{gaps.first, gaps.second, nearest};
  };
  std::vector<SkylinePoint> kept;
  for (size_t p = 0; p < aims.points.size(); ++p) {
    const SkylinePoint& aim = aims.points[p];
    const auto [before, after, nearest] = around(aim.azimuth.degrees());
    if (nearest < 0) {
      kept.push_back(aim);
      continue;
    }
    const Contact& near = *fit.contacts[nearest].contact;
    const bool gives_way =
        outline(aims, aim) && aim.elevation_sigma_deg > 2 * near.line_sigma_deg &&
        (std::min(before, after) < kAimGivesWay_deg || before + after < kBetween_deg);
    if (!gives_way) kept.push_back(aim);
  }
  all.points = kept;
  for (const auto& [az, i] : touched) {
    const Contact& c = *fit.contacts[i].contact;
    SkylinePoint point;
    point.azimuth = c.azimuth;
    point.elevation = c.elevation;
    // Along the line an error moves the point, not the line.
    point.azimuth_sigma_deg = 0.01;
    point.elevation_sigma_deg = c.line_sigma_deg;
    point.contact = i;
    const MaskPiece& piece = by_aims.piece_at(az);
    const bool known =
        piece.obstacle >= 0 && !piece.open && aims.obstacles[piece.obstacle].kind != Kind::pole;
    point.obstacle = known ? piece.obstacle : ridge;
    all.points.push_back(point);
    if (disagreements && !piece.open)
      if (const auto d = disagreement(aims, by_aims, fit, i)) disagreements->push_back(*d);
  }
  const Mask line(all);
  std::vector<SkylinePoint> bounds;
  for (const SkyBound& bound : fit.bounds) {
    const auto near = std::ranges::any_of(all.points, [&](const SkylinePoint& p) {
      return outline(all, p) &&
             std::abs(clockwise_deg(p.azimuth, TrueAzimuth::degrees(bound.azimuth_deg))) <
                 kNear_deg;
    });
    if (near) continue;
    if (auto point = point_of(bound, line)) {
      point->obstacle = ridge;
      bounds.push_back(*point);
    }
  }
  all.points.insert(all.points.end(), bounds.begin(), bounds.end());
  return all;
}

}  // namespace horizon
