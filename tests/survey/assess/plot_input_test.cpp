#include "survey/assess/plot_input.h"

#include <doctest/doctest.h>

using namespace survey;

TEST_CASE("a building over a station is refused with the station's name [property]") {
  std::vector<horizon::PlotStation> stations(2);
  stations[0].name = "A";
  stations[1].name = "B";
  stations[1].eye = horizon::Enu(0, -25, 0);
  const auto built = [&](double away, double wide) {
    const double n[] = {180, away, 40, wide, 9, 5};
    return to_build("Hall", n, stations);
  };
  CHECK(built(15, 10).has_value());
  for (const double away : {4.0, 22.0}) {
    const auto refused = built(away, 10);
    REQUIRE_FALSE(refused.has_value());
    CHECK(refused.error().key == "error.build_over_station");
    CHECK(refused.error().where == "Hall");
  }
}
