#include <doctest/doctest.h>

#include "app/ground/climate_rows.h"
#include "tests/near.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

namespace {

std::string months(const char* row, std::initializer_list<const char*> values) {
  constexpr const char* kNames[] = {"January",   "February", "March",    "April",
                                    "May",       "June",     "July",     "August",
                                    "September", "October",  "November", "December"};
  std::string script = std::string("touch \"") + row + "\"\n";
  int m = 0;
  for (const char* value : values)
    script += std::string("touch \"") + kNames[m++] + "\"\ntype \"" + value + "\"\n";
  return script;
}

}  // namespace

TEST_CASE(
    "the sentence under the light says which sky it rests on, and changes with it [property]") {
  Place place("adret-climate-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Skyline\"\naim 100 12\ntouch \"Mark\"\naim 180 12\ntouch \"Mark\"\n"
                   "aim 260 14\ntouch \"Mark\"\ntouch \"Light\"\nsettle\n"
                   "expect \"the most that can come\"\n") == "");
  REQUIRE(
      walk.run("touch \"Building and weather\"\ntouch \"Climate, month by month\"\n"
               "expect \"the most that can come\"\n" +
               months("Which row: sunshine, hours", {"130", "140", "185", "190", "210", "215",
                                                     "250", "230", "195", "175", "125", "115"}) +
               "expect \"usual weather\"\n") == "");
  const auto kept = walk.app.session().book().all<survey::ClimateNormals>();
  REQUIRE(kept.has_value());
  REQUIRE(kept->size() == 1);
  REQUIRE(kept->front().sunshine_fraction[0].has_value());
  CHECK_NEAR(*kept->front().sunshine_fraction[0], 130 / (possible_sunshine_h(1, 46.6213) * 31),
             1e-6);
  std::string up;  // where the sentence stands
  for (int i = 0; i < 10; ++i) up += "swipe \"Light rows\" 0 300\nwait 1\n";
  REQUIRE(
      walk.run(
          "touch \"Light\"\nsettle\n" + up +
          "expect \"usual weather\"\nswipe \"Light rows\" 0 -300\nwait 1\nexpect \"begins later\"\n") ==
      "");
}

// Mean daylight hours at 46 and 48 degrees north as FAO-56 tables them, to a tenth; recalled.
TEST_CASE("the possible hours of sunshine [from memory]") {
  CHECK_NEAR(possible_sunshine_h(1, 46), 9.1, 0.35);
  CHECK_NEAR(possible_sunshine_h(6, 46), 15.4, 0.35);
  CHECK_NEAR(possible_sunshine_h(12, 48), 8.3, 0.35);
  CHECK_NEAR(possible_sunshine_h(3, 0), 12, 0.1);
}

TEST_CASE("what is typed of the climate comes back as it was typed [property]") {
  for (const ClimateRow& row : climate_rows())
    for (int month = 1; month <= 12; ++month)
      for (const double part : {0.1, 0.4}) {
        const double si = row.low + part * (row.high - row.low);
        const auto kept = to_keep(row, si, month, 46.6);
        if (!kept) continue;  // more than the sun is up
        const auto again = measured(row, *kept, month, 46.6);
        REQUIRE(again.has_value());
        CHECK_NEAR(*again, si, 1e-9);
      }
}
