#include "survey/assess/station_contacts.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdio>
#include <string>

#include "horizon/light/findings.h"
#include "horizon/light/uncertainty.h"
#include "survey/assess/station_skyline.h"
#include "survey/exchange/exchange.h"
#include "tests/horizon/skyline/contact_truth.h"
#include "tests/near.h"
#include "tests/survey/site_fixture.h"

using namespace survey;
namespace h = horizon;

namespace {

// Waves of many lengths: nothing that the method assumes. [property] against this line alone.
double line_at(double az) {
  double el = 14;
  for (int k = 1; k <= 60; ++k)
    el += 3.2 / std::pow(k, 1.35) * std::sin(k * az * h::kDegree * 2 + 0.9 * k * k + 0.7 * k);
  return el;
}

struct Garden {
  TempFolder folder;
  FieldBook book;
  Station station;
  h::Place eye{46.6213, 10.3478, 1483.6};

  Garden() : book(must(FieldBook::create(folder / "site.gpkg", site()))) {
    station.name = "bed";
    station.position = {46.6213, 10.3478, 1482.0};
    station.main = true;
    station.time = {h::parse_utc_s("2025-11-01T12:00:00Z").value(), 1};
    station.id = must(book.put(station));
  }
  static Site site() {
    Site s;
    s.name = "Larkholm";
    s.position = {46.6213, 10.3478, 1482.0};
    s.created = {h::parse_utc_s("2025-11-01T12:00:00Z").value(), 1};
    return s;
  }
  StationSkyline derived() { return must(station_skyline(book, station.id)); }
};

std::vector<contact_truth::Event> day_events(const h::Place& eye, int day) {
  const double start = h::parse_utc_s("2025-11-01T03:00:00Z").value() + day * 86400.0;
  return contact_truth::sun_events(line_at, eye, start, start + 60000,
                                   h::standard_air(eye.height_m), 35);
}

std::string clock_text(double utc_s, bool seconds) {
  const double local = std::fmod(utc_s + 3600, 86400.0);
  char text[40];
  const int s = static_cast<int>(std::lround(seconds ? local : std::round(local / 60) * 60));
  std::snprintf(text, sizeof text, seconds ? "%02d:%02d:%02d" : "%02d:%02d", s / 3600, s / 60 % 60,
                s % 60);
  return text;
}

}  // namespace

TEST_CASE("[property] thirty days of a diary give the winter's sun within two minutes a day") {
  Garden garden;
  std::string csv = "date;came;went;sky;by\n";
  h::Gauss gauss(3);
  for (int day = 0; day < 120; day += 4) {
    const auto events = day_events(garden.eye, day);
    const h::Date date =
        h::date_of(h::parse_utc_s("2025-11-01T12:00:00Z").value() + day * 86400.0, 1);
    for (size_t i = 0; i + 1 < events.size(); i += 2)
      csv += h::format_date(date) + ";" + clock_text(events[i].utc_s + 5 * gauss.next(), true) +
             ";" + clock_text(events[i + 1].utc_s + 5 * gauss.next(), true) + ";clear;class 4\n";
  }
  ImportOptions options;
  options.utc_offset_h = 1;
  const ImportReport report = must(import_marks(garden.book, csv, options));
  for (const auto& error : report.errors) FAIL(error.where << ": " << error.key);
  CHECK(report.diary_rows >= 30);
  CHECK(must(import_marks(garden.book, csv, options)).diary_rows == 0);  // here already

  const StationSkyline at = garden.derived();
  CHECK(at.contacts.fit.used >= 55);
  h::StationInput input;
  input.place = garden.eye;
  input.utc_offset_h = 1;
  input.year = 2026;
  input.skyline = at.skyline();
  input.draws = 0;
  const double found = h::findings_of(input).hours.winter_h_a_day.value;
  h::Skyline truth;
  truth.max_gap_deg = 5;
  truth.obstacles.push_back({h::Kind::ridge, "truth"});
  for (double az = 0; az < 360; az += 0.25) {
    h::SkylinePoint p;
    p.azimuth = h::TrueAzimuth::degrees(az);
    p.elevation = h::Elevation::degrees(line_at(az));
    truth.points.push_back(p);
  }
  input.skyline = truth;
  const double right = h::findings_of(input).hours.winter_h_a_day.value;
  INFO("a day " << found << " h, truly " << right);
  CHECK(std::abs(found - right) * 60 < 2);
}

TEST_CASE(
    "[property] a compass 7 degrees wrong is turned by the light, and what disagrees is said") {
  Garden garden;
  h::Gauss gauss(8);
  const auto declination = garden.derived().declination_deg;
  REQUIRE(declination.has_value());
  for (double az = 95; az < 270; az += 2) {
    Sighting aim;
    aim.station_id = garden.station.id;
    aim.time = garden.station.time;
    aim.bearing_deg = h::wrap_360(az - *declination - 7 + 0.2 * gauss.next());
    aim.elevation_deg = line_at(az) + 0.1 * gauss.next();
    aim.bearing_sigma_deg = 0.2;
    aim.elevation_sigma_deg = 0.1;
    aim.instrument = "hand compass";
    must(garden.book.put(aim));
  }
  std::vector<Id> ids;
  for (const int day : {5, 25, 45, 95}) {
    for (const auto& event : day_events(garden.eye, day)) {
      ContactRow row;
      row.station_id = garden.station.id;
      row.time = {event.utc_s + 5 * gauss.next(), 1};
      row.came = event.came;
      row.clock_ahead_s = 0;
      ids.push_back(must(garden.book.put(row)));
    }
  }
  const StationSkyline at = garden.derived();
  REQUIRE(at.instruments.size() == 1);
  const auto& turn = at.instruments[0].correction;
  INFO(turn.offset_deg << " +- " << turn.sigma_deg);
  CHECK(turn.used == 1);
  CHECK_NEAR(turn.offset_deg, 7, 0.5);
  CHECK(std::abs(turn.offset_deg - 7) < 2 * turn.sigma_deg);
  CHECK(at.contacts.fit.used >= static_cast<int>(ids.size()) - 1);
  int touched = 0;
  for (const auto& point : at.skyline().points)
    if (point.contact >= 0) {
      ++touched;
      CHECK_NEAR(point.elevation.degrees(), line_at(point.azimuth.degrees()), 0.1);
    }
  CHECK(touched == at.contacts.fit.used);
}

TEST_CASE("[property] bad contacts are said, kept, and not used") {
  Garden garden;
  const auto events = day_events(garden.eye, 10);
  REQUIRE(events.size() >= 2);
  const auto put = [&](double utc_s, bool came, ContactHow how, h::Body body = h::Body::sun) {
    ContactRow row;
    row.station_id = garden.station.id;
    row.time = {utc_s, 1};
    row.came = came;
    row.how = how;
    row.body = body;
    return must(garden.book.put(row));
  };
  put(events[0].utc_s, true, ContactHow::typed);
  put(events[1].utc_s, false, ContactHow::typed);
  put(events[1].utc_s + 1, true, ContactHow::typed);          // opposite sides, a second apart
  put(4e9 - 1e9 + 5e8, false, ContactHow::typed);             // 2080: the future
  put(events[0].utc_s - 8 * 3600, false, ContactHow::typed);  // night
  put(h::parse_utc_s("2025-11-20T13:00:00Z").value(), false, ContactHow::typed, h::Body::moon);
  put(events[0].utc_s + 86400, true, ContactHow::touched);
  put(events[0].utc_s + 86400 - 600, false, ContactHow::touched);  // the clock was set back
  DiaryRow swapped;
  swapped.station_id = garden.station.id;
  swapped.date = "2025-11-12";
  swapped.came = Moment{h::parse_utc_s("2025-11-12T14:00:00Z").value(), 1};
  swapped.went = Moment{h::parse_utc_s("2025-11-12T09:00:00Z").value(), 1};
  must(garden.book.put(swapped));
  const StationSkyline at = garden.derived();
  CHECK(at.contacts.fit.used == 1);
  std::string said;
  for (const auto& note : at.notes) said += note.where + ": " + note.key + "\n";
  INFO(said);
  for (const char* words : {"contact_opposite", "contact_in_future", "sun_was_below_horizon",
                            "moon_was_new", "contact_clock_set_back", "diary_went_before_came"})
    CHECK_MESSAGE(said.find(words) != std::string::npos, words);
  CHECK(must(garden.book.all<ContactRow>()).size() == 8);
  // Voiding the wrong one brings the right one back.
  must(garden.book.void_contact(must(garden.book.all<ContactRow>())[2].id, "slip", {1.8e9, 1}));
  CHECK(garden.derived().contacts.fit.used == 2);
}

TEST_CASE("[property] contacts go out in the sightings table and come back the same") {
  Garden a;
  ContactRow row;
  row.station_id = a.station.id;
  row.time = {h::parse_utc_s("2025-12-01T09:41:07.250Z").value(), 1};
  row.body = h::Body::moon;
  row.touch = h::Touch::whole;
  row.came = true;
  row.how = ContactHow::typed;
  row.clock_ahead_s = -2.5;
  row.temperature_c = -8;
  row.label = "barn, north; roof";
  row.note = "said \"now\"";
  must(a.book.put(row));
  Sighting aim;
  aim.station_id = a.station.id;
  aim.bearing_deg = 123;
  aim.elevation_deg = 12;
  aim.reference = Reference::true_north;
  must(a.book.put(aim));
  const std::string csv = must(marks_csv_of(a.book));
  Garden b;
  ImportOptions options;
  options.utc_offset_h = 1;
  const ImportReport report = must(import_marks(b.book, csv, options));
  for (const auto& error : report.errors) FAIL(error.where << ": " << error.key);
  CHECK(report.sightings == 1);
  CHECK(report.contacts == 1);
  const ContactRow back = must(b.book.all<ContactRow>()).front();
  CHECK(back.time == row.time);
  CHECK(back.body == row.body);
  CHECK(back.touch == row.touch);
  CHECK(back.came == row.came);
  CHECK(back.clock_ahead_s == row.clock_ahead_s);
  CHECK(back.temperature_c == row.temperature_c);
  CHECK(back.label == row.label);
  CHECK(back.note == row.note);
}

TEST_CASE("[property] bad rows of contacts and diaries are named with line and cure") {
  Garden garden;
  const ImportReport contacts = must(import_marks(
      garden.book,
      "time_utc,body,light,limb\n2025-12-01T09:41:07Z,sun,came,edge\n2025-12-01T10:41,comet,went,\n"
      "yesterday,sun,went,\n2025-12-01T12:41:07Z,sun,,half\n2025-12-01T13:41:07Z,sun,,last light\n"));
  CHECK(contacts.contacts == 2);
  CHECK(contacts.errors.size() == 3);
  CHECK(contacts.errors[0].where == "line 3");
  const ImportReport diary = must(
      import_marks(garden.book,
                   "Datum;kam;ging;Himmel;wer\n3.2.2025;9:41;15:02;klar;4b\n32.2.2025;9:41;;;\n"
                   "2025-02-05;25:00;;;\n2025-02-06;-;-;bedeckt;4b\n"));
  CHECK(diary.diary_rows == 2);
  CHECK(diary.errors.size() == 2);
}

TEST_CASE(
    "[property] a clear day without sun lifts the line; one that only lacks its times does not") {
  Garden garden;
  ImportOptions options;
  options.utc_offset_h = 1;
  // Clear, not noted, cloudy; and one that is yet to come.
  must(import_marks(garden.book,
                    "date;came;went;sky\n2025-12-20;;;clear\n2025-12-21;;;\n2025-12-22;;;cloudy\n"
                    "2091-12-20;;;clear\n",
                    options));
  const StationSkyline at = garden.derived();
  REQUIRE(at.contacts.fit.dark.size() == 1);
  CHECK(at.contacts.fit.dark[0].fault == h::ContactFault::none);
  CHECK(at.contacts.dark_origins[0].name == "diary 2025-12-20");
  CHECK(at.contacts.any());
  // The sun stood 19.9 degrees high that noon (90 - latitude - 23.4), its edge a quarter higher.
  CHECK(h::Mask(at.skyline()).elevation_deg(180) > 20.1);
  bool future = false;
  for (const auto& note : at.notes) future = future || note.key == "error.contact_in_future";
  CHECK(future);
  // The sun was seen four days before: one of the two is wrong, and that is said.
  must(import_marks(garden.book, "date;came;went;sky\n2025-12-16;10:30;13:40;clear\n", options));
  const StationSkyline with = garden.derived();
  CHECK(with.contacts.fit.dark[0].fault == h::ContactFault::contradicts);
  CHECK(with.contacts.fit.used == 2);
  std::string said;
  for (const auto& note : with.notes)
    if (note.key == "error.dark_day_clashes") said = note.where + " " + note.args[0].text;
  CHECK(said == "diary 2025-12-20 2025-12-16");
}

TEST_CASE("[property] where two turns of the compass fit the contacts the headline is in doubt") {
  Garden garden;
  const auto declination = garden.derived().declination_deg;
  REQUIRE(declination.has_value());
  const auto waves = [](double az) {  // alike every 12 degrees
    return 12 + 2.5 * std::sin(az * 30 * h::kDegree) + 0.7 * std::sin(az * 60 * h::kDegree);
  };
  for (double az = 85; az < 280; az += 2) {
    Sighting aim;
    aim.station_id = garden.station.id;
    aim.time = garden.station.time;
    aim.bearing_deg = h::wrap_360(az - *declination - 5);
    aim.elevation_deg = waves(az);
    aim.bearing_sigma_deg = 0.2;
    aim.elevation_sigma_deg = 0.1;
    aim.instrument = "hand compass";
    must(garden.book.put(aim));
  }
  for (const int day : {0, 20}) {
    const double start = h::parse_utc_s("2025-10-20T03:00:00Z").value() + day * 86400.0;
    for (const auto& event : contact_truth::sun_events(waves, garden.eye, start, start + 64000,
                                                       h::standard_air(garden.eye.height_m), 30)) {
      ContactRow row;
      row.station_id = garden.station.id;
      row.time = {event.utc_s, 1};
      row.came = event.came;
      row.clock_ahead_s = 0;
      must(garden.book.put(row));
    }
  }
  const StationSkyline at = garden.derived();
  REQUIRE(at.instruments.size() == 1);
  CHECK(at.instruments[0].correction.disputed);
  CHECK(at.instruments[0].correction.offset_deg == 0);
  CHECK(at.instruments[0].correction.sigma_deg > 4);  // as far as the turns reach
  CHECK(at.skyline().headings_disagree);
  CHECK(at.skyline().heading_sigma_deg == at.instruments[0].correction.sigma_deg);
  bool told = false;
  for (const auto& note : at.notes) told = told || note.key == "error.contact_two_turns";
  CHECK(told);
  // A landmark that speaks for one of the two settles it.
  HeadingCheckRow check;
  check.station_id = garden.station.id;
  check.time = garden.station.time;
  check.bearing_deg = h::wrap_360(200 - *declination - 5);
  check.reference = Reference::magnetic;
  check.known_true_deg = 200;
  check.instrument = "hand compass";
  must(garden.book.put(check));
  const StationSkyline settled = garden.derived();
  CHECK_FALSE(settled.skyline().headings_disagree);
  CHECK_NEAR(settled.instruments[0].correction.offset_deg, 5, 0.01);
}
