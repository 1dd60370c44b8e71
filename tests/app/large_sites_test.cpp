// Work has an end whatever a site holds: what is left out is said. Counted, not timed; the times of
// the whole sizes are in docs/reliability.md (ADRET_LARGE=FOLDER writes the files).
#include "tests/app/large_sites.h"

#include <cstdlib>

#include "tests/app/handover_tools.h"

using namespace handover_tools;

TEST_CASE("The large sites are written for whoever measures [regression]") {
  const char* folder = std::getenv("ADRET_LARGE");
  if (!folder) return;
  const fs::path to(folder);
  large::book(to / "stations.gpkg", {.stations = 10000, .ridge_marks = 4});
  large::book(to / "poles.gpkg", {.poles = 3000});
  large::book(to / "sightings.gpkg", {.stations = 10, .ridge_marks = 10000});
  large::book(to / "sightings1.gpkg", {.ridge_marks = 100000});
  large::book(to / "photos.gpkg", {.photos = 2000, .photo_kb = 100});
}
