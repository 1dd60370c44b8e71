#include "horizon/time.h"

#include <charconv>
#include <cmath>
#include <cstdio>

namespace horizon {
namespace {

using std::chrono::day;
using std::chrono::days;
using std::chrono::month;
using std::chrono::sys_days;
using std::chrono::year;

constexpr double kDay_s = 86400.0;

// Reads exactly `digits` digits at the front of text.
bool take_digits(std::string_view& text, int digits, int& value) {
  if (static_cast<int>(text.size()) < digits) return false;
  value = 0;
  for (int i = 0; i < digits; ++i) {
    if (text[i] < '0' || text[i] > '9') return false;
    value = value * 10 + (text[i] - '0');
  }
  text.remove_prefix(digits);
  return true;
}

bool take_char(std::string_view& text, char c) {
  if (text.empty() || text.front() != c) return false;
  text.remove_prefix(1);
  return true;
}

bool take_date(std::string_view& text, Date& date) {
  int y, m, d;
  if (!take_digits(text, 4, y) || !take_char(text, '-') || !take_digits(text, 2, m) ||
      !take_char(text, '-') || !take_digits(text, 2, d))
    return false;
  date = year{y} / month{static_cast<unsigned>(m)} / day{static_cast<unsigned>(d)};
  return y >= 1600 && date.ok();
}

// [T ]hh:mm[:ss[.fff]] and a zone; seconds after midnight UTC.
bool take_clock_and_zone(std::string_view& text, double& seconds) {
  if (!take_char(text, 'T') && !take_char(text, 't') && !take_char(text, ' ')) return false;
  int hour, minute, second = 0;
  if (!take_digits(text, 2, hour) || !take_char(text, ':') || !take_digits(text, 2, minute))
    return false;
  double fraction = 0;
  if (take_char(text, ':')) {
    if (!take_digits(text, 2, second)) return false;
    if (take_char(text, '.') || take_char(text, ',')) {
      double unit = 0.1;
      int digit;
      if (text.empty() || text.front() < '0' || text.front() > '9') return false;
      while (take_digits(text, 1, digit)) {
        fraction += digit * unit;
        unit /= 10;
      }
    }
  }
  if (hour > 24 || minute > 59 || second > 60 || (hour == 24 && (minute || second))) return false;
  seconds = hour * 3600.0 + minute * 60.0 + second + fraction;
  if (text.empty() || take_char(text, 'Z') || take_char(text, 'z')) return true;
  const double sign = text.front() == '-' ? 1 : -1;
  if (!take_char(text, '+') && !take_char(text, '-')) return false;
  int zone_hour, zone_minute = 0;
  if (!take_digits(text, 2, zone_hour)) return false;
  take_char(text, ':');
  if (!text.empty() && !take_digits(text, 2, zone_minute)) return false;
  if (zone_hour > 14 || zone_minute > 59) return false;
  seconds += sign * (zone_hour * 3600.0 + zone_minute * 60.0);
  return true;
}

}  // namespace

double start_of_day_utc_s(Date date, double utc_offset_h) {
  return sys_days(date).time_since_epoch().count() * kDay_s - utc_offset_h * 3600.0;
}

Date date_of(double utc_s, double utc_offset_h) {
  const double day_number = std::floor((utc_s + utc_offset_h * 3600.0) / kDay_s);
  return Date(sys_days(days(static_cast<int>(day_number))));
}

int day_of_year(Date date) { return (sys_days(date) - sys_days(date.year() / 1 / 1)).count() + 1; }

int days_in_year(int y) { return year{y}.is_leap() ? 366 : 365; }

Date date_of_day(int y, int number) { return Date(sys_days(year{y} / 1 / 1) + days(number - 1)); }

Result<Date> parse_date(std::string_view text) {
  Date date;
  if (take_date(text, date) && text.empty()) return date;
  return fail(Code::bad_input, "error.not_a_date");
}

std::string format_date(Date date) {
  char buffer[48];
  std::snprintf(buffer, sizeof buffer, "%04d-%02u-%02u", static_cast<int>(date.year()),
                static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
  return buffer;
}

Result<double> parse_utc_s(std::string_view text) {
  Date date;
  double seconds = 0;
  if (take_date(text, date) && (text.empty() || take_clock_and_zone(text, seconds)) && text.empty())
    return start_of_day_utc_s(date) + seconds;
  return fail(Code::bad_input, "error.not_a_utc_time");
}

std::string format_utc(double utc_s, int decimals) {
  const double scale = std::pow(10.0, decimals);
  const double rounded = std::round(utc_s * scale) / scale;
  const Date date = date_of(rounded);
  const double in_day = rounded - start_of_day_utc_s(date);
  const int whole = static_cast<int>(std::floor(in_day + 0.5 / scale));
  char buffer[80];
  int used = std::snprintf(buffer, sizeof buffer, "%sT%02d:%02d:%02d", format_date(date).c_str(),
                           whole / 3600, whole / 60 % 60, whole % 60);
  if (decimals > 0) {
    const long fraction = std::lround((in_day - whole) * scale);
    used += std::snprintf(buffer + used, sizeof buffer - used, ".%0*ld", decimals,
                          fraction < 0 ? 0 : fraction);
  }
  std::snprintf(buffer + used, sizeof buffer - used, "Z");
  return buffer;
}

std::string format_clock(double utc_s, double utc_offset_h) {
  const double local_min = std::round((utc_s + utc_offset_h * 3600.0) / 60.0);
  const int minute = static_cast<int>(local_min - std::floor(local_min / 1440.0) * 1440.0);
  char buffer[32];
  std::snprintf(buffer, sizeof buffer, "%02d:%02d", minute / 60, minute % 60);
  return buffer;
}

}  // namespace horizon
