// A visit with no compass and no clinometer: the light of the sun alone, from empty to hand-over.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "horizon/time.h"
#include "tests/horizon/skyline/contact_truth.h"
#include "tests/shell.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

namespace {

const horizon::Place kEye{46.6213, 10.3478, 1483.6};

double line_at(double az) {
  double el = 14;
  for (int k = 1; k <= 60; ++k)
    el += 3.2 / std::pow(k, 1.35) * std::sin(k * az * horizon::kDegree * 2 + 0.9 * k * k + 0.7 * k);
  return el;
}

std::vector<contact_truth::Event> events_of(const char* day) {
  const double start = horizon::parse_utc_s(day).value() + 4 * 3600;
  return contact_truth::sun_events(line_at, kEye, start, start + 60000,
                                   horizon::standard_air(kEye.height_m), 35);
}

std::string clock_to(double utc_s) {
  return "device \"clock " + std::to_string(utc_s - 0.2) + "\"\nwait 0.1\n";
}

}  // namespace

TEST_CASE("a visit with contacts only, from empty to hand-over [property]") {
  Place place("adret-contacts-test");
  Walk walk((place.folder / "data").string());
  const auto first = events_of("2026-01-10");
  REQUIRE(first.size() >= 2);
  REQUIRE(
      walk.run(clock_to(first[0].utc_s - 3600) +
               "touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
               "touch \"Skyline\"\ntouch \"Sun gone or back?\"\nexpect \"Never look at the sun\"\n"
               "expect \"No ridge is known yet\"\nexpect \"Nobody compared this clock\"\n"
               "touch \"This clock is ahead by (seconds; behind: with a minus)\"\ntype \"0\"\n"
               "key escape\ntouch \"Use this clock check\"\nexpect \"is 0.0 s ahead\"") == "");
  int noted = 0;
  for (const char* day : {"2026-01-10", "2026-01-14", "2026-01-19"})
    for (const auto& event : events_of(day)) {
      CHECK(walk.run(clock_to(event.utc_s) + "touch \"" + (event.came ? "Sun back" : "Sun gone") +
                     "\"\nwait 0.2") == "");
      ++noted;
    }
  auto& session = walk.app.session();
  REQUIRE(session.skyline() != nullptr);
  CHECK(session.skyline()->contacts.fit.used == noted);
  for (const auto& point : session.skyline()->skyline().points)
    if (point.contact >= 0)
      CHECK(std::abs(point.elevation.degrees() - line_at(point.azimuth.degrees())) < 0.1);
  // Touched too early and taken back: voided, still in the file.
  CHECK(walk.run("touch \"Sun back\"\nwait 0.2\ntouch \"Take the last one back\"\nwait 0.2\n"
                 "expect \"stays in the file\"") == "");
  CHECK(session.skyline()->contacts.fit.used == noted);
  CHECK(session.book().all<survey::ContactRow>()->size() == std::size_t(noted) + 1);
  // The next morning the countdown says when the light is due.
  const auto next = events_of("2026-01-20");
  CHECK(walk.run(clock_to(next[0].utc_s - 400) + "swipe \"Light of sun and moon\" 0 2000\nwait 2\n"
                                                 "expect \"The sun should come back at\"") == "");
  CHECK(walk.run("touch \"Light\"\nsettle\nwait 1\nsettle\ntouch \"Hand over\"\n"
                 "touch \"Make the files\"\nsettle\nexpect \"Done. The files are here\"") == "");
  CHECK(session.marks() >= noted);
}

TEST_CASE("a receiver's clock is taken off, and the shadow's edge is kept as such [property]") {
  Place place("adret-receiver-test");
  Walk walk((place.folder / "data").string());
  const auto first = events_of("2026-01-10");
  REQUIRE(
      walk.run(
          clock_to(first[0].utc_s + 3.2) +
          "touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4 3.9\"\nwait 1\n"
          "device \"fix 46.6213 10.3478 1482 4 3.2\"\nwait 1\n"
          "touch \"Skyline\"\ntouch \"Sun gone or back?\"\n"
          "expect \"By the position receiver this clock is 3.2 s ahead\"\n"
          "touch \"What you go by: The shadow's edge at the peg\"\ntouch \"Sun gone\"\nwait 0.2") ==
      "");
  const auto rows = walk.app.session().book().all<survey::ContactRow>();
  REQUIRE(rows);
  REQUIRE(rows->size() == 1);
  CHECK(rows->front().touch == horizon::Touch::shadow);
  REQUIRE(rows->front().clock_ahead_s);
  CHECK(std::abs(*rows->front().clock_ahead_s - 3.2) < 1e-9);
  CHECK(rows->front().clock_sigma_s == survey::kComparedClock_s);
}

TEST_CASE("a diary is typed day by day, a slip is told, and a sheet is printed [property]") {
  Place place("adret-diary-test");
  Walk walk((place.folder / "data").string());
  const double now = horizon::parse_utc_s("2026-02-20T12:00:00Z").value();
  REQUIRE(walk.run(clock_to(now) +
                   "touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Skyline\"\ntouch \"Sun gone or back?\"\n"
                   "touch \"Diary for many days\"\n"
                   "touch \"Sun came\"\ntype \"25:70\"\nkey escape\ntouch \"Add this day\"\n"
                   "expect \"write it as 9:41\"") == "");
  CHECK(walk.app.session().book().all<survey::DiaryRow>()->empty());
  REQUIRE(walk.run("touch \"Sun came\"\nkey backspace\nkey backspace\nkey backspace\n"
                   "key backspace\nkey backspace\ntype \"9:41\"\nkey escape\n"
                   "touch \"Sun went\"\ntype \"15:02\"\nkey escape\ntouch \"Sky: clear\"\n"
                   "touch \"Add this day\"\nwait 0.5") == "");
  REQUIRE(walk.app.session().book().all<survey::DiaryRow>()->size() == 1);
  const auto row = walk.app.session().book().all<survey::DiaryRow>()->front();
  CHECK(row.date == "2026-02-20");
  CHECK(row.sky == survey::DiarySky::clear);
  REQUIRE(row.came.has_value());
  CHECK(row.went->utc_s - row.came->utc_s == 5 * 3600 + 21 * 60);
  CHECK(
      walk.run("settle\nwait 0.5\ntouch \"Make the sheet (PDF)\"\nwait 0.5\nexpect \"Written:\"") ==
      "");
  std::string pdf;
  for (const auto& file : std::filesystem::recursive_directory_iterator(place.folder))
    if (file.path().extension() == ".pdf") pdf = file.path().string();
  REQUIRE(!pdf.empty());
  const Shell text = shell("pdftotext -layout '" + pdf + "' - 2>&1");
  CHECK(text.words.find("Sun diary") != std::string::npos);
  CHECK(text.words.find("Never look at the sun") != std::string::npos);
  CHECK(text.words.find("20. February") != std::string::npos);
}

TEST_CASE("contacts that cannot be are said, kept as they are and not used [property]") {
  Place place("adret-bad-contacts-test");
  Walk walk((place.folder / "data").string());
  const auto events = events_of("2026-01-10");
  REQUIRE(events.size() >= 2);
  const auto used = [&] { return walk.app.session().skyline()->contacts.fit.used; };
  const auto kept = [&] { return walk.app.session().book().all<survey::ContactRow>()->size(); };
  REQUIRE(walk.run(clock_to(events[0].utc_s) +
                   "touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                   "touch \"Skyline\"\ntouch \"Sun gone or back?\"\n" +
                   clock_to(events[0].utc_s) + "touch \"Sun back\"\nwait 0.2") == "");
  CHECK(used() == 1);
  // A second apart, the other way.
  REQUIRE(walk.run(clock_to(events[0].utc_s + 1) +
                   "touch \"Sun gone\"\nwait 0.2\nexpect \"come and go within seconds\"") == "");
  CHECK(used() == 0);
  // Later, but the clock shows earlier.
  REQUIRE(walk.run(clock_to(events[1].utc_s) + "touch \"Sun gone\"\nwait 0.2") == "");
  CHECK(used() == 1);
  REQUIRE(walk.run(clock_to(events[1].utc_s - 1800) +
                   "touch \"Sun back\"\nwait 0.2\nexpect \"it was set back\"") == "");
  CHECK(used() == 0);
  CHECK(kept() == 4);
  // By night: new moon on 18 January 2026; the moon is down.
  REQUIRE(walk.run(clock_to(horizon::parse_utc_s("2026-01-18T22:00:00Z").value()) +
                   "wait 1\ntouch \"Moon gone\"\nwait 0.2\nexpect \"the moon was\"") == "");
  CHECK(kept() == 5);
  CHECK(used() == 0);
  // A day of the diary that is still to come.
  std::string ten;
  for (int i = 0; i < 10; ++i) ten += "key backspace\n";
  REQUIRE(
      walk.run("touch \"Diary for many days\"\ntouch \"Date\"\n" + ten +
               "type \"2080-01-25\"\nkey escape\ntouch \"Sun came\"\ntype \"9:41\"\nkey escape\n"
               "touch \"Add this day\"\nwait 0.5") == "");
  CHECK(walk.app.session().book().all<survey::DiaryRow>()->size() == 1);
  CHECK(used() == 0);
  const auto& notes = walk.app.session().skyline()->contacts.notes;
  CHECK(std::any_of(notes.begin(), notes.end(),
                    [](const auto& note) { return note.key == "error.contact_in_future"; }));
}
