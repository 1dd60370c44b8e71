// What was taken out of a site comes back by touch: at once, and later from "What was done".
#include <doctest/doctest.h>

#include <string>

#include "app/touch/screens/states.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

namespace {

template <class T>
T must(horizon::Result<T> result) {
  REQUIRE_MESSAGE(result.has_value(), (result ? std::string() : result.error().key));
  return *result;
}

template <class Row>
std::size_t count(Session& session) {
  return must(session.book().all<Row>()).size();
}

// Away and back by the words' own button; away again, and back from the list after they are gone.
template <class Row>
void away_and_back(Walk& walk, const std::string& open, const std::string& take,
                   const std::string& name) {
  CAPTURE(name);
  Session& session = walk.app.session();
  const std::size_t before = count<Row>(session);
  REQUIRE(before == 1);
  const auto kept = must(session.book().all<Row>()).front();
  CHECK(walk.run(open + take + "wait 0.2\n") == "");
  CHECK(count<Row>(session) == 0);
  CHECK(walk.run("touch \"Bring back\"\nwait 0.2\n") == "");
  CHECK(count<Row>(session) == 1);
  CHECK(walk.run(open + take + "wait 12\n") == "");
  CHECK(count<Row>(session) == 0);
  walk.app.go(ScreenId::timeline);
  std::string label;
  CHECK(walk.run("wait 0.3\n") == "");
  for (const Hit& hit : walk.app.ui().hits())
    if (hit.label.starts_with("Bring back " + name)) label = hit.label;
  CHECK(walk.run("touch \"" + label + "\"\nwait 0.3\n") == "");
  REQUIRE(count<Row>(session) == 1);
  CHECK(must(session.book().all<Row>()).front().id == kept.id);
  CHECK(walk.app.states().taken_out.empty());
}

}  // namespace

TEST_CASE("layers, lines, people, hazards and days of a diary come back [property]") {
  Place place("adret-taken-out-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n") == "");
  Session& session = walk.app.session();
  survey::Person person;
  person.name = "Head of the school";
  must(session.book().put(person));
  survey::Hazard hazard;
  hazard.kind = survey::HazardKind::rockfall;
  must(session.book().put(hazard));
  survey::Path line;
  line.kind = survey::PathKind::boundary;
  line.name = "fence";
  line.points = {{46.6213, 10.3478, {}}, {46.6214, 10.3478, {}}};
  must(session.book().put(line));
  survey::DiaryRow day;
  day.station_id = session.station()->id;
  day.date = "2026-01-14";
  must(session.book().put(day));
  survey::SoilPit pit;
  pit.name = "1";
  survey::SoilLayer layer;
  layer.pit_id = must(session.book().put(pit));
  layer.bottom_m = 0.3;
  layer.texture = "sandy loam";
  must(session.book().put(layer));
  session.changed();
  const auto at = [&](ScreenId id) {
    walk.app.go(id);
    return std::string("wait 0.3\n");
  };
  away_and_back<survey::Hazard>(walk, at(ScreenId::arrive), "touch \"Rockfall\"\n", "Rockfall");
  away_and_back<survey::Person>(walk, at(ScreenId::people),
                                "touch \"other: Head of the school\"\ntouch \"Take out\"\n",
                                "Head of the school");
  away_and_back<survey::DiaryRow>(walk, at(ScreenId::diary),
                                  "touch \"Take out 2026-01-14 (line 1)\"\n", "2026-01-14");
  away_and_back<survey::Path>(walk, at(ScreenId::lines),
                              "touch \"boundary: fence, 2 corners\"\n"
                              "touch \"Take the last corner out\"\ntouch \"Done\"\n",
                              "boundary");
  away_and_back<survey::SoilLayer>(walk, at(ScreenId::pit), "touch \"Remove the last layer\"\n",
                                   "sandy loam");
}
