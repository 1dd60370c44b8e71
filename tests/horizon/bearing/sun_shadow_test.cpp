#include "horizon/bearing/sun_shadow.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "horizon/geodesy.h"
#include "horizon/sun/refraction.h"
#include "horizon/sun/sun.h"
#include "horizon/time.h"
#include "tests/near.h"

using namespace horizon;

namespace {

double utc_of(const char* text) { return parse_utc_s(text).value(); }

ShadowReading reading_at(const char* utc) {
  ShadowReading reading;
  reading.utc_s = utc_of(utc);
  return reading;
}

}  // namespace

// Reda & Andreas, NREL/TP-560-34302 (2008), table A5.1: azimuth 194.34024.
TEST_CASE("[published] the shadow of the SPA worked example points at the sun's azimuth less 180") {
  const Place golden{39.742476, -105.1786, 1830.14};
  const auto bearing = shadow_bearing(golden, reading_at("2003-10-17T19:30:30Z"));
  REQUIRE(bearing.has_value());
  CHECK_NEAR(bearing->sun.degrees(), 194.34024, 0.001);
  CHECK_NEAR(bearing->known.degrees(), 14.34024, 0.001);
  CHECK_NEAR(bearing->sun_apparent.degrees(), 90 - 50.11162, 0.002);
  ShadowReading towards = reading_at("2003-10-17T19:30:30Z");
  towards.towards_sun = true;
  CHECK_NEAR(shadow_bearing(golden, towards)->known.degrees(), 194.34024, 0.001);
}

// dA/dt = 15 deg/h (sin lat - cos lat tan el cos az): differentiate the astronomical triangle.
TEST_CASE("[published] the sun's turning, north and south of the tropics") {
  for (const auto& [place, utc, north] :
       {std::tuple{Place{46.6213, 10.3478, 1482}, "2026-11-25T09:00:00Z", true},
        std::tuple{Place{-43.5, 172.6, 300}, "2026-06-20T22:30:00Z", false}}) {
    const auto bearing = shadow_bearing(place, reading_at(utc));
    REQUIRE(bearing.has_value());
    const SunPosition sun = sun_position(utc_of(utc), place);
    const double lat = place.latitude_deg * kDegree;
    const double expected =
        0.25 * (std::sin(lat) - std::cos(lat) * std::tan(sun.elevation.radians()) *
                                    std::cos(sun.azimuth.radians()));
    CHECK_NEAR(bearing->turn_deg_per_min, expected, 0.002);
    CHECK((bearing->turn_deg_per_min > 0) == north);
  }
}

TEST_CASE("[property] both sides of the date line agree") {
  const auto west = shadow_bearing({-17.5, -180, 20}, reading_at("2026-06-20T20:30:00Z"));
  const auto east = shadow_bearing({-17.5, 180, 20}, reading_at("2026-06-20T20:30:00Z"));
  REQUIRE(west.has_value());
  REQUIRE(east.has_value());
  CHECK_NEAR(clockwise_deg(west->known, east->known), 0, 1e-9);
  CHECK_NEAR(west->known_sigma_deg, east->known_sigma_deg, 1e-6);
}

// The visit is played in space: a leaning line's top throws its shadow on level ground.
TEST_CASE(
    "[property] simulated visits: nine in ten true bearings lie within the stated 90 percent") {
  std::mt19937 random(17);
  std::normal_distribution<double> normal(0, 1);
  struct Visit {
    Place place;
    const char* utc;
    ShadowMethod method;
    double clock_sigma_s;
  };
  for (const Visit& visit :
       {Visit{{46.6213, 10.3478, 1482}, "2026-11-25T09:00:00Z", ShadowMethod::plumb_line, 5},
        Visit{{46.6213, 10.3478, 1482}, "2026-06-21T09:30:00Z", ShadowMethod::device_edge, 60},
        Visit{{-43.5, 172.6, 300}, "2026-12-20T20:10:00Z", ShadowMethod::pinhole, 120},
        Visit{{-17.5, 179.999, 20}, "2026-06-20T20:30:00Z", ShadowMethod::plumb_line, 60},
        Visit{{69.65, 18.96, 100}, "2026-03-20T11:00:00Z", ShadowMethod::device_edge, 60}}) {
    CAPTURE(visit.utc);
    ShadowReading reading = reading_at(visit.utc);
    reading.errors = usual_errors(visit.method);
    reading.errors.clock_sigma_s = visit.clock_sigma_s;
    reading.errors.position_sigma_m = 2000;
    const ShadowErrors& e = reading.errors;
    const double compass_off = -8;
    HeadingCheck check = shadow_check(visit.place, reading).value();
    const int kVisits = 1500;
    int covered = 0;
    for (int i = 0; i < kVisits; ++i) {
      Place real =
          destination(visit.place, TrueAzimuth::degrees(0), e.position_sigma_m * normal(random));
      real = destination(real, TrueAzimuth::degrees(90), e.position_sigma_m * normal(random));
      const SunPosition sun = sun_position(reading.utc_s + e.clock_sigma_s * normal(random), real);
      const double az = sun.azimuth.radians(), el = sun.elevation.radians();
      const double lean_east = std::tan(e.levelling_sigma_deg * normal(random) * kDegree);
      const double lean_north = std::tan(e.levelling_sigma_deg * normal(random) * kDegree);
      const double east = lean_east - std::sin(az) / std::tan(el);
      const double north = lean_north - std::cos(az) / std::tan(el);
      const double shadow = std::atan2(east, north) / kDegree;
      check.measured =
          TrueAzimuth::degrees(shadow + compass_off + e.reading_sigma_deg * normal(random));
      const HeadingCorrection c = heading_correction(std::span(&check, 1));
      covered += std::abs(wrap_180(c.offset_deg + compass_off)) < 1.6449 * c.sigma_deg;
    }
    CHECK_NEAR(static_cast<double>(covered) / kVisits, 0.90, 0.03);
  }
}

TEST_CASE(
    "[property] the sun serves from 3 to 60 degrees, while it turns no more than 2 degrees of doubt") {
  const Place place{46.6213, 10.3478, 1482};
  double from = utc_of("2026-06-21T03:00:00Z"), last = -90;
  for (double utc = from; last < 61; utc += 5) {
    ShadowReading reading = reading_at("2026-06-21T03:00:00Z");
    reading.utc_s = utc;
    const double el = apparent_elevation_deg(sun_position(utc, place).elevation.degrees(),
                                             standard_air(place.height_m));
    const bool taken = shadow_bearing(place, reading).has_value();
    if (std::abs(el - 3) > 0.02 && std::abs(el - 60) > 0.02 && taken != (el > 3 && el < 60))
      FAIL(el);
    last = el;
  }
  ShadowReading reading = reading_at("2026-11-25T09:00:00Z");
  const double turns = shadow_bearing(place, reading)->turn_deg_per_min;
  reading.errors.clock_sigma_s = 60 * 1.95 / turns;
  CHECK(shadow_bearing(place, reading).has_value());
  reading.errors.clock_sigma_s = 60 * 2.05 / turns;
  CHECK_FALSE(shadow_bearing(place, reading).has_value());
}

TEST_CASE("[property] a sun too low, too high, or below the horizon is refused with the cure") {
  const Place place{46.6213, 10.3478, 1482};
  for (const char* utc : {"2026-11-25T01:00:00Z", "2026-11-25T06:35:00Z", "2026-06-21T11:15:00Z"}) {
    CAPTURE(utc);
    const auto bearing = shadow_bearing(place, reading_at(utc));
    REQUIRE_FALSE(bearing.has_value());
    CHECK(bearing.error().code == Code::out_of_range);
  }
  ShadowReading slow_clock = reading_at("2026-11-25T09:00:00Z");
  slow_clock.errors.clock_sigma_s = 3600;
  CHECK_FALSE(shadow_bearing(place, slow_clock).has_value());
  ShadowReading bad = reading_at("2026-11-25T09:00:00Z");
  bad.errors.reading_sigma_deg = 0;
  CHECK_FALSE(shadow_bearing(place, bad).has_value());
  CHECK_FALSE(shadow_bearing({NAN, 0, 0}, reading_at("2026-11-25T09:00:00Z")).has_value());
  bad = reading_at("2026-11-25T09:00:00Z");
  bad.measured = TrueAzimuth::degrees(NAN);
  CHECK_FALSE(shadow_check(place, bad).has_value());
}
