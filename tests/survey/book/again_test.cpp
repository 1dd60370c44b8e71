// What is imported a second time adds nothing; what an entry may be is said in one table.
#include "survey/book/again.h"

#include <doctest/doctest.h>

#include "survey/exchange/exchange.h"
#include "tests/survey/site_fixture.h"

using namespace survey;

namespace {

constexpr const char* kMarks =
    "bearing,elevation,kind,label\n"
    "100,12,ridge,Grat\n110,13.5,ridge,Grat\n110,13.5,pole,mast\n120,9,leafy,birch\n";
constexpr const char* kGpx =
    R"(<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="46.6" lon="10.3"><name>chapel</name></wpt>
<wpt lat="46.7" lon="10.4"><name>A</name><type>station</type></wpt>
<trk><name>way</name><trkseg><trkpt lat="46.6" lon="10.3"/><trkpt lat="46.61" lon="10.3"/></trkseg></trk>
</gpx>)";
constexpr const char* kGeoJson =
    R"({"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"name":"mast"},"geometry":{"type":"Point","coordinates":[10.3,46.6]}},
{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[10.3,46.6],[10.31,46.6]]}}]})";

FieldBook book_with_station(const std::string& path) {
  Site site;
  site.name = "Larkholm";
  FieldBook book = must(FieldBook::create(path, site));
  Station station;
  station.name = "bed";
  station.main = true;
  must(book.put(station));
  return book;
}

}  // namespace

TEST_CASE("a table, a GPX or a GeoJSON imported again adds nothing and says so [property]") {
  TempFolder folder;
  FieldBook book = book_with_station(folder / "a.gpkg");
  const ImportReport marks = must(import_marks(book, kMarks));
  CHECK(marks.sightings == 4);  // an aim repeated within one table is two aims
  CHECK(must(import_gpx(book, kGpx)).already == 0);
  CHECK(must(import_geojson(book, kGeoJson)).already == 0);
  const std::string before = content_of(book);
  CHECK(must(import_marks(book, kMarks)).already == 4);
  CHECK(must(import_gpx(book, kGpx)).already == 3);
  CHECK(must(import_geojson(book, kGeoJson)).already == 2);
  CHECK(content_of(book) == before);
}

TEST_CASE("what was relabelled or voided since is known again, and so is an export [property]") {
  TempFolder folder;
  FieldBook book = book_with_station(folder / "a.gpkg");
  must(import_marks(book, kMarks));
  auto rows = must(book.all<Sighting>());
  rows[0].label = "Kar";
  must(book.put(rows[0]));
  must(book.void_sighting(rows[3].id, "a slip", {1.8e9, 0}));
  CHECK(must(import_marks(book, kMarks)).already == 4);
  CHECK(must(import_marks(book, must(marks_csv_of(book)))).already == 3);
  CHECK(must(book.all<Sighting>()).size() == 4);
}

TEST_CASE("two people who import one table and merge have its rows once [property]") {
  TempFolder folder;
  FieldBook a = book_with_station(folder / "a.gpkg");
  must(a.export_to(folder / "b.gpkg"));
  FieldBook b = must(FieldBook::open(folder / "b.gpkg"));
  must(import_marks(a, kMarks));
  must(import_marks(b, kMarks));
  CHECK(must(a.all<Sighting>())[0].id == must(b.all<Sighting>())[0].id);
}

TEST_CASE("after an undo the same table can be imported again [property]") {
  TempFolder folder;
  FieldBook book = book_with_station(folder / "a.gpkg");
  must(import_marks(book, kMarks));
  must(book.undo());
  CHECK(must(import_marks(book, kMarks)).sightings == 4);
}

TEST_CASE("screens, import and check ask one table what an entry may be [property]") {
  CHECK(range_of("sighting", "elevation_deg")->max == 90);
  CHECK(range_of("site", "declination_deg")->likely_high == 45);
  CHECK_FALSE(range_of("site", "name"));
  CHECK_FALSE(range_of("site", "no_such_column"));
  for (const Table* table : all_tables())
    for (const Column& column : table->columns) {
      CAPTURE(table->name + "." + column.name);
      CHECK(column.range.min <= column.range.likely_low);
      CHECK(column.range.likely_low < column.range.likely_high);
      CHECK(column.range.likely_high <= column.range.max);
    }
}

TEST_CASE(
    "a layer without its top is a layer from the surface, and never ends the program [regression]") {
  Cells cells = cells_of(SoilLayer{});
  const Table& table = table_of<SoilLayer>();
  cells[1] = FullSite::id(10);
  cells[table.index_of("top_m")] = Cell();
  cells[table.index_of("bottom_m")] = 0.3;
  check_cells(table, cells);
  CHECK(std::get<double>(cells[table.index_of("top_m")]) == 0);
}
