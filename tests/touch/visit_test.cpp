#include <doctest/doctest.h>

#include <algorithm>
#include <sstream>

#include "app/touch/script/demo_visit.h"
#include "app/words/sentence.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

TEST_CASE("a whole visit by touch takes under 70 touches, two to the first mark [property]") {
  Place place("adret-visit-test");
  REQUIRE(write_demo_photos(place.folder.string()));
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.window.problem().empty());

  // Up to the first mark, counted from where the position is known.
  const std::string all = whole_visit(place.folder.string());
  std::istringstream lines(all);
  std::string line;
  int at_position = -1, at_first_mark = -1;
  while (std::getline(lines, line)) {
    const auto done = walk.script.command(line);
    INFO(line);
    REQUIRE_MESSAGE(done.has_value(), app::in_words(done.error()));
    if (at_position < 0 && walk.app.session().has_position()) at_position = walk.script.touches();
    if (at_first_mark < 0 && walk.app.session().marks() == 1) at_first_mark = walk.script.touches();
  }
  MESSAGE("touches: " << walk.script.touches() << ", of them to scroll: " << walk.script.scrolls()
                      << ", from position to first mark: " << at_first_mark - at_position);
  CHECK(at_first_mark - at_position <= 2);
  CHECK(walk.script.touches() < 70);
  CHECK(walk.app.session().marks() == 40);
  CHECK(walk.app.session().checks().size() == 2);
  auto& book = walk.app.session().book();
  CHECK(book.all<survey::Photo>()->size() == 2);
  CHECK(book.all<survey::SoilLayer>()->size() == 3);
  CHECK(book.all<survey::PercolationReading>()->size() == 3);

  // Nothing moves now: no frame is drawn.
  CHECK(walk.run("touch \"Arrive\"\nwait 8\nsettle").empty());
  const long before = walk.window.frames();
  for (int i = 0; i < 50; ++i) walk.window.step(0);
  CHECK(walk.window.frames() == before);
}

TEST_CASE("whoever has read down the list sees what handing over comes to [regression]") {
  Place place("adret-handover-sight-test");
  Walk walk((place.folder / "data").string());
  const auto in_sight = [&](const std::string& begin) {
    const auto& words = walk.window.inspected().words();
    const auto found = std::find_if(words.begin(), words.end(),
                                    [&](const auto& w) { return w.text.starts_with(begin); });
    return found != words.end() && found->box.y >= found->clip.y &&
           found->box.bottom() <= found->clip.bottom();
  };
  const auto read_down_and_make = [&] {
    for (int i = 0; i < 20; ++i) walk.app.ui().key(EditKey::down, false);
    return walk.run("wait 0.2\ntouch \"Make the files\"\nwait 0.3\nsettle");
  };
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Hand over\"\nsettle") == "");
  REQUIRE(read_down_and_make() == "");
  CHECK(in_sight("No station has a sighting yet"));
  REQUIRE(walk.run("touch \"Skyline\"\naim 100 20\ntouch \"Mark\"\ntouch \"Hand over\"\nsettle") ==
          "");
  REQUIRE(read_down_and_make() == "");
  CHECK(in_sight("Done. The files are here"));
  // A mark later they are no longer the whole of it.
  REQUIRE(walk.run("touch \"Skyline\"\naim 140 20\ntouch \"Mark\"\ntouch \"Hand over\"\nsettle\n"
                   "expect \"The site has changed since\"") == "");
  // Another site has files of its own; those of the one that was left while they were made are not its.
  REQUIRE(
      walk.run("touch \"Make the files again\"\ntouch \"All sites\"\nwait 1\ntouch \"New site\"\n"
               "wait 1\ntouch \"Hand over\"\nsettle\nexpect_not \"Done. The files are here\"") ==
      "");
}

TEST_CASE("each site has its own rings and its own list of what is missing [regression]") {
  Place place("adret-own-rings-test");
  const std::string folder = (place.folder / "data").string();
  {
    Walk walk(folder);
    REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                     "touch \"Skyline\"\naim 100 20\ntouch \"Mark\"\ntouch \"All sites\"\nwait 61\n"
                     "touch \"New site\"\nwait 0.5\ntouch \"All sites\"\nwait 0.5") == "");
  }
  Walk walk(folder);  // nothing has changed in either since it was opened
  walk.app.go(ScreenId::sites);
  REQUIRE(walk.run("wait 0.5") == "");
  int aimed = 0;
  const auto sites = walk.app.session().sites().sites;
  for (const survey::SiteSummary& each : sites) {
    CAPTURE(each.site.name);
    aimed += each.sightings > 0;
    REQUIRE(walk.run("touch \"" + each.site.name + "\"\nwait 0.5\ntouch \"Hand over\"\nsettle\n" +
                     (each.sightings > 0 ? "expect_not" : "expect") +
                     " \"Aim at the skyline\"\ntouch \"All sites\"\nwait 0.5") == "");
  }
  CHECK(aimed == 1);
}

TEST_CASE(
    "undo takes the last mark back, a trace at one touch, and nothing leaves the file [property]") {
  Place place("adret-undo-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Skyline\"\naim 100 12\ntouch \"Mark\"\naim 110 12\n"
                   "hold \"Hold to trace\" 3 sweep 110 12 150 20") == "");
  const int traced = walk.app.session().marks();
  CHECK(traced >= 3);
  CHECK(walk.run("touch \"Undo\"") == "");
  CHECK(walk.app.session().marks() == 1);
  CHECK(walk.app.session().book().all<survey::Sighting>()->size() == std::size_t(traced));
}

TEST_CASE("on another day a visit of its own is offered, and the first one stays [property]") {
  Place place("adret-second-visit-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Arrive\"\ntouch \"People (initials)\"\ntype \"AB\"")
              .empty());
  const double begun = walk.app.session().visit()->begun.utc_s;
  CHECK_FALSE(walk.app.session().visit_is_over());
  REQUIRE(walk.run("device \"clock " + std::to_string(begun + 3 * 86400) +
                   "\"\nwait 1\n"
                   "touch \"Begin a visit today\"\ntouch \"People (initials)\"\ntype \"CD\"")
              .empty());
  CHECK_FALSE(walk.app.session().visit_is_over());
  const auto visits = *walk.app.session().book().all<survey::Visit>();
  REQUIRE(visits.size() == 2);
  CHECK(visits[0].people == "AB");
  CHECK(visits[1].people == "CD");
}
