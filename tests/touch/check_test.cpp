// Heading checks by touch: the land's own skyline from a real height grid, and the history of checks.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>
#include <utility>

#include "app/handover/zip.h"
#include "app/words/words.h"
#include "platform/plain_files.h"
#include "tests/csv_rows.h"
#include "tests/horizon/terrain/jacksboro.h"
#include "tests/survey/site_fixture.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

namespace {

std::string aimed(double magnetic_deg, double elevation_deg) {
  return "aim " + std::to_string(horizon::wrap_360(magnetic_deg)) + " " +
         std::to_string(elevation_deg) + "\n";
}

}  // namespace

TEST_CASE("[property] marks of a free turn wait, and one check puts them all in place") {
  Place place("adret-free-turn-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(
      walk.run(
          "touch \"New site\"\ntouch \"Type the position\"\ntouch \"Position in any notation\"\n"
          "type \"46.6213 N 10.3478 E\"\nkey escape\ntouch \"Use this position\"\n"
          "device \"north low\"\naim 0 12\ntouch \"Skyline\"\nwait 1") == "");
  auto& session = walk.app.session();
  CHECK(walk.run("expect \"" + tr("sight.turn_not_north") + "\"\nexpect \"" +
                 words_for_unknown(platform::North::unknown_till_low) + "\"") == "");
  for (int i = 0; i < 8; ++i)
    REQUIRE(walk.run(aimed(45.0 * i, 10 + i) + "wait 1\ntouch \"Mark\"") == "");
  const std::string turn = session.instrument_name();
  CHECK(turn.starts_with("device sensors, turn of "));
  REQUIRE(session.skyline());
  CHECK(session.skyline()->skyline().points.empty());
  CHECK_FALSE(session.skyline()->notes.empty());
  // A landmark that lies at 130 true was read at 30 in this turn.
  survey::HeadingCheckRow check;
  check.kind = horizon::CheckKind::landmark;
  check.bearing_deg = 30;
  check.reference = horizon::Reference::device;
  check.bearing_sigma_deg = 0.5;
  check.known_true_deg = 130;
  check.known_sigma_deg = 0.2;
  REQUIRE(session.add_check(check));
  REQUIRE(session.skyline()->skyline().points.size() == 8);
  CHECK(std::fabs(horizon::wrap_180(session.skyline()->skyline().points.front().azimuth.degrees() -
                                    100)) < 0.5);
  // The phone was lowered: from here on it tells north, and the old turn keeps its own zero.
  CHECK(walk.run("device \"north known\"\naim 10 5\nwait 1\nexpect \"" + tr("sight.true_bearing") +
                 "\"") == "");
  CHECK(session.instrument_name() == "device sensors");
  CHECK(walk.run("device \"north free\"\nwait 1\nexpect \"" +
                 words_for_unknown(platform::North::unknown) + "\"") == "");
  CHECK(session.instrument_name() != turn);
}

TEST_CASE(
    "a compass turned by 7 degrees is found by the land's own skyline, and cured [published]") {
  const auto grid = jacksboro();
  if (!grid) {
    MESSAGE("python-matplotlib-data is not installed, left out");
    return;
  }
  Place place("adret-terrain-touch-test");
  const std::string file = (place.folder / "jacksboro.asc").string();
  write_ascii_grid(file, *grid);
  Walk walk((place.folder / "data").string());
  REQUIRE(
      walk.run(
          "touch \"New site\"\ntouch \"Type the position\"\ntouch \"Position in any notation\"\n"
          "type \"36.53583 N 84.27667 W\"\nkey escape\ntouch \"Use this position\"\n"
          "touch \"Skyline\"") == "");
  auto& session = walk.app.session();
  // Worked out by another program from the same grid.
  std::vector<std::pair<double, double>> known;
  for (const CsvRow& row : csv_rows("jacksboro_horizon.csv"))
    known.emplace_back(row["true_az_deg"], row["horizon_el_deg"]);
  REQUIRE(known.size() == 36);
  constexpr double kTurn_deg = 7;
  int marked = 0;
  for (const auto& [azimuth, elevation] : known) {
    if (azimuth > 120 && azimuth < 200) continue;    // nobody aims there
    const double trees = marked++ % 9 == 4 ? 8 : 0;  // one in ten or so
    CHECK(walk.run(aimed(azimuth - session.declination_deg() - kTurn_deg, elevation + trees) +
                   "touch \"Mark\"") == "");
  }
  REQUIRE(
      walk.run("touch \"Arrive\"\ntouch \"Check the compass\"\ntouch \"Terrain\"\ndevice \"file " +
               file +
               "\"\ntouch \"Bring in a height grid\"\nwait 0.5\nsettle\nexpect \"jacksboro.asc\"\n"
               "expect \"° clockwise, your skyline fits the land best\"\n"
               "swipe \"Use it as a heading check\" 0 -250\nwait 3\n"
               "expect \"Nearer than the land's own skyline\"\n"
               "touch \"Use it as a heading check\"\nwait 0.3") == "");
  CHECK(std::fabs(session.heading_offset_deg() - kTurn_deg) < 0.2);
  // The stretch that nobody aimed at, from the land, on request.
  const int before = session.marks();
  CHECK(walk.run("touch \"Fill the open stretches from the land\"\nwait 0.3\nexpect \"computed "
                 "points added\"") == "");
  REQUIRE(session.marks() > before);
  for (const auto& point : session.skyline()->skyline().points) {
    if (!point.computed) continue;
    const double azimuth = point.azimuth.degrees();
    CHECK(azimuth > 100);
    CHECK(azimuth < 220);
    for (const auto& [at, elevation] : known)
      if (std::fabs(at - azimuth) < 0.06)
        CHECK(std::fabs(point.elevation.degrees() - elevation) < 0.1);
  }
  CHECK(walk.run("touch \"Take the computed stretches out\"") == "");
  CHECK(session.marks() == before);
  // The check is in the history, and can be taken out again.
  CHECK(walk.run("expect \"Terrain: jacksboro.asc\"\ntouch \"Take out check 1\"\nwait 0.3") == "");
  CHECK(std::fabs(session.heading_offset_deg()) < 1e-9);
  CHECK(walk.run("touch \"Bring back check 1: Terrain: jacksboro.asc\"\nwait 0.3") == "");
  CHECK(std::fabs(session.heading_offset_deg() - kTurn_deg) < 0.2);
}

TEST_CASE(
    "a check that does not fit the others is named, left out, and can be taken out [property]") {
  Place place("adret-history-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\nwait 0.5\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Arrive\"") == "");
  auto& session = walk.app.session();
  struct Landmark {
    const char *name, *position;
    double bearing_deg, off_deg;
  };
  // Bearings within 0.1 degree: along the meridian; along the parallel, so near.
  for (const Landmark& mark : {Landmark{"Mast", "46.5213 N 10.3478 E", 180, -2},
                               Landmark{"Tower", "46.6213 N 10.4478 E", 90, -2.3},
                               Landmark{"Chapel", "46.7213 N 10.3478 E", 0, -1.8},
                               Landmark{"Wrong hill", "46.6213 N 10.2478 E", 270, 20}})
    CHECK(walk.run(std::string("touch \"Check the compass\"\ntouch \"Landmark\"\n") +
                   aimed(mark.bearing_deg - session.declination_deg() + mark.off_deg, 2) +
                   "touch \"Name\"\ntype \"" + mark.name +
                   "\"\ntouch \"Its position, and height if known\"\ntype \"" + mark.position +
                   "\"\nkey escape\ntouch \"Take the check\"\nwait 0.2\n" +
                   (mark.off_deg > 10
                        ? "expect \"contradicts\"\ntouch \"Keep it all the same\"\nwait 0.2\n"
                        : "") +
                   "touch \"Arrive\"") == "");
  REQUIRE(session.checks().size() == 4);
  CHECK(std::fabs(session.heading_offset_deg() - 2) < 0.5);  // of the three that agree
  CHECK(
      walk.run(
          "touch \"Check the compass\"\nwait 0.2\nswipe \"Check rows\" 0 -700\nwait 2\nexpect "
          "\"Wrong hill\"\n"
          "expect \"Left out: it does not fit the others.\"\ntouch \"Take out check 4\"\nwait 0.2\n"
          "expect_not \"Left out\"\nexpect \"Taken out; they stay in the file as voided:\"\n"
          "touch \"Bring back check 1: Wrong hill\"\nwait 0.2\nexpect \"Left out\"") == "");
  CHECK(session.checks().size() == 4);
}

TEST_CASE("a check that can hardly be right turns nothing without a second answer [property]") {
  Place place("adret-doubt-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\nwait 0.5\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Skyline\"") == "");
  auto& session = walk.app.session();
  for (const double azimuth : {120.0, 150.0, 180.0, 210.0, 240.0})
    CHECK(walk.run(aimed(azimuth, 14) + "touch \"Mark\"") == "");
  const std::string check = std::string("touch \"Arrive\"\ntouch \"Check the compass\"\n") +
                            "touch \"Landmark\"\n" + aimed(300 - session.declination_deg(), 2) +
                            "touch \"Name\"\ntype \"Mast\"\ntouch \"Its position, and height if "
                            "known\"\ntype \"46.5213 N 10.3478 E\"\nkey escape\n"
                            "touch \"Take the check\"\nwait 0.3\n";
  CHECK(walk.run(check + "expect \"This check can hardly be right\"\nexpect \"Dashed\"") == "");
  CHECK(session.checks().empty());
  CHECK(walk.run("touch \"Throw this check away\"\nwait 0.2") == "");
  CHECK(session.checks().empty());
  CHECK(std::fabs(session.heading_offset_deg()) < 1e-9);
}

TEST_CASE(
    "keypad: sign, delete and the keyboard; what cannot be is told and not kept [regression]") {
  Place place("adret-keypad-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\nwait 0.5\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Skyline\"\ntouch \"Type a reading\"\nwait 0.2") == "");
  auto& session = walk.app.session();
  auto& pad = walk.app.states().skyline;
  CHECK(walk.run("touch \"Key 1\"\ntouch \"Key 7\"\ntouch \"Key 9\"\ntouch \"Delete\"\nkey 8\n"
                 "touch \"Next\"") == "");
  CHECK(pad.bearing == "178");
  // 77.8 with the point forgotten, and the sign by mistake.
  CHECK(walk.run("touch \"Key 7\"\ntouch \"Key 7\"\ntouch \"Key 8\"\ntouch \"Key -\"\nwait 0.1\n"
                 "expect \"An elevation lies between\"\nkey enter\nwait 0.1") == "");
  CHECK(pad.elevation == "-778");
  CHECK(session.marks() == 0);
  CHECK(walk.run("touch \"Close\"\nwait 0.1\ntouch \"Type a reading\"\nwait 0.1\n"
                 "expect_not \"778\"") == "");
  CHECK(walk.run("touch \"Elevation\"\nkey 1\nkey 2\nkey .\nkey 5\nkey 5\nkey backspace\n"
                 "touch \"Mark it\"\nwait 0.2") == "");
  REQUIRE(session.marks() == 1);
  CHECK(session.skyline()->skyline().points[0].elevation.degrees() == 12.5);
  // Undo names it, and it comes back.
  CHECK(walk.run("key escape\nwait 0.1\ntouch \"Undo\"\nwait 0.2\nexpect \"Taken back: a mark\"\n"
                 "touch \"Bring back\"\nwait 0.2") == "");
  CHECK(session.marks() == 1);
}

TEST_CASE(
    "sites to walk to come as one archive, with the skyline that the land has there [published]") {
  const auto grid = jacksboro();
  if (!grid) {
    MESSAGE("python-matplotlib-data is not installed, left out");
    return;
  }
  Place place("adret-visits-test");
  const auto path = [&](const char* name) { return (place.folder / name).string(); };
  write_ascii_grid(path("heights.asc"), *grid);
  {
    survey::Site site;
    site.name = "Larkholm 1";
    site.note = "To walk to: place 1 of 1";
    site.position = {kObserver.latitude_deg, kObserver.longitude_deg, {}};
    site.created.utc_offset_h = -5;
    auto book = must(survey::FieldBook::create(path("one.gpkg"), site));
    survey::Station station;
    station.name = "A";
    station.main = true;
    station.position = site.position;
    station.position_source = survey::PositionSource::map;
    station.horizontal_sigma_m = 20;
    must(book.put(station));
    must(book.close());
  }
  must(app::write_zip(path("visits.zip"),
                      {{"one.gpkg", path("one.gpkg")},
                       {"heights.asc", path("heights.asc")},
                       {"../../outside.gpkg", path("one.gpkg")},
                       {"notes.txt", path("heights.asc")}},
                      1790000000, {}, {}));
  Walk walk((place.folder / "data").string());
  walk.app.dropped_file(path("visits.zip"));
  // Two entries of one site: the second is here already; nothing is written outside.
  REQUIRE(walk.run("expect \"" + tr("visit.brought", {"visits.zip", "1", "1", "1"}) +
                   "\"\nwait 6\nexpect \"To walk to\"") == "");
  CHECK(!std::filesystem::exists(place.folder / "outside.gpkg"));
  CHECK(walk.app.session().sites().sites.size() == 1);
  walk.app.dropped_file(path("visits.zip"));
  CHECK(walk.app.session().sites().sites.size() == 1);
  // Only the map knows where it is: the position comes first, then the land's line is there.
  REQUIRE(walk.run("wait 6\ntouch \"Larkholm 1\"\nwait 0.3") == "");
  CHECK(walk.app.screen() == ScreenId::arrive);
  REQUIRE(walk.run("touch \"Skyline\"\nwait 0.5\nsettle\nexpect \"Bare ground: up to \"") == "");
  REQUIRE(walk.app.session().terrain.far());
  const auto& land = *walk.app.session().terrain.far();
  REQUIRE(land.light);
  // Worked out by another program from the same grid; the ground within 100 m is not in the app's.
  int alike = 0;
  for (const CsvRow& row : csv_rows("jacksboro_horizon.csv"))
    alike +=
        std::fabs(land.skyline.elevation_deg(row["true_az_deg"]) - row["horizon_el_deg"]) < 0.1;
  CHECK(alike >= 30);
  CHECK(land.light->winter_h > 0.5 * land.light->winter_flat_h);
  CHECK(!land.light->aim_next.empty());
  // Marked all round twenty degrees over the land: what stands there is told in hours. Eight would not
  // be told from a slope whose height 100 m away these cells of 90 m do not know by ten degrees.
  auto& session = walk.app.session();
  for (const CsvRow& row : csv_rows("jacksboro_horizon.csv"))
    REQUIRE(
        walk.run(aimed(row["true_az_deg"] - session.declination_deg(), row["horizon_el_deg"] + 20) +
                 "touch \"Mark\"") == "");
  REQUIRE(walk.run("settle\ntouch \"Arrive\"\ntouch \"Check the compass\"\ntouch \"Terrain\"\n"
                   "wait 0.5\nsettle\nexpect \"What stands on the ground takes\"") == "");
}

namespace {

void write_site(const std::string& path, const char* name) {
  survey::Site site;
  site.name = name;
  auto book = must(survey::FieldBook::create(path, site));
  must(book.close());
}

struct ChosenFiles
    : platform::PlainFiles {  // the chooser is another program: it answers when it will
  using PlainFiles::PlainFiles;
  std::optional<platform::PickedFile> file;
  bool pick(const std::string&) override { return true; }
  std::optional<platform::PickedFile> picked() override { return std::exchange(file, {}); }
  bool asked() override { return file.has_value(); }
};

}  // namespace

TEST_CASE("a file that was chosen comes in though nothing else moves [regression]") {
  Place place("adret-chosen-test");
  const std::string path = (place.folder / "chosen.gpkg").string();
  write_site(path, "Larkholm 3");
  Walk walk((place.folder / "data").string());
  auto& session = walk.app.session();
  auto chosen = std::make_unique<ChosenFiles>((place.folder / "data").string());
  ChosenFiles& files = *chosen;
  session.devices().files = std::move(chosen);
  REQUIRE(walk.run("touch \"Bring in a file\"\nsettle") == "");
  CHECK_FALSE(walk.app.poll());  // at rest
  std::ifstream file(path, std::ios::binary);
  files.file = {"chosen.gpkg", {std::istreambuf_iterator<char>(file), {}}};
  CHECK(walk.app.poll());
  REQUIRE(walk.run("wait 0.3") == "");
  REQUIRE(session.sites().sites.size() == 1);
  CHECK(session.sites().sites.front().site.name == "Larkholm 3");
  // On a screen that takes no files it waits, without a frame for it.
  REQUIRE(walk.run("touch \"Settings\"\nwait 6\nsettle") == "");
  std::ifstream again(path, std::ios::binary);
  files.file = {"chosen.gpkg", {std::istreambuf_iterator<char>(again), {}}};
  CHECK_FALSE(walk.app.poll());
}

TEST_CASE("a site that the system opens comes in as a site, whatever screen is open [regression]") {
  Place place("adret-opened-test");
  const std::string path = (place.folder / "opened.gpkg").string();
  write_site(path, "Larkholm 4");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\nwait 0.5\ntouch \"Photos\"\nwait 0.5") == "");
  CHECK(walk.app.screen() == ScreenId::photos);
  REQUIRE(walk.run("device \"open " + path + "\"\nwait 0.3\nsettle") == "");
  CHECK(walk.app.screen() == ScreenId::sites);
  const auto& sites = walk.app.session().sites().sites;
  REQUIRE(sites.size() == 2);
  CHECK(std::ranges::any_of(sites, [](const auto& s) { return s.site.name == "Larkholm 4"; }));
  for (const survey::SiteSummary& each : sites) CHECK(each.photos == 0);
  // Once more it is here already; changed elsewhere it is another copy, to be joined or kept apart.
  REQUIRE(walk.run("device \"open " + path + "\"\nwait 0.3\nexpect \"" +
                   tr("app.was_here_already", {"opened.gpkg"}) + "\"") == "");
  CHECK(walk.app.session().sites().sites.size() == 2);
  {
    auto book = must(survey::FieldBook::open(path));
    survey::Site site = must(book.site());
    site.note = "by the brook";
    must(book.put(site));
    must(book.close());
  }
  REQUIRE(walk.run("device \"open " + path + "\"\nwait 0.3") == "");
  CHECK(walk.app.session().sites().sites.size() == 3);
  // What is no site is said, and the list goes on working.
  std::ofstream((place.folder / "none.gpkg").string()) << "no site";
  REQUIRE(walk.run("touch \"Larkholm 4\"\nwait 0.3\ntouch \"Photos\"\nwait 0.3\ndevice \"open " +
                   (place.folder / "none.gpkg").string() + "\"\nwait 0.3\nexpect \"none.gpkg\"\n" +
                   "wait 16\ntouch \"Larkholm 4\"\nwait 0.3") == "");
  CHECK(walk.app.screen() == ScreenId::arrive);
  // A photograph or nothing at all under a site's name says what it is.
  std::ofstream((place.folder / "photo.gpkg").string(), std::ios::binary)
      << "\xFF\xD8\xFF\xE1 rest";
  std::ofstream((place.folder / "empty.gpkg").string());
  for (const auto& [file, words] :
       {std::pair{"photo.gpkg", "error.zip_no_site"}, std::pair{"empty.gpkg", "error.file_empty"}})
    REQUIRE(walk.run("device \"open " + (place.folder / file).string() + "\"\nwait 0.3\nexpect \"" +
                     tr(words).substr(1) + "\"") == "");
}

TEST_CASE("what cannot be taken out of an archive does not hold up the rest [property]") {
  Place place("adret-mixed-archive-test");
  const auto path = [&](const char* name) { return (place.folder / name).string(); };
  write_site(path("good.gpkg"), "Larkholm 2");
  std::ofstream(path("bad.gpkg")) << "no database";
  std::ofstream(path("bad.tif")) << "no grid";
  must(app::write_zip(path("mixed.zip"),
                      {{"bad.gpkg", path("bad.gpkg")},
                       {"bad.tif", path("bad.tif")},
                       {"good.gpkg", path("good.gpkg")}},
                      1790000000, {}, {}));
  Walk walk((place.folder / "data").string());
  walk.app.dropped_file(path("mixed.zip"));
  CHECK(walk.app.session().sites().sites.size() == 1);
  CHECK(walk.app.session().problem.find("bad.gpkg") != std::string::npos);
}

TEST_CASE("an archive that cannot be read is refused by name [property]") {
  Place place("adret-archive-test");
  const std::string path = (place.folder / "broken.zip").string();
  std::ofstream(path) << "PK\3\4 and no more of it";
  Walk walk((place.folder / "data").string());
  walk.app.dropped_file(path);
  CHECK(walk.run("wait 0.1\nexpect \"broken.zip\"") == "");
  CHECK(walk.app.session().sites().sites.empty());
}
