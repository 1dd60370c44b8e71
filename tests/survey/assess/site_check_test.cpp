#include "survey/assess/site_check.h"

#include <cmath>
#include <tuple>

#include "survey/assess/site_clock.h"
#include "tests/survey/site_fixture.h"

using namespace survey;

namespace {

// How often something doubtful is told by that key.
long told(const FieldBook& book, std::string_view key) {
  long count = 0;
  for (const CheckItem& item : must(check_site(book)))
    count += item.weight == Weight::doubtful && item.what.key == key;
  return count;
}

FieldBook site_at(const TempFolder& folder, double longitude_deg, double utc_offset_h) {
  Site site;
  site.name = "Larkholm";
  site.position = {28.2, longitude_deg, {}};
  site.created = {1790000000, utc_offset_h};
  FieldBook book = must(FieldBook::create(folder / "site.gpkg", site));
  for (const char* name : {"A", "B"}) {
    Station station;
    station.name = name;
    station.position = {28.2, longitude_deg, 1500};
    station.time = site.created;
    station.main = name[0] == 'A';
    must(book.put(station));
  }
  return book;
}

}  // namespace

// Nepal keeps UTC+5:45 (IANA time zone data).
TEST_CASE("[published] a clock half a day off is doubtful, told once; Nepal's is not") {
  const TempFolder right, wrong;
  CHECK(told(site_at(right, 84, 5.75), "error.site_clock_off") == 0);
  CHECK(told(site_at(wrong, 84, -7), "error.site_clock_off") == 1);
}

TEST_CASE("[property] two main stations are doubtful") {
  const TempFolder folder;
  FieldBook book = site_at(folder, 84, 6);
  CHECK(told(book, "error.two_main_stations") == 0);
  Station other;
  other.name = "C";
  other.position = {28.2, 84, 1500};
  other.main = true;
  other.time = {1790000000, 6};
  must(book.put(other));
  CHECK(told(book, "error.two_main_stations") == 1);
}

// The IANA time zone data: Kashgar keeps Beijing's +8 at 75.99 E, A Coruna +2 in summer at 8.4 W,
// Kiritimati +14 at 157.4 W, Nepal +5:45. The places' longitudes from memory.
TEST_CASE("[published] no country's clock is four hours from its sun; a traveller's is") {
  for (const auto& [offset_h, longitude_deg, off_h] :
       {std::tuple{8.0, 75.99, 2.934}, std::tuple{2.0, -8.4, 2.56}, std::tuple{14.0, -157.4, 0.493},
        std::tuple{5.75, 84.1, 0.143}, std::tuple{-12.0, 179.9, 0.007}}) {
    CHECK(std::abs(clock_from_sun_h(offset_h, longitude_deg) - off_h) < 0.01);
    CHECK(std::abs(clock_from_sun_h(offset_h, longitude_deg)) < kClockFromSun_h);
  }
  CHECK(std::abs(clock_from_sun_h(-7, 84)) > kClockFromSun_h);
  CHECK(std::abs(clock_from_sun_h(1, 75.5)) > kClockFromSun_h);
}
