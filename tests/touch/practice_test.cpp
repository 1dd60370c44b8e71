#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <sstream>

#include "app/touch/practice/coach.h"
#include "app/touch/practice/score.h"
#include "app/touch/practice/valley.h"
#include "app/words/words.h"
#include "horizon/bearing/landmark.h"
#include "horizon/skyline/mask.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

namespace {

// As somebody would mark the valley who makes no mistake: each second degree and every edge.
horizon::Skyline marked(double turned_deg = 0, double skip_from = 400, double skip_to = 400,
                        bool trees_as_ridge = false) {
  horizon::Skyline out = valley_skyline();
  std::erase_if(out.points, [&](const horizon::SkylinePoint& p) {
    const double az = p.azimuth.degrees();
    const bool edge =
        valley_kind(az) != valley_kind(az + 0.6) || valley_kind(az) != valley_kind(az - 0.6);
    return (std::fmod(az, 2) > 0.1 && !edge) || (az > skip_from && az < skip_to);
  });
  for (auto& p : out.points) {
    p.azimuth = horizon::TrueAzimuth::degrees(horizon::wrap_360(p.azimuth.degrees() + turned_deg));
    if (trees_as_ridge && p.obstacle == int(horizon::Kind::evergreen))
      p.obstacle = int(horizon::Kind::ridge);
  }
  return out;
}

horizon::StationInput station() {
  horizon::StationInput input;
  input.place = valley_place();
  input.skyline = valley_skyline();
  input.year = 2026;
  return input;
}

const MissFound* found(const Score& score, Miss miss) {
  for (const auto& each : score.misses)
    if (each.miss == miss) return &each;
  return nullptr;
}

}  // namespace

TEST_CASE("perfect entries score full [property]") {
  const Score score = score_of(valley_skyline(), marked(), station());
  for (const auto& miss : score.misses)
    MESSAGE(int(miss.miss) << ": " << miss.from_deg << " to " << miss.to_deg << ", "
                           << miss.by_deg);
  CHECK(score.points == 100);
  CHECK(score.misses.empty());
  CHECK(std::fabs(score.told_h - score.true_h) < 0.02 * score.true_h);
}

TEST_CASE("a compass turned by ten degrees is named, with its cost [property]") {
  for (const double turn : {10.0, -10.0}) {
    const Score score = score_of(valley_skyline(), marked(turn), station());
    const MissFound* turned = found(score, Miss::turned);
    REQUIRE(turned);
    CHECK(std::fabs(turned->by_deg - turn) <= 0.5);
    CHECK(std::fabs(turned->cost_h) > 1);
    CHECK(score.points <= 75);
    CHECK(score.misses.size() == 1);  // the turn explains everything
  }
}

TEST_CASE("a skipped gap is named where it is [property]") {
  // Nobody aims between 100 and 160: the notch at 133 and the barn are missed.
  const Score score = score_of(valley_skyline(), marked(0, 105, 148), station());
  const MissFound* open = found(score, Miss::open);
  REQUIRE(open);
  CHECK(std::fabs(open->from_deg - 105) <= 2.5);
  CHECK(std::fabs(open->to_deg - 148) <= 2.5);
  CHECK(score.points < 85);
  // A narrow notch that was jumped over without leaving a stretch open is told by its height.
  const Score notch = score_of(valley_skyline(), marked(0, 127, 139), station());
  const MissFound* high = found(notch, Miss::high);
  REQUIRE(high);
  CHECK(high->from_deg < 133);
  CHECK(high->to_deg > 133);
  CHECK(high->by_deg > 3);
  CHECK(notch.points < 100);
}

TEST_CASE("one mark alone leaves everything open, and that has its cost [property]") {
  horizon::Skyline one = valley_skyline();
  one.points.resize(1);
  const Score score = score_of(valley_skyline(), one, station());
  const MissFound* open = found(score, Miss::open);
  REQUIRE(open);
  CHECK(open->to_deg - open->from_deg == 360);
  CHECK(std::fabs(open->cost_h) > 10);
  CHECK(score.points <= 20);
}

TEST_CASE("trees taken for a ridge are named [property]") {
  const Score score = score_of(valley_skyline(), marked(0, 400, 400, true), station());
  const MissFound* kind = found(score, Miss::kind);
  REQUIRE(kind);
  CHECK(kind->was == horizon::Kind::evergreen);
  CHECK(kind->marked == horizon::Kind::ridge);
  CHECK(kind->from_deg > 200);
  CHECK(kind->to_deg < 235);
  CHECK(score.points == 90);
}

TEST_CASE(
    "the chapel stands where the landmark's sum says, and the picture shows the skyline [property]") {
  const auto seen = horizon::landmark_bearing({valley_place(), 1}, {"", valley_chapel(), true});
  REQUIRE(seen.has_value());
  CHECK(std::fabs(horizon::wrap_180(seen->known.degrees() - chapel_bearing_deg())) < 0.01);
  // Looking at the line itself, the pixel above the middle is sky and the one below is not.
  for (const double az : {20.0, 99.0, 154.0, 215.0, 300.0}) {
    CAPTURE(az);
    const auto picture = valley_picture(az, valley_elevation_deg(az), 1798200000);
    const auto blue = [&](int y) {
      const std::uint8_t* p = &picture.rgba[std::size_t(y * picture.width + picture.width / 2) * 4];
      return int(p[2]) - int(p[0]);
    };
    CHECK(blue(picture.height / 2 - 8) > blue(picture.height / 2 + 8));
  }
}

namespace {

// Does what the strip says, and nothing else: the words between the quotes, or a turn to a bearing.
struct Newcomer {
  Walk& walk;
  int touches = 0;

  std::string read() { return coach_words(walk.app); }
  bool step() {
    const std::string words = read();
    Practice* me = walk.app.session().practice();
    const std::string open = "“", close = "”";
    const auto from = words.find(open), to = words.find(close);
    if (from != words.npos && to != words.npos) {
      const std::string label = words.substr(from + open.size(), to - from - open.size());
      std::string touched = label;
      for (const Hit& hit : walk.app.ui().hits())  // one of several carries its question too
        if (hit.label.ends_with(": " + label)) touched = hit.label;
      ++touches;
      return walk.run("wait 0.8\ntouch \"" + touched + "\"\nsettle").empty();
    }
    if (words == tr("coach.wait")) return walk.run("wait 1\nsettle").empty();
    const auto degree = words.find("°");
    if (degree != words.npos) {  // drags until it looks there
      const auto digits = words.find_last_not_of("0123456789", degree - 1);
      const double az = std::stod(words.substr(digits + 1));
      me->turn(horizon::wrap_180(az - me->azimuth_deg), 0);
    } else {  // the cross to where the sky begins: seen in the picture
      me->turn(0, valley_elevation_deg(me->azimuth_deg) - me->elevation_deg);
    }
    return walk.run("wait 0.8").empty();
  }
};

}  // namespace

TEST_CASE("a newcomer who does only what is said scores full and keeps apart [property]") {
  Place place("adret-practice-test");
  Walk walk((place.folder / "data").string());
  walk.app.session().settings.warnings_read = false;
  REQUIRE(walk.run("touch \"Practise in a made valley\"\ntouch \"I have read this\"\nwait 4") ==
          "");
  REQUIRE(walk.app.session().practice());
  CHECK(walk.run("expect \"Practice, not a real place\"\ntouch \"Step aside\"") == "");
  Newcomer newcomer{walk};
  for (int i = 0; i < 600 && walk.app.screen() != ScreenId::score; ++i) {
    INFO(newcomer.read());
    REQUIRE(newcomer.step());
  }
  REQUIRE(walk.app.screen() == ScreenId::score);
  CHECK(walk.run("settle\nexpect \"of 100 points\"") == "");
  const auto& score = walk.app.states().practice.score;
  REQUIRE(score);
  for (const auto& miss : score->misses)
    MESSAGE(int(miss.miss) << ": " << miss.from_deg << " to " << miss.to_deg << ", "
                           << miss.by_deg);
  MESSAGE("touches " << newcomer.touches << ", points " << score->points);
  CHECK(score->points >= 95);
  // On to a finished hand-over, which says what it is.
  for (int i = 0; i < 20 && walk.app.states().handover.made.empty(); ++i) {
    INFO(newcomer.read());
    REQUIRE(newcomer.step());
  }
  REQUIRE_FALSE(walk.app.states().handover.made.empty());
  CHECK(newcomer.read() == tr("coach.done"));
  // It is in no list, and a real site has the system's own devices again.
  CHECK(walk.run("touch \"All sites\"\nexpect_not \"Practice valley\"\ntouch \"New site\"\nwait 1\n"
                 "expect_not \"Practice, not a real place\"") == "");
  CHECK_FALSE(walk.app.session().practice());
  CHECK_FALSE(walk.app.session().has_position());
}

TEST_CASE("whoever stays beside the iron is told so by the score [property]") {
  Place place("adret-iron-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"Practise in a made valley\"\nwait 4\ntouch \"Skyline\"") == "");
  Practice* me = walk.app.session().practice();
  for (int az = 0; az < 360; az += 6) {
    me->azimuth_deg = az;
    me->elevation_deg = valley_elevation_deg(az);
    REQUIRE(walk.run("wait 0.9\ntouch \"Mark\"") == "");
  }
  REQUIRE(walk.run("touch \"My score\"\nsettle\nexpect \"too far to the right\"") == "");
  const MissFound* turned = found(*walk.app.states().practice.score, Miss::turned);
  REQUIRE(turned);
  CHECK(std::fabs(turned->by_deg - kIron_deg) <= 1.5);
}
