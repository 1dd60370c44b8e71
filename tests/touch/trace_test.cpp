// The skyline read out of a real photograph by touch: picked, its line found, kinds painted, marks
// that were aimed at named, and kept as sightings.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>

#include "app/words/words.h"
#include "horizon/photo/camera.h"
#include "tests/csv_rows.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

namespace {

// See tests/data/SOURCES.md.
constexpr const char* kPhoto = "/usr/share/backgrounds/picosdeeuropa_by_Aitzol_Berasategi.jpg";
constexpr const char* kFog = "/usr/share/lxqt/wallpapers/fog.jpg";

bool installed(const char* path) {
  if (std::ifstream(path)) return true;
  MESSAGE("photograph not installed, left out: " << path);
  return false;
}

// The picture as if such a camera had taken it, in thousandths of its width; it is 4 to 3.
horizon::Camera camera() {
  horizon::Camera c;
  c.width_px = 1000;
  c.height_px = 750;
  c.focal_px = horizon::focal_px_of_view(1000, 62);
  c.bearing = horizon::TrueAzimuth::degrees(170);
  c.tilt = horizon::Elevation::degrees(4);
  c.roll_deg = 2;
  return c;
}

std::string arrive_at_larkholm() {
  return "touch \"New site\"\nwait 0.5\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
         "touch \"Skyline\"\nsettle\n";
}

std::string picked(const char* photo, int number) {
  return std::string("touch \"Photos\"\ndevice \"file ") + photo +
         "\"\ntouch \"Pick a picture\"\nwait 0.5\ntouch \"Photo " + std::to_string(number) +
         "\"\ntouch \"Read the skyline\"\nsettle\n";
}

// Of the marks offered for a touched spot, the one aimed at this azimuth.
std::string offered(Walk& walk, double azimuth_deg) {
  std::string best;
  double nearest = 1;
  for (const Hit& hit : walk.app.ui().hits()) {
    if (!hit.label.starts_with("ridge ")) continue;
    const double off = std::fabs(std::strtod(hit.label.c_str() + 6, nullptr) - azimuth_deg);
    if (off < nearest) {
      nearest = off;
      best = hit.label;
    }
  }
  return best;
}

}  // namespace

TEST_CASE("a photograph's skyline, read by touch, is where a hand has drawn it [published]") {
  if (!installed(kPhoto)) return;
  Place place("adret-trace-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run(arrive_at_larkholm()) == "");
  auto& session = walk.app.session();
  const std::vector<horizon::Pixel> marks{{103, 194.7}, {370.9, 316.6}, {580, 150}, {900, 145}};
  for (const auto& mark : marks) {
    const auto d = horizon::direction_of(camera(), mark);
    CHECK(walk.run("aim " + std::to_string(d.azimuth.degrees() - session.declination_deg()) + " " +
                   std::to_string(d.elevation.degrees()) + "\ntouch \"Mark\"") == "");
  }
  REQUIRE(walk.run(picked(kPhoto, 1) + "expect \"Clear line\"\nexpect_not \"Not sure where\"") ==
          "");
  // A pull, taken back; a part of the line painted as evergreen.
  CHECK(
      walk.run("touch \"The photo\" at 0.5 0.6\nsettle\ntouch \"Take the last pull back\"\nsettle\n"
               "expect_not \"Take the last pull back\"\ntouch \"Kinds\"\ntouch \"Evergreen\"\n"
               "swipe \"The photo\" 100 0\ntouch \"Go on: mark two things\"\n") == "");
  for (const auto& mark : marks) {
    CHECK(walk.run("touch \"The photo\" at " + std::to_string(mark.x / 1000) + " " +
                   std::to_string(mark.y / 750)) == "");
    const std::string name = offered(walk, horizon::direction_of(camera(), mark).azimuth.degrees());
    REQUIRE(!name.empty());
    CHECK(walk.run("touch \"" + name + "\"") == "");
  }
  CHECK(walk.run("expect \"Looks to, true\"\ntouch \"Keep as skyline\"\nwait 0.2\n"
                 "expect \"points of the skyline, read from the photo\"") == "");

  // The hand's points as directions; between them straight.
  std::vector<std::pair<double, double>> hand;
  for (const CsvRow& row : csv_rows("photo_skylines.csv")) {
    if (row.text.at("photo") != "picosdeeuropa") continue;
    const auto d = horizon::direction_of(camera(), {row["x"], row["y"]});
    hand.emplace_back(d.azimuth.degrees(), d.elevation.degrees());
  }
  REQUIRE(hand.size() > 10);
  std::sort(hand.begin(), hand.end());
  const auto photos = session.book().all<survey::Photo>();
  REQUIRE(photos);
  REQUIRE(photos->size() == 1);
  double sum = 0;
  int count = 0, evergreen = 0;
  const auto sightings = session.book().all<survey::Sighting>();
  REQUIRE(sightings);
  for (const auto& s : *sightings) {
    if (s.photo_id != photos->front().id) continue;
    CHECK(s.reference == horizon::Reference::magnetic);  // as its marks: a later check turns it too
    const double azimuth = s.bearing_deg + session.declination_deg();
    const auto after = std::lower_bound(hand.begin(), hand.end(), std::pair(azimuth, -90.0));
    if (after == hand.begin() || after == hand.end()) continue;
    const auto before = after - 1;
    const double part = (azimuth - before->first) / (after->first - before->first);
    sum += std::fabs(s.elevation_deg - before->second - part * (after->second - before->second));
    ++count;
    evergreen += s.kind == horizon::Kind::evergreen;
  }
  REQUIRE(count > 20);
  CHECK(evergreen > 0);
  CHECK(evergreen < count / 2);
  // Three thousandths of the width are 0.2 degree here; the aims' own tremor adds to it.
  MESSAGE("mean distance from the hand's line: " << sum / count << " degrees at " << count
                                                 << " points");
  CHECK(sum / count < 0.3);
  CHECK(std::fabs(*photos->front().bearing_deg - 170) < 0.3);
  CHECK(std::fabs(*photos->front().roll_deg - 2) < 0.5);
  CHECK(std::fabs(*photos->front().view_width_deg - 62) < 1);
}

TEST_CASE("a foggy photograph is called unsure and nothing is kept of it [published]") {
  if (!installed(kFog)) return;
  Place place("adret-fog-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run(arrive_at_larkholm() + picked(kFog, 1) +
                   "expect \"Not sure where the ground ends in this picture\"") == "");
  CHECK(walk.run("touch \"Keep as skyline\"") != "");
  CHECK(walk.app.session().book().all<survey::Sighting>()->empty());
}

TEST_CASE("a ring is joined from the photos of one station only [property]") {
  if (!installed(kPhoto)) return;
  Place place("adret-ring-test");
  Walk walk((place.folder / "data").string());
  const std::string join = "\"Join with the other photos\"";
  REQUIRE(walk.run(arrive_at_larkholm() + picked(kPhoto, 1) + "touch \"Marks\"\nexpect_not " +
                   join) == "");
  CHECK(walk.run(picked(kPhoto, 2) + "touch \"Marks\"\nexpect " + join) == "");
  CHECK(walk.run("touch \"Stations\"\ntouch \"New station here\"\nwait 0.2\n"
                 "device \"fix 46.6214 10.3480 1482 4\"\nwait 1\n" +
                 picked(kPhoto, 3) + "touch \"Marks\"\nexpect_not " + join) == "");
  // A photo of the first station is not read into the second.
  CHECK(walk.run("touch \"Photos\"\ntouch \"Photo 1\"\ntouch \"Read the skyline\"\nwait 0.2\n"
                 "expect \"This photo was taken at station A\"\ntouch \"Go to station A\"\nsettle\n"
                 "touch \"Marks\"\nexpect " +
                 join) == "");
}
