// Which kind of file is this, what is done with it, and again.
#include <doctest/doctest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <numbers>

#include "survey/exchange/exchange.h"
#include "tests/survey/site_fixture.h"

using namespace survey;
using namespace std::string_view_literals;
namespace fs = std::filesystem;

namespace {

struct Desk {
  TempFolder folder;
  FieldBook book;
  Desk() : book(make(folder)) {}
  static FieldBook make(const TempFolder& folder) {
    Site site;
    site.name = "Larkholm";
    site.position = {46.6213, 10.3478, 1482};
    fs::create_directories(folder.path / "sites");
    return must(FieldBook::create(folder / "sites/a.gpkg", site));
  }
  std::string file(const std::string& name, std::string_view bytes) const {
    std::ofstream(folder.path / name, std::ios::binary) << bytes;
    return folder / name;
  }
  int kept(const std::string& where) const {
    int n = 0;
    std::error_code none;
    for (const auto& entry : fs::recursive_directory_iterator(folder.path / "sites" / where, none))
      n += entry.is_regular_file();
    return n;
  }
};

std::string weather() {
  constexpr int kDays[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  std::string text =
      "LOCATION,Larkholm,-,XX,INVENTED,000000,46.62,10.35,1.0,1482.0\nDESIGN CONDITIONS,0\n"
      "TYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\nHOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\n"
      "COMMENTS 1,\nCOMMENTS 2,\nDATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n";
  for (int m = 0; m < 12; ++m)
    for (int d = 1; d <= kDays[m]; ++d)
      for (int h = 1; h <= 24; ++h) {
        const double s = std::max(0.0, std::cos((h - 0.8 - 12) * std::numbers::pi / 10));
        const int g = h > 7 && h < 18 ? int(600 * s) : 0;
        char row[200];
        std::snprintf(row, sizeof row,
                      "2005,%d,%d,%d,60,?9,1.0,-6.0,81,84500,0,0,250,%d,%d,%d,0,0,0,0,225,2.5\n",
                      m + 1, d, h, g, g / 2, g / 2);
        text += row;
      }
  return text;
}

std::string grid(int height_m) {
  std::string text =
      "ncols 40\nnrows 40\nxllcorner 10.32\nyllcorner 46.60\ncellsize 0.001\nNODATA_value -9999\n";
  for (int i = 0; i < 1600; ++i)
    text += std::to_string(height_m + i % 7) + (i % 40 == 39 ? "\n" : " ");
  return text;
}

std::string refusal(const Desk& desk, const std::string& name, std::string_view bytes) {
  const auto kind = kind_of_file(desk.file(name, bytes));
  REQUIRE(!kind);
  CHECK(kind.error().code == horizon::Code::bad_input);
  return kind.error().key;
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("[property] weather is kept beside the site, once, and the newer one takes its place") {
  Desk desk;
  const std::string path = desk.file("larkholm.epw", weather());
  const auto first = must(import_file(desk.book, path));
  CHECK(first.kind == FileKind::weather);
  REQUIRE(first.weather);
  CHECK(first.weather->file.year.station == "Larkholm");
  CHECK(first.already == 0);
  CHECK(weather_beside(desk.book) == first.weather->path);
  CHECK(must(import_file(desk.book, path)).already == 1);
  CHECK(desk.kept("weather") == 1);
  must(import_file(desk.book, desk.file("newer.epw", weather() + "\n")));
  CHECK(desk.kept("weather") == 1);
  CHECK(has(weather_beside(desk.book), "newer.epw"));
  // Another climate is not kept.
  std::string other = weather();
  other.replace(other.find("46.62,10.35,1.0"), 15, "10.00,10.35,1.0");
  const auto refused = import_file(desk.book, desk.file("far.epw", other));
  REQUIRE(!refused);
  CHECK(refused.error().key == "error.weather_too_far");
  CHECK(has(weather_beside(desk.book), "newer.epw"));
}

TEST_CASE("[property] a height grid is kept beside the site, with its system, and looked at") {
  Desk desk;
  const std::string path = desk.file("valley.asc", grid(1480));
  const auto first = must(import_file(desk.book, path));
  CHECK(first.kind == FileKind::terrain);
  REQUIRE(first.terrain);
  CHECK(first.terrain->columns == 40);
  REQUIRE(first.terrain->ground_m);
  CHECK(std::abs(*first.terrain->ground_m - 1483) <= 3);
  CHECK(first.remarks.empty());
  CHECK(must(import_file(desk.book, path)).already == 1);
  CHECK(terrain_beside(desk.book).size() == 1);
  // Feet, or another valley: kept, and said.
  const auto odd = must(import_file(desk.book, desk.file("feet.asc", grid(4860))));
  REQUIRE(odd.remarks.size() == 1);
  CHECK(odd.remarks[0].key == "error.terrain_height_differs");
  // Map coordinates without a name are refused with the cure, and read with it.
  std::string map = grid(1480);
  map.replace(map.find("10.32"), 5, "600000");
  map.replace(map.find("46.60"), 5, "5160000");
  map.replace(map.find("0.001"), 5, "30");
  const std::string unnamed = desk.file("map.asc", map);
  const auto refused = import_file(desk.book, unnamed);
  REQUIRE(!refused);
  CHECK(refused.error().key == "error.asc_system_needed");
  ImportOptions options;
  options.terrain_system = "EPSG:32632";
  const auto named = must(import_file(desk.book, unnamed, options));
  CHECK(named.terrain->cell_m == doctest::Approx(30));
  CHECK(desk.kept("terrain") == 4);  // three grids and the system of one
  CHECK(must(import_file(desk.book, named.terrain->path)).already == 1);
}

TEST_CASE("[property] what is no file of ours is named, with the cure") {
  Desk desk;
  CHECK(has(refusal(desk, "a.xlsx", "PK\x03\x04xxxxxxxxxxxx"), "file_is_zip"));
  CHECK(has(refusal(desk, "a.heic",
                    "\0\0\0\x18"
                    "ftypheic\0\0\0\0"sv),
            "file_is_heic"));
  CHECK(has(refusal(desk, "a.mp4",
                    "\0\0\0\x18"
                    "ftypisom\0\0\0\0"sv),
            "file_is_film"));
  CHECK(has(refusal(desk, "a.kml", "<?xml version=\"1.0\"?><kml xmlns=\"x\"/>"), "file_kml"));
  CHECK(has(refusal(desk, "a.gz", "\x1f\x8b\x08\0\0\0\0\0"sv), "file_is_gzip"));
  CHECK(has(refusal(desk, "a.pdf", "%PDF-1.7\n"), "file_is_pdf"));
  CHECK(has(refusal(desk, "empty.csv", ""), "file_empty"));
  CHECK(has(refusal(desk, "a.bin", "\x01\x02\x03\x04zzzz"sv), "file_kind_unknown"));
  CHECK(must(kind_of_file(desk.file("a.csv", "bearing,elevation\n1,2\n"))) == FileKind::table);
  CHECK(must(kind_of_file(desk.file("a.geojson", "\xEF\xBB\xBF {\"type\":\"x\"}"))) ==
        FileKind::geojson);
  CHECK(must(kind_of_file(desk.file("w.csv", "1,\"A\",B,1,46,10,1\nDate (MM/DD/YYYY),Time\n"))) ==
        FileKind::weather);
}

TEST_CASE("[property] a file cut off after its first bytes has a kind or is refused with words") {
  Desk desk;
  for (const std::string_view begin :
       {"x"sv,
        "\0\0\0\x18"
        "ftypheic"sv,
        "\0\0\0\fjP  \r\n\x87\n"sv, "SQLite format 3\0"sv, "II*\0"sv, "\xEF\xBB\xBF{"sv,
        "\xFF\xD8\xFF\xE1"sv, "LOCATION,"sv, "ncols 3"sv, "<gpx"sv, "\xC3"sv})
    for (std::size_t size = 1; size <= begin.size(); ++size) {
      CAPTURE(begin);
      CAPTURE(size);
      const std::string path = desk.file("cut.bin", begin.substr(0, size));
      const auto kind = kind_of_file(path);
      if (!kind) CHECK_FALSE(kind.error().key.empty());
      const auto done = import_file(desk.book, path, {});
      if (!done) CHECK_FALSE(done.error().key.empty());
    }
}

// RFC 7946: longitude first. Many a file has it the other way round.
TEST_CASE("[published] places of a GeoJSON with latitude first, or of another land, are told") {
  Desk desk;  // at 46.62 N 10.35 E
  const auto points = [](const char* coordinates) {
    return std::string(R"({"type":"Feature","properties":{"name":"Spire"},"geometry":)") +
           R"({"type":"Point","coordinates":)" + coordinates + "}}";
  };
  const auto right =
      must(import_file(desk.book, desk.file("right.geojson", points("[10.36,46.63]"))));
  CHECK(right.landmarks == 1);
  CHECK(right.remarks.empty());
  const auto exchanged =
      must(import_file(desk.book, desk.file("exchanged.geojson", points("[46.63,10.36]"))));
  REQUIRE(exchanged.remarks.size() == 1);
  CHECK(exchanged.remarks[0].key == "error.places_exchanged");
  const auto far = must(import_file(desk.book, desk.file("far.geojson", points("[75.2,41.6]"))));
  REQUIRE(far.remarks.size() == 1);
  CHECK(far.remarks[0].key == "error.places_far");
}
