#include "survey/assess/climate_rows.h"

#include <doctest/doctest.h>

#include "tests/near.h"

using namespace survey;

// Mean daylight hours at 46 and 48 degrees north as FAO-56 tables them, to a tenth; recalled.
TEST_CASE("the possible hours of sunshine [from memory]") {
  CHECK_NEAR(possible_sunshine_h(1, 46), 9.1, 0.35);
  CHECK_NEAR(possible_sunshine_h(6, 46), 15.4, 0.35);
  CHECK_NEAR(possible_sunshine_h(12, 48), 8.3, 0.35);
  CHECK_NEAR(possible_sunshine_h(3, 0), 12, 0.1);
}

TEST_CASE("what is typed of the climate comes back as it was typed [property]") {
  for (const ClimateRow& row : climate_rows())
    for (int month = 1; month <= 12; ++month)
      for (const double part : {0.1, 0.4}) {
        const double si = row.low + part * (row.high - row.low);
        const auto kept = to_keep(row, si, month, 46.6);
        if (!kept) continue;  // more than the sun is up
        const auto again = measured(row, *kept, month, 46.6);
        REQUIRE(again.has_value());
        CHECK_NEAR(*again, si, 1e-9);
      }
}
