// Which row of two that clash is wrong, and what went wrong with it.
#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numeric>
#include <set>

#include "horizon/skyline/contact_days.h"
#include "horizon/sun/sun.h"
#include "horizon/time.h"

namespace horizon {
namespace {

constexpr double kReach_deg = 6;  // neighbours that tell where the line should be
constexpr double kRough = 0.35;   // degrees over the root of a degree
constexpr double kHour_s = 3600;
constexpr double kFits = 2.5, kMuch = 2;  // of oddness
constexpr double kGorge_deg = 45;  // nobody sites a greenhouse under such a ridge: a wrong date

struct Rows {
  std::span<const ContactEvidence> evidence;
  std::vector<FittedContact>& fitted;
  std::vector<FittedDay>& dark;
  std::vector<DayRecord> records;
  std::vector<bool> out;
};

// How far the readings of a record, so much later, lie off the line between their neighbours of
// other records, in what is usual for ridges; nothing where none stands on both sides.
std::optional<double> oddness(const Rows& rows, int self, std::span<const double> by_s) {
  const DayRecord& record = rows.records[self];
  std::optional<double> most;
  for (size_t k = 0; k < record.readings.size(); ++k) {
    ContactReading moved = rows.evidence[record.readings[k]].reading;
    moved.utc_s += by_s[k];
    const auto at = contact_point(moved, rows.fitted[record.readings[k]].contact->slope);
    if (!at) return 99;
    std::optional<std::pair<double, double>> left, right;  // apart, elevation
    for (size_t r = 0; r < rows.records.size(); ++r) {
      if (static_cast<int>(r) == self || rows.out[r]) continue;
      for (const int i : rows.records[r].readings) {
        const Contact& near = *rows.fitted[i].contact;
        const double x = clockwise_deg(at->azimuth, near.azimuth);
        auto& side = x < 0 ? left : right;
        if (std::abs(x) < kReach_deg && (!side || std::abs(x) < side->first))
          side = {std::abs(x), near.elevation.degrees()};
      }
    }
    if (!left || !right) continue;
    const double a = left->first, b = right->first;
    const double join = (left->second * b + right->second * a) / (a + b + 1e-9);
    const double usual = std::hypot(kRough * std::sqrt(a * b / (a + b + 1e-9)), 0.1);
    most = std::max(most.value_or(0), std::abs(at->elevation.degrees() - join) / usual);
  }
  return most;
}

// Later (+) or earlier (-) by an hour than it should be; right so many days later.
void say_hour(FittedContact& c, double late_s) {
  c.fault = ContactFault::hour_off;
  c.off_s = late_s;
  c.why = {Code::bad_input, late_s > 0 ? "error.contact_hour_late" : "error.contact_hour_early"};
}
void say_days(FittedContact& c, int days) {
  c.fault = ContactFault::day_off;
  c.fits_days = days;
  c.why = {Code::bad_input,
           {days > 0 ? "error.contact_days_later" : "error.contact_days_earlier",
            {Arg::figure(std::abs(days), 0)}}};
}

struct Cause {
  ContactFault fault = ContactFault::contradicts;
  std::vector<double> by_s;  // what puts it right
  double odd = 0;
};

// Days that a slip of the pen or a wrong line of a calendar gives, and the swap of day and month.
std::vector<int> slips_of(double utc_s) {
  std::vector<int> days{1, -1, 2, -2, 3, -3, 7, -7, 10, -10, 20, -20, 28, -28, 30, -30, 31, -31};
  const Date date = date_of(utc_s, 0);
  const unsigned d = static_cast<unsigned>(date.day()), m = static_cast<unsigned>(date.month());
  if (d <= 12 && d != m)
    for (const int year : {-1, 0, 1}) {
      const Date swapped{date.year() + std::chrono::years{year}, std::chrono::month{d},
                         std::chrono::day{m}};
      days.push_back(
          static_cast<int>((std::chrono::sys_days{swapped} - std::chrono::sys_days{date}).count()));
    }
  for (const int year : {-365, 365, -366, 366}) days.push_back(year);
  return days;
}

std::optional<Cause> cause_of(const Rows& rows, int self) {
  const DayRecord& record = rows.records[self];
  const size_t n = record.readings.size();
  std::optional<Cause> best;
  const auto attempt = [&](ContactFault fault, std::vector<double> by_s, double dear) {
    const auto odd = oddness(rows, self, by_s);
    if (odd.value_or(1) > kFits) return;
    const double price = (odd.value_or(1.5) + 0.3) * dear;
    if (best && best->odd <= price) return;
    const auto claims = claims_moved(rows.evidence, rows.fitted, record, by_s);
    if (worst_clash(claims, rows.records, self, rows.out) > kClashes * 0.75) return;
    best = Cause{fault, std::move(by_s), price};
  };
  for (const double hour : {-kHour_s, kHour_s}) {
    attempt(ContactFault::hour_off, std::vector<double>(n, hour), 1);
    for (size_t k = 0; n > 1 && k < n; ++k) {
      std::vector<double> one(n, 0.0);
      one[k] = hour;
      attempt(ContactFault::hour_off, one, 1.2);
    }
  }
  for (const int days : slips_of(rows.evidence[record.readings.front()].reading.utc_s))
    attempt(ContactFault::day_off, std::vector<double>(n, days * 86400.0),
            std::abs(days) == 1 ? 1.3 : 1.6);
  return best;
}

// Rows before a day, or from it on, by a clock an hour off: summer time that was forgotten. Of those
// days that take nearly all clashes away the one after which the rows fit best; the fewer are left out.
constexpr int kLeastClashes = 4;
struct Block {
  int left = 0;            // clashes that stay
  int from = 0, most = 0;  // days at the start of the diary: so many, up to so many
  double by_s = 0;         // what puts them right
};

// Clashes that are left where the first k days are moved, k from 0 on.
std::vector<int> clashes_left(const Rows& rows, std::span<const Clash> clashes,
                              const std::vector<int>& place, double by_s) {
  const int n = static_cast<int>(rows.records.size());
  std::vector<ContactEvidence> moved(rows.evidence.begin(), rows.evidence.end());
  for (ContactEvidence& e : moved) e.reading.utc_s += by_s;
  std::vector<DayRecord> all = rows.records;
  for (DayRecord& record : day_records(moved, rows.fitted)) all.push_back(std::move(record));
  std::vector<int> left(n + 2);
  const auto count = [&](int from, int to) { ++left[from], --left[to + 1]; };
  for (const Clash& c : clashes) {  // both moved, or neither
    const auto [a, b] = std::minmax(place[c.a], place[c.b]);
    count(0, a);
    count(b + 1, n);
  }
  for (const Clash& c : clashes_of(all)) {
    if ((c.a < n) == (c.b < n)) continue;
    const int early = place[std::max(c.a, c.b) - n], still = place[std::min(c.a, c.b)];
    if (early < still) count(early + 1, still);
  }
  for (int k = 1; k <= n; ++k) left[k] += left[k - 1];
  return left;
}

void leave_out_block(Rows& rows, std::span<const Clash> clashes) {
  const int n = static_cast<int>(rows.records.size());
  if (static_cast<int>(clashes.size()) < kLeastClashes) return;
  std::vector<size_t> of(n);
  for (const Clash& c : clashes) ++of[c.a], ++of[c.b];
  if (*std::ranges::max_element(of) * 5 > clashes.size() * 3)
    return;  // one row alone explains them
  std::vector<int> order(n), place(n);
  std::iota(order.begin(), order.end(), 0);
  std::ranges::stable_sort(order, {}, [&](int r) {
    return rows.evidence[rows.records[r].readings.front()].reading.utc_s;
  });
  for (int k = 0; k < n; ++k) place[order[k]] = k;
  Block best{static_cast<int>(clashes.size()), 0, 0, 0};
  for (const double by_s : {-kHour_s, kHour_s}) {
    const std::vector<int> left = clashes_left(rows, clashes, place, by_s);
    for (int k = 2; k <= n - 2; ++k) {
      if (left[k] < best.left) best = {left[k], k, k, by_s};
      if (left[k] == best.left && by_s == best.by_s) best.most = k;
    }
  }
  if (best.left * 5 > static_cast<int>(clashes.size())) return;
  // Days that clash with nothing either way go where they are less odd.
  for (int k = 0; k < best.most; ++k) rows.out[order[k]] = true;
  int split = best.from;
  for (int k = best.from; k < best.most; ++k) {
    const size_t m = rows.records[order[k]].readings.size();
    const auto as_is = oddness(rows, order[k], std::vector<double>(m, 0.0)),
               moved = oddness(rows, order[k], std::vector<double>(m, best.by_s));
    if (moved.value_or(1) < as_is.value_or(1)) split = k + 1;
  }
  const bool first = 2 * split <= n;
  const bool late = (best.by_s < 0) == first;
  for (int k = 0; k < n; ++k) {
    rows.out[order[k]] = (k < split) == first;
    if (!rows.out[order[k]]) continue;
    for (const int i : rows.records[order[k]].readings) {
      say_hour(rows.fitted[i], late ? kHour_s : -kHour_s);
    }
  }
}

// Was the sky clear? Another day, `against`, saw the sun where it should have been hidden.
void leave_out_dark(Rows& rows, int record, int against) {
  FittedDay& day = rows.dark[rows.records[record].dark];
  rows.out[record] = true;
  day.fault = ContactFault::contradicts;
  day.why = {Code::bad_input, "error.dark_day_clashes"};
  if (against >= 0) day.against = rows.records[against].readings.front();
}

void leave_out(Rows& rows, int record, int against) {
  if (rows.records[record].dark >= 0) return leave_out_dark(rows, record, against);
  rows.out[record] = true;
  for (const int i : rows.records[record].readings) {
    rows.fitted[i].fault = ContactFault::contradicts;
    if (against >= 0 && rows.records[against].dark < 0)
      rows.fitted[i].against = rows.records[against].readings.front();
  }
}

void name(Rows& rows, int self) {
  const DayRecord& record = rows.records[self];
  if (record.dark >= 0) return;
  const auto cause = cause_of(rows, self);
  for (size_t k = 0; k < record.readings.size(); ++k) {
    FittedContact& c = rows.fitted[record.readings[k]];
    c.why = {Code::bad_input, "error.contact_clashes"};
    if (!cause) continue;
    if (cause->fault == ContactFault::day_off)
      say_days(c, static_cast<int>(std::lround(cause->by_s[k] / 86400)));
    else if (cause->by_s[k] != 0)
      say_hour(c, -cause->by_s[k]);
    else  // of the same row, whose other moment is the wrong one
      c.why = {Code::bad_input, "error.contact_row_doubtful"};
  }
}

// The first coming or the last going of a day, an hour from the days before and after, and nothing
// else: at the ends of a diary no other day may clash with it.
void leave_out_hours(Rows& rows) {
  constexpr double kSeason_deg = 2.5, kAlike_s = 1200, kAbout_s = 420;
  struct Edge {
    int record = -1;
    double declination_deg = 0, hour_s = 0, utc_s = 0;
  };
  for (const bool came : {true, false}) {
    std::map<int, Edge> days;
    for (size_t r = 0; r < rows.records.size(); ++r) {
      if (rows.out[r]) continue;
      for (const int i : rows.records[r].readings) {
        const ContactReading& c = rows.evidence[i].reading;
        if (c.came != came || rows.evidence[i].row < 0) continue;
        const int day = static_cast<int>(std::floor(c.utc_s / 86400 + c.place.longitude_deg / 360));
        Edge& edge = days[day];
        if (edge.record >= 0 && (c.utc_s < edge.utc_s) != came) continue;
        const SunPosition sun = sun_position(c.utc_s, c.place);
        edge = {static_cast<int>(r), sun.declination_deg, sun.hour_angle_deg * 240, c.utc_s};
      }
    }
    for (const auto& [day, self] : days) {
      std::vector<std::pair<double, double>> near;  // of declination apart, hours
      for (const auto& [other, edge] : days)
        if (other != day && std::abs(edge.declination_deg - self.declination_deg) < kSeason_deg)
          near.emplace_back(std::abs(edge.declination_deg - self.declination_deg), edge.hour_s);
      if (near.size() < 3) continue;
      std::ranges::sort(near);
      double low = 1e9, high = -1e9;
      for (size_t k = 0; k < 3; ++k)
        low = std::min(low, near[k].second), high = std::max(high, near[k].second);
      const double late = self.hour_s - (low + high) / 2;
      if (high - low > kAlike_s || std::abs(std::abs(late) - kHour_s) > kAbout_s) continue;
      const DayRecord& record = rows.records[self.record];
      std::vector<double> by(record.readings.size(), 0.0);
      for (size_t k = 0; k < by.size(); ++k)
        if (rows.evidence[record.readings[k]].reading.came == came)
          by[k] = late > 0 ? -kHour_s : kHour_s;
      const auto claims = claims_moved(rows.evidence, rows.fitted, record, by);
      if (worst_clash(claims, rows.records, self.record, rows.out) > kClashes * 0.75) continue;
      rows.out[self.record] = true;
      for (const int i : record.readings) {
        say_hour(rows.fitted[i], late > 0 ? kHour_s : -kHour_s);
      }
    }
  }
}

// A row that stands out of the order it was typed in, and would fit where it stands: its date was
// mistyped to a day that no other tells of.
void leave_out_unordered(Rows& rows) {
  constexpr int kLonely_days = 10;
  std::vector<int> typed;  // rows of a diary, in the order typed
  for (size_t r = 0; r < rows.records.size(); ++r)
    if (!rows.out[r] && rows.records[r].dark < 0 &&
        rows.evidence[rows.records[r].readings.front()].row >= 0)
      typed.push_back(static_cast<int>(r));
  const auto day = [&](int r) {
    const ContactReading& c = rows.evidence[rows.records[r].readings.front()].reading;
    return static_cast<int>(std::floor(c.utc_s / 86400 + c.place.longitude_deg / 360));
  };
  // The longest that rises: what is not of it stands out of order.
  const size_t n = typed.size();
  std::vector<int> length(n, 1), before(n, -1);
  int last = -1;
  for (size_t k = 0; k < n; ++k) {
    for (size_t m = 0; m < k; ++m)
      if (day(typed[m]) <= day(typed[k]) && length[m] + 1 > length[k])
        length[k] = length[m] + 1, before[k] = static_cast<int>(m);
    if (last < 0 || length[k] >= length[last]) last = static_cast<int>(k);
  }
  std::vector<bool> ordered(n, false);
  for (int k = last; k >= 0; k = before[k]) ordered[k] = true;
  for (size_t k = 0; k < n; ++k) {
    if (ordered[k]) continue;
    size_t a = k, b = k;
    while (a > 0 && !ordered[a]) --a;
    while (b + 1 < n && !ordered[b]) ++b;
    const int own = day(typed[k]);
    int from = ordered[a] ? day(typed[a]) : day(typed[b]) - 2;
    int to = ordered[b] ? day(typed[b]) : from + 2;
    to = std::min(to, from + 12);
    const int self = typed[k];
    const size_t m = rows.records[self].readings.size();
    const auto now = oddness(rows, self, std::vector<double>(m, 0.0));
    // Where no other day is near, nothing else speaks for it than its place among the rows.
    const bool lonely = std::ranges::none_of(typed, [&](int r) {
      return r != self && !rows.out[r] && std::abs(day(r) - own) <= kLonely_days;
    });
    std::optional<std::pair<double, int>> best;
    for (int d = from; d <= to; ++d) {
      const std::vector<double> by(m, (d - own) * 86400.0);
      auto odd = oddness(rows, self, by);
      if (lonely) odd = odd.value_or(1);
      if (d == own || !odd || *odd > (lonely ? kFits : 1.5) || *odd > now.value_or(99) ||
          (best && best->first <= *odd))
        continue;
      const auto claims = claims_moved(rows.evidence, rows.fitted, rows.records[self], by);
      if (worst_clash(claims, rows.records, self, rows.out) > kClashes * 0.75) continue;
      best = {*odd, d - own};
    }
    if (!best) continue;
    rows.out[self] = true;
    for (const int i : rows.records[self].readings) say_days(rows.fitted[i], best->second);
  }
}

// A clear day without sun against one that saw it long with the sun hardly higher, or the same day: the
// ridge would have to run along the sun's way. A level one does so longest, about noon, where the way
// falls by a degree 15 degrees to each side; six tenths of that are left to it.
void add_days_alike(const Rows& rows, std::vector<Clash>& clashes) {
  constexpr double kStep_deg = 0.5, kAlong = 0.6 / 15 / 15 / 4;
  constexpr int kLeastSteps = 16;  // half an hour
  std::set<std::pair<int, int>> known;
  for (const Clash& c : clashes) known.emplace(c.a, c.b);
  const int n = static_cast<int>(rows.records.size());
  for (int d = 0; d < n; ++d) {
    if (rows.records[d].dark < 0) continue;
    std::map<int, double> way;
    for (const DayClaim& c : rows.records[d].claims) way[c.step] = c.elevation_deg;
    for (int r = 0; r < n; ++r) {
      if (rows.records[r].dark >= 0 || rows.out[r] || known.contains(std::minmax(r, d))) continue;
      int steps = 0;
      double highest = -90;
      for (const DayClaim& c : rows.records[r].claims) {
        if (!c.seen) continue;
        const auto at = way.find(c.step);
        highest = std::max(highest, at == way.end() ? 90 : c.elevation_deg - at->second);
        ++steps;
      }
      const double wide_deg = steps * kStep_deg;
      if (steps >= kLeastSteps && highest < kAlong * wide_deg * wide_deg)
        clashes.push_back({std::min(r, d), std::max(r, d), kClashes});
    }
  }
}

}  // namespace

void leave_out_clashing(std::span<const ContactEvidence> evidence,
                        std::vector<FittedContact>& fitted, std::vector<FittedDay>& dark) {
  Rows rows{evidence, fitted, dark, day_records(evidence, fitted), {}};
  rows.out.assign(rows.records.size(), false);
  leave_out_block(rows, clashes_of(rows.records));
  for (size_t d = 0; d < dark.size(); ++d) {
    if (dark[d].fault != ContactFault::none) continue;
    DayRecord record = dark_record(dark[d].day, static_cast<int>(d));
    double highest = 0;
    for (const DayClaim& c : record.claims) highest = std::max(highest, c.elevation_deg);
    if (highest > kGorge_deg) {
      dark[d].fault = ContactFault::contradicts;
      dark[d].why = {Code::bad_input, {"error.dark_day_too_high", {Arg::figure(highest, 0)}}};
    } else {
      rows.records.push_back(std::move(record));
    }
  }
  rows.out.resize(rows.records.size(), false);
  std::vector<Clash> clashes = clashes_of(rows.records);
  add_days_alike(rows, clashes);
  std::vector<int> named;
  while (true) {
    std::vector<int> count(rows.records.size());
    std::vector<double> sum(rows.records.size());
    for (const Clash& c : clashes) {
      if (rows.out[c.a] || rows.out[c.b]) continue;
      for (const int r : {c.a, c.b}) ++count[r], sum[r] += c.slack;
    }
    int worst = -1;
    for (size_t r = 0; r < count.size(); ++r)
      if (count[r] > 0 &&
          (worst < 0 || std::pair(count[r], sum[r]) > std::pair(count[worst], sum[worst])))
        worst = static_cast<int>(r);
    if (worst < 0) break;
    int partner = -1;  // as much against the others
    for (const Clash& c : clashes) {
      if (rows.out[c.a] || rows.out[c.b] || (c.a != worst && c.b != worst)) continue;
      const int other = c.a == worst ? c.b : c.a;
      if (count[other] == count[worst]) partner = other;
    }
    if (partner < 0) {
      leave_out(rows, worst, -1);
      named.push_back(worst);
      continue;
    }
    // No sun on a clear day is soon written of a cloudy one, and tells least.
    if (rows.records[worst].dark >= 0 || rows.records[partner].dark >= 0) {
      const bool first = rows.records[worst].dark >= 0;
      leave_out(rows, first ? worst : partner, first ? partner : worst);
      continue;
    }
    // One word against another: the odder one, or both.
    const auto still = [&](int r) {
      rows.out[worst] = rows.out[partner] = true;
      const auto odd = oddness(rows, r, std::vector<double>(rows.records[r].readings.size(), 0.0));
      rows.out[worst] = rows.out[partner] = false;
      return odd.value_or(1);
    };
    const double a = still(worst), b = still(partner);
    const bool both = std::max(a, b) < kMuch || std::max(a, b) < kMuch * std::min(a, b);
    for (const int r : {worst, partner})
      if (both || (r == worst) == (a > b)) {
        leave_out(rows, r, r == worst ? partner : worst);
        named.push_back(r);
      }
  }
  for (const int r : named) name(rows, r);
  leave_out_unordered(rows);
  leave_out_hours(rows);
}

}  // namespace horizon
