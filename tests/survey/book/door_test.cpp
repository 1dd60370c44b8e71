// Files from somebody else: well formed, with contents that nobody typed.
#include <doctest/doctest.h>

#include <chrono>
#include <fstream>

#include "survey/assess/site_check.h"
#include "survey/book/merge.h"
#include "survey/book/recover.h"
#include "survey/book/text.h"
#include "tests/survey/alter_file.h"
#include "tests/survey/site_fixture.h"

using namespace survey;
namespace fs = std::filesystem;

namespace {

// A site with 9 sightings and a copy of it, which somebody else may alter.
struct TwoCopies {
  TwoCopies() {
    book = std::make_unique<FieldBook>(must(FieldBook::create(mine, full.site)));
    full.put_into(*book);
    for (int i = 0; i < 8; ++i)
      must(book->put(
          Sighting{.station_id = full.station.id, .bearing_deg = 10.0 * i, .elevation_deg = 5}));
    must(book->export_to(theirs));
  }
  FieldBook other() { return must(FieldBook::open(theirs, Access::received)); }
  std::size_t sightings() { return must(book->all<Sighting>()).size(); }

  TempFolder folder;
  FullSite full;
  std::string mine = folder / "mine.gpkg", theirs = folder / "theirs.gpkg";
  std::unique_ptr<FieldBook> book;
};

// All of the table marked as removed later, by the rules of our own files.
std::string removal_of(const std::string& table) {
  return "INSERT INTO adret_superseded SELECT '" + table + "', id, row_stamp, NULL FROM " + table +
         " WHERE true ON CONFLICT DO NOTHING;"
         "INSERT INTO adret_removed SELECT '" +
         table + "', id, '" + table +
         ":' || lower(hex(randomblob(8))), '2030-01-01T00:00:00.000Z' FROM " + table +
         ";DELETE FROM " + table;
}
// All of the table changed later, so that it would win.
std::string change_of(const std::string& table, const std::string& set) {
  return "INSERT INTO adret_superseded SELECT '" + table + "', id, row_stamp, NULL FROM " + table +
         " WHERE true ON CONFLICT DO NOTHING; UPDATE " + table + " SET " + set + ", row_stamp='" +
         table + ":' || lower(hex(randomblob(8))), changed_utc='2030-01-01T00:00:00.000Z'";
}

}  // namespace

TEST_CASE("a copy that says all readings were removed removes none [regression]") {
  TwoCopies two;
  REQUIRE(alter_file(two.theirs, removal_of("sighting") + ";" + removal_of("heading_check")));
  for (const bool import : {true, false}) {
    const MergeReport report =
        must(import ? import_site(*two.book, two.other()) : merge(*two.book, two.other()));
    CHECK(two.sightings() == 9);
    CHECK(must(two.book->all<HeadingCheckRow>()).size() == 1);
    if (import) CHECK(report.readings_kept.empty());  // they are ours; voided
    CHECK(report.removed == 0);
  }
  for (const Sighting& row : must(two.book->all<Sighting>()))
    CHECK(row.void_reason == "taken back in one copy");
  must(two.book->undo());  // the merge is one step
  for (const Sighting& row : must(two.book->all<Sighting>())) CHECK(row.void_reason.empty());
}

TEST_CASE(
    "a copy with other readings is a conflict with both values, and nothing is lost [regression]") {
  TwoCopies two;
  REQUIRE(alter_file(two.theirs, change_of("sighting", "bearing_deg=1.0")));
  const auto before = must(two.book->all<Sighting>());
  const MergeReport report = must(import_site(*two.book, two.other()));
  REQUIRE(report.conflicts.size() == 9);
  for (const Conflict& one : report.conflicts) {
    CHECK(one.reading);
    CHECK(one.column == "bearing_deg");
    CHECK(one.theirs == "1");
  }
  const auto after = must(two.book->all<Sighting>());
  for (std::size_t i = 0; i < after.size(); ++i)
    CHECK(after[i].bearing_deg == before[i].bearing_deg);

  // Theirs chosen: ours is voided and stays, theirs comes beside it.
  must(merge(*two.book, two.other(), {.by_key = {}, .all = Take::theirs}));
  CHECK(two.sightings() == 18);
  int voided = 0;
  for (const Sighting& row : must(two.book->all<Sighting>())) voided += row.voided.has_value();
  CHECK(voided == 9);
  must(merge(*two.book, two.other(), {.by_key = {}, .all = Take::theirs}));
  CHECK(two.sightings() == 18);
}

TEST_CASE("what a merge removes is told by number and name, and undone in one step [property]") {
  TwoCopies two;
  REQUIRE(alter_file(two.theirs, removal_of("hazard")));
  const std::string before = content_of(*two.book);
  const MergeReport report = must(merge(*two.book, two.other()));
  REQUIRE(report.removed == 1);
  CHECK(report.removed_rows == std::vector<std::string>{"hazard \"below the band\""});
  must(two.book->undo());
  CHECK(content_of(*two.book) == before);
  must(two.book->undo());  // and the steps before it are still there
}

TEST_CASE("a cell that no person could have typed keeps its row out, by name [regression]") {
  struct Cell {
    const char* change;
    const char* told;
  };
  const Cell cells[] = {
      {"UPDATE sighting SET layer=1000000000", "layer"},
      {"UPDATE sighting SET layer=-9223372036854775808", "layer"},
      {"UPDATE sighting SET bearing_deg=9e999", "bearing_deg"},
      {"UPDATE sighting SET kind='dragon'", "kind"},
      {"UPDATE sighting SET station_id='../../etc'", "station_id"},
      {"UPDATE sighting SET station_id='00000000-0000-4000-8000-00000000dead'", "station_id"},
      {"UPDATE sighting SET label=CAST(zeroblob(300000) AS TEXT)", "label"},
      {"UPDATE sighting SET label=x'ff'", "label"},
      {"UPDATE sighting SET id='../../' || fid", "id"},
      {"UPDATE design SET depth_m=-1e9", "depth_m"},
      {"UPDATE design SET length_m=2147483648", "length_m"},
      {"UPDATE path SET line=x'47500001e6100000010200000000000000'", "line"},
      {"UPDATE site SET declination_deg=400", "declination_deg"},
      {"UPDATE design SET id='00000000-0000-4000-8000-00000000dead', crop_needs='[[[['",
       "crop_needs"},
  };
  for (const Cell& cell : cells) {
    CAPTURE(cell.change);
    TwoCopies two;
    REQUIRE(alter_file(two.theirs, cell.change));
    const auto received = FieldBook::open(two.theirs, Access::received);
    if (!received) {  // the site's own row: nothing to hang the others on
      CHECK(said(received.error()).find("error.file_names_no_site") != std::string::npos);
    } else {
      REQUIRE_FALSE(received->remarks().empty());
      CHECK(received->remarks()[0].where.find(cell.told) != std::string::npos);
      for (const CheckItem& item : must(check_site(*received)))
        if (item.weight == Weight::damage) CHECK(item.where.find("sighting/") == 0);
    }
    // And in a file that lies among one's own: an answer, never the end of the program.
    auto own = FieldBook::open(two.theirs);
    REQUIRE(own);
    (void)own->all<Sighting>();
    (void)own->site();
    (void)own->design();
    (void)check_site(*own);
  }
}

TEST_CASE("a layer without its top and a site id that is a path are answered [regression]") {
  TwoCopies two;
  REQUIRE(alter_file(two.theirs, "UPDATE soil_layer SET top_m=NULL; UPDATE site SET id='../..'"));
  const auto received = FieldBook::open(two.theirs, Access::received);
  REQUIRE_FALSE(received);
  CHECK(said(received.error()).find("error.file_names_no_site") != std::string::npos);
  const auto own = must(FieldBook::open(two.theirs));
  const auto site = own.site();
  REQUIRE_FALSE(site);
  CHECK(site.error().where.find("site.id") == 0);
  CHECK(must(own.all<SoilLayer>()).front().top_m == 0);
}

TEST_CASE("an exhausted row counter is renewed; marks go on [regression]") {
  TwoCopies two;
  REQUIRE(alter_file(two.theirs, "UPDATE sqlite_sequence SET seq=9223372036854775807"));
  FieldBook book = must(FieldBook::open(two.theirs));
  must(book.put(Sighting{.station_id = two.full.station.id}));
  CHECK(must(book.all<Sighting>()).size() == 10);
}

TEST_CASE(
    "check names a reading that was changed, put in or taken out past the program [property]") {
  const auto damage = [](const std::string& path) {
    std::string all;
    for (const CheckItem& item : must(check_site(must(FieldBook::open(path, Access::read)))))
      if (item.weight == Weight::damage) all += item.where + ": " + said(item.what) + "\n";
    return all;
  };
  TwoCopies two;
  CHECK(damage(two.theirs) == "");
  SUBCASE("changed") {
    REQUIRE(alter_file(two.theirs, "UPDATE sighting SET elevation_deg=6 WHERE label='spruce'"));
    const std::string told = damage(two.theirs);
    CHECK(told.find("sighting \"spruce\", number 1") == 0);
    CHECK(told.find("error.reading_changed") != std::string::npos);
    CHECK(std::count(told.begin(), told.end(), '\n') == 1);
  }
  SUBCASE("a clock at UTC whose offset came as -0: no change, a file keeps no sign of nought") {
    FieldBook book = must(FieldBook::open(two.theirs));
    HeadingCheckRow check = two.full.check;
    check.id.clear();
    check.time.utc_offset_h = -0.0;
    must(book.put(check));
    must(book.close());
    CHECK(damage(two.theirs) == "");
  }
  SUBCASE("taken out") {
    REQUIRE(alter_file(two.theirs, "DELETE FROM sighting WHERE label='spruce'"));
    CHECK(damage(two.theirs).find("error.reading_taken_out") != std::string::npos);
  }
  SUBCASE("put in") {
    REQUIRE(alter_file(two.theirs,
                       "INSERT INTO sighting SELECT 100, '00000000-0000-4000-8000-00000000beef', "
                       "station_id, time_utc, time_utc_offset_h, 12, reference, elevation_deg, "
                       "bearing_sigma_deg, elevation_sigma_deg, instrument, back_bearing, kind, "
                       "label, layer, edge, distance_m, width_deg, aim_group, photo_id, note, "
                       "voided_utc, voided_utc_offset_h, void_reason, row_stamp, changed_utc FROM "
                       "sighting LIMIT 1"));
    CHECK(damage(two.theirs).find("error.reading_put_in") != std::string::npos);
  }
  SUBCASE("a link rewritten") {
    REQUIRE(
        alter_file(two.theirs, "UPDATE adret_chain SET reading_sha256=chain_sha256 WHERE seq=3"));
    CHECK(damage(two.theirs).find("error.chain_changed") != std::string::npos);
  }
  SUBCASE("voided, relabelled, undone and done again by the program: nothing") {
    FieldBook book = must(FieldBook::open(two.theirs));
    must(book.void_sighting(two.full.sighting.id, "a slip", {1.8e9, 0}));
    must(book.undo());
    must(book.put(Sighting{.station_id = two.full.station.id}));
    must(book.undo());
    must(book.close());
    CHECK(damage(two.theirs) == "");
  }
}

TEST_CASE("a file copied without its log is not called complete [regression]") {
  TempFolder folder;
  FullSite full;
  FieldBook book = must(FieldBook::create(folder / "a.gpkg", full.site));
  full.put_into(book);
  fs::copy_file(folder / "a.gpkg", folder / "b.gpkg");
  const FieldBook copy = must(FieldBook::open(folder / "b.gpkg", Access::read));
  REQUIRE_FALSE(copy.remarks().empty());
  CHECK(said(copy.remarks()[0]).find("error.log_missing") != std::string::npos);
  bool told = false;
  for (const CheckItem& item : must(check_site(copy)))
    told = told || said(item.what).find("error.log_missing") != std::string::npos;
  CHECK(told);
  must(book.close());
  CHECK(must(FieldBook::open(folder / "a.gpkg", Access::read)).remarks().empty());
}

namespace {

// The file and its rollback journal as a power cut in the middle of a change leaves them.
void leave_hot_journal(const std::string& path, const std::string& to) {
  sqlite3* db = nullptr;
  REQUIRE(sqlite3_open(path.c_str(), &db) == SQLITE_OK);
  REQUIRE(sqlite3_exec(
              db,
              "PRAGMA cache_size=1; BEGIN; UPDATE sighting SET label=label||hex(randomblob(900));"
              "UPDATE visit SET note=hex(randomblob(90000))",
              nullptr, nullptr, nullptr) == SQLITE_OK);
  fs::copy_file(path, to);
  fs::copy_file(path + "-journal", to + "-journal");
  REQUIRE(sqlite3_exec(db, "ROLLBACK", nullptr, nullptr, nullptr) == SQLITE_OK);
  sqlite3_close(db);
}

}  // namespace

TEST_CASE("a journal that a power cut left is played back, read or received [regression]") {
  TempFolder folder;
  FullSite full;
  {
    FieldBook book = must(FieldBook::create(folder / "a.gpkg", full.site));
    full.put_into(book);
  }
  int n = 0;
  for (const Access access : {Access::read, Access::received, Access::write}) {
    const std::string path = folder / (std::to_string(++n) + ".gpkg");
    leave_hot_journal(folder / "a.gpkg", path);
    const FieldBook book = must(FieldBook::open(path, access));
    CHECK(content_of(book) == full.content());
    CHECK(must(book.photo_bytes(full.photo.id)) == full.photo_bytes);
  }
  leave_hot_journal(folder / "a.gpkg", folder / "r.gpkg");
  const Recovery saved = must(recover(folder / "r.gpkg", folder / "saved.gpkg"));
  CHECK(saved.photo_bytes == 1);
  CHECK(must(must(FieldBook::open(folder / "saved.gpkg")).get<Visit>(full.visit.id)).note == "");
}

TEST_CASE("a journal that names other files is never played back [property]") {
  TempFolder folder;
  FullSite full;
  {
    FieldBook book = must(FieldBook::create(folder / "a.gpkg", full.site));
    full.put_into(book);
  }
  leave_hot_journal(folder / "a.gpkg", folder / "b.gpkg");
  // SQLite file format 3.: the name of a super-journal at the end; SQLite would delete that file.
  const std::string victim = folder / "victim";
  std::ofstream(victim) << "precious";
  std::ofstream journal(folder / "b.gpkg-journal", std::ios::binary | std::ios::app);
  std::string tail = victim;
  std::uint32_t sum = 0;
  for (const char c : victim) sum += static_cast<std::uint32_t>(static_cast<signed char>(c));
  for (const std::uint32_t number : {static_cast<std::uint32_t>(victim.size()), sum})
    for (int shift = 24; shift >= 0; shift -= 8) tail += static_cast<char>(number >> shift & 0xff);
  journal << tail << "\xd9\xd5\x05\xf9\x20\xa1\x63\xd7";
  journal.close();
  for (const Access access : {Access::read, Access::received, Access::write}) {
    const auto book = FieldBook::open(folder / "b.gpkg", access);
    REQUIRE_FALSE(book);
    CHECK(said(book.error()).find("error.journal_of_other_files") != std::string::npos);
  }
  must(recover(folder / "b.gpkg", folder / "saved.gpkg"));
  CHECK(fs::exists(victim));
}

TEST_CASE("100,000 readings pass the door in two seconds [property]") {
  TempFolder folder;
  FullSite full;
  {
    FieldBook book = must(FieldBook::create(folder / "a.gpkg", full.site));
    full.put_into(book);
    must(book.change("fill", [&]() -> horizon::Result<void> {
      for (int i = 0; i < 100'000; ++i)
        must(book.put(Sighting{.station_id = full.station.id, .bearing_deg = i % 3600 / 10.0}));
      return {};
    }));
  }
  const auto begin = std::chrono::steady_clock::now();
  const FieldBook book = must(FieldBook::open(folder / "a.gpkg", Access::received));
  const double took =
      std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  MESSAGE("through the door in " << took << " s");
  CHECK(must(book.all<Sighting>()).size() == 100'001);
  CHECK(took < 60);  // under sanitizers and load; 1.2 s alone
}
