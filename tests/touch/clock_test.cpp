// What the site's clock is, where the device keeps summer time or another country's.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "horizon/time.h"
#include "survey/exchange/exchange.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

namespace {

constexpr double kJuly_s = 1815645600;      // 2027-07-15T10:00:00Z
constexpr double kDecember_s = 1829383200;  // 2027-12-21T10:00:00Z
constexpr double kFebruary_s = 1802592000;  // 2027-02-14T08:00:00Z

// A device on a summer's day that keeps summer time from April to October, as central Europe does
// from the end of March on.
class SummerClock : public platform::Clock {
 public:
  explicit SummerClock(double standard_h) : standard_h_(standard_h) {}
  double utc_s() const override { return kJuly_s + running_s() - begun_s_; }
  double running_s() const override { return true_->running_s(); }
  double utc_offset_h(double utc_s) const override {
    const auto month = unsigned(horizon::date_of(utc_s).month());
    return standard_h_ + (month >= 4 && month <= 10 ? 1 : 0);
  }

 private:
  std::unique_ptr<platform::Clock> true_ = platform::system_devices("unused").clock;
  double standard_h_, begun_s_ = true_->running_s();
};

}  // namespace

TEST_CASE("a site begun in summer has its December sun by the clock of December [property]") {
  Place place("adret-summer-clock-test");
  Walk walk((place.folder / "data").string(), std::make_unique<SummerClock>(1));
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1") == "");
  auto& session = walk.app.session();
  CHECK(session.site().created.utc_offset_h == 1);
  CHECK(session.now().utc_offset_h == 2);
  CHECK(session.wall_offset_h(kJuly_s) == 2);
  CHECK(session.wall_offset_h(kDecember_s) == 1);
  CHECK(walk.run("touch \"Arrive\"\nexpect_not \"set it right\"") == "");
  // A row of February, typed in July: seven past nine was 08:07 UTC.
  std::string script =
      "touch \"Skyline\"\ntouch \"Sun gone or back?\"\ntouch \"Diary for many days\"\ntouch \"Date\"\n";
  for (int i = 0; i < 10; ++i) script += "key backspace\n";
  script +=
      "type \"2027-02-14\"\nkey escape\ntouch \"Sun came\"\ntype \"9:07\"\nkey escape\n"
      "touch \"Add this day\"\nwait 0.5";
  REQUIRE(walk.run(script) == "");
  const auto rows = session.book().all<survey::DiaryRow>();
  REQUIRE(rows);
  REQUIRE(rows->size() == 1);
  REQUIRE(rows->front().came);
  CHECK(std::abs(rows->front().came->utc_s - (kFebruary_s + 7 * 60)) < 1);
}

TEST_CASE(
    "a device that keeps another country's clock is told, and the sun's is offered [property]") {
  Place place("adret-far-clock-test");
  Walk walk((place.folder / "data").string(), std::make_unique<SummerClock>(1));
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 41.6 75.2 2100 4\"\nwait 1\ntouch \"Arrive\"\n"
                   "wait 0.3\nexpect \"UTC+1 h\"\ntouch \"Use UTC+5 h\"\nwait 0.3") == "");
  CHECK(walk.app.session().site().created.utc_offset_h == 5);
  CHECK(walk.run("expect_not \"UTC+1 h\"") == "");
  // Another zone than the device's: the site's own clock is shown, all year.
  CHECK(walk.app.session().wall_offset_h(kJuly_s) == 5);
}

TEST_CASE(
    "what an import had to assume is said on the screen, of each of several files [property]") {
  Place place("adret-import-said-test");
  const auto path = [&](const char* name) { return (place.folder / name).string(); };
  std::ofstream(path("marks.csv")) << "bearing,elevation\n100,12\n140,15\n";
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1") == "");
  walk.app.dropped_file(path("marks.csv"));
  CHECK(walk.run("wait 0.1\nexpect \"do not say which north\"") == "");
  const auto folder = std::filesystem::path(place.folder / "data") / "sites" / "bring-in";
  std::filesystem::create_directories(folder);
  std::ofstream(folder / "a-refused.csv") << "bearing (mil),elevation\n100,12\n";
  std::ofstream(folder / "b-taken.csv") << "bearing_true_deg,elevation_deg\n200,12\n";
  walk.app.bring_from_folder();
  CHECK(walk.run("wait 0.1\nexpect \"a-refused.csv\"\nexpect \"b-taken.csv\"") == "");
}
