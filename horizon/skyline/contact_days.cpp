#include "horizon/skyline/contact_days.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "horizon/skyline/contact_internal.h"
#include "horizon/sun/sun_track.h"

namespace horizon {
namespace {

constexpr double kStep_deg = 0.5;  // of azimuth
constexpr double kLongestHidden_s = 8 * 3600, kLongestSeen_s = 14 * 3600;
constexpr double kAlone_s = 300;   // beside a contact whose other side nobody noted
constexpr double kLeastSlack = 1;  // less says nothing
constexpr double kMostSlack = 30;
// Another step to the side, a branch that moved: no ridge is known closer.
constexpr double kSlack_deg = 0.1;
constexpr double kLowest_deg = 0.5;

struct Event {
  double utc_s = 0, sigma_s = 0;
  bool came = false;
  int reading = -1, record = -1;
};

// Refraction at two heights of the sun is as unsure as near the horizon.
double tolerance_deg(double elevation_deg) {
  const double near = 0.16 * std::exp(-2 * std::max(0.0, elevation_deg) / 3);
  return kSlack_deg + 3 * near;
}

double day_of(const ContactReading& r) {
  return std::floor(r.utc_s / 86400 + r.place.longitude_deg / 360);
}

struct Stretch {
  double from_utc_s = 0, to_utc_s = 0, from_sigma_s = 0, to_sigma_s = 0;  // sigma 0: open
  bool seen = false;
};

void add_claims(const Stretch& stretch, const ContactReading& of, std::vector<DayClaim>& claims) {
  if (!(stretch.to_utc_s > stretch.from_utc_s)) return;
  const SunTrack track(of.place, stretch.from_utc_s, stretch.to_utc_s);
  const Air air = of.air.value_or(standard_air(of.place.height_m));
  constexpr double kEvery_s = 60;
  std::optional<std::pair<double, double>> before;  // azimuth, elevation
  for (double t = stretch.from_utc_s; t <= stretch.to_utc_s + kEvery_s; t += kEvery_s) {
    const SunDirection sun = track.at(t);
    const std::pair<double, double> at{sun.azimuth_deg,
                                       apparent_elevation_deg(sun.elevation_deg, air)};
    if (before && at.second > kLowest_deg && before->second > kLowest_deg) {
      const double turned = wrap_180(at.first - before->first);
      const double step = std::floor(std::max(before->first, before->first + turned) / kStep_deg);
      const double share = (step * kStep_deg - before->first) / turned;
      const double when = t - kEvery_s + share * kEvery_s;
      if (std::abs(turned) > 1e-9 && share > 0 && share <= 1 && when < stretch.to_utc_s) {
        double slack = kMostSlack;
        if (stretch.from_sigma_s > 0)
          slack = std::min(slack, (when - stretch.from_utc_s) / stretch.from_sigma_s);
        if (stretch.to_sigma_s > 0)
          slack = std::min(slack, (stretch.to_utc_s - when) / stretch.to_sigma_s);
        constexpr int kAll = static_cast<int>(360 / kStep_deg);
        if (slack > kLeastSlack)
          claims.push_back({(static_cast<int>(step) % kAll + kAll) % kAll,
                            before->second + share * (at.second - before->second), slack,
                            stretch.seen});
      }
    }
    before = at;
  }
}

// `own`: of one record, in their order; `others`: of the same day.
std::vector<DayClaim> claims_of(std::span<const ContactEvidence> evidence,
                                const std::vector<Event>& own, const std::vector<Event>& others) {
  std::vector<DayClaim> claims;
  const auto& first = own.front();
  const auto& last = own.back();
  const ContactEvidence& e = evidence[first.reading];
  const bool row = e.row >= 0;
  // What stands before and after; what lies inside a row's own window is another day's.
  const Event *before = nullptr, *after = nullptr;
  for (const Event& o : others) {
    if (o.utc_s < first.utc_s && (!before || o.utc_s > before->utc_s)) before = &o;
    if (o.utc_s > last.utc_s && (!after || o.utc_s < after->utc_s)) after = &o;
  }
  for (size_t k = 0; k + 1 < own.size(); ++k)
    if (own[k].came && !own[k + 1].came)
      add_claims({own[k].utc_s, own[k + 1].utc_s, own[k].sigma_s, own[k + 1].sigma_s, true},
                 e.reading, claims);
  // Towards a neighbour each has the nearer half; a row knows its own window itself.
  const auto side = [&](const Event& self, const Event* near, double way) {
    const bool seen = self.came == (way > 0);
    const bool answers = near && near->came != self.came;
    Stretch s{self.utc_s, self.utc_s, self.sigma_s, 0, seen};
    double reach = kAlone_s, end_sigma = 0;
    if (near) {
      const double apart = std::abs(near->utc_s - self.utc_s);
      if (answers && apart < (seen ? kLongestSeen_s : kLongestHidden_s)) {
        reach = row ? apart : apart / 2;
        end_sigma = row ? near->sigma_s : 0;
      } else {
        reach = std::min(reach, apart);
      }
    } else if (!seen && e.watched_on) {
      reach = kLongestHidden_s;
    }
    if (way > 0)
      s.to_utc_s += reach, s.to_sigma_s = end_sigma;
    else
      s.from_utc_s -= reach, s.to_sigma_s = self.sigma_s, s.from_sigma_s = end_sigma;
    add_claims(s, e.reading, claims);
  };
  side(first, before, -1);
  side(last, after, +1);
  return claims;
}

bool counts(const ContactEvidence& e, const FittedContact& f) {
  return f.used() && e.reading.body == Body::sun && e.reading.touch == Touch::edge;
}

Event event_of(const ContactEvidence& e, int reading) {
  return {e.reading.utc_s,
          std::max(1.0, std::hypot(e.reading.reading_sigma_s, e.reading.clock_sigma_s)),
          e.reading.came, reading, -1};
}

std::vector<Event> events_of_day(std::span<const ContactEvidence> evidence,
                                 std::span<const FittedContact> fitted, double day,
                                 const std::vector<int>& without) {
  std::vector<Event> events;
  for (size_t i = 0; i < evidence.size(); ++i)
    if (counts(evidence[i], fitted[i]) && day_of(evidence[i].reading) == day &&
        std::ranges::find(without, static_cast<int>(i)) == without.end())
      events.push_back(event_of(evidence[i], static_cast<int>(i)));
  return events;
}

}  // namespace

std::vector<DayRecord> day_records(std::span<const ContactEvidence> evidence,
                                   std::span<const FittedContact> fitted) {
  std::vector<DayRecord> records;
  std::map<int, size_t> of_row;
  for (size_t i = 0; i < evidence.size(); ++i) {
    if (!counts(evidence[i], fitted[i])) continue;
    const int row = evidence[i].row;
    if (row >= 0 && of_row.contains(row)) {
      records[of_row[row]].readings.push_back(static_cast<int>(i));
      continue;
    }
    if (row >= 0) of_row[row] = records.size();
    records.push_back({{static_cast<int>(i)}, {}});
  }
  for (DayRecord& record : records)
    record.claims =
        claims_moved(evidence, fitted, record, std::vector<double>(record.readings.size(), 0.0));
  return records;
}

std::vector<DayClaim> claims_moved(std::span<const ContactEvidence> evidence,
                                   std::span<const FittedContact> fitted, const DayRecord& record,
                                   std::span<const double> by_s) {
  std::vector<Event> own;
  ContactReading moved = evidence[record.readings.front()].reading;
  moved.utc_s += by_s.front();
  for (size_t k = 0; k < record.readings.size(); ++k) {
    own.push_back(event_of(evidence[record.readings[k]], record.readings[k]));
    own.back().utc_s += by_s[k];
  }
  std::ranges::sort(own, {}, &Event::utc_s);
  return claims_of(evidence, own, events_of_day(evidence, fitted, day_of(moved), record.readings));
}

DayRecord dark_record(const DarkDay& day, int which) {
  DayRecord record{{}, {}, which};
  ContactReading reading;
  reading.place = day.place;
  constexpr double kHalf_s = 43200;
  add_claims({day.noon_utc_s - kHalf_s, day.noon_utc_s + kHalf_s, 0, 0, false}, reading,
             record.claims);
  return record;
}

std::vector<Clash> clashes_of(std::span<const DayRecord> records) {
  struct Said {
    double elevation_deg, slack;
    int record;
  };
  std::map<int, std::pair<std::vector<Said>, std::vector<Said>>> steps;  // seen, hidden
  for (size_t r = 0; r < records.size(); ++r)
    for (const DayClaim& c : records[r].claims)
      (c.seen ? steps[c.step].first : steps[c.step].second)
          .push_back({c.elevation_deg, c.slack, static_cast<int>(r)});
  std::map<std::pair<int, int>, double> found;
  for (auto& [step, both] : steps) {
    auto& [seen, hidden] = both;
    std::ranges::sort(hidden, std::ranges::greater{}, &Said::elevation_deg);
    for (const Said& s : seen)
      for (const Said& h : hidden) {
        if (h.elevation_deg <= s.elevation_deg + tolerance_deg(s.elevation_deg)) break;
        if (h.record == s.record) continue;
        double& slack = found[std::minmax(s.record, h.record)];
        slack = std::max(slack, std::min(s.slack, h.slack));
      }
  }
  std::vector<Clash> clashes;
  for (const auto& [pair, slack] : found)
    if (slack > kClashes) clashes.push_back({pair.first, pair.second, slack});
  return clashes;
}

double worst_clash(std::span<const DayClaim> claims, std::span<const DayRecord> records, int self,
                   const std::vector<bool>& left_out) {
  std::map<int, std::vector<DayClaim>> mine;
  for (const DayClaim& c : claims) mine[c.step].push_back(c);
  double worst = 0;
  for (size_t r = 0; r < records.size(); ++r) {
    if (static_cast<int>(r) == self || left_out[r]) continue;
    for (const DayClaim& o : records[r].claims) {
      const auto at = mine.find(o.step);
      if (at == mine.end()) continue;
      for (const DayClaim& c : at->second) {
        if (c.seen == o.seen) continue;
        const DayClaim &s = c.seen ? c : o, &h = c.seen ? o : c;
        if (h.elevation_deg > s.elevation_deg + tolerance_deg(s.elevation_deg))
          worst = std::max(worst, std::min(s.slack, h.slack));
      }
    }
  }
  return worst;
}

}  // namespace horizon
