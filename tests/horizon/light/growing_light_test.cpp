#include "horizon/light/growing_light.h"

#include <doctest/doctest.h>

#include <cmath>

#include "horizon/light/findings.h"
#include "tests/near.h"

using namespace horizon;

TEST_CASE("one dull day does not end a season; a dull fortnight does [property]") {
  std::vector<double> daily(365, 0);
  for (int d = 60; d < 300; ++d) daily[d] = 10;
  daily[120] = 1;
  auto seasons = seasons_of(spells_at_or_above(daily, 5), 365);
  REQUIRE(seasons.size() == 1);
  CHECK(seasons[0].from_day == 61);
  CHECK(seasons[0].to_day == 300);
  for (int d = 120; d < 134; ++d) daily[d] = 1;
  CHECK(seasons_of(spells_at_or_above(daily, 5), 365).size() == 2);
  // A lone bright day does not begin one.
  daily.assign(365, 0);
  for (int d = 60; d < 300; ++d) daily[d] = 10;
  daily[55] = 10;
  seasons = seasons_of(spells_at_or_above(daily, 5), 365);
  REQUIRE(seasons.size() == 2);
  CHECK(longest(seasons, 365)->from_day == 61);
  // Over New Year; and all year but for one day.
  daily.assign(365, 10);
  daily[3] = 1;
  for (int d = 100; d < 200; ++d) daily[d] = 1;
  seasons = seasons_of(spells_at_or_above(daily, 5), 365);
  REQUIRE(seasons.size() == 1);
  CHECK(seasons[0].from_day == 201);
  CHECK(seasons[0].to_day == 100);
  daily.assign(365, 10);
  daily[180] = 1;
  CHECK(seasons_of(spells_at_or_above(daily, 5), 365)[0].days(365) == 365);
}

TEST_CASE(
    "a season goes on over a week that is too dark, and the mean of days is centred [property]") {
  const auto apart = [](int gap) { return seasons_of({{100, 140}, {141 + gap, 200}}, 365).size(); };
  CHECK(apart(7) == 1);
  CHECK(apart(8) == 2);
  // One bright day in 7: its week's mean is a seventh of it, on three days before and after.
  std::vector<double> daily(365, 0);
  daily[199] = 7;
  const auto spells = spells_at_or_above(daily, 1, 7);
  REQUIRE(spells.size() == 1);
  CHECK(spells[0].from_day == 197);
  CHECK(spells[0].to_day == 203);
}

TEST_CASE("spells over a need, round the year [property]") {
  std::vector<double> daily(365, 5);
  CHECK(spells_at_or_above(daily, 6).empty());
  CHECK(spells_at_or_above(daily, 5).front().days(365) == 365);
  for (int d = 49; d < 300; ++d) daily[d] = 20;
  auto spells = spells_at_or_above(daily, 12);
  REQUIRE(spells.size() == 1);
  CHECK(spells[0].from_day == 50);
  CHECK(spells[0].to_day == 300);
  CHECK(spells[0].days(365) == 251);
  // Over New Year, as in the south.
  std::vector<double> south(365, 20);
  for (int d = 100; d < 200; ++d) south[d] = 1;
  spells = spells_at_or_above(south, 12);
  REQUIRE(spells.size() == 1);
  CHECK(spells[0].from_day == 201);
  CHECK(spells[0].to_day == 100);
  CHECK(spells[0].days(365) == 265);
  // One dark day in the running mean of a fortnight does not end a season.
  daily[150] = 0;
  CHECK(spells_at_or_above(daily, 12).size() == 2);
  CHECK(spells_at_or_above(daily, 12, 15).size() == 1);
  CHECK(longest(spells_at_or_above(daily, 12), 365)->from_day == 152);
  CHECK(spells_at_or_above({}, 3).empty());
}

TEST_CASE("the days under ten hours by latitude [published]") {
  // Winter 2026-27, day length from the upper limb with 34' of refraction (ERFA, -0.8333 degrees);
  // at 38 N a regional growers' calendar prints 20 November to 22 January. One day either way.
  const struct {
    double latitude;
    int from, to, days;
  } rows[] = {{38, 324, 22, 64},
              {40, 319, 27, 74},
              {46, 308, 38, 96},
              {50, 302, 44, 108},
              {60, 291, 54, 129}};
  for (const auto& row : rows) {
    StationInput input;
    input.place = {row.latitude, 0, 0};
    input.draws = 0;
    input.year = 2026;
    const GrowingLight growing = findings_of(input).growing;
    REQUIRE(growing.under_10_h.size() == 1);
    INFO(row.latitude);
    CHECK(std::abs(growing.under_10_h[0].from_day - row.from) <= 1);
    CHECK(std::abs(growing.under_10_h[0].to_day - row.to) <= 1);
    CHECK(std::abs(growing.under_10_h[0].days(365) - row.days) <= 2);
  }
}

TEST_CASE("every need has a number and a source [property]") {
  for (const CropNeed& need : default_crop_needs()) {
    CHECK(need.mol_m2_day > 0);
    CHECK(!need.source.empty());
  }
}
