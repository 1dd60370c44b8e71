#include "tests/fuzz/readers.h"

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <memory>

#include "survey/book/photo_file.h"
#include "survey/book/store.h"
#include "survey/book/text.h"
#include "survey/exchange/contacts_csv.h"
#include "survey/exchange/coordinates.h"
#include "survey/exchange/exchange.h"
#include "survey/exchange/marks_csv.h"
#include "survey/exchange/terrain_file.h"
#include "survey/exchange/weather_file.h"

namespace fuzz {
namespace {

using namespace survey;

std::string folder() {
  static const std::string path = new_temp_folder("adret-fuzz-");
  return path;
}

// A field book that is made anew now and then, so that it stays small.
FieldBook& book() {
  static std::unique_ptr<FieldBook> open;
  static int uses = 0;
  if (!open || ++uses % 500 == 0) {
    const std::string path = folder() + "/site.gpkg";
    open.reset();
    for (const char* end : {"", "-wal", "-shm"}) std::filesystem::remove(path + end);
    Site site;
    site.name = "Larkholm";
    auto made = FieldBook::create(path, site);
    if (!made) std::abort();
    open = std::make_unique<FieldBook>(std::move(*made));
    Station station;
    station.name = "bed";
    station.main = true;
    if (!open->put(station)) std::abort();
  }
  return *open;
}

bool read_marks(std::string_view bytes) {
  const MarksTable table = marks_of_csv(bytes);
  return skyline_of(table.marks, {}).has_value();
}
bool read_contacts(std::string_view bytes) { return contacts_of_csv(bytes, 1).errors.empty(); }
bool read_gpx(std::string_view bytes) { return import_gpx(book(), bytes).has_value(); }
bool read_geojson(std::string_view bytes) { return import_geojson(book(), bytes).has_value(); }
bool read_photo(std::string_view bytes) { return photo_facts(bytes).has_value(); }
bool read_weather(std::string_view bytes) { return weather_of(bytes).has_value(); }
bool read_position(std::string_view bytes) { return position_of(bytes).has_value(); }
bool read_text(std::string_view bytes) { return text_of(bytes).has_value(); }
bool read_grid(std::string_view bytes) {
  const std::string path = folder() + "/grid.asc";
  std::ofstream(path, std::ios::binary | std::ios::trunc) << bytes;
  return read_terrain(path).has_value();
}
// By content alone, as `import` meets it: the site file among them.
bool read_any(std::string_view bytes) {
  const std::string path = folder() + "/file.bin";
  std::ofstream(path, std::ios::binary | std::ios::trunc) << bytes;
  (void)kind_of_file(path);
  return FieldBook::open(path, Access::received).has_value();
}

std::string weather_seed() {
  std::string epw =
      "LOCATION,Larkholm,-,DEU,TMY,000000,46.62,10.35,1.0,1482\nDESIGN CONDITIONS,0\n"
      "TYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\nHOLIDAYS/DAYLIGHT SAVING,No,0,0,0\n"
      "COMMENTS 1,\nCOMMENTS 2,\nDATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n";
  constexpr int kDays[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  for (int hour = 0; hour < 8760; ++hour) {
    int month = 0, day = hour / 24;
    while (day >= kDays[month]) day -= kDays[month++];
    epw += "2001," + std::to_string(month + 1) + ',' + std::to_string(day + 1) + ',' +
           std::to_string(hour % 24 + 1) + ",60,?9?9,-5.1,-8.0,80,85000,0,1415,240," +
           (hour % 24 > 9 && hour % 24 < 14 ? "400,200,250" : "0,0,0") +
           ",0,0,0,0,180,2.0,5,5,20,77777,9,999999999,10,0.1,10,1,0.2,0,0\n";
  }
  return epw;
}

std::string site_seed() {
  const std::string path = folder() + "/seed.gpkg";
  Site site;
  site.name = "Larkholm";
  auto made = FieldBook::create(path, site);
  if (!made || !made->close()) std::abort();
  return read_file(path).value();
}

std::string exif_seed() {
  using namespace std::string_literals;
  return "\xFF\xD8\xFF\xE1\x00\x48"s + "Exif\0\0"s + "II*\0\x08\0\0\0"s + "\x02\0"s +
         "\x12\x01\x03\0\x01\0\0\0\x06\0\0\0"s + "\x25\x88\x04\0\x01\0\0\0\x26\0\0\0"s +
         "\0\0\0\0"s + "\x01\0"s + "\x11\0\x05\0\x01\0\0\0\x38\0\0\0"s + "\0\0\0\0"s +
         "\x10\x27\0\0\x64\0\0\0"s +
         "\xFF\xC0\x00\x11\x08\x00\x10\x00\x10\x03\x01\x22\x00\x02\x11\x01\x03\x11\x01\xFF\xDA\x00\x08\x01\x01\x00\x00\x3F\x00\xFF\xD9"s;
}

}  // namespace

const std::vector<Reader>& readers() {
  static const std::vector<Reader> all = {
      {"marks",
       read_marks,
       {"bearing,elevation,kind,label\n100,12,ridge,Grat\n110,13.5,pole,mast\n",
        "Peilung;H\xC3\xB6henwinkel;Art\n100,5;12,25;Grat\n", "true_az\televation\n1\t2\n"}},
      {"contacts",
       read_contacts,
       {"time_utc,body,light,limb\n2025-12-01T09:41:07Z,sun,came,edge\n",
        "date,came,went,sky,by\n2025-12-21,10:14,13:58,clear,class 4\n"}},
      {"gpx",
       read_gpx,
       {"<?xml version=\"1.0\"?><gpx version=\"1.1\" xmlns=\"http://www.topografix.com/GPX/1/1\"><wpt "
        "lat=\"46.6\" lon=\"10.3\"><ele>1480</ele><name>a &amp; b</name></wpt><trk><trkseg><trkpt "
        "lat=\"46.6\" lon=\"10.3\"/><trkpt lat=\"46.61\" lon=\"10.3\"/></trkseg></trk></gpx>"}},
      {"geojson",
       read_geojson,
       {R"({"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"m"},)"
        R"("geometry":{"type":"Polygon","coordinates":[[[10.3,46.6],[10.31,46.6],[10.3,46.6]]]}}]})"}},
      {"photo", read_photo, {exif_seed(), "\x89PNG\r\n\x1a\n"}},
      {"weather", read_weather, {weather_seed()}},
      {"position",
       read_position,
       {"46.6213 N 10.3478 E", "46\xC2\xB0 37' 16.7\" N, 10\xC2\xB0 20' 52\" E",
        "32T 603300 5164200", "32TPS0330064200"}},
      {"text",
       read_text,
       {"Gr\xC3\xA4t",
        "\xFF\xFE"
        "G\0r\0",
        "\xEF\xBB\xBFx"}},
      {"grid",
       read_grid,
       {"ncols 3\nnrows 2\nxllcorner 10.3\nyllcorner 46.6\ncellsize 0.001\nNODATA_value -9999\n"
        "1480 1481 1482\n1483 -9999 1485\n"}},
      {"file", read_any, {site_seed()}},
  };
  return all;
}

const std::vector<std::string>& dictionary() {
  static const std::vector<std::string> all = {"1e308",
                                               "-1e308",
                                               "nan",
                                               "inf",
                                               "-0",
                                               "2147483648",
                                               "99999999999999999999",
                                               "0x1p-1074",
                                               "\xEF\xBB\xBF",
                                               "\xFF\xFE",
                                               "\r\n",
                                               ";",
                                               "\t",
                                               ",,",
                                               "\"\"",
                                               "<![CDATA[",
                                               "&#0;",
                                               "&lt;",
                                               "<trkseg>",
                                               "</gpx>",
                                               "]]]]",
                                               "{\"",
                                               "null",
                                               "coordinates",
                                               "NODATA_value",
                                               "ncols",
                                               "DATA PERIODS",
                                               "9999",
                                               "Exif",
                                               "SQLite format 3",
                                               "=cmd",
                                               "../..",
                                               "\xE2\x80\xAE",
                                               "\xC0\x80",
                                               "N",
                                               "180W"};
  return all;
}

}  // namespace fuzz

#ifdef ADRET_LIBFUZZER
namespace {
const fuzz::Reader* wanted_reader() {
  const char* wanted = std::getenv("ADRET_READER");
  for (const auto& each : fuzz::readers())
    if (wanted && each.name == wanted) return &each;
  std::fprintf(stderr, "ADRET_READER names no reader\n");
  std::exit(2);
}
const fuzz::Reader* reader = nullptr;
}  // namespace

extern "C" int LLVMFuzzerInitialize(int*, char***) {  // seeds are made before a run is timed
  reader = wanted_reader();
  return 0;
}
extern "C" int LLVMFuzzerTestOneInput(const unsigned char* data, std::size_t size) {
  (void)reader->read({reinterpret_cast<const char*>(data), size});
  return 0;
}
#endif
