#include "survey/book/merge.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>

#include "survey/assess/site_check.h"
#include "tests/survey/site_fixture.h"

using namespace survey;
namespace fs = std::filesystem;

namespace {

struct Pair {
  TempFolder folder;
  Pair() {
    FieldBook book = must(FieldBook::create(folder / "origin.gpkg", FullSite().site));
    FullSite().put_into(book);
    must(book.export_to(folder / "a.gpkg"));
    must(book.export_to(folder / "b.gpkg"));
  }
  FieldBook open(const char* name) { return must(FieldBook::open(folder / name)); }
  // Merges copies, so that a and b can be used again.
  std::string merged(const char* first, const char* second, MergeReport* report = nullptr,
                     const Choices& choices = {}) {
    const std::string out = folder / "out.gpkg";
    fs::remove(out);
    must(open(first).export_to(out));
    FieldBook mine = must(FieldBook::open(out));
    const FieldBook theirs = must(FieldBook::open(folder / second, Access::received));
    const MergeReport result = must(merge(mine, theirs, choices));
    if (report) *report = result;
    const std::string content = content_of(mine);
    const MergeReport again = must(merge(mine, theirs, choices));
    CHECK(again.added + again.changed + again.removed == 0);
    CHECK(content_of(mine) == content);
    CHECK(again.conflicts.size() == result.conflicts.size());
    return content;
  }
};

}  // namespace

TEST_CASE("[property] copies edited apart merge to the same content whichever comes first") {
  int without_conflict = 0;
  for (unsigned seed = 1; seed <= 16; ++seed) {
    Pair pair;
    {
      FieldBook a = pair.open("a.gpkg"), b = pair.open("b.gpkg");
      RandomEdits on_a(seed), on_b(seed + 1000);
      for (int i = 0; i < 4; ++i) on_a.one(a), on_b.one(b);
    }
    MergeReport ab, ba;
    const std::string first = pair.merged("a.gpkg", "b.gpkg", &ab);
    const std::string second = pair.merged("b.gpkg", "a.gpkg", &ba);
    CHECK(ab.conflicts.size() == ba.conflicts.size());
    if (!ab.conflicts.empty()) continue;
    ++without_conflict;
    CHECK(first == second);
  }
  CHECK(without_conflict >= 3);
}

TEST_CASE("[property] different columns of one row changed apart are both kept") {
  Pair pair;
  {
    FieldBook a = pair.open("a.gpkg"), b = pair.open("b.gpkg");
    Visit on_a = must(a.get<Visit>(FullSite().visit.id)), on_b = on_a;
    on_a.weather = "snow";
    on_b.note = "gate locked";
    must(a.put(on_a));
    must(b.put(on_b));
  }
  MergeReport report;
  const std::string content = pair.merged("a.gpkg", "b.gpkg", &report);
  CHECK(report.conflicts.empty());
  CHECK(content.find("\"snow\"") != std::string::npos);
  CHECK(content.find("gate locked") != std::string::npos);
  CHECK(content == pair.merged("b.gpkg", "a.gpkg"));
}

TEST_CASE("[property] one column changed differently shows both values and waits for a choice") {
  Pair pair;
  {
    FieldBook a = pair.open("a.gpkg"), b = pair.open("b.gpkg");
    Visit on_a = must(a.get<Visit>(FullSite().visit.id)), on_b = on_a;
    on_a.weather = "snow";
    on_b.weather = "rain";
    must(a.put(on_a));
    must(b.put(on_b));
    must(b.put(Hazard{}));
  }
  MergeReport report;
  const std::string before = content_of(pair.open("a.gpkg"));
  const std::string undecided = pair.merged("a.gpkg", "b.gpkg", &report);
  REQUIRE(report.conflicts.size() == 1);
  CHECK(report.conflicts[0].column == "weather");
  CHECK(report.conflicts[0].mine == "snow");
  CHECK(report.conflicts[0].theirs == "rain");
  CHECK(report.added == 1);  // what is no conflict is merged
  CHECK(undecided.find("\"snow\"") != std::string::npos);

  Choices choices;
  choices.by_key[report.conflicts[0].key()] = Take::theirs;
  const std::string rain = pair.merged("a.gpkg", "b.gpkg", &report, choices);
  CHECK(rain.find("\"rain\"") != std::string::npos);
  CHECK(rain.find("\"snow\"") == std::string::npos);
  choices.by_key.begin()->second = Take::mine;
  CHECK(pair.merged("b.gpkg", "a.gpkg", &report, choices) == rain);
}

TEST_CASE("[property] a removal meets a change: it is asked; meets nothing: it is done") {
  Pair pair;
  {
    FieldBook a = pair.open("a.gpkg"), b = pair.open("b.gpkg");
    must(a.remove<SiteNote>(FullSite().note.id));
    SiteNote note = FullSite().note;
    note.text = "changed there";
    must(b.put(note));
    must(b.remove<Hazard>(FullSite().hazard.id));
  }
  MergeReport report;
  pair.merged("a.gpkg", "b.gpkg", &report);
  REQUIRE(report.conflicts.size() == 1);
  CHECK(report.conflicts[0].mine == "removed");
  CHECK(report.removed == 1);
  Choices theirs;
  theirs.all = Take::theirs;
  CHECK(pair.merged("a.gpkg", "b.gpkg", &report, theirs).find("changed there") !=
        std::string::npos);
}

TEST_CASE("[property] a station removed here comes back if aims were taken from it there") {
  Pair pair;
  Station extra;
  extra.id = FullSite::id(77);
  extra.name = "second";
  {
    FieldBook origin = pair.open("a.gpkg");
    must(origin.put(extra));
  }
  fs::remove(pair.folder / "b.gpkg");
  must(pair.open("a.gpkg").export_to(pair.folder / "b.gpkg"));
  {
    FieldBook a = pair.open("a.gpkg"), b = pair.open("b.gpkg");
    must(a.remove<Station>(extra.id));
    Sighting aim;
    aim.id = FullSite::id(78);
    aim.station_id = extra.id;
    must(b.put(aim));
  }
  MergeReport report;
  const std::string ab = pair.merged("a.gpkg", "b.gpkg", &report);
  CHECK(report.kept == 1);
  CHECK(ab.find("second") != std::string::npos);
  CHECK(ab == pair.merged("b.gpkg", "a.gpkg"));
}

TEST_CASE("[property] an undone change counts as the newer state") {
  Pair pair;
  Visit visit = FullSite().visit;
  {
    FieldBook a = pair.open("a.gpkg");
    visit.weather = "snow";
    must(a.put(visit));
  }
  fs::remove(pair.folder / "b.gpkg");
  must(pair.open("a.gpkg").export_to(pair.folder / "b.gpkg"));
  {
    FieldBook a = pair.open("a.gpkg");
    must(a.undo());
  }
  const std::string content = pair.merged("b.gpkg", "a.gpkg");
  CHECK(content.find("\"snow\"") == std::string::npos);
}

TEST_CASE("[property] photographs come along with their bytes; other sites only by import") {
  Pair pair;
  const std::string picture = tiny_png(9);
  Photo photo;
  photo.file_name = "ridge.png";
  {
    FieldBook b = pair.open("b.gpkg");
    photo.id = must(b.add_photo(photo, picture));
  }
  FieldBook a = pair.open("a.gpkg");
  {
    const FieldBook b = must(FieldBook::open(pair.folder / "b.gpkg", Access::received));
    CHECK(must(merge(a, b)).photo_bytes == 1);
    CHECK(must(a.photo_bytes(photo.id)) == picture);
  }
  Site other;
  other.name = "another";
  FieldBook book = must(FieldBook::create(pair.folder / "other.gpkg", other));
  CHECK_FALSE(merge(book, a));
  const MergeReport joined = must(import_site(book, a));
  CHECK(joined.added > 10);
  CHECK(must(book.site()).name == "another");
  CHECK(must(book.photo_bytes(photo.id)) == picture);
}
