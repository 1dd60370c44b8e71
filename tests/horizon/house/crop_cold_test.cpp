#include "horizon/house/crop_cold.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

using namespace horizon;

TEST_CASE("spinach hardens little from 8 to 2 C, much below, to -12 to -16 C [published]") {
  // Tamura 2002, J. Japan. Soc. Hort. Sci. 71:74: whole-plant limit of the coldest season in
  // unheated greenhouses; hardening by the mean minimum of the seven days before.
  const CropCold* spinach = nullptr;
  for (const CropCold& crop : crops_in_the_cold())
    if (crop.crop == "spinach") spinach = &crop;
  REQUIRE(spinach);
  CHECK(killing_c(*spinach, -6) < -12);
  CHECK(killing_c(*spinach, -6) > -16);
  const double at_8 = killing_c(*spinach, 8), at_2 = killing_c(*spinach, 2),
               at_minus_4 = killing_c(*spinach, -4);
  CHECK(at_8 - at_2 < at_2 - at_minus_4);
  CHECK(at_8 - at_2 > 0);
}

TEST_CASE("a cold night kills what was warm the week before, not what was hardened [property]") {
  const CropCold crop{"x", -3, -12, 0, 4.4, 6, "", false};
  std::vector<float> warm(20, 9.0f), cold(20, -5.0f);
  warm.push_back(-8);
  cold.push_back(-8);
  CHECK(!fate_of(crop, warm).lives);
  CHECK(fate_of(crop, warm).first_day == 20);
  CHECK(fate_of(crop, cold).lives);
  cold.back() = -12.5f;
  CHECK(!fate_of(crop, cold).lives);
}
