// Damaged files: a clear answer, never a crash, what is readable saved, the damaged one untouched.
#include <doctest/doctest.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <random>

#include "survey/assess/site_check.h"
#include "survey/book/recover.h"
#include "survey/book/text.h"
#include "survey/exchange/exchange.h"
#include "tests/said.h"
#include "tests/survey/alter_file.h"
#include "tests/survey/site_fixture.h"

using namespace survey;
namespace fs = std::filesystem;

namespace {

std::string good_file(const TempFolder& folder) {
  const std::string path = folder / "good.gpkg";
  FieldBook book = must(FieldBook::create(path, FullSite().site));
  FullSite full;
  full.put_into(book);
  must(book.change("many", [&]() -> horizon::Result<void> {
    for (int i = 0; i < 300; ++i) {
      Sighting s;
      s.station_id = full.station.id;
      s.bearing_deg = i;
      must(book.put(s));
    }
    return {};
  }));
  must(book.close());
  return must(read_file(path));
}

void write_bytes(const std::string& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary | std::ios::trunc) << bytes;
}

int sightings_in(const std::string& path) {
  return static_cast<int>(must(must(FieldBook::open(path, Access::read)).all<Sighting>()).size());
}

}  // namespace

TEST_CASE("[property] 1,000 mutations of a file: answered, saved, untouched") {
  const TempFolder folder;
  const std::string good = good_file(folder);
  const std::string path = folder / "bad.gpkg", saved = folder / "saved.gpkg";
  std::mt19937 random(5);
  int refused = 0, recovered = 0, rows = 0, attempts = 0;
  for (int i = 0; i < 1000; ++i) {
    std::string bad = good;
    switch (i % 4) {
      case 0:
        bad.resize(random() % bad.size());
        break;
      case 1:
        for (int flips = 1 + random() % 16; flips > 0; --flips)
          bad[random() % bad.size()] ^= static_cast<char>(1 << random() % 8);
        break;
      case 2: {  // the header and schema, where a flip hurts most
        for (int flips = 1 + random() % 4; flips > 0; --flips)
          bad[random() % 8192] = static_cast<char>(random());
        break;
      }
      default: {  // a whole sector of something else
        const std::size_t at = random() % (bad.size() - 512);
        for (int j = 0; j < 512; ++j) bad[at + j] = static_cast<char>(random());
      }
    }
    write_bytes(path, bad);
    {
      const auto book = FieldBook::open(path, Access::received);
      if (book)
        static_cast<void>(check_site(*book));
      else {
        ++refused;
        CHECK_FALSE(book.error().empty());
      }
    }
    if (i % 3 == 0 || i % 4 == 2) {
      ++attempts;
      const auto result = recover(path, saved);
      if (result) {
        ++recovered;
        const FieldBook book = must(FieldBook::open(saved, Access::received));
        rows += static_cast<int>(must(book.all<Sighting>()).size());
        must(book.site());
      }
      fs::remove(saved);
    }
    REQUIRE(must(read_file(path)) == bad);
  }
  MESSAGE(refused << " refused, " << recovered << " of " << attempts << " recovered, " << rows
                  << " of " << 301 * recovered << " sightings");
  CHECK(refused > 400);
  CHECK(recovered > attempts * 8 / 10);
  CHECK(rows > 301 * recovered * 8 / 10);
}

TEST_CASE("[property] without header and schema every row is still found by the page scan") {
  const TempFolder folder;
  std::string bytes = good_file(folder);
  for (int i = 0; i < 4096; ++i) bytes[i] = '\x55';
  write_bytes(folder / "bad.gpkg", bytes);
  const Recovery saved = must(recover(folder / "bad.gpkg", folder / "saved.gpkg"));
  CHECK(saved.rows.at("sighting") == 301);
  CHECK(saved.photo_bytes == 1);
  CHECK(sightings_in(folder / "saved.gpkg") == 301);
}

TEST_CASE("[property] rows are copied out of a file with planted code, the code is not") {
  const TempFolder folder;
  good_file(folder);
  REQUIRE(alter_file(folder / "good.gpkg",
                     "CREATE TRIGGER t AFTER INSERT ON sighting BEGIN DELETE FROM site; END;"
                     "CREATE VIEW v AS SELECT 1"));
  const Recovery saved = must(recover(folder / "good.gpkg", folder / "saved.gpkg"));
  CHECK(saved.rows.at("sighting") == 301);
  const FieldBook book = must(FieldBook::open(folder / "saved.gpkg"));
  for (const CheckItem& item : must(check_site(book))) CHECK(item.weight != Weight::damage);
}

TEST_CASE("[property] an older layout is brought up to date, and the old file is kept beside it") {
  const TempFolder folder;
  good_file(folder);
  const std::string path = folder / "good.gpkg";
  const std::string before = content_of(must(FieldBook::open(path, Access::read)));
  REQUIRE(alter_file(path,
                     "ALTER TABLE sighting DROP COLUMN back_bearing; DROP TABLE hazard;"
                     "DELETE FROM gpkg_geometry_columns WHERE table_name='hazard';"
                     "DELETE FROM gpkg_contents WHERE table_name='hazard';"
                     "UPDATE adret_schema SET version=0"));
  const std::string old = must(read_file(path));
  for (const Access access : {Access::read, Access::received}) {
    const FieldBook only_read = must(FieldBook::open(path, access));
    CHECK(must(only_read.all<Hazard>()).empty());
    CHECK(only_read.path() == path);
    must(only_read.export_to(folder / ("clean" + std::to_string(int(access)) + ".gpkg")));
    CHECK(must(read_file(path)) == old);
  }
  FieldBook book = must(FieldBook::open(path));
  CHECK(must(read_file(path + ".layout-0.bak")) == old);
  CHECK(must(book.all<Hazard>()).empty());
  must(book.put(FullSite().hazard));
  std::string after = content_of(book);
  CHECK(after == before);
}

TEST_CASE(
    "[property] layout 1, which knew no pH, feel answers, unsettable clock and house, is brought up") {
  const TempFolder folder;
  good_file(folder);
  const std::string path = folder / "good.gpkg";
  const auto layers = must(must(FieldBook::open(path, Access::read)).all<SoilLayer>());
  REQUIRE(alter_file(path,
                     "ALTER TABLE soil_layer DROP COLUMN feel;"
                     "ALTER TABLE soil_layer DROP COLUMN ph;"
                     "ALTER TABLE percolation_test DROP COLUMN since_boot_s;"
                     "ALTER TABLE percolation_test DROP COLUMN boot;"
                     "ALTER TABLE percolation_reading DROP COLUMN since_boot_s;"
                     "ALTER TABLE percolation_reading DROP COLUMN boot;"
                     "ALTER TABLE design DROP COLUMN house;"
                     "UPDATE adret_schema SET version=1"));
  FieldBook book = must(FieldBook::open(path));
  CHECK(std::filesystem::exists(path + ".layout-1.bak"));
  const auto brought = must(book.all<SoilLayer>());
  REQUIRE(brought.size() == layers.size());
  REQUIRE_FALSE(layers.empty());
  for (std::size_t i = 0; i < layers.size(); ++i) {
    CHECK(brought[i].bottom_m == layers[i].bottom_m);
    CHECK(brought[i].texture == layers[i].texture);
    CHECK_FALSE(brought[i].ph.has_value());
  }
  for (const auto& reading : must(book.all<PercolationReading>()))
    CHECK_FALSE(reading.since_boot_s.has_value());
  CHECK(must(book.design()).house.empty());
  for (const CheckItem& item : must(check_site(book))) CHECK(item.weight != Weight::damage);
  SoilLayer layer = brought.front();
  layer.ph = 6.5;
  must(book.put(layer));
  CHECK(must(book.all<SoilLayer>()).front().ph == 6.5);
}

TEST_CASE("[regression] a change of columns needs a new layout number") {
  // If this fails: raise kSchemaVersion, then put the new number of columns here.
  std::size_t columns = 0;
  for (const Table* table : all_tables()) columns += table->columns.size();
  CHECK(kSchemaVersion == 4);
  CHECK(columns == 281);
}

TEST_CASE("[property] every table and column is in docs/formats.md") {
  const std::string docs = must(read_file(ADRET_TEST_DATA "/../../docs/formats.md"));
  for (const Table* table : all_tables()) {
    CHECK_MESSAGE(docs.find("`" + table->name + "`") != std::string::npos, table->name);
    for (const Column& column : table->columns)
      CHECK_MESSAGE(docs.find("`" + column.name + "`") != std::string::npos,
                    table->name << "." << column.name);
  }
}

namespace {

// A PNG of one pixel with this many bytes.
std::string picture_of(std::size_t size) {
  std::string bytes = tiny_png();
  const std::size_t body = size - bytes.size() - 12;
  std::string chunk;
  for (int shift = 24; shift >= 0; shift -= 8) chunk += static_cast<char>(body >> shift & 0xff);
  chunk += "teXt" + std::string(body, 'x') + std::string(4, '\0');
  return bytes.insert(bytes.size() - 12, chunk);
}

}  // namespace

TEST_CASE("[property] 2,000 photographs and 100,000 sightings open in 0.3 s") {
  const TempFolder folder;
  const std::string path = folder / "large.gpkg";
  {
    FieldBook book = must(FieldBook::create(path, FullSite().site));
    FullSite full;
    full.put_into(book);
    must(book.change("fill", [&]() -> horizon::Result<void> {
      for (int i = 0; i < 100'000; ++i) {
        Sighting s;
        s.station_id = full.station.id;
        s.bearing_deg = i % 3600 / 10.0;
        s.label = "ridge";
        must(book.put(s));
      }
      for (int i = 0; i < 1999; ++i)  // 1 to 41 kB, each another size
        must(book.add_photo({}, picture_of(1000 + 20 * i)));
      must(book.add_photo({}, picture_of(kMaxPhotoBytes)));
      return {};
    }));
    must(book.close());
  }
  using Clock = std::chrono::steady_clock;
  double best = 1e9;
  for (int i = 0; i < 5; ++i) {
    const auto begin = Clock::now();
    const FieldBook book = must(FieldBook::open(path));
    must(book.site());
    must(book.all<Station>());
    best = std::min(best, std::chrono::duration<double>(Clock::now() - begin).count());
  }
  MESSAGE("opened in " << best << " s; the file has " << fs::file_size(path) / 1'000'000 << " MB");
  CHECK(best < 0.3);
  const auto begin = Clock::now();
  const SiteList list = must(list_sites(folder.path.string()));
  const double listed = std::chrono::duration<double>(Clock::now() - begin).count();
  MESSAGE("listed in " << listed << " s");
  CHECK(list.sites.front().photos == 2001);
  CHECK(listed < 0.5);
}

TEST_CASE("[property] a photograph of 50 MB is kept; a larger one is refused with the limit") {
  const TempFolder folder;
  FieldBook book = must(FieldBook::create(folder / "a.gpkg", FullSite().site));
  const std::string largest = picture_of(kMaxPhotoBytes);
  const Id id = must(book.add_photo({}, largest));
  CHECK(must(book.photo_bytes(id)) == largest);
  const auto refused = book.add_photo({}, picture_of(kMaxPhotoBytes + 1));
  REQUIRE_FALSE(refused);
  CHECK(said(refused.error()).find("error.photo_too_large") != std::string::npos);
}
