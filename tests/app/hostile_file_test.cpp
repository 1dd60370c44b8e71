// A received site file in which any one column holds what never belongs there.
#include <doctest/doctest.h>

#include <filesystem>

#include "app/ground/ground_findings.h"
#include "app/ground/plot_findings.h"
#include "app/words/sentence.h"
#include "horizon/light/findings.h"
#include "survey/assess/site_check.h"
#include "survey/assess/station_input.h"
#include "survey/assess/station_skyline.h"
#include "survey/book/merge.h"
#include "survey/exchange/exchange.h"
#include "tests/survey/alter_file.h"
#include "tests/survey/site_fixture.h"

using namespace survey;

namespace {

// Reads all that the program would read, and works out what it would; how many answers were errors.
int read_through(const std::string& path, const FieldBook& sound) {
  const auto book = FieldBook::open(path, Access::received);
  if (!book) {
    CHECK_FALSE(app::in_words(book.error()).empty());
    return 1;
  }
  int refused = 0;
  const auto count = [&](const auto& result) {
    if (!result) CHECK_FALSE(app::in_words(result.error()).empty());
    refused += !result;
    return result.has_value();
  };
  count(check_site(*book));
  count(marks_csv_of(*book));
  count(geojson_of(*book));
  count(gpx_of(*book));
  count(app::ground_findings(*book));
  const auto settings = survey::site_settings(*book);
  const auto skylines = station_skylines(*book);
  if (count(settings) && count(skylines) && !skylines->empty()) {
    horizon::StationInput input = survey::station_input(*settings, skylines->front());
    input.draws = 0;
    if (count(horizon::check_station(input))) horizon::LiveStation{input}.update(input.skyline);
  }
  const std::string target = path + ".merged";
  must(sound.export_to(target));
  {
    FieldBook mine = must(FieldBook::open(target));
    count(merge(mine, *book));
  }
  std::filesystem::remove(target);
  return refused;
}

}  // namespace

TEST_CASE("[property] any column may hold anything: it is read, or refused with words") {
  const TempFolder folder;
  FullSite full;
  FieldBook sound = must(FieldBook::create(folder / "sound.gpkg", full.site));
  full.put_into(sound);
  const char* values[] = {
      "NULL",         "'x''); DROP TABLE site;--'", "9223372036854775807", "-1e308", "9e999",
      "zeroblob(70)", "'../../../outside'",         "x'ff00fe'",           "''",     "-1"};
  const int value_count = static_cast<int>(std::size(values));
  int number = 0, tried = 0, refused = 0;
  for (const Table* table : all_tables())
    for (const Column& column : table->columns) {
      // Two of the values each, so that every sort meets every kind of column.
      for (int k = 0; k < 2; ++k) {
        const char* value = values[(number + k * 3) % value_count];
        CAPTURE(table->name);
        CAPTURE(column.name);
        CAPTURE(value);
        const std::string path = folder / "bad.gpkg";
        std::filesystem::remove(path);
        must(sound.export_to(path));
        const std::string sql =
            "UPDATE " + sql_name(table->name) + " SET " + sql_name(column.name) + "=" + value;
        if (!alter_file(path, sql)) continue;  // the file's own rules keep it out
        ++tried;
        refused += read_through(path, sound) > 0;
      }
      ++number;
    }
  MESSAGE(tried << " files, " << refused << " refused in part");
  CHECK(tried > 300);
  CHECK(refused > 0);
  CHECK(refused < tried);
  for (const auto& entry : std::filesystem::directory_iterator(folder.path))
    CHECK(entry.path().filename().string().find("outside") == std::string::npos);
}
