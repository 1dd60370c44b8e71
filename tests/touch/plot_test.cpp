// The plot's screen: what will be built near is typed, kept, shown in its year, and taken out again.
#include <doctest/doctest.h>

#include "survey/assess/plot_findings.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

TEST_CASE(
    "what will be built near is kept, changes the skyline of its year, and can go [property]") {
  Place place("adret-plot-test");
  Walk walk((place.folder / "data").string());
  std::string aims;
  for (int az = 90; az <= 270; az += 15)
    aims += "aim " + std::to_string(az) + " 6\ntouch \"Mark\"\n";
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Skyline\"\n" +
                   aims + "touch \"Ground\"\ntouch \"Sun map and verdict\"\nsettle\n") == "");
  REQUIRE(walk.run("touch \"What will be built\"\ntype \"Hall\"\n"
                   "touch \"Bearing to its middle, true, °\"\ntype \"180\"\n"
                   "touch \"Away, m\"\ntype \"30\"\ntouch \"Long side, m\"\ntype \"40\"\n"
                   "touch \"Short side, m\"\ntype \"10\"\ntouch \"Height, m\"\ntype \"9\"\n"
                   "touch \"In years\"\ntype \"15\"\nkey escape\n"
                   "touch \"Keep what will be built\"\nsettle\n") == "");
  // Over the station: told, and what was typed stays to be put right.
  REQUIRE(walk.run("touch \"What will be built\"\ntype \"Shed\"\n"
                   "touch \"Bearing to its middle, true, °\"\ntype \"180\"\n"
                   "touch \"Away, m\"\ntype \"3\"\ntouch \"Long side, m\"\ntype \"40\"\n"
                   "touch \"Short side, m\"\ntype \"10\"\ntouch \"Height, m\"\ntype \"9\"\n"
                   "touch \"In years\"\ntype \"5\"\nkey escape\n"
                   "touch \"Keep what will be built\"\nwait 0.3\nexpect \"Shed\"") == "");
  CHECK(walk.app.live_words().find("over station") != std::string::npos);
  const auto input = plot_input(walk.app.session().book(), {});
  REQUIRE(input.has_value());
  REQUIRE(input->to_build.size() == 1);
  CHECK(input->to_build[0].name == "Hall");
  CHECK(input->to_build[0].height_m == 9);
  const auto plot = plot_findings(*input);
  REQUIRE(plot.has_value());
  REQUIRE(plot->later.size() == 2);
  const auto& now = plot->station_h[0];
  CHECK(plot->later[0].station_h[0].mean_h == now.mean_h);  // not there in 10 years
  CHECK(plot->later[1].station_h[0].mean_h < now.mean_h - 20);
  for (const auto& later : plot->later) {  // as one range as the map's, and the change has its own
    const auto &then = later.station_h[0], &change = later.station_change_h[0];
    CHECK(then.low_h <= then.mean_h);
    CHECK(then.mean_h <= then.high_h);
    CHECK(std::abs(change.mean_h - (then.mean_h - now.mean_h)) < 1e-9);
    CHECK(change.low_h <= change.mean_h);
    CHECK(change.mean_h <= change.high_h);
  }
  CHECK(plot->later[1].station_change_h[0].high_h < 0);
  REQUIRE(walk.run("touch \"Take out: Hall\"\nsettle\n") == "");
  CHECK(plot_input(walk.app.session().book(), {})->to_build.empty());
}
