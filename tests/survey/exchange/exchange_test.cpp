#include "survey/exchange/exchange.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "survey/assess/station_skyline.h"
#include "survey/book/photo_file.h"
#include "survey/book/text.h"
#include "tests/near.h"
#include "tests/said.h"
#include "tests/shell.h"
#include "tests/survey/site_fixture.h"

using namespace survey;
namespace fs = std::filesystem;

namespace {

struct Book {
  TempFolder folder;
  FieldBook book = must(FieldBook::create(folder / "site.gpkg", FullSite().site));
};

struct Full : Book {
  FullSite full;
  Full() { full.put_into(book); }
};

// Output of a program from outside; its status is checked.
std::string output_of(const std::string& command) {
  const Shell run = shell(command + " 2>&1");
  INFO(command << "\n" << run.words);
  CHECK(run.exit_code == 0);
  return run.words;
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("[property] GeoJSON out and in again gives the same rows") {
  Full a;
  const std::string text = must(geojson_of(a.book));
  TempFolder folder;
  FieldBook b = must(FieldBook::create(folder / "b.gpkg", a.full.site));
  const ImportReport report = must(import_geojson(b, text));
  for (const auto& error : report.errors) FAIL(error.where << ": " << said(error));
  CHECK(content_of(b) == content_of(a.book));
  CHECK(must(import_geojson(b, text)).rows == 0);  // again: all are here already
  CHECK(b.undo_steps() == 1);
}

// RFC 7946: 3.1.1 longitude first, then latitude, then height; 4 and 7 WGS 84 only, no "crs";
// 3.2 a Feature holds "geometry" and "properties", and may hold nothing of a geometry's beside them.
TEST_CASE("[published] GeoJSON keeps the rules of RFC 7946") {
  Full a;
  const auto json = nlohmann::json::parse(must(geojson_of(a.book)));
  CHECK(json["type"] == "FeatureCollection");
  CHECK_FALSE(json.contains("crs"));
  int points = 0;
  for (const auto& feature : json["features"]) {
    CHECK(feature["type"] == "Feature");
    CHECK(feature["properties"].is_object());
    REQUIRE(feature.contains("geometry"));
    CHECK_FALSE(feature.contains("coordinates"));
    const auto& geometry = feature["geometry"];
    if (geometry.is_null()) continue;
    const bool point = geometry["type"] == "Point";
    CHECK((point || geometry["type"] == "LineString"));
    for (const auto& at :
         point ? nlohmann::json::array({geometry["coordinates"]}) : geometry["coordinates"]) {
      CHECK(at.size() >= 2);
      CHECK(at.size() <= 3);
      CHECK(std::abs(at[0].get<double>()) <= 180);
      CHECK(std::abs(at[1].get<double>()) <= 90);
      ++points;
    }
    if (feature["properties"]["table"] == "station") CHECK(geometry["coordinates"][0] == 10.3478);
  }
  CHECK(points > 3);
}

TEST_CASE(
    "[property] the clean package opens as the same site, without undo and removed pictures") {
  Full a;
  const std::string bytes = tiny_png(3);
  Photo photo;
  const Id removed = must(a.book.add_photo(photo, bytes));
  must(a.book.remove<Photo>(removed));
  const std::string out = a.folder / "out.gpkg";
  must(a.book.export_to(out));
  CHECK_FALSE(fs::exists(out + "-wal"));
  CHECK_FALSE(fs::exists(out + ".part"));
  CHECK_FALSE(a.book.export_to(out));  // never over a file that is there
  const FieldBook b = must(FieldBook::open(out, Access::received));
  CHECK(content_of(b) == content_of(a.book));
  CHECK(b.undo_steps() == 0);
  CHECK(must(b.photo_bytes(a.full.photo.id)) == a.full.photo_bytes);
  CHECK_FALSE(has(must(read_file(out)), bytes));
}

// Every table's statement and every cell of it; pictures by their hash, in whatever order they came.
std::vector<std::vector<Cell>> all_cells(const std::string& path) {
  Database db(path, "mode=ro");
  std::vector<std::vector<Cell>> cells;
  const auto rows_of = [&](const std::string& sql) {
    Statement rows = db.prepare(sql);
    while (rows.step()) {
      cells.emplace_back();
      for (int i = 0; i < rows.columns(); ++i) cells.back().push_back(rows.cell(i));
    }
  };
  rows_of("SELECT type, name, sql FROM sqlite_master ORDER BY type, name");
  const auto schema = cells;
  for (const auto& entry : schema) {
    const auto& name = std::get<std::string>(entry[1]);
    if (std::get<std::string>(entry[0]) == "table" && name != "photo_data" &&
        name != "sqlite_sequence")
      rows_of("SELECT * FROM " + sql_name(name) + " ORDER BY 1, 2");
  }
  rows_of("SELECT sha256, bytes FROM photo_data ORDER BY 1");
  rows_of("SELECT name, seq FROM sqlite_sequence WHERE name <> 'photo_data' ORDER BY 1");
  return cells;
}

TEST_CASE("[property] rows first and pictures one by one make the same copy as all at once") {
  Full a;
  for (unsigned char i = 10; i < 14; ++i) must(a.book.add_photo({}, tiny_png(i)));
  const std::string whole = a.folder / "whole.gpkg", slow = a.folder / "slow.gpkg",
                    again = a.folder / "again.gpkg";
  must(a.book.export_to(whole));
  must(a.book.export_to(slow, {.photo_bytes = false}));
  CHECK(all_cells(slow) != all_cells(whole));
  auto photos = must(PhotoCopy::begin(a.book, slow));
  CHECK(photos.part() == 0);
  int steps = 1;
  for (; must(photos.step()); ++steps) CHECK(photos.part() < 1);
  CHECK(steps == 5);
  CHECK(all_cells(slow) == all_cells(whole));
  Database db(slow, "mode=ro");
  CHECK(db.number("PRAGMA application_id") == 0x47504B47);
  CHECK(db.number("PRAGMA user_version") == 10300);
  CHECK(db.word("PRAGMA integrity_check") == "ok");
  // Of a file that may only be read, too.
  const auto read = must(FieldBook::open(whole, Access::read));
  must(read.export_to(again, {.photo_bytes = false}));
  CHECK(must(PhotoCopy::begin(read, again)).part() == 0);
}

TEST_CASE("[published] GDAL reads the GeoPackage: layers, points with heights, attributes") {
  Full a;
  const std::string out = a.folder / "out.gpkg";
  must(a.book.export_to(out));
  const std::string all = output_of("ogrinfo -ro -al " + out);
  CHECK_FALSE(has(all, "Warning"));
  CHECK_FALSE(has(all, "ERROR"));
  for (const Table* table : all_tables()) CHECK(has(all, "Layer name: " + table->name));
  CHECK(has(all, "POINT Z (10.3478 46.6213 1482)"));
  CHECK(has(all, "LINESTRING ZM"));
  CHECK(has(all, "bearing_deg (Real) = 123.4"));
  CHECK(has(all, "GEOGCRS[\"WGS 84\""));
  const std::string copy = a.folder / "copy.geojson";
  output_of("ogr2ogr -f GeoJSON " + copy + " " + out + " station");
  CHECK(has(must(read_file(copy)), "[ 10.3478, 46.6213, 1482.0 ]"));
}

TEST_CASE("[published] GDAL reads our GPX and GeoJSON") {
  Full a;
  must(write_file(a.folder / "a.gpx", must(gpx_of(a.book))));
  must(write_file(a.folder / "a.geojson", must(geojson_of(a.book))));
  const std::string gpx = output_of("ogrinfo -ro -al " + (a.folder / "a.gpx"));
  CHECK(has(gpx, "POINT (10.3478 46.6213)"));
  CHECK(has(gpx, "ele (Real) = 1482"));
  CHECK(has(gpx, "chapel"));
  CHECK(has(gpx, "Layer name: tracks"));
  const std::string json = output_of("ogrinfo -ro -al " + (a.folder / "a.geojson"));
  CHECK(has(json, "Feature Count: 22"));
  CHECK(has(json, "POINT Z (10.3478 46.6213 1482)"));
}

TEST_CASE("[published] GPX keeps to the order, kinds and ranges of the GPX 1.1 schema") {
  Full a;
  Station edge = a.full.station;
  edge.id.clear();
  edge.name = "<b>&'\"]]> شمس \x01";
  edge.position = {-0.00000123, 180, 0.00004};
  edge.note = "two\nlines";
  must(a.book.put(edge));
  must(write_file(a.folder / "a.gpx", must(gpx_of(a.book))));
  const std::string schema = ADRET_TEST_DATA "/gpx_1_1_rules.xsd";
  output_of("xmllint --noout --schema " + schema + " " + (a.folder / "a.gpx"));
  Book b;
  CHECK(must(import_gpx(b.book, must(read_file(a.folder / "a.gpx")))).stations == 2);
  const Position back = must(b.book.all<Station>()).back().position;
  CHECK(back.latitude_deg == edge.position.latitude_deg);
  CHECK(back.longitude_deg == -180);
  CHECK(back.height_m == edge.position.height_m);
}

TEST_CASE("[published] GDAL's GeoPackage validation passes, of the open file and the clean one") {
  Full a;
  must(a.book.export_to(a.folder / "out.gpkg"));
  const std::string validate = "/usr/bin/python3 -m osgeo_utils.samples.validate_gpkg --extra ";
  output_of(validate + a.folder.path.string() + "/out.gpkg");
  must(a.book.close());
  output_of(validate + a.folder.path.string() + "/site.gpkg");
}

TEST_CASE("[published] the rules of OGC 12-128r18 hold for an exported package") {
  Full a;
  const std::string out = a.folder / "out.gpkg";
  must(a.book.export_to(out));
  Database db(out, "mode=ro");
  // Requirements 1 and 2: an SQLite 3 file with the application id; 1.1.1.1.1.
  CHECK(must(read_file(out)).starts_with(std::string("SQLite format 3\0", 16)));
  CHECK(db.number("PRAGMA application_id") == 0x47504B47);
  CHECK(db.number("PRAGMA user_version") == 10300);
  // Requirements 6 and 7.
  CHECK(db.word("PRAGMA integrity_check") == "ok");
  CHECK_FALSE(db.prepare("PRAGMA foreign_key_check").step());
  // Requirement 11: the three reference systems.
  CHECK(db.number("SELECT count(*) FROM gpkg_spatial_ref_sys WHERE (srs_id=-1 AND organization="
                  "'NONE') OR (srs_id=0 AND organization='NONE') OR (srs_id=4326 AND "
                  "organization='EPSG' AND organization_coordsys_id=4326)") == 3);
  // Requirement 5: only the standard's column types.
  const std::vector<std::string> allowed = {
      "BOOLEAN", "TINYINT", "SMALLINT", "MEDIUMINT", "INT",      "INTEGER", "FLOAT",     "DOUBLE",
      "REAL",    "TEXT",    "BLOB",     "DATE",      "DATETIME", "POINT",   "LINESTRING"};
  Statement contents = db.prepare("SELECT table_name, data_type, last_change FROM gpkg_contents");
  int features = 0;
  while (contents.step()) {
    const std::string name = contents.text(0);
    INFO(name);
    // Requirement 15: ISO 8601 with milliseconds, UTC.
    const std::string change = contents.text(2);
    CHECK(change.size() == 24);
    CHECK(change[10] == 'T');
    CHECK(change.ends_with("Z"));
    Statement columns = db.prepare("PRAGMA table_info(" + sql_name(name) + ")");
    int keys = 0, geometries = 0;
    while (columns.step()) {
      const std::string type = columns.text(2);
      CHECK(std::ranges::find(allowed, type) != allowed.end());
      // Requirements 29 and 118: an integer primary key.
      if (columns.integer(5) == 1) {
        ++keys;
        CHECK(type == "INTEGER");
      }
      geometries += type == "POINT" || type == "LINESTRING";
    }
    CHECK(keys == 1);
    CHECK(geometries == (contents.text(1) == "features" ? 1 : 0));
    if (contents.text(1) != "features") continue;
    ++features;
    // Requirements 21 to 27: one registration, type in upper case, srs as in gpkg_contents.
    CHECK(db.number("SELECT count(*) FROM gpkg_geometry_columns g JOIN gpkg_contents c USING "
                    "(table_name) WHERE g.table_name='" +
                    name +
                    "' AND g.srs_id=c.srs_id AND g.z IN (0,1,2) AND g.m IN (0,1,2) AND "
                    "geometry_type_name IN ('POINT','LINESTRING')") == 1);
  }
  CHECK(features == 11);
  // Requirement 19: the blob's header; flags 1 = little-endian, no envelope; srs 4326.
  CHECK(db.word("SELECT hex(substr(position, 1, 8)) FROM station") == "47500001E6100000");
  // Well-known binary, 1.2.0 codes: point with z = 1001.
  CHECK(db.word("SELECT hex(substr(position, 9, 5)) FROM station") == "01E9030000");
  CHECK(db.number("SELECT count(*) FROM sqlite_master WHERE type IN ('trigger','view')") == 0);
}

TEST_CASE("[property] GPX out and in keeps stations, landmarks and paths") {
  Full a;
  const std::string xml = must(gpx_of(a.book));
  Book b;
  const ImportReport report = must(import_gpx(b.book, xml));
  CHECK(report.errors.empty());
  CHECK(report.stations == 1);
  CHECK(report.landmarks == 1);
  CHECK(report.paths == 1);
  const Station station = must(b.book.all<Station>()).front();
  CHECK(station.position == a.full.station.position);
  CHECK(station.time.utc_s == a.full.station.time.utc_s);
  const Path path = must(b.book.all<Path>()).front();
  CHECK(path.kind == PathKind::boundary);
  CHECK(path.points.front() == a.full.path.points.front());
}

TEST_CASE("[property] sightings as a table come back as the same sightings") {
  Full a;
  for (int i = 0; i < 20; ++i) {
    Sighting s;
    s.station_id = a.full.station.id;
    s.time = a.full.sighting.time;
    s.bearing_deg = i * 17.3;
    s.elevation_deg = i / 3.0;
    s.reference = i % 2 ? Reference::grid : Reference::true_north;
    s.label = i % 3 ? "ridge, \"north\"" : "قمة";
    must(a.book.put(s));
  }
  const std::string csv = must(marks_csv_of(a.book));
  Book b;
  must(b.book.put(a.full.station));
  const ImportReport report = must(import_marks(b.book, csv));
  for (const auto& error : report.errors) FAIL(error.where << ": " << said(error));
  CHECK(report.sightings == 21);
  CHECK(must(marks_csv_of(b.book)) == csv);
}

TEST_CASE("[property] hostile files are refused with a reason, and nothing of them stays") {
  Book a;
  const std::string before = content_of(a.book);
  auto refused = [&](const horizon::Result<ImportReport>& result) {
    if (result)
      CHECK_FALSE(result->errors.empty());
    else
      CHECK_FALSE(result.error().empty());
    CHECK(content_of(a.book) == before);
  };
  refused(import_geojson(a.book, std::string(200000, '[')));
  refused(import_geojson(a.book, R"({"type":"Point","coordinates":[1e400,5]})"));
  refused(import_geojson(a.book, R"({"type":"Point","coordinates":[1e300,5]})"));
  refused(import_geojson(a.book, R"({"type":"Point","coordinates":["a",5]})"));
  refused(import_geojson(a.book, R"({"type":"FeatureCollection","features":[null,{},[],7]})"));
  refused(import_geojson(
      a.book,
      R"({"type":"Feature","geometry":null,"properties":{"table":"sighting","id":"'; DROP TABLE site;--"}})"));
  refused(import_geojson(
      a.book,
      R"({"type":"Feature","geometry":{"type":"Point"},"properties":{"table":"station"}})"));
  refused(import_geojson(a.book, "{\"type\":\"Point\""));
  refused(import_gpx(a.book, "<gpx><wpt lat='91' lon='0'/></gpx>"));
  refused(import_gpx(a.book, "<gpx><wpt lat='nan' lon='0'/></gpx>"));
  refused(import_gpx(a.book, "<html></html>"));
  refused(import_gpx(a.book, "<gpx><wpt"));
  // Entities that double ten times over are not expanded.
  const auto bomb = import_gpx(a.book,
                               "<!DOCTYPE gpx [<!ENTITY a 'aaaaaaaaaa'><!ENTITY b '&a;&a;&a;&a;'>]>"
                               "<gpx><wpt lat='1' lon='1'><name>&b;</name></wpt></gpx>");
  if (bomb && bomb->landmarks == 1) {
    CHECK(must(a.book.all<Landmark>()).front().name.size() < 10);
    must(a.book.undo());
  }
  refused(import_photo(a.book, "\xff\xd8\xff\xe1\xff\xff", "x.jpg"));
  refused(import_photo(a.book, std::string("\x89PNG\r\n\x1a\n\xff\xff\xff\xffIHDR", 16), "x.png"));
  refused(import_photo(a.book, "GIF89a", "x.gif"));
}

TEST_CASE("[property] no name leads out of a folder") {
  CHECK(safe_file_name("../../etc/passwd") == "_.._etc_passwd");
  CHECK(safe_file_name("..") == "unnamed");
  CHECK(safe_file_name("") == "unnamed");
  CHECK(safe_file_name("C:\\Windows\\a") == "C__Windows_a");
  CHECK(safe_file_name("con.jpg") == "_con.jpg");
  CHECK(safe_file_name("a\nb\x7f") == "a_b_");
  CHECK(safe_file_name("gpj\u202e.exe") == "gpj.exe");
  CHECK(safe_file_name("مشهد من الشمال") == "مشهد من الشمال");
  const std::string cut = safe_file_name(std::string(79, 'a') + "ßß");
  CHECK(cut == std::string(79, 'a'));

  Full a;
  fs::create_directories(a.folder / "photos");
  const auto names = must(export_photos(a.book, a.folder / "photos"));
  REQUIRE(names.size() == 1);
  CHECK(fs::exists(fs::path(a.folder / "photos") / names[0]));
  CHECK(must(read_file((fs::path(a.folder / "photos") / names[0]).string())) == a.full.photo_bytes);
  int files = 0;
  for (const auto& entry : fs::recursive_directory_iterator(a.folder.path))
    files += entry.is_regular_file();
  CHECK(files <= 4);  // the site, its log and memory, the picture
}

namespace {

// A little-endian EXIF block: IFD0 with orientation, EXIF and GPS directories.
std::string exif_block(unsigned rational = 5) {
  std::string tiff("II*\0\x08\0\0\0", 8);
  auto two = [](unsigned v) { return std::string{char(v & 0xff), char(v >> 8)}; };
  auto four = [&](unsigned v) { return two(v & 0xffff) + two(v >> 16); };
  auto entry = [&](unsigned tag, unsigned type, unsigned count, const std::string& value) {
    return two(tag) + two(type) + four(count) + (value + std::string(4, '\0')).substr(0, 4);
  };
  // IFD0 at 8: 3 entries = 2 + 36 + 4 bytes -> EXIF IFD at 50: 3 entries = 42 -> GPS at 92:
  // 8 entries = 2 + 96 + 4 = 102 -> data from 194.
  const unsigned exif = 50, gps = 92, data = 194;
  std::string pool;
  auto stored = [&](const std::string& bytes) {
    const unsigned at = data + static_cast<unsigned>(pool.size());
    pool += bytes;
    if (pool.size() % 2) pool += '\0';
    return four(at);
  };
  auto ratio = [&](unsigned n, unsigned d) { return four(n) + four(d); };
  tiff += two(3) + entry(0x0112, 3, 1, two(6)) + entry(0x8769, 4, 1, four(exif)) +
          entry(0x8825, 4, 1, four(gps)) + four(0);
  tiff += two(3) + entry(0x9003, 2, 20, stored(std::string("2026:12:21 10:30:00\0", 20))) +
          entry(0x9011, 2, 7, stored(std::string("+01:00\0", 7))) + entry(0xa405, 3, 1, two(28)) +
          four(0);
  tiff += two(8) + entry(1, 2, 2, std::string("N\0", 2)) +
          entry(2, rational, 3, stored(ratio(46, 1) + ratio(37, 1) + ratio(1668, 100))) +
          entry(3, 2, 2, std::string("W\0", 2)) +
          entry(4, rational, 3, stored(ratio(10, 1) + ratio(20, 1) + ratio(5208, 100))) +
          entry(5, 1, 1, std::string(1, '\0')) + entry(6, 5, 1, stored(ratio(14820, 10))) +
          entry(16, 2, 2, std::string("M\0", 2)) + entry(17, 5, 1, stored(ratio(17825, 100))) +
          four(0);
  return tiff + pool;
}

std::string jpeg_with(const std::string& exif) {
  const std::string body = std::string("Exif\0\0", 6) + exif;
  const auto length = static_cast<unsigned>(body.size() + 2);
  std::string jpeg = "\xff\xd8\xff\xe1";
  jpeg += char(length >> 8);
  jpeg += char(length & 0xff);
  jpeg += body;
  jpeg += std::string("\xff\xc0\0\x11\x08\x0b\xb8\x0f\xa0\x03\1\x22\0\2\x11\1\3\x11\1", 19);
  return jpeg + std::string("\xff\xda\0\x08\1\1\0\0\x3f\0", 10) + "\xff\xd9";
}

}  // namespace

TEST_CASE("[published] EXIF time, place, direction and lens of a JPEG and a PNG (CIPA DC-008)") {
  // A block written by hand after the standard's tables: 4000 x 3000, 28 mm equivalent.
  for (const bool png : {false, true}) {
    std::string bytes = jpeg_with(exif_block());
    if (png) {
      bytes = tiny_png();
      const std::string exif = exif_block();
      std::string chunk = std::string(2, '\0') + char(exif.size() >> 8) + char(exif.size() & 0xff) +
                          "eXIf" + exif + std::string(4, '\0');
      bytes.insert(33, chunk);
    }
    const PhotoFacts facts = must(photo_facts(bytes));
    CHECK(facts.orientation == 6);
    CHECK(facts.local_s == 1797849000.0);  // 2026-12-21 10:30
    CHECK(facts.utc_offset_h == 1.0);
    REQUIRE(facts.position);
    CHECK_NEAR(facts.position->latitude_deg, 46.6213, 1e-6);
    CHECK_NEAR(facts.position->longitude_deg, -10.3478, 1e-6);
    CHECK(facts.position->height_m == 1482.0);
    CHECK(facts.bearing_deg == 178.25);
    CHECK(facts.bearing_magnetic);
    if (!png) {
      CHECK(facts.width_px == 4000);
      CHECK(facts.height_px == 3000);
      // 4:3 by the diagonal: 2 atan(43.2666 / 2 * 0.8 / 28).
      CHECK_NEAR(*facts.view_width_deg, 63.44, 0.01);
    }
    const Photo photo = photo_of(facts, "a.jpg", 5);
    CHECK(photo.time.utc_s == 1797845400.0);
    CHECK(photo.time.utc_offset_h == 1.0);
  }
}

TEST_CASE("[regression] a place in signed fractions, as some phones write it, is read") {
  const PhotoFacts facts = must(photo_facts(jpeg_with(exif_block(10))));
  REQUIRE(facts.position);
  CHECK_NEAR(facts.position->latitude_deg, 46.6213, 1e-6);
  CHECK_NEAR(facts.position->longitude_deg, -10.3478, 1e-6);
}

TEST_CASE(
    "[property] a photograph is tied to the station where its receiver was, or it is said why not") {
  Book a;
  Station near;
  near.id = FullSite::id(201);
  near.name = "garden";
  near.position = {46.6214, -10.3478, 1482};  // 11 m away
  must(a.book.put(near));
  Station far = near;
  far.id = FullSite::id(202);
  far.name = "meadow";
  far.position.latitude_deg = 46.6224;
  must(a.book.put(far));
  const auto tied = must(import_photo(a.book, jpeg_with(exif_block()), "a.jpg"));
  CHECK(tied.tied_to == near.id);
  CHECK(must(a.book.all<Photo>()).front().station_id == near.id);
  CHECK(must(import_photo(a.book, jpeg_with(exif_block()), "a.jpg")).already == 1);
  // Two stations as near: neither.
  Book b;
  must(b.book.put(near));
  far.position.latitude_deg = 46.6212;
  must(b.book.put(far));
  const auto torn = must(import_photo(b.book, jpeg_with(exif_block()), "a.jpg"));
  CHECK(torn.tied_to.empty());
  REQUIRE(torn.remarks.size() == 1);
  CHECK(torn.remarks[0].key == "error.photo_station_unclear");
  // The one station is on the other side of the valley.
  Book c;
  far.position.latitude_deg = 46.64;
  must(c.book.put(far));
  const auto away = must(import_photo(c.book, jpeg_with(exif_block()), "a.jpg"));
  CHECK(away.tied_to.empty());
  CHECK(away.remarks.at(0).key == "error.photo_station_far");
}

TEST_CASE("[property] any flip of a photograph's bytes is read or refused, never more") {
  const std::string good = jpeg_with(exif_block());
  std::mt19937 random(3);
  int read = 0;
  for (int i = 0; i < 3000; ++i) {
    std::string bad = good;
    for (int flips = 1 + random() % 4; flips > 0; --flips)
      bad[random() % bad.size()] ^= static_cast<char>(1 << random() % 8);
    if (random() % 4 == 0) bad.resize(random() % bad.size());
    read += photo_facts(bad).has_value();
  }
  CHECK(read > 100);
}

TEST_CASE("[property] voiding a check or changing the declination derives everything again") {
  Full a;
  const auto azimuth = [&] {
    return must(station_skyline(a.book, a.full.station.id)).skyline().points[0].azimuth.degrees();
  };
  // The check: read 40 magnetic, known 44.25, declination 3.5 entered: offset 0.75.
  CHECK_NEAR(azimuth(), 123.4 + 3.5 + 0.75, 1e-9);
  Site site = must(a.book.site());
  site.declination_deg = 2.0;
  must(a.book.put(site));
  CHECK_NEAR(azimuth(), 123.4 + 2.0 + 2.25, 1e-9);
  must(a.book.void_check(a.full.check.id, "wrong chapel", {}));
  CHECK_NEAR(azimuth(), 123.4 + 2.0, 1e-9);
  CHECK(must(station_skyline(a.book, a.full.station.id)).skyline().heading_sigma_deg > 3.9);
  site.declination_deg.reset();
  must(a.book.put(site));
  const StationSkyline derived = must(station_skyline(a.book, a.full.station.id));
  CHECK(derived.declination_source == "WMM2025 for 2026.90");
  CHECK_NEAR(azimuth(), 123.4 + *derived.declination_deg, 1e-9);
  must(a.book.void_sighting(a.full.sighting.id, "slip", {}));
  // What is left is the diary's.
  const auto with_contacts = must(station_skyline(a.book, a.full.station.id));
  for (const auto& point : with_contacts.skyline().points)
    CHECK((point.contact >= 0 || point.computed));
}

TEST_CASE("[property] the mean of fixes leaves out the stray one and knows the date line") {
  std::vector<Fix> fixes(5);
  const double longitudes[] = {179.9999, -179.9999, 180, 179.9999, -179.9};
  for (int i = 0; i < 5; ++i) {
    fixes[i].id = FullSite::id(i);
    fixes[i].position = {10, longitudes[i], 100.0 + i};
    fixes[i].horizontal_sigma_m = 5;
  }
  const MeanPosition mean = must(mean_position(fixes));
  CHECK(mean.used == 4);
  CHECK(mean.outliers == std::vector<Id>{FullSite::id(4)});
  CHECK_NEAR(std::abs(mean.position.longitude_deg), 180, 1e-4);
  CHECK_NEAR(mean.horizontal_sigma_m, 5 / std::sqrt(2.0), 1e-9);
  CHECK_FALSE(mean_position({}));
}
