// One turn with the camera by touch, from Arrive to the hours: the true app is driven by a film of a
// made valley (tests/film). ADRET_TURN_PICTURES=DIR keeps pictures of its screens.
#include <doctest/doctest.h>

#include <cmath>

#include "horizon/sun/sun.h"
#include "tests/film/film.h"
#include "tests/touch/walk.h"

using touch_test::Place;
using touch_test::Walk;

namespace {

std::string arrive() {
  return "touch \"New site\"\nwait 0.5\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
         "device \"north known\"\naim 40 8\ntouch \"Skyline\"\nsettle\n";
}

std::string picture(const char* name) {
  const char* folder = std::getenv("ADRET_TURN_PICTURES");
  return folder ? "screenshot " + std::string(folder) + "/" + name + ".png\n" : "";
}

}  // namespace

#ifndef __SANITIZE_ADDRESS__  // a film there takes minutes
TEST_CASE("[property] a filmed turn becomes marks in one step, and the winter hours follow") {
  Place place("adret-turn-test");
  Walk walk((place.folder / "data").string());
  walk.script.may_shorten = {"Site of"};
  REQUIRE(walk.run(arrive() + "touch \"Turn once with the camera\"\nwait 0.2\n" +
                   picture("turn-before") + "check\ntouch \"Start\"\nwait 0.2") == "");
  film::Look look;
  look.seed = 13;
  look.clouds = 0.1;
  look.snow_from_m = 2600;
  look.haze_m = 20000;
  const film::Scene scene(film::made_valley(22), look);
  film::Hand hand;
  hand.rate_deg_per_s = 9;
  hand.frames_per_s = 6;
  hand.round_deg = 375;
  hand.lens_error = 0.02;
  film::Film film(scene, hand);
  const auto lines =
      film::write_film(film, hand, place.folder.string(), walk.recording.running_s() + 0.5);
  REQUIRE(walk.recording.load(lines).has_value());
  REQUIRE(walk.run("wait 14\n" + picture("turn-third") + "check\nwait 31\n" +
                   picture("turn-round") + "check\nexpect \"the round is closed\"") == "");
  auto& session = walk.app.session();
  REQUIRE(session.turn.skyline() != nullptr);
  CHECK(session.turn.skyline()->closed);
  REQUIRE(walk.run("touch \"Stop here\"\nwait 0.2\ntouch \"Keep what was found\"\nsettle\n" +
                   picture("turn-kept")) == "");
  const int marks = session.marks();
  CHECK(marks > 20);
  REQUIRE(session.skyline() != nullptr);
  for (const auto& p : session.skyline()->skyline().points)
    CHECK(p.level_sigma_deg == horizon::kTurnLevel_deg);
  // Against the truth, after the one turn that a landmark would give.
  const auto off_at = [&](const horizon::SkylinePoint& p, double by) {
    double least = 1;  // beside it too: a crown's flank is steep
    for (double d = -0.3; d <= 0.3; d += 0.1)
      least = std::min(least, std::fabs(p.elevation.degrees() -
                                        scene.skyline_deg(p.azimuth.degrees() + by + d)));
    return least;
  };
  double turn = 0, best = 1e9;
  const auto off = [&](double by) {
    double all = 0;
    for (const auto& p : session.skyline()->skyline().points) all += off_at(p, by);
    return all;
  };
  for (double by = -12; by < 12; by += 0.1)
    if (const double here = off(by); here < best) {
      best = here;
      turn = by;
    }
  std::vector<double> each;
  for (const auto& p : session.skyline()->skyline().points) each.push_back(off_at(p, turn));
  std::sort(each.begin(), each.end());
  MESSAGE(marks << " marks, off by " << each[each.size() / 2] << " in the median, "
                << each[each.size() * 9 / 10] << " at 90 %, turned by " << turn);
  CHECK(each[each.size() / 2] < 0.5);  // two sigmas of the shared level, see docs/turn.md
  CHECK(each[each.size() * 9 / 10] < 1);
  CHECK(std::fabs(turn) < 8);
  // One step takes all of it back.
  REQUIRE(walk.run("touch \"Light\"\nsettle\n" + picture("turn-light") +
                   "touch \"Skyline\"\nwait 0.2\ntouch \"Undo\"\nwait 0.2") == "");
  CHECK(session.marks() == 0);
}
#endif

TEST_CASE("[property] without a camera the same screen says so and offers the trace") {
  Place place("adret-no-camera-test");
  Walk walk((place.folder / "data").string());
  walk.script.may_shorten = {"Site of"};
  REQUIRE(walk.run("device \"camera refused\"\n" + arrive() +
                   "touch \"Turn once with the camera\"\nwait 0.2\n" + picture("turn-no-camera") +
                   "check\ntouch \"Trace with the sensors\"\nwait 0.2\nexpect \"Hold to trace\"") ==
          "");
}

// Where the sun stood that day is the session's own, checked in horizon's tests.
TEST_CASE("[property] the sight shows winter's sun and what is next, and stops short of the sun") {
  Place place("adret-sight-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run(arrive()) == "");
  auto& session = walk.app.session();
  const double noon = 1797850800;  // 2026-12-21 11:00 UTC
  REQUIRE(walk.run("device \"clock " + std::to_string(noon) + "\"\nwait 0.1") == "");
  const auto sun = horizon::sun_position(session.now().utc_s, {46.6213, 10.3478, 1482});
  const auto aim = [&](double off_deg) {
    const double magnetic = sun.azimuth.degrees() + off_deg - session.declination_deg();
    return "aim " + std::to_string(horizon::wrap_360(magnetic)) + " 19.5\nwait 1\n";
  };
  CHECK(walk.run(aim(4) + "expect \"STOP: the sun is 4° from the cross\"") == "");
  CHECK(walk.run(aim(25) + "expect_not \"STOP\"\ntouch \"Mark\"\nwait 0.5\nsettle\n"
                           "expect \"12\"\nexpect \"next\"") == "");
  // Behind a ridge that was aimed at there is no glare to stop for.
  for (const int off : {-6, -3, 0, 3, 6})
    REQUIRE(walk.run("aim " +
                     std::to_string(horizon::wrap_360(sun.azimuth.degrees() + off -
                                                      session.declination_deg())) +
                     " 26\nwait 1\ntouch \"Mark\"\n") == "");
  CHECK(walk.run(aim(4) + "settle\nexpect_not \"STOP\"") == "");
  // Which way north lies is not known: the sun's height is.
  const std::string words = " \"do not aim into it\"\n";
  CHECK(walk.run("device \"north free\"\naim 20 19.5\nwait 1\nsettle\nexpect" + words +
                 "aim 20 35\nwait 1\nsettle\nexpect_not" + words) == "");
  REQUIRE(walk.run("device \"clock " + std::to_string(noon + 6 * 3600) + "\"\nwait 0.1") == "");
  CHECK(walk.run("aim 20 -2\nwait 1\nsettle\nexpect_not" + words) == "");  // it has set
}
