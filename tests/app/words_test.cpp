#include "app/lang/words.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "app/lang/quantity.h"

using namespace app;

namespace {

std::multiset<std::string> places(const std::string& words) {
  std::multiset<std::string> found;
  for (std::size_t i = 0; i + 2 < words.size(); ++i) {
    if (words[i] == '{' && words[i + 2] == '}') found.insert(words.substr(i, 3));
  }
  return found;
}

}  // namespace

TEST_CASE("Every language has every key of English, with the same places to fill [property]") {
  const auto english = word_keys("en");
  REQUIRE(english.size() > 50);
  REQUIRE(languages().size() >= 2);
  for (const auto& code : languages()) {
    CAPTURE(code);
    const auto keys = word_keys(code);
    for (const auto& key : english) {
      CAPTURE(key);
      CHECK(std::binary_search(keys.begin(), keys.end(), key));
      std::string ours, theirs;
      {
        InLanguage in(code);
        ours = tr(key);
      }
      theirs = tr(key);
      CHECK_FALSE(ours.empty());
      CHECK(places(ours) == places(theirs));
    }
    for (const auto& key : keys) {
      CAPTURE(key);
      CHECK(std::binary_search(english.begin(), english.end(), key));
    }
  }
}

TEST_CASE("Words come in the language asked for and fall back [property]") {
  CHECK(tr("month.3") == "March");
  {
    InLanguage in("de");
    CHECK(tr("month.3") == "März");
    CHECK(number(1234.5, 1) == "1\u202F234,5");
    CHECK(compass_point(92) == "O");
  }
  CHECK(language() == "en");
  CHECK_FALSE(set_language("xx"));
  CHECK(tr("no.such.key") == "no.such.key");
}

// Conversion factors: NIST SP 811 (2008), appendix B.8.
TEST_CASE("Imperial quantities follow the exact factors [published]") {
  CHECK(height(1482, Units::imperial) == "4\u202F862\u00A0ft");
  CHECK(temperature(-35, Units::imperial) == "−31\u00A0°F");
  CHECK(energy(1, Units::imperial) == "317\u00A0Btu/ft²");
  CHECK(snow_load(2.394, Units::imperial) == "50\u00A0lb/ft²");
  CHECK(depth(0.3556, Units::imperial) == "14\u00A0in");
  CHECK(distance(1609.344 * 3, Units::imperial) == "3.0\u00A0mi");
}

TEST_CASE("Numbers are rounded and written as people read them [property]") {
  CHECK(number(-0.04, 1) == "0.0");
  CHECK(number(-1234567.0) == "−1\u202F234\u202F567");
  CHECK(number(1.0 / 0.0) == "–");
  CHECK(hours_minutes(3.2) == "3\u00A0h\u00A012\u00A0min");
  CHECK(hours_minutes(2.9999) == "3\u00A0h");
  CHECK(hours_minutes(0.2) == "12\u00A0min");
  CHECK(compass_point(359) == "N");
  CHECK(compass_point(-12) == "NNW");
  CHECK(position(-33.5, 18.25) == "33.5000°\u00A0S 18.2500°\u00A0E");
  CHECK(day_month(horizon::Date{std::chrono::year{2026}, std::chrono::month{2},
                                std::chrono::day{16}}) == "16 Feb");
}
