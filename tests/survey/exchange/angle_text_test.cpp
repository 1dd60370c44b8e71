#include "survey/exchange/angle_text.h"

#include <doctest/doctest.h>

#include <cmath>

using survey::angle_deg_of;

// ISO 6709:2008, annex D: sexagesimal notation; 221 deg 30 min 15 s = 221 + 30/60 + 15/3600.
TEST_CASE("[published] one angle in every notation") {
  for (const char* text : {"221.504166666666667", "221,504166666666667",
                           "221\xC2\xB0"
                           "30'15\"",
                           "221\xC2\xB0 30\xE2\x80\xB2 15\xE2\x80\xB3", "221 30 15", "221:30:15",
                           "221d30m15s", "221deg 30' 15''",
                           "221\xC2\xB0"
                           "30.25'",
                           " +221 30 15 "}) {
    const auto value = angle_deg_of(text);
    REQUIRE_MESSAGE(value.has_value(), text);
    CHECK_MESSAGE(std::abs(*value - 221.50416666666667) < 1e-10, text);
  }
  CHECK(std::abs(angle_deg_of("-3 30").value() + 3.5) < 1e-12);
  CHECK(std::abs(angle_deg_of("-0\xC2\xB0"
                              "30'")
                     .value() +
                 0.5) < 1e-12);
  CHECK(std::abs(angle_deg_of("\xE2\x88\x92"
                              "3\xC2\xB0")
                     .value() +
                 3) < 1e-12);
  CHECK(angle_deg_of("24\xC2\xB0") == 24.0);
}

TEST_CASE("[property] what is no angle is refused") {
  for (const char* text :
       {"", "nan", "inf", "12%", "12 60", "12 30 60", "12.5 30", "12 30 15 10", "N12", "12'30",
        "abc", "12 x", "\xC2\xB0", "12 30 15 x", "--3", "1e999", "12:"})
    CHECK_MESSAGE(!angle_deg_of(text).has_value(), text);
}
