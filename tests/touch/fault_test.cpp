// Devices that fail one after the other, replayed from a recording: the app says each in plain
// words, in every language, and marks can still be made.
#include <doctest/doctest.h>

#include <string>

#include "app/words/words.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

namespace {

constexpr const char* kRecording = R"(
0   aim 120 14
5   position failed            # unplugged
20  position running
21  fix 46.6213 10.3478 1482 4
30  attitude jumping           # a truck beside
50  attitude running
60  attitude stuck             # the same numbers for ever
80  attitude running
90  attitude failed            # no more numbers
110 attitude running
120 camera failed              # taken by another program
140 camera running
150 clock 1766318550           # two hours on
)";

constexpr const char* kPosition = "device.position_sensor_stopped_answering_type";
constexpr const char* kJumps = "aim.compass_jumps";
constexpr const char* kStuck = "aim.compass_has_not_moved_while";
constexpr const char* kSilent = "device.level_sensor_stopped_answering";
constexpr const char* kCamera = "device.camera_was_lost_sight_works";
constexpr const char* kClock = "session.clock_device_was_set_min";

class Faults {
 public:
  explicit Faults(const std::string& folder) : walk_(folder) {
    REQUIRE(walk_.recording.load(kRecording));
  }

  void until(double t) {
    CHECK(walk_.run("wait " + std::to_string(t - walk_.recording.running_s())) == "");
  }
  void does(const std::string& commands) { CHECK(walk_.run(commands) == ""); }
  void says(const std::string& key) { does("expect \"" + tr(key) + "\""); }
  void no_more(const std::string& key) { does("expect_not \"" + tr(key) + "\""); }
  void marks_by_hand() {
    const int before = marks();
    ++bearing_;
    does(
        "touch \"Type a reading\"\ntouch \"Key 1\"\ntouch \"Key " + std::to_string(bearing_ % 10) +
        "\"\ntouch \"Key 5\"\ntouch \"Next\"\ntouch \"Key 1\"\ntouch \"Key 2\"\ntouch \"Mark it\"\n"
        "touch \"Close\"");
    CHECK(marks() == before + 1);
  }
  void marks_by_sensors() {
    const int before = marks();
    does("touch \"Mark\"");
    CHECK(marks() == before + 1);
  }
  int marks() { return walk_.app.session().marks(); }
  Session& session() { return walk_.app.session(); }

 private:
  Walk walk_;
  int bearing_ = 0;
};

}  // namespace

TEST_CASE("each device that fails is told in plain words, and the visit goes on [property]") {
  for (const auto& code : languages()) {
    if (machine_made(code)) continue;  // may lack these words
    CAPTURE(code);
    const InLanguage in(code);
    Place place("adret-fault-test");
    Faults visit((place.folder / "data").string());
    set_language(code);
    for (const char* key : {kPosition, kJumps, kStuck, kSilent, kCamera, kClock}) {
      CHECK(has_words(key));
      CHECK(tr(key) != key);
    }
    visit.does("touch \"New site\"");
    visit.until(8);
    visit.says(kPosition);
    visit.until(25);
    visit.no_more(kPosition);
    CHECK(visit.session().has_position());
    visit.does("touch \"Skyline\"");
    visit.until(35);
    visit.says(kJumps);
    visit.marks_by_hand();
    visit.until(58);
    visit.no_more(kJumps);
    visit.until(68);
    visit.says(kStuck);
    visit.marks_by_hand();
    visit.until(88);
    visit.no_more(kStuck);
    visit.marks_by_sensors();
    visit.until(95);
    visit.says(kSilent);
    visit.marks_by_hand();
    visit.until(118);
    visit.no_more(kSilent);
    visit.until(122);
    visit.says(kCamera);
    visit.marks_by_sensors();
    visit.until(145);
    visit.no_more(kCamera);
    visit.until(151);
    // 1766311200 + 150 s became 1766318550: 7200 s.
    visit.does("expect \"" + tr(kClock, {"120"}) + "\"");
    visit.until(160);
    visit.marks_by_sensors();
    CHECK(visit.marks() == 6);
  }
}

TEST_CASE("without any device a whole skyline can be typed [property]") {
  Place place("adret-no-device-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.recording.load("0 attitude missing\n0 camera missing\n"));
  CHECK(walk.run("touch \"New site\"\nwait 60\nexpect \"Waiting for the satellites\"\nwait 70\n"
                 "expect \"No position after two minutes. Type it from a map\"\n"
                 "touch \"Type the position\"\ntouch \"Position in any notation\"\n"
                 "type \"46.6213 N 10.3478 E\"\nkey escape\ntouch \"Use this position\"\n"
                 "touch \"Instrument: Hand compass and clinometer\"\ntouch \"Skyline\"\n") == "");
  CHECK(walk.app.session().has_position());
  for (const char* tens : {"0", "1", "2", "3"})
    CHECK(walk.run(std::string("touch \"Type a reading\"\ntouch \"Key ") + tens +
                   "\"\ntouch \"Key 4\"\ntouch \"Key 0\"\ntouch \"Next\"\ntouch \"Key 9\"\n"
                   "touch \"Mark it\"\ntouch \"Close\"") == "");
  CHECK(walk.app.session().marks() == 4);
  CHECK(walk.run("settle\nexpect \"21 December here\"") == "");
}

TEST_CASE("a clock that runs evenly is never called set [property]") {
  Place place("adret-even-clock-test");
  Walk walk((place.folder / "data").string());
  CHECK(walk.run("touch \"New site\"\nwait 30\nexpect_not \"The clock of this device\"\n"
                 "device \"clock 1766311275\"\nwait 1\nexpect_not \"The clock of this device\"") ==
        "");
}
