// horizon/skyline/contact_days.h: which days of a diary cannot both be right, whatever the ridge looks like?
// Units:    degrees, seconds
// Frame:    true azimuth of the sun's centre; its elevation as seen
// Method:   at one azimuth a higher sun is seen wherever a lower one is: a day that saw the sun where
//           another, with the sun higher, had it hidden, clashes with it. No roughness of the ridge
//           is assumed. Slack is how many standard deviations of its own moments stand between the
//           claim and its end
// Accuracy: false alarms and misses are counted in docs/contacts.md
#pragma once

#include <span>
#include <vector>

#include "horizon/skyline/contact_fit.h"

namespace horizon {

// The sun seen, or hidden, at one step of azimuth.
struct DayClaim {
  int step = 0;
  double elevation_deg = 0, slack = 0;
  bool seen = false;
};
// One row of a diary, or one contact by itself.
struct DayRecord {
  std::vector<int> readings;  // into the evidence
  std::vector<DayClaim> claims;
  int dark = -1;  // a day without sun and without readings, by its place among them
};
// Of all that counts so far; readings of the moon and of other parts of the disc stay out.
std::vector<DayRecord> day_records(std::span<const ContactEvidence> evidence,
                                   std::span<const FittedContact> fitted);
// What a record would claim at other moments, `by_s` later for each of its readings.
std::vector<DayClaim> claims_moved(std::span<const ContactEvidence> evidence,
                                   std::span<const FittedContact> fitted, const DayRecord& record,
                                   std::span<const double> by_s);

// Of a day without sun: hidden from morning to evening.
DayRecord dark_record(const DarkDay& day, int which);

struct Clash {
  int a = 0, b = 0;  // records
  double slack = 0;  // of the one that gives way sooner
};
inline constexpr double kClashes = 4;
std::vector<Clash> clashes_of(std::span<const DayRecord> records);
// The most slack with which `claims` clash with any record but `self` and those `left_out`.
double worst_clash(std::span<const DayClaim> claims, std::span<const DayRecord> records, int self,
                   const std::vector<bool>& left_out);

// Marks the readings of rows that clash with the others, with what went wrong where it can be told;
// and the days said to be clear and without sun on which others saw a lower one.
void leave_out_clashing(std::span<const ContactEvidence> evidence,
                        std::vector<FittedContact>& fitted, std::vector<FittedDay>& dark);

}  // namespace horizon
