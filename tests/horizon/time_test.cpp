#include "horizon/time.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace horizon;
using namespace std::chrono;

// ISO 8601; the POSIX epoch; Meeus, Astronomical Algorithms, ch. 7: JD 2451545.0 is 2000-01-01 12
// h.
TEST_CASE("[published] dates and seconds agree with the Julian day") {
  CHECK(start_of_day_utc_s(1970y / 1 / 1) == 0);
  CHECK(start_of_day_utc_s(2000y / 1 / 1) / 86400 + 2440587.5 == 2451544.5);
  CHECK(start_of_day_utc_s(1987y / 6 / 19) / 86400 + 2440587.5 == 2446965.5);
  CHECK(start_of_day_utc_s(1900y / 1 / 1) / 86400 + 2440587.5 == 2415020.5);
  CHECK(start_of_day_utc_s(1600y / 12 / 31) / 86400 + 2440587.5 == 2305812.5);
}

TEST_CASE("[property] text and instant agree both ways") {
  CHECK(parse_utc_s("2026-12-21T09:41:07Z").value() == start_of_day_utc_s(2026y / 12 / 21) + 34867);
  CHECK(parse_utc_s("2026-12-21T10:41:07.25+01:00").value() ==
        start_of_day_utc_s(2026y / 12 / 21) + 34867.25);
  CHECK(parse_utc_s("2026-12-21 09:41").value() == start_of_day_utc_s(2026y / 12 / 21) + 34860);
  CHECK(parse_utc_s("2026-12-21").value() == start_of_day_utc_s(2026y / 12 / 21));
  CHECK(format_utc(parse_utc_s("2024-02-29T23:59:59Z").value()) == "2024-02-29T23:59:59Z");
  CHECK(format_utc(parse_utc_s("2024-02-29T23:59:59.4996Z").value(), 3) ==
        "2024-02-29T23:59:59.500Z");
  CHECK(format_utc(parse_utc_s("2024-12-31T23:59:59.9Z").value()) == "2025-01-01T00:00:00Z");
  CHECK(format_clock(parse_utc_s("2024-02-29T23:59:40Z").value(), 1) == "01:00");
}

TEST_CASE("[property] what is not a time is refused") {
  for (const char* text : {"", "2026", "2026-13-01", "2026-02-29", "2026-12-21T25:00", "nonsense",
                           "2026-12-21T09:41:07X", "2026-12-21T09:41:07.Z", "0001-01-01"})
    CHECK_FALSE(parse_utc_s(text).has_value());
}

TEST_CASE("[property] a local date follows the offset") {
  const double evening = parse_utc_s("2026-06-30T23:30:00Z").value();
  CHECK(date_of(evening) == 2026y / 6 / 30);
  CHECK(date_of(evening, 1) == 2026y / 7 / 1);
  CHECK(day_of_year(2024y / 12 / 31) == 366);
  CHECK(date_of_day(2024, 60) == 2024y / 2 / 29);
  CHECK(date_of_day(2025, 60) == 2025y / 3 / 1);
}
