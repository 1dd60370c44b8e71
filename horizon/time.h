// horizon/time.h: instants, civil dates and their text.
// Units:  seconds UTC since 1970-01-01 without leap seconds (POSIX time), `utc_s`
// Frame:  a civil date is a date of the proleptic Gregorian calendar at a fixed offset from UTC
// Valid:  years 1600 to 9999
// Accuracy: microseconds within 1900 to 2200 (double)
// Source: ISO 8601-1:2019; C++20 <chrono> calendar
#pragma once

#include <chrono>
#include <string>
#include <string_view>

#include "horizon/result.h"

namespace horizon {

using Date = std::chrono::year_month_day;

// Midnight at the start of the date, where local time is UTC + offset.
double start_of_day_utc_s(Date date, double utc_offset_h = 0);
Date date_of(double utc_s, double utc_offset_h = 0);
int day_of_year(Date date);  // 1 to 366
int days_in_year(int year);
Date date_of_day(int year, int day_of_year);

// "2026-12-21" and only that.
Result<Date> parse_date(std::string_view text);
std::string format_date(Date date);

// "2026-12-21T09:41:07Z", "2026-12-21 09:41", "2026-12-21T10:41:07.25+01:00"; without a zone, UTC.
Result<double> parse_utc_s(std::string_view text);
// "2026-12-21T09:41:07Z", rounded to whole seconds; with decimals 3 as GeoPackage wants it.
std::string format_utc(double utc_s, int decimals = 0);
// "09:41" local, rounded to the minute.
std::string format_clock(double utc_s, double utc_offset_h);

}  // namespace horizon
