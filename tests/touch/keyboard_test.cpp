#include <doctest/doctest.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "app/touch/ui/areas.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

namespace {

// Tab until the area of that label has the focus; false after a whole round.
bool tab_to(Walk& walk, const std::string& label) {
  for (int i = 0; i < 200; ++i) {
    if (walk.app.ui().key_focus() == label) return true;
    if (!walk.run("key tab").empty()) return false;
  }
  return false;
}

}  // namespace

TEST_CASE("a visit by the keyboard alone: Tab, Enter, Escape and the arrows [property]") {
  Place place("adret-keyboard-test");
  Walk walk((place.folder / "data").string());
  walk.app.session().settings.warnings_read = false;
  REQUIRE(walk.run("wait 0.1") == "");
  const auto enter = [&](const std::string& label) {
    CAPTURE(label);
    REQUIRE(tab_to(walk, label));
    REQUIRE(walk.run("key enter\nwait 0.1") == "");
  };
  enter("New site");
  enter("I have read this");
  REQUIRE(walk.run("device \"fix 46.6213 10.3478 1482 4\"\nwait 1") == "");
  enter("People (initials)");
  REQUIRE(walk.run("type \"AB\"\nkey tab\nwait 0.1") == "");  // Tab leaves the field
  CHECK(walk.app.session().visit()->people == "AB");
  CHECK_FALSE(walk.app.ui().editing());
  enter("Skyline");
  REQUIRE(walk.run("aim 100 12") == "");
  enter("Mark");
  CHECK(walk.app.session().marks() == 1);
  enter("Undo");
  CHECK(walk.app.session().marks() == 0);
  // A reading of a hand compass: figures as they are typed, Enter goes on and marks.
  const Instrument phone = walk.app.session().settings.instrument;
  walk.app.session().settings.instrument = Instrument::by_hand;
  enter("Type a reading");
  walk.app.ui().typed("92");
  REQUIRE(walk.run("wait 0.1\nkey enter\nwait 0.1") == "");
  walk.app.ui().typed("15");
  REQUIRE(walk.run("wait 0.1\nkey enter\nwait 0.1") == "");
  CHECK(walk.app.session().marks() == 1);
  REQUIRE(tab_to(walk, "Bearing to it"));
  REQUIRE(walk.run("key enter\nwait 0.1") == "");
  walk.app.ui().typed("134");
  REQUIRE(walk.run("wait 0.1\nkey enter\nwait 0.1") == "");
  walk.app.ui().typed("10");
  REQUIRE(walk.run("wait 0.1\nkey enter\nwait 0.1") == "");
  CHECK(walk.app.session().marks() == 2);
  // A quick hand, a slow frame: all of it comes at once, in its order; the bearing is proposed by now.
  for (const char* elevation : {"12,5", "9x"}) {
    walk.app.ui().typed(elevation);
    walk.app.ui().key(EditKey::enter, false);
  }
  REQUIRE(walk.run("wait 0.1") == "");
  CHECK(walk.app.session().marks() == 4);
  const auto rows = *walk.app.session().book().all<survey::Sighting>();
  CHECK(rows[rows.size() - 2].elevation_deg == 12.5);
  CHECK(rows.back().elevation_deg == 9);
  enter("Close");
  walk.app.session().settings.instrument = phone;
  // A view is turned by the arrows once it has the focus.
  REQUIRE(tab_to(walk, "Unrolled skyline"));
  const double before = walk.app.states().skyline.center_deg;
  REQUIRE(walk.run("key right\nwait 0.1") == "");
  CHECK(walk.app.states().skyline.center_deg != before);
  enter("Ground");
  enter("Wind and drifts");
  CHECK(walk.app.screen() == ScreenId::note);
  REQUIRE(walk.run("key escape\nwait 0.1") == "");
  CHECK(walk.app.screen() == ScreenId::ground);
  enter("Light");
  enter("Hand over");
  CHECK(walk.app.screen() == ScreenId::handover);
}

TEST_CASE("the focus is seen, and what is focused is brought into sight [property]") {
  Place place("adret-focus-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\nwait 0.2") == "");
  std::set<std::string> visited;
  for (int i = 0; i < 60; ++i) {
    REQUIRE(walk.run("key tab\nwait 0.1") == "");
    const std::string label = walk.app.ui().key_focus();
    const auto& hits = walk.app.ui().hits();
    const auto area = std::find_if(hits.begin(), hits.end(), [&](const Hit& h) {
      return h.label == label && h.act != HitAct::scroll;
    });
    REQUIRE(area != hits.end());
    CAPTURE(label);
    CHECK(area->visible.w > 0);
    CHECK(area->visible.h > std::min(40.f, area->rect.h * 0.6f));
    visited.insert(label);
  }
  // Every area that can be touched was reached.
  for (const Hit& hit : walk.app.ui().hits())
    if (hit.act != HitAct::scroll && hit.enabled) CHECK(visited.contains(hit.label));
}

TEST_CASE("every area has a name of its own, a role and a box [property]") {
  Place place("adret-areas-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1") == "");
  for (const char* stop : {"Arrive", "Skyline", "Ground", "Light", "Hand over"}) {
    REQUIRE(walk.run(std::string("touch \"") + stop + "\"\nsettle") == "");
    std::set<std::string> names;
    bool choice = false, field = false;
    for (const Hit& hit : walk.app.ui().hits()) {
      CAPTURE(stop);
      CAPTURE(hit.label);
      CHECK_FALSE(hit.label.empty());
      CHECK(hit.rect.w > 0);
      CHECK(hit.rect.h > 0);
      CHECK(names.insert(hit.label).second);
      choice |= hit.role == Role::choice && hit.chosen;
      field |= hit.role == Role::field;
    }
    if (std::string(stop) == "Arrive") {
      CHECK(choice);
      CHECK(field);
    }
  }
}

TEST_CASE("a visit through the tree of areas alone: read by name, touched by name [property]") {
  Place place("adret-tree-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("wait 0.1") == "");
  const auto tree = [&] { return nlohmann::json::parse(areas_json(walk.app.ui(), "", "")); };
  const auto touch = [&](const std::string& name) {
    CAPTURE(name);
    const auto seen = tree();
    REQUIRE(std::any_of(seen["areas"].begin(), seen["areas"].end(),
                        [&](const auto& a) { return a["name"] == name && a["enabled"] == true; }));
    walk.app.ui().activate(name);
    REQUIRE(walk.run("wait 0.2") == "");
  };
  touch("New site");
  REQUIRE(walk.run("device \"fix 46.6213 10.3478 1482 4\"\nwait 1") == "");
  touch("Ice or snow underfoot");  // far below the fold
  touch("Skyline");
  REQUIRE(walk.run("aim 100 12") == "");
  touch("Evergreen");
  touch("Mark");
  CHECK(walk.app.session().marks() == 1);
  CHECK(walk.app.live_words().find("1 mark") != std::string::npos);
  touch("Ground");
  touch("Wind and drifts");
  touch("Back");
  touch("Hand over");
  CHECK(walk.app.screen() == ScreenId::handover);
  const auto hazards = *walk.app.session().book().all<survey::Hazard>();
  REQUIRE(hazards.size() == 1);
  CHECK(hazards.front().kind == survey::HazardKind::ice);
}

namespace {

struct Voice : platform::Feedback {
  std::vector<std::string>& said;
  explicit Voice(std::vector<std::string>& words) : said(words) {}
  void give(platform::Signal) override {}
  void keep_screen_on(bool) override {}
  bool speaks() const override { return true; }
  void speak(const std::string& words, const std::string&) override { said.push_back(words); }
};

}  // namespace

TEST_CASE("a reading is said aloud when it is marked, if one wants it [property]") {
  Place place("adret-voice-test");
  Walk walk((place.folder / "data").string());
  std::vector<std::string> said;
  walk.app.session().devices().feedback = std::make_unique<Voice>(said);
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Skyline\"\naim 100 12.4\ntouch \"Mark\"") == "");
  CHECK(said.empty());
  REQUIRE(walk.run("touch \"Settings\"\ntouch \"Readings: Said aloud\"\ntouch \"Skyline\"\n"
                   "aim 5 12.4\ntouch \"Mark\"") == "");
  REQUIRE(said.size() == 1);
  CHECK(said.front().starts_with("0 0 "));  // true: a few degrees of declination more
  CHECK(said.front().ends_with(", 12.4, marked"));
}

TEST_CASE("in gloves every area of the Skyline stop itself measures 15 mm [property]") {
  Place place("adret-gloves-test");
  Walk walk((place.folder / "data").string());
  walk.app.session().settings.gloves = true;
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Skyline\"\naim 100 12\ntouch \"Mark\"\nwait 1") == "");
  constexpr float kMost = 15 / 25.4f * 160;  // dp, 160 to the inch
  int seen = 0;
  for (const char* label : {"Undo", "Mark", "Hold to trace", "It is a", "Sun gone or back?"})
    for (const Hit& hit : walk.app.ui().hits())
      if (hit.label == label) {
        CAPTURE(label);
        ++seen;
        CHECK(hit.rect.w >= kMost);
        CHECK(hit.rect.h >= kMost);
      }
  CHECK(seen >= 4);
}
