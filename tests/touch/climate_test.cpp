#include <doctest/doctest.h>

#include "survey/assess/climate_rows.h"
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
  CHECK_NEAR(*kept->front().sunshine_fraction[0],
             130 / (survey::possible_sunshine_h(1, 46.6213) * 31), 1e-6);
  std::string up;  // where the sentence stands
  for (int i = 0; i < 10; ++i) up += "swipe \"Light rows\" 0 300\nwait 1\n";
  REQUIRE(
      walk.run(
          "touch \"Light\"\nsettle\n" + up +
          "expect \"usual weather\"\nswipe \"Light rows\" 0 -300\nwait 1\nexpect \"begins later\"\n") ==
      "");
}
