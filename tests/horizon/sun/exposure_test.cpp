#include "horizon/sun/exposure.h"

#include <doctest/doctest.h>

#include <cmath>

#include "horizon/sun/sun.h"
#include "tests/near.h"

using namespace horizon;

namespace {
const Place kValley{46.6213, 10.3478, 1482};
const Air kAir = standard_air(1482);
}  // namespace

// EN 17037, table of sunlight exposure; levels not read from the standard itself.
TEST_CASE("[from memory] the levels are 1.5, 3 and 4 hours") {
  CHECK(exposure_level(1.49) == ExposureLevel::below);
  CHECK(exposure_level(1.5) == ExposureLevel::minimum);
  CHECK(exposure_level(2.99) == ExposureLevel::minimum);
  CHECK(exposure_level(3.0) == ExposureLevel::medium);
  CHECK(exposure_level(4.0) == ExposureLevel::high);
}

TEST_CASE(
    "[property] on a flat horizon the exposure is the time the sun is above the lowest altitude") {
  for (const char* text : {"2026-02-01", "2026-03-21", "2028-02-29"}) {
    const Date date = parse_date(text).value();
    const auto exposure = sunlight_exposure(kValley, date, 1, kAir, Mask(), 11);
    REQUIRE(exposure);
    CHECK_NEAR(exposure->hours, sun_day(date, 1, kValley, 11).up_h, 0.001);
    CHECK(exposure->level == ExposureLevel::high);
  }
}

TEST_CASE("[property] a skyline takes hours, and the windows are those that are left") {
  Skyline skyline;
  skyline.max_gap_deg = 200;
  skyline.obstacles.push_back({Kind::ridge, "ridge"});
  for (auto [az, el] :
       {std::pair{0.0, 5.0}, {150.0, 5.0}, {150.0, 60.0}, {340.0, 60.0}, {340.0, 5.0}}) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(az);
    point.elevation = Elevation::degrees(el);
    skyline.points.push_back(point);
  }
  const Date date = parse_date("2026-02-01").value();
  const auto exposure = sunlight_exposure(kValley, date, 1, kAir, Mask(skyline), 10);
  REQUIRE(exposure);
  REQUIRE(exposure->windows.size() == 1);
  const SunPath path(kValley, date, 1, 1, kAir);
  CHECK_NEAR(path.track().at(exposure->windows[0].from_utc_s).elevation_deg, 10, 0.001);
  CHECK_NEAR(path.at(exposure->windows[0].to_utc_s).azimuth_deg, 150, 0.001);
  CHECK(exposure->level == ExposureLevel::minimum);
}

TEST_CASE("[property] days outside 1 February to 21 March, and angles that are none, are refused") {
  for (const char* text : {"2026-01-31", "2026-03-22", "2101-02-10"})
    CHECK_FALSE(sunlight_exposure(kValley, parse_date(text).value(), 1, kAir, Mask(), 10));
  const Date date = parse_date("2026-02-10").value();
  CHECK_FALSE(sunlight_exposure(kValley, date, 1, kAir, Mask(), std::nan("")));
  CHECK_FALSE(sunlight_exposure(kValley, date, 1, kAir, Mask(), 91));
}
