// A received site file in which any one column holds what never belongs there.
#include <doctest/doctest.h>

#include <chrono>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <random>

#include "app/words/sentence.h"
#include "horizon/light/findings.h"
#include "survey/assess/ground_findings.h"
#include "survey/assess/plot_findings.h"
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
int read_through(const std::string& path, const FieldBook& sound, bool plot_too = false) {
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
  const auto ground = survey::ground_findings(*book);
  if (count(ground) && plot_too)
    if (const auto plot = survey::plot_input(*book, *ground);
        count(plot) && !plot->stations.empty())
      count(survey::plot_findings(*plot));
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

namespace {

// One cell, or all of a column: what never belongs there, or the furthest that is still allowed.
std::string hostile_change(const Table& table, const Column& column, std::mt19937& random) {
  const auto pick = [&](int count) {
    return static_cast<int>(random() % static_cast<unsigned>(count));
  };
  char number[40];
  std::string value;
  switch (pick(8)) {
    case 0:
      value = "NULL";
      break;
    case 1:
      value = "9e999";
      break;
    case 2:
      value = "zeroblob(" + std::to_string(1 << pick(20)) + ")";
      break;
    case 3:
      value = "replace(hex(zeroblob(" + std::to_string(1 << pick(16)) + ")),'0','%s\"<')";
      break;
    case 4:
      value = std::to_string(static_cast<std::int64_t>(random()) << pick(33));
      break;
    case 5:
      value = "(SELECT id FROM " + sql_name(all_tables()[random() % all_tables().size()]->name) +
              " LIMIT 1)";
      break;
    default:
      std::snprintf(number, sizeof number, "%.17g", pick(2) ? column.range.min : column.range.max);
      value = std::isfinite(column.range.min) && std::isfinite(column.range.max) ? number : "1e300";
  }
  return "UPDATE " + sql_name(table.name) + " SET " + sql_name(column.name) + "=" + value +
         (pick(2) ? " WHERE rowid % 2 = 0" : "");
}

}  // namespace

TEST_CASE(
    "[property] several hostile cells at once: an answer in two seconds, nothing beside the file") {
  const TempFolder folder;
  FullSite full;
  FieldBook sound = must(FieldBook::create(folder / "sound.gpkg", full.site));
  full.put_into(sound);
  const char* asked = std::getenv("ADRET_HOSTILE");
  const int files = asked ? std::atoi(asked) : 60;
  int tried = 0, refused = 0;
  double longest_s = 0;
  for (int number = 0; number < files; ++number) {
    std::mt19937 random(static_cast<unsigned>(number) + 1);
    const std::string path = folder / "bad.gpkg";
    std::filesystem::remove(path);
    must(sound.export_to(path));
    std::string done;
    for (int k = 1 + static_cast<int>(random() % 6); k > 0; --k) {
      const Table& table = *all_tables()[random() % all_tables().size()];
      const std::string sql =
          hostile_change(table, table.columns[random() % table.columns.size()], random);
      if (alter_file(path, sql)) done += sql.substr(0, 200) + ";\n";
    }
    if (done.empty()) continue;
    CAPTURE(number);
    CAPTURE(done);
    ++tried;
    const auto begin = std::chrono::steady_clock::now();
    refused += read_through(path, sound, number % 10 == 0) > 0;
    const double took =
        std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
    if (took > longest_s) {
      longest_s = took;
      if (took > 2) MESSAGE(took << " s for file " << number << ": " << done);
    }
    CHECK(took < 60);  // under sanitizers, beside other work
  }
  MESSAGE(tried << " files, " << refused << " refused in part, the longest took " << longest_s
                << " s");
  CHECK(tried > files / 2);
  CHECK(refused > 0);
  for (const auto& entry : std::filesystem::directory_iterator(folder.path)) {
    const std::string name = entry.path().filename();
    CHECK_MESSAGE((name.find("sound.gpkg") == 0 || name.find("bad.gpkg") == 0), name);
  }
}
