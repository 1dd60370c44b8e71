#include "survey/book/store.h"

#include <doctest/doctest.h>
#include <sqlite3.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <random>

#include "horizon/time.h"
#include "tests/said.h"
#include "tests/survey/alter_file.h"
#include "tests/survey/site_fixture.h"

using namespace survey;
namespace fs = std::filesystem;

TEST_CASE("[property] what was put comes back the same, after closing too") {
  const TempFolder folder;
  const std::string path = folder / "site.gpkg";
  FullSite full;
  {
    FieldBook book = must(FieldBook::create(path, full.site));
    full.put_into(book);
    must(book.close());
  }
  CHECK_FALSE(fs::exists(path + "-wal"));
  CHECK_FALSE(fs::exists(path + "-shm"));
  FieldBook book = must(FieldBook::open(path, Access::read));
  CHECK(content_of(book) == full.content());
  CHECK(must(book.photo_bytes(full.photo.id)) == full.photo_bytes);
  CHECK_FALSE(fs::exists(path + "-wal"));
}

TEST_CASE("[property] any edits and as many undos give the same content; redos bring it all back") {
  const TempFolder folder;
  std::mt19937 random(7);
  for (int round = 0; round < 5; ++round) {
    const std::string path = folder / ("site" + std::to_string(round) + ".gpkg");
    FieldBook book = must(FieldBook::create(path, FullSite().site));
    FullSite().put_into(book);
    const int first = book.undo_steps();
    const std::string before = content_of(book);
    RandomEdits edits(random());
    std::vector<std::string> states;
    while (book.undo_steps() < first + 120) {
      edits.one(book);
      if (book.undo_steps() > first + static_cast<int>(states.size()))
        states.push_back(content_of(book));
    }
    // Steps survive a restart.
    must(book.close());
    book = must(FieldBook::open(path));
    for (int i = 119; i >= 0; --i) {
      must(book.undo());
      REQUIRE(content_of(book) == (i == 0 ? before : states[i - 1]));
    }
    for (int i = 0; i < 120; ++i) must(book.redo());
    CHECK(content_of(book) == states.back());
    CHECK(book.redo().error().code == horizon::Code::not_found);
  }
}

TEST_CASE("[property] a change after an undo forgets what was undone") {
  const TempFolder folder;
  FieldBook book = must(FieldBook::create(folder / "a.gpkg", FullSite().site));
  Visit visit;
  visit.people = "AB";
  must(book.put(visit));
  must(book.undo());
  CHECK(book.redo_steps() == 1);
  visit.people = "CD";
  must(book.put(visit));
  CHECK(book.redo_steps() == 0);
  CHECK(must(book.all<Visit>()).front().people == "CD");
}

TEST_CASE("[property] a failing change leaves nothing behind") {
  const TempFolder folder;
  FieldBook book = must(FieldBook::create(folder / "a.gpkg", FullSite().site));
  const auto count = book.change_count();
  const auto result = book.change("two", [&]() -> horizon::Result<void> {
    must(book.put(Visit{}));
    Visit bad;
    bad.note = "\xff";
    if (auto put = book.put(bad); !put) return tl::unexpected(put.error());
    return {};
  });
  REQUIRE_FALSE(result);
  CHECK(result.error().where == "visit.note");
  CHECK(must(book.all<Visit>()).empty());
  CHECK(book.change_count() == count);
  CHECK(book.undo_steps() == 0);
  // What was worked out for one book is never taken for another's.
  const FieldBook other = must(FieldBook::create(folder / "b.gpkg", FullSite().site));
  CHECK(other.change_count() != count);
}

TEST_CASE("[property] a reading is never edited or removed: it is voided") {
  const TempFolder folder;
  FieldBook book = must(FieldBook::create(folder / "a.gpkg", FullSite().site));
  FullSite full;
  full.put_into(book);
  Sighting changed = full.sighting;
  changed.bearing_deg += 1;
  CHECK(book.put(changed).error().where == "sighting.bearing_deg");
  CHECK_FALSE(book.remove<Sighting>(full.sighting.id));
  changed = full.sighting;
  changed.label = "the other spruce";
  CHECK(book.put(changed));
  must(book.void_sighting(full.sighting.id, "wrong tree", {1.8e9, 1}));
  const Sighting kept = must(book.get<Sighting>(full.sighting.id));
  CHECK(kept.bearing_deg == full.sighting.bearing_deg);
  CHECK(kept.voided->utc_s == 1.8e9);
  CHECK(kept.void_reason == "wrong tree");
}

TEST_CASE("[property] what other rows belong to is not removed under them") {
  const TempFolder folder;
  FieldBook book = must(FieldBook::create(folder / "a.gpkg", FullSite().site));
  FullSite full;
  full.put_into(book);
  CHECK_FALSE(book.remove<Station>(full.station.id));
  CHECK_FALSE(book.remove<SoilPit>(full.pit.id));
  CHECK(book.remove<SoilLayer>(full.layer.id));
}

TEST_CASE("[property] values that cannot be are refused by name") {
  const TempFolder folder;
  FieldBook book = must(FieldBook::create(folder / "a.gpkg", FullSite().site));
  FullSite full;
  full.put_into(book);
  auto refused = [&](auto row, const std::string& column) {
    const auto result = book.put(row);
    REQUIRE_FALSE(result);
    CHECK(result.error().where == column);
  };
  Sighting s;
  s.station_id = full.station.id;
  s.elevation_deg = NAN;
  refused(s, "sighting.elevation_deg");
  s.elevation_deg = 91;
  refused(s, "sighting.elevation_deg");
  s.elevation_deg = 3;
  s.bearing_deg = 400;
  refused(s, "sighting.bearing_deg");
  s.bearing_deg = 4;
  s.station_id = "../../etc/passwd";
  refused(s, "sighting.station_id");
  Station station;
  station.position = {91, 0, {}};
  refused(station, "station.position");
  station.position = {0, 0, 1e300};
  refused(station, "station.position");
  Visit visit;
  visit.note = std::string("a\0b", 3);
  refused(visit, "visit.note");
  visit.note = "";
  visit.begun.utc_s = 1e300;
  refused(visit, "visit.begun_utc");
  SoilLayer layer;
  layer.pit_id = full.pit.id;
  layer.top_m = 0.4;
  layer.bottom_m = 0.3;
  refused(layer, "soil_layer.top_m");
  Site second;
  second.name = "another";
  CHECK_FALSE(book.put(second));
}

TEST_CASE("[property] every text field takes any script, quotes and SQL as plain text") {
  const TempFolder folder;
  FieldBook book = must(FieldBook::create(folder / "a.gpkg", FullSite().site));
  const std::vector<std::string> texts = {"'); DROP TABLE sighting;--",
                                          "\"; DELETE FROM site",
                                          "x' OR '1'='1",
                                          "مرصد الوادي العلوي",
                                          "תחנה ליד הגדר",
                                          "山の南斜面",
                                          "Ä́ ß 🌞",
                                          "\u202eabc",
                                          "a\nb\tc",
                                          "%s%n",
                                          "../../../tmp/evil"};
  for (const std::string& text : texts) {
    SiteNote note;
    note.text = text;
    note.fields = {{text, text}};
    const Id id = must(book.put(note));
    CHECK(must(book.get<SiteNote>(id)).text == text);
    CHECK(must(book.get<SiteNote>(id)).fields == note.fields);
  }
  CHECK(must(book.all<Sighting>()).empty());
  CHECK(must(book.site()).name == FullSite().site.name);
}

TEST_CASE("[property] code planted in a file is left behind, never runs, and the file is kept") {
  const TempFolder folder;
  const char* plants[] = {
      "CREATE TRIGGER t AFTER INSERT ON visit BEGIN DELETE FROM site; END",
      "CREATE VIEW v AS SELECT * FROM site",
      "CREATE /**/ VIRTUAL TABLE r USING rtree(id, a, b)",
      "ALTER TABLE visit ADD COLUMN evil TEXT GENERATED ALWAYS AS (upper(note)) VIRTUAL",
      "CREATE UNIQUE INDEX i ON sighting (station_id)",
      "CREATE INDEX i ON visit (upper(note))",
      "CREATE TABLE other (x)",
  };
  int index = 0;
  for (const char* plant : plants) {
    CAPTURE(plant);
    const std::string path = folder / (std::to_string(index++) + ".gpkg");
    FullSite full;
    {
      FieldBook book = must(FieldBook::create(path, full.site));
      full.put_into(book);
    }
    REQUIRE(alter_file(path, plant));
    for (const Access access : {Access::read, Access::received, Access::write}) {
      FieldBook book = must(FieldBook::open(path, access));
      CHECK(has_our_schema(book.store().db));
      CHECK(content_of(book) == full.content());
      CHECK(must(book.photo_bytes(full.photo.id)) == full.photo_bytes);
      if (access != Access::write) continue;
      for (int i = 0; i < 3; ++i) must(book.put(Sighting{.station_id = full.station.id}));
      CHECK(must(book.all<Sighting>()).size() == 4);
    }
    CHECK(std::filesystem::exists(path + ".before.bak"));
  }
}

TEST_CASE(
    "[property] a file that is missing, foreign, empty, newer or locked is named with a cure") {
  const TempFolder folder;
  auto message = [](const auto& result) {
    REQUIRE_FALSE(result);
    return said(result.error());
  };
  CHECK(FieldBook::open(folder / "none.gpkg").error().code == horizon::Code::not_found);
  std::ofstream(folder / "text.gpkg") << "this is only text, and long enough to have a header";
  CHECK(message(FieldBook::open(folder / "text.gpkg")) == "error.file_damaged");
  std::ofstream(folder / "empty.gpkg").flush();
  CHECK(message(FieldBook::open(folder / "empty.gpkg")) == "error.no_site_file");
  CHECK_FALSE(FieldBook::create(folder / "text.gpkg", FullSite().site));
  CHECK_FALSE(FieldBook::create(folder / "no/such/folder.gpkg", FullSite().site));

  const std::string path = folder / "a.gpkg";
  must(must(FieldBook::create(path, FullSite().site)).close());
  sqlite3* db = nullptr;
  REQUIRE(sqlite3_open(path.c_str(), &db) == SQLITE_OK);
  REQUIRE(sqlite3_exec(db, "BEGIN EXCLUSIVE", nullptr, nullptr, nullptr) == SQLITE_OK);
  CHECK(message(FieldBook::open(path)).find("error.file_in_use") != std::string::npos);
  REQUIRE(sqlite3_exec(db, "ROLLBACK", nullptr, nullptr, nullptr) == SQLITE_OK);
  REQUIRE(sqlite3_exec(db, "INSERT INTO adret_schema VALUES (99, '2030-01-01T00:00:00.000Z')",
                       nullptr, nullptr, nullptr) == SQLITE_OK);
  sqlite3_close(db);
  CHECK(message(FieldBook::open(path)).find("error.file_of_newer_layout 99") != std::string::npos);
}

TEST_CASE(
    "[property] the list of sites names each, keeps its sketch, and says which cannot be read") {
  const TempFolder folder;
  FullSite full;
  {
    FieldBook book = must(FieldBook::create(folder / "b.gpkg", full.site));
    full.put_into(book);
    must(book.set_sketch({{1.5f, 2}, {0, 255}}));
  }
  Site other = full.site;
  other.id.clear();
  other.name = "Aaa";
  must(must(FieldBook::create(folder / "c.gpkg", other)).close());
  std::ofstream(folder / "bad.gpkg") << "nothing";
  const SiteList list = must(list_sites(folder.path.string()));
  REQUIRE(list.sites.size() == 2);
  CHECK(list.sites[0].site.name == "Aaa");
  CHECK(list.sites[1].photos == 1);
  CHECK(list.sites[1].sketch.elevation_deg == std::vector<float>{1.5f, 2});
  CHECK(list.sites[1].last_visit == full.visit.begun);
  REQUIRE(list.errors.size() == 1);
  CHECK(list.errors[0].where.ends_with("bad.gpkg"));
}
