#include "horizon/skyline/contact_fit.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numeric>

#include "horizon/geodesy.h"
#include "horizon/skyline/contact_days.h"
#include "horizon/skyline/contact_internal.h"
#include "horizon/sun/sun.h"
#include "horizon/time.h"

namespace horizon {
namespace {

constexpr std::array<std::string_view, kContactFaultCount> kFaults = {
    "none", "unusable", "opposite", "doubled", "hour_off", "day_off", "contradicts"};

constexpr double kSameMoment_s = 20;  // no ridge lets the light through for less
constexpr double kReach_deg = 4;      // neighbours that a slope is taken from
constexpr double kLeastRoughness = 0.15, kMostRoughness = 1.0, kUsualRoughness = 0.35;
constexpr double kTooFar = 4.5;          // standard deviations
constexpr double kSameSeason_deg = 2.5;  // of declination
constexpr double kLeastLate_deg = 2;     // of hour angle: 8 minutes
constexpr int kEachSide = 3;

struct Entry {
  int index = 0;  // into the evidence
  std::optional<ContactSight> sight;
};

double median_of(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::ranges::nth_element(values, middle);
  return *middle;
}

// Neighbours of one contact by azimuth, nearest first on each side.
struct Sides {
  std::vector<int> left, right;
};
Sides sides_of(const std::vector<FittedContact>& all, const Contact& of, int self, double reach) {
  Sides sides;
  for (int i = 0; i < static_cast<int>(all.size()); ++i) {
    if (i == self || !all[i].used()) continue;
    const double x = clockwise_deg(of.azimuth, all[i].contact->azimuth);
    if (std::abs(x) <= reach) (x < 0 ? sides.left : sides.right).push_back(i);
  }
  const auto nearer = [&](int a, int b) {
    return std::abs(clockwise_deg(of.azimuth, all[a].contact->azimuth)) <
           std::abs(clockwise_deg(of.azimuth, all[b].contact->azimuth));
  };
  std::ranges::sort(sides.left, nearer);
  std::ranges::sort(sides.right, nearer);
  return sides;
}

// A straight line by weighted least squares through the neighbours, and what is usual for ridges.
RidgeSlope slope_at(const std::vector<FittedContact>& all, int self, double roughness,
                    const Mask* others) {
  const Contact& own = *all[self].contact;
  double w = 0, wx = 0, wy = 0, wxx = 0, wxy = 0;
  const Sides sides = sides_of(all, own, self, kReach_deg);
  const auto add = [&](double x, double y, double sigma) {
    const double weight = 1 / (sigma * sigma);
    w += weight, wx += weight * x, wy += weight * y, wxx += weight * x * x, wxy += weight * x * y;
  };
  for (const auto* side : {&sides.left, &sides.right})
    for (size_t k = 0; k < std::min<size_t>(side->size(), 2 * kEachSide); ++k) {
      const Contact& near = *all[(*side)[k]].contact;
      const double x = clockwise_deg(own.azimuth, near.azimuth);
      add(x, near.elevation.degrees(),
          std::hypot(near.line_sigma_deg, roughness * std::sqrt(std::abs(x) + 0.05)));
    }
  if (w > 0) add(0, own.elevation.degrees(), std::hypot(own.line_sigma_deg, 0.05));
  double rise = 0, weight = 0;  // degrees a degree
  const double spread = w > 0 ? wxx - wx * wx / w : 0;
  if (spread > 1e-9) {
    rise = (wxy - wx * wy / w) / spread;
    weight = spread;
  }
  if (others && !others->piece_at(own.azimuth.degrees()).open) {
    constexpr double kHalf_deg = 0.75, kSigma = 0.3;
    const double az = own.azimuth.degrees(), more = 1 / (kSigma * kSigma);
    const double theirs =
        (others->elevation_deg(az + kHalf_deg) - others->elevation_deg(az - kHalf_deg)) /
        (2 * kHalf_deg);
    rise = (rise * weight + theirs * more) / (weight + more);
    weight += more;
  }
  if (weight == 0) return {};
  const double level = std::max(0.05, std::cos(own.elevation.radians()));
  const double slope = std::atan(rise / level) / kDegree;
  // The tangent where the disc touches is not that of a degree: what is rough stays unsure.
  const double fitted = std::atan(1 / std::sqrt(weight) / level / (1 + rise * rise)) / kDegree;
  const double usual = RidgeSlope{}.sigma_deg;
  const double rough = std::atan(roughness / std::sqrt(0.5) * 0.7) / kDegree;
  const double sigma = std::min(usual, std::hypot(fitted, std::min(rough, 20.0)));
  const double prior = 1 / (usual * usual), told = 1 / (fitted * fitted + 1);
  return {slope * told / (told + prior), sigma};
}

void settle_slopes(std::vector<Entry>& entries, std::vector<FittedContact>& all, double roughness,
                   const Mask* others) {
  for (int round = 0; round < 4; ++round) {
    std::vector<RidgeSlope> slopes(all.size());
    for (size_t i = 0; i < all.size(); ++i)
      if (all[i].used()) slopes[i] = slope_at(all, static_cast<int>(i), roughness, others);
    for (size_t i = 0; i < all.size(); ++i) {
      if (!all[i].used()) continue;
      const auto again = contact_point(*entries[i].sight, slopes[i]);
      if (again) all[i].contact = *again;  // a limb that this slope puts into the dark stays
    }
  }
}

double roughness_of(const std::vector<FittedContact>& all) {
  std::vector<double> found;
  for (size_t i = 0; i < all.size(); ++i) {
    if (!all[i].used()) continue;
    const Contact& c = *all[i].contact;
    const Sides sides = sides_of(all, c, static_cast<int>(i), kReach_deg);
    if (sides.left.empty() || sides.right.empty()) continue;
    const Contact &l = *all[sides.left[0]].contact, &r = *all[sides.right[0]].contact;
    const double a = -clockwise_deg(c.azimuth, l.azimuth), b = clockwise_deg(c.azimuth, r.azimuth);
    if (a + b < 0.2) continue;
    const double join = (l.elevation.degrees() * b + r.elevation.degrees() * a) / (a + b);
    // Of a line that wanders freely and is tied at both ends.
    found.push_back(std::abs(c.elevation.degrees() - join) / std::sqrt(a * b / (a + b) + 0.01));
  }
  if (found.size() < 5) return kUsualRoughness;
  return std::clamp(1.4826 * median_of(found), kLeastRoughness, kMostRoughness);
}

// How far off the line of its neighbours, in standard deviations; 0 where they do not tell.
struct Doubt {
  double score = 0, off_deg = 0, off_s = 0;
};
Doubt doubt_by_line(const std::vector<FittedContact>& all, const Contact& c, int self,
                    double roughness) {
  const Sides sides = sides_of(all, c, self, kReach_deg);
  if (sides.left.size() + sides.right.size() < 3) return {};
  if (sides.left.empty() || sides.right.empty()) return {};
  double least = 1e9, least_off = 0;
  int sign = 0;
  for (const auto* side : {&sides.left, &sides.right}) {
    std::vector<double> offs, scores;
    for (size_t k = 0; k < std::min<size_t>(side->size(), kEachSide); ++k) {
      const Contact& near = *all[(*side)[k]].contact;
      const double apart = std::abs(clockwise_deg(c.azimuth, near.azimuth));
      const double sigma =
          std::hypot(c.line_sigma_deg, near.line_sigma_deg, roughness * std::sqrt(apart + 0.1));
      offs.push_back(c.elevation.degrees() - near.elevation.degrees());
      scores.push_back(offs.back() / sigma);
    }
    const double score = median_of(scores), off = median_of(offs);
    const int way = score > 0 ? 1 : -1;
    if (sign && way != sign) return {};
    sign = way;
    if (std::abs(score) < least) least = std::abs(score), least_off = off;
  }
  return {least, least_off, 0};
}

// By the hour of the sun on days of the same declination: an hour off stands out anywhere.
Doubt doubt_by_hour(const std::vector<FittedContact>& all, const std::vector<Entry>& entries,
                    const ContactSight& c, int self) {
  if (c.reading.body != Body::sun) return {};
  std::vector<std::pair<double, double>> lower, higher;  // declination apart, hours apart
  for (size_t i = 0; i < all.size(); ++i) {
    if (static_cast<int>(i) == self || !all[i].used()) continue;
    const ContactSight& o = *entries[i].sight;
    if (o.reading.body != Body::sun || o.reading.came != c.reading.came) continue;
    const double apart = o.centre.declination_deg - c.centre.declination_deg;
    if (std::abs(apart) > kSameSeason_deg) continue;
    auto& side = apart < 0 ? lower : higher;
    const double late = wrap_180(c.centre.hour_angle_deg - o.centre.hour_angle_deg);
    // Of one day only the event nearest in time.
    const auto same_day = std::ranges::find_if(
        side, [&](const auto& known) { return std::abs(known.first - std::abs(apart)) < 0.004; });
    if (same_day == side.end())
      side.emplace_back(std::abs(apart), late);
    else if (std::abs(late) < std::abs(same_day->second))
      same_day->second = late;
  }
  if (lower.size() + higher.size() < 3) return {};
  double least = 1e9, least_off = 0;
  int sign = 0;
  for (auto* side : {&lower, &higher}) {
    if (side->empty()) continue;
    std::ranges::sort(*side);
    std::vector<double> late;
    for (size_t k = 0; k < std::min<size_t>(side->size(), kEachSide); ++k)
      late.push_back((*side)[k].second);
    const double off = median_of(late);
    const int way = off > 0 ? 1 : -1;
    if (sign && way != sign) return {};
    sign = way;
    // The hour moves by up to some degrees for a degree of declination.
    const double usual =
        kLeastLate_deg + (lower.empty() || higher.empty() ? 3 : 1.5) * side->front().first;
    if (std::abs(off) / usual < least) least = std::abs(off) / usual, least_off = off;
  }
  return {least * kTooFar / 2, 0, least_off * 240};
}

// By where other days saw the sun lower, or had it hidden higher. Two of them, for one may be wrong.
Doubt doubt_by_ways(const std::vector<FittedContact>& all, std::span<const SunWay> ways,
                    const Contact& c, int self) {
  constexpr double kSlack_deg = 0.6;
  const auto sound = [&](int i) { return i < 0 || (i != self && all[i].used()); };
  const int step = static_cast<int>(std::lround(c.azimuth.degrees() / kBoundStep_deg));
  const double x = clockwise_deg(c.azimuth, TrueAzimuth::degrees(step * kBoundStep_deg));
  if (std::abs(x) > 0.5) return {};  // the line changes within degrees
  std::vector<double> too_high, too_low;
  for (const SunWay& way : ways) {
    if (way.first == self || way.last == self || !sound(way.first) || !sound(way.last)) continue;
    for (const auto& [at, el] : way.at) {
      if (at != step % static_cast<int>(360 / kBoundStep_deg)) continue;
      const double over = c.elevation.degrees() - el;
      (way.seen ? too_high : too_low).push_back(way.seen ? over : -over);
    }
  }
  Doubt doubt;
  for (auto* list : {&too_high, &too_low}) {
    if (list->size() < 2) continue;
    std::ranges::sort(*list, std::ranges::greater{});
    const double score = (*list)[1] / std::hypot(kSlack_deg, c.line_sigma_deg);
    if (score > doubt.score) doubt = {score, list == &too_high ? (*list)[1] : -(*list)[1], 0};
  }
  return doubt;
}

Doubt doubt_of(const std::vector<FittedContact>& all, const std::vector<Entry>& entries,
               std::span<const SunWay> ways, const ContactSight& sight, const Contact& contact,
               int self, double roughness) {
  Doubt line = doubt_by_line(all, contact, self, roughness);
  const Doubt way = doubt_by_ways(all, ways, contact, self);
  if (way.score > line.score) line = way;
  Doubt hour = doubt_by_hour(all, entries, sight, self);
  if (line.score >= hour.score) {
    Doubt both = line;
    both.off_s = hour.off_s;
    return both;
  }
  hour.off_deg = line.off_deg;
  return hour;
}

// Would it be right so many seconds earlier?
bool fits_moved(const std::vector<FittedContact>& all, const std::vector<Entry>& entries,
                std::span<const SunWay> ways, int self, double by_s, double roughness) {
  ContactReading moved = entries[self].sight->reading;
  moved.utc_s += by_s;
  const auto sight = contact_sight(moved);
  const auto contact =
      sight ? contact_point(*sight, all[self].contact->slope) : tl::unexpected(sight.error());
  if (!contact) return false;
  const Sides sides = sides_of(all, *contact, self, kReach_deg);
  const Doubt doubt = doubt_of(all, entries, ways, *sight, *contact, self, roughness);
  return !sides.left.empty() && !sides.right.empty() && doubt.score < kTooFar / 2;
}

void name_cause(std::vector<FittedContact>& all, const std::vector<Entry>& entries,
                std::span<const SunWay> ways, int self, double roughness) {
  FittedContact& c = all[self];
  for (const double hours : {-1.0, 1.0})
    if (fits_moved(all, entries, ways, self, hours * 3600, roughness)) {
      c.fault = ContactFault::hour_off;
      c.off_s = -hours * 3600;
      c.why = {Code::bad_input, hours < 0 ? "error.contact_hour_late" : "error.contact_hour_early"};
      return;
    }
  for (const int days : {1, -1, 2, -2, 3, -3, 7, -7, 10, -10, 30, -30, 31, -31})
    if (std::abs(c.off_s) < 1800 &&
        fits_moved(all, entries, ways, self, days * 86400.0, roughness)) {
      c.fault = ContactFault::day_off;
      c.fits_days = days;
      c.why = {Code::bad_input, "error.contact_other_day"};
      return;
    }
  c.why = {Code::bad_input, "error.contact_fits_nowhere"};
}

void find_pairs(std::vector<FittedContact>& all, std::span<const ContactEvidence> evidence) {
  std::vector<int> order(all.size());
  std::iota(order.begin(), order.end(), 0);
  std::ranges::stable_sort(order, {}, [&](int i) { return evidence[i].reading.utc_s; });
  for (size_t k = 1; k < order.size(); ++k) {
    FittedContact& later = all[order[k]];
    if (!later.used()) continue;
    for (size_t m = k; m-- > 0;) {
      const ContactReading &a = evidence[order[m]].reading, &b = evidence[order[k]].reading;
      if (b.utc_s - a.utc_s > kSameMoment_s) break;
      FittedContact& first = all[order[m]];
      if (a.body != b.body || !first.contact || a.touch != b.touch) continue;
      if (a.came == b.came) {
        if (!first.used()) continue;
        later.fault = ContactFault::doubled;
        later.against = order[m];
        later.why = {Code::bad_input, "error.contact_twice"};
      } else {
        for (auto [one, other] : {std::pair{&first, order[k]}, std::pair{&later, order[m]}}) {
          one->fault = ContactFault::opposite;
          one->against = other;
          one->why = {Code::bad_input, "error.contact_opposite"};
        }
      }
      break;
    }
  }
}

}  // namespace

std::string_view name_of(ContactFault fault) { return kFaults[static_cast<size_t>(fault)]; }

ContactFit fit_contacts(std::span<const ContactEvidence> evidence, const Mask* others,
                        std::span<const DarkDay> dark) {
  ContactFit fit;
  for (const DarkDay& day : dark) {
    fit.dark.push_back({day, ContactFault::none, {}, -1});
    const Result<void> known = is_place(day.place)
                                   ? check_sun_time(day.noon_utc_s)
                                   : fail(Code::bad_input, "error.contact_place_needed");
    if (!known) fit.dark.back().fault = ContactFault::unusable, fit.dark.back().why = known.error();
  }
  std::vector<Entry> entries;
  for (size_t i = 0; i < evidence.size(); ++i) {
    Entry entry{static_cast<int>(i), {}};
    FittedContact fitted;
    const auto sight = contact_sight(evidence[i].reading);
    auto contact = sight ? contact_point(*sight) : tl::unexpected(sight.error());
    // Over a ridge that rises the other way another limb may be the last: the lit one.
    for (const double slope : {-40.0, 40.0})
      if (sight && !contact) contact = contact_point(*sight, {slope, 25});
    if (sight) entry.sight = *sight;
    if (contact) {
      fitted.contact = *contact;
    } else {
      fitted.fault = ContactFault::unusable;
      fitted.why = contact.error();
    }
    entries.push_back(std::move(entry));
    fit.contacts.push_back(std::move(fitted));
  }
  find_pairs(fit.contacts, evidence);
  fit.roughness = kUsualRoughness;
  settle_slopes(entries, fit.contacts, fit.roughness, others);
  leave_out_clashing(evidence, fit.contacts, fit.dark);
  const std::vector<SunWay> ways = ways_between(evidence, fit);
  while (true) {
    fit.roughness = roughness_of(fit.contacts);
    int worst = -1;
    Doubt most;
    for (size_t i = 0; i < fit.contacts.size(); ++i) {
      const FittedContact& c = fit.contacts[i];
      if (!c.used() || evidence[i].row >= 0) continue;
      const Doubt doubt = doubt_of(fit.contacts, entries, ways, *entries[i].sight, *c.contact,
                                   static_cast<int>(i), fit.roughness);
      if (doubt.score > most.score) most = doubt, worst = static_cast<int>(i);
    }
    if (worst < 0 || most.score < kTooFar) break;
    FittedContact& c = fit.contacts[worst];
    c.fault = ContactFault::contradicts;
    c.off_deg = most.off_deg;
    c.off_s = most.off_s;
  }
  settle_slopes(entries, fit.contacts, fit.roughness, others);
  for (size_t i = 0; i < fit.contacts.size(); ++i)
    if (fit.contacts[i].fault == ContactFault::contradicts && evidence[i].row < 0)
      name_cause(fit.contacts, entries, ways, static_cast<int>(i), fit.roughness);
  for (const FittedContact& c : fit.contacts) fit.used += c.used();
  fit.bounds = bounds_of(ways_between(evidence, fit));
  return fit;
}

}  // namespace horizon
