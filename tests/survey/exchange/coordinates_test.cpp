#include "survey/exchange/coordinates.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <string>

#include "horizon/angle.h"
#include "tests/near.h"
#include "tests/said.h"

using namespace survey;

namespace {

void check_reads(const char* text, double lat, double lon, double tolerance = 1e-9) {
  CAPTURE(text);
  const auto position = position_of(text);
  INFO((position ? std::string("read") : said(position.error())));
  REQUIRE(position.has_value());
  CHECK_NEAR(position->place.latitude_deg, lat, tolerance);
  CHECK_NEAR(position->place.longitude_deg, lon, tolerance);
}

constexpr double kLat = 46 + 37 / 60.0 + 16.7 / 3600, kLon = 10 + 20 / 60.0 + 52.1 / 3600;

}  // namespace

TEST_CASE("[common practice] decimal degrees in every dress") {
  for (const char* text : {"46.6213, 10.3478",
                           "46.6213 10.3478",
                           "46.6213,10.3478",
                           "46,6213; 10,3478",
                           "46,6213 10,3478",
                           "46,6213, 10,3478",
                           "46,6213/10,3478",
                           "N 46.6213 E 10.3478",
                           "N46.6213, E10.3478",
                           "46.6213N 10.3478E",
                           "46.6213\xC2\xB0 N, 10.3478\xC2\xB0 E",
                           "E 10.3478 N 46.6213",
                           "10.3478E 46.6213N",
                           "10,3478 E; 46,6213 N",
                           "lat 46.6213 lon 10.3478",
                           "Lat: 46.6213, Long: 10.3478",
                           "latitude=46.6213 longitude=10.3478",
                           "+46.6213 +10.3478",
                           " 46.6213\xC2\xA0\xC2\xB0 n 10.3478\xC2\xB0 e ",
                           "46.6213 north, 10.3478 east",
                           "46.6213 deg N 10.3478 deg E",
                           "46.6213\t10.3478",
                           "46.6213\xC2\xB0, 10.3478\xC2\xB0"})
    check_reads(text, 46.6213, 10.3478);
}

TEST_CASE("[common practice] degrees with minutes and seconds") {
  for (const char* text :
       {"46\xC2\xB0"
        "37'16.7\"N 10\xC2\xB0"
        "20'52.1\"E",
        "46 37 16.7 N, 10 20 52.1 E", "N 46 37 16.7 E 10 20 52.1", "46:37:16.7, 10:20:52.1",
        "46:37:16.7 10:20:52.1",
        "46\xC2\xB0 37\xE2\x80\xB2 16.7\xE2\x80\xB3 N 10\xC2\xB0 20\xE2\x80\xB2 52.1\xE2\x80\xB3 E",
        "46d37m16.7s 10d20m52.1s", "46d37m16.7sN 10d20m52.1sE", "46 37 16.7 10 20 52.1",
        "46\xC2\xB0"
        "37'16,7'' N; 10\xC2\xB0"
        "20'52,1'' E",
        "46 deg 37 min 16.7 sec N, 10 deg 20 min 52.1 sec E",
        "46\xC2\xBA"
        "37\xE2\x80\x99"
        "16.7\xE2\x80\x9D"
        "N 10\xC2\xBA"
        "20\xE2\x80\x99"
        "52.1\xE2\x80\x9D"
        "E"})
    check_reads(text, kLat, kLon);
  for (const char* text : {"46\xC2\xB0"
                           "37.278'N 10\xC2\xB0"
                           "20.868'E",
                           "46 37.278 N 10 20.868 E", "N46\xC2\xB0 37,278 E10\xC2\xB0 20,868",
                           "46 37.278, 10 20.868", "46 37.278 10 20.868",
                           "46\xC2\xB0"
                           "37,278' 10\xC2\xB0"
                           "20,868'"})
    check_reads(text, 46 + 37.278 / 60, 10 + 20.868 / 60);
}

TEST_CASE("[common practice] south and west, by sign and by letter") {
  const double lat = -(41 + 7 / 60.0 + 48 / 3600.0), lon = -(71 + 18 / 60.0 + 36 / 3600.0);
  for (const char* text :
       {"-41:07:48 -71:18:36", "S 41 7 48 W 71 18 36", "41 7 48 S 71 18 36 W", "-41.13, -71.31",
        "\xE2\x88\x92"
        "41.13 \xE2\x88\x92"
        "71.31",
        "41.13S 71.31W", "71.31 W, 41.13 S", "41d07m48s S 71d18m36s W", "-41.13;-71.31",
        "-41.13-71.31", "-41,13 -71,31"})
    check_reads(text, lat, lon);
  check_reads("-0 30 0, 0 15 0", -0.5, 0.25);
  check_reads("-43.5, 187.4", -43.5, -172.6);
  check_reads("-43.5, 180", -43.5, -180);
}

// ISO 6709 annex H and RFC 5870, with the examples' forms.
TEST_CASE("[published] the standards' strings") {
  check_reads("+46.6213+010.3478/", 46.6213, 10.3478);
  check_reads("+4637.278+01020.868/", 46 + 37.278 / 60, 10 + 20.868 / 60);
  check_reads("+463716.7+0102052.1+1482CRSWGS_84/", kLat, kLon);
  check_reads("-410748-0711836/", -41.13, -71.31);
  check_reads("geo:46.6213,10.3478", 46.6213, 10.3478);
  check_reads("geo:-41.13,-71.31,770;u=10", -41.13, -71.31);
  CHECK(position_of("geo:46.6213,10.3478,1482")->place.height_m == 1482);
  CHECK(position_of("+46.6213+010.3478+1482/")->has_height);
  CHECK_FALSE(position_of("geo:46.6213").has_value());
  CHECK_FALSE(position_of("geo:46.6,10.3;crs=nad27").has_value());
}

TEST_CASE("[common practice] a third number is the height") {
  for (const char* text :
       {"46.6213, 10.3478, 1482", "46.6213 10.3478 1482", "46.6213N 10.3478E 1482 m",
        "N 46.6213 E 10.3478, 1482", "46,6213; 10,3478; 1482,0"}) {
    CAPTURE(text);
    check_reads(text, 46.6213, 10.3478);
    CHECK(position_of(text)->has_height);
    CHECK(position_of(text)->place.height_m == 1482);
  }
  CHECK_FALSE(position_of("46.6213, 10.3478")->has_height);
  CHECK_FALSE(position_of("46.6213, 10.3478, 99999").has_value());
}

// GeographicLib 2.1.2 and PROJ 9.1.1.
TEST_CASE("[published] UTM as it is written on maps and by receivers") {
  for (const char* text : {"32N 415595.187 5150191.116", "32 N 415595.187 5150191.116",
                           "32T 415595.187 5150191.116", "UTM 32T 415595.187mE 5150191.116mN",
                           "zone 32 N E 415595.187 N 5150191.116", "32T N5150191.116 E415595.187",
                           "utm 32n 415595,187; 5150191,116", "32 north 415595.187, 5150191.116"})
    check_reads(text, 46.5, 7.9, 1e-8);
  check_reads("19S 590716.042 8175564.991", -16.5, -68.15, 1e-8);
  check_reads("19K 590716.042 8175564.991", -16.5, -68.15, 1e-8);
  check_reads("43 north 737867.761 3781795.488", 34.15, 77.58, 1e-8);
  CHECK(position_of("32N 415595 5150191")->system == "UTM 32N");
  // Ladakh in band S, or a place in the southern ocean?
  const auto doubtful = position_of("43S 737868 3781795");
  REQUIRE_FALSE(doubtful.has_value());
  CHECK(said(doubtful.error()).find("zone_s_ambiguous") != std::string::npos);
  CHECK_FALSE(position_of("61N 415595 5150191").has_value());
  CHECK_FALSE(position_of("32I 415595 5150191").has_value());
  CHECK_FALSE(position_of("32N 41559518 5150191").has_value());
}

// GeographicLib tests/CMakeLists.txt: GeoConvert of 33.3 44.4 is 38SMB4484. The others by its
// rules.
TEST_CASE("[published] MGRS squares, their middle") {
  const auto square = position_of("38SMB4484");
  REQUIRE(square.has_value());
  check_reads("38SMB4414084706", 33.3, 44.4, 1e-5);
  check_reads("38S MB 44140 84706", 33.3, 44.4, 1e-5);
  check_reads("38S MB 4484", 33.3, 44.4, 0.009);
  CHECK_FALSE(position_of("38SMB448").has_value());
  CHECK_FALSE(position_of("38SAB4484").has_value());  // no column A in zone 38
  CHECK_FALSE(position_of("38SMB44 847").has_value());
}

TEST_CASE("[published] a national grid by its code") {
  check_reads("EPSG:2056 2600000 1200000", 46.951083, 7.438637, 2e-5);
  check_reads("epsg:2056 2'600'000, 1'200'000", 46.951083, 7.438637, 2e-5);
  CHECK_FALSE(position_of("EPSG:4326 46 10").has_value());
  CHECK_FALSE(position_of("EPSG:2056 2600000").has_value());
}

TEST_CASE("[property] what can be read two ways, or not at all, is refused with a cure") {
  for (const char* text : {"",
                           "   ",
                           "hello",
                           "46.6213",
                           "46,6213,10,3478",
                           "46.6213 O 10.3478 N",
                           "10.3478 O 46.6213 N",
                           "91, 10",
                           "46, 361",
                           "46, -181",
                           "120.5, 46.6",
                           "46.6213N 10.3478",
                           "46.6N 10.3N",
                           "-46.6 S 10.3 E",
                           "46 61 0 N 10 0 0 E",
                           "46 37 61 N 10 0 0 E",
                           "46.5 30 N 10 0 E",
                           "46 37' 16\xC2\xB0 N 10 E",
                           "nan, nan",
                           "inf 10",
                           "1e5 10",
                           "46..6 10",
                           "- 46",
                           "46.6 10.3 -",
                           "N E",
                           "N 46 E",
                           "46 N N 10",
                           "46 37 10",
                           "46\xFF, 10",
                           "46.6; 10.3; 5; 6",
                           "5 N 6 E 7 8",
                           "::",
                           ", ,",
                           "\xC2\xB0"}) {
    CAPTURE(text);
    const auto position = position_of(text);
    CHECK_FALSE(position.has_value());
    if (!position) CHECK(position.error().key.starts_with("error."));
  }
  CHECK_FALSE(position_of(std::string(5000, '4')).has_value());
}

TEST_CASE("[property] any bytes give a position or an error, never a crash") {
  std::mt19937 random(9);
  const std::string alphabet = "0123456789.,;:'\"-+ nsewNSEWdmgeo/\xC2\xB0\xE2\x80";
  for (int run = 0; run < 20000; ++run) {
    std::string text;
    const size_t length = random() % 30;
    for (size_t i = 0; i < length; ++i) text += alphabet[random() % alphabet.size()];
    const auto position = position_of(text);
    if (position) {
      CHECK(std::abs(position->place.latitude_deg) <= 90);
      CHECK(std::abs(position->place.longitude_deg) <= 180);
    }
  }
}

TEST_CASE("[property] what is written is read back") {
  for (const horizon::Place place :
       {horizon::Place{46.6213, 10.3478, 0}, horizon::Place{-41.13, -71.31, 0},
        horizon::Place{-0.25, 179.99999, 0}, horizon::Place{89.99999, -0.5, 0},
        horizon::Place{12.9999999, 5.99999999, 0}})
    for (const AngleStyle style : {AngleStyle::decimal, AngleStyle::minutes, AngleStyle::seconds}) {
      const std::string text = format_position(place, style);
      CAPTURE(text);
      const auto back = position_of(text);
      REQUIRE(back.has_value());
      CHECK_NEAR(back->place.latitude_deg, place.latitude_deg, 1.5e-5);
      CHECK_NEAR(horizon::wrap_180(back->place.longitude_deg - place.longitude_deg), 0, 1.5e-5);
    }
  CHECK(format_position({46.6213, 10.3478, 0}, AngleStyle::seconds) ==
        "46\xC2\xB0"
        "37'16.7\" N, 10\xC2\xB0"
        "20'52.1\" E");
  CHECK(format_position({-12.99999999, 5, 0}, AngleStyle::minutes) ==
        "13\xC2\xB0"
        "00.000' S, 5\xC2\xB0"
        "00.000' E");
}
