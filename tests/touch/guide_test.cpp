#include <doctest/doctest.h>

#include "app/handover/visit_sheet.h"
#include "app/words/glossary.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

TEST_CASE("the warnings stand before everything of a site, once [property]") {
  Place place("adret-warnings-test");
  Walk walk((place.folder / "data").string());
  walk.app.session().settings.warnings_read = false;
  REQUIRE(walk.run("touch \"New site\"\nexpect \"Never look at the sun\"\n"
                   "expect \"Do not dig before\"") == "");
  // Nothing else can be reached: neither the stops nor the settings.
  int areas = 0;
  for (const Hit& hit : walk.app.ui().hits()) areas += hit.act != HitAct::scroll;
  CHECK(areas == 1);
  CHECK(walk.run("touch \"I have read this\"\nexpect \"Aim at the skyline\"") == "");
  CHECK(walk.run("touch \"All sites\"\ntouch \"New site\"\nexpect \"Aim at the skyline\"") == "");
}

TEST_CASE("the plan of a visit fits the time, and a longer one leaves nothing out [property]") {
  std::vector<VisitStep> before;
  for (const int minutes : kVisitTimes_min) {
    CAPTURE(minutes);
    const auto steps = visit_plan(minutes);
    int sum = 0;
    for (const auto& step : steps) sum += step.minutes;
    CHECK(sum <= minutes);
    CHECK(sum >= minutes * 0.8);
    for (const auto& step : before)
      CHECK(std::any_of(steps.begin(), steps.end(),
                        [&](const VisitStep& s) { return s.key == step.key; }));
    before = steps;
    const auto pdf = visit_sheet(minutes, "en", Paper::a4);
    REQUIRE(pdf.has_value());
    CHECK(pdf->starts_with("%PDF"));
  }
}

TEST_CASE("a word of the trade has its sentence at a touch [property]") {
  Place place("adret-terms-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1") == "");
  std::string sign;
  for (const Hit& hit : walk.app.ui().hits())
    if (hit.label.find("declination") != std::string::npos) sign = hit.label;
  REQUIRE_FALSE(sign.empty());
  const Term* term = term_of("term.declination");
  REQUIRE(term);
  CHECK(walk.run("touch \"" + sign +
                 "\"\nexpect \"needle points beside true north\"\n"
                 "touch \"Close\"\nexpect_not \"needle points beside true north\"") == "");
}

TEST_CASE("taking back and bringing forward walks through what was done [property]") {
  Place place("adret-timeline-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Skyline\"\naim 100 12\ntouch \"Mark\"\naim 110 12\ntouch \"Mark\"\n"
                   "aim 120 13\ntouch \"Mark\"\ntouch \"What was done\"") == "");
  Session& session = walk.app.session();
  CHECK(session.timeline().size() == 3);
  CHECK(walk.run("touch \"One back\"\ntouch \"One back\"") == "");
  CHECK(session.marks() == 1);
  CHECK(walk.run("touch \"One forward\"") == "");
  CHECK(session.marks() == 2);
  // A touch on the first line takes all later back, one on the last brings all forward.
  const auto line = [&](int n) {
    for (const Hit& hit : walk.app.ui().hits())
      if (hit.label.ends_with(" · " + std::to_string(n))) return hit.label;
    return std::string();
  };
  CHECK(walk.run("touch \"" + line(1) + "\"") == "");
  CHECK(session.marks() == 1);
  CHECK(walk.run("touch \"" + line(3) + "\"") == "");
  CHECK(session.marks() == 3);
  CHECK(session.book().all<survey::Sighting>()->size() == 3);  // nothing was written twice
}

TEST_CASE("forty typed marks take at most five touches each, and under 200 in all [property]") {
  Place place("adret-typed-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Instrument: Hand compass and clinometer\"\ntouch \"Skyline\"\n"
                   "touch \"Type a reading\"") == "");
  const int before = walk.script.touches();
  // Bearings 9 degrees apart; elevations to half a degree, as a clinometer is read.
  for (int i = 0; i < 40; ++i) {
    const int at = walk.script.touches();
    const int bearing = (100 + 9 * i) % 360;
    if (i < 2) {
      REQUIRE(walk.run("touch \"Bearing to it\"") == "");
      for (const char c : std::to_string(bearing))
        REQUIRE(walk.run(std::string("touch \"Key ") + c + "\"") == "");
      REQUIRE(walk.run("touch \"Next\"") == "");
    }
    const double elevation = 8 + (i * 7 % 30) * 0.5;
    for (const char c : std::to_string(int(elevation)))
      REQUIRE(walk.run(std::string("touch \"Key ") + c + "\"") == "");
    if (elevation != int(elevation)) REQUIRE(walk.run("touch \"Key ½\"") == "");
    REQUIRE(walk.run("touch \"Mark it\"") == "");
    if (i >= 2) CHECK(walk.script.touches() - at <= 5);
  }
  MESSAGE("touches for forty typed marks: " << walk.script.touches() - before);
  CHECK(walk.script.touches() - before < 200);
  const auto rows = *walk.app.session().book().all<survey::Sighting>();
  REQUIRE(rows.size() == 40);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    CHECK(rows[i].bearing_deg == double((100 + 9 * int(i)) % 360));
    CHECK(rows[i].elevation_deg == 8 + (int(i) * 7 % 30) * 0.5);
    CHECK(rows[i].reference == horizon::Reference::magnetic);
  }
  // The true value stands small beside what was read.
  CHECK(walk.run("expect \"true \"") == "");
}
