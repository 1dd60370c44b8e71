#include "app/script/screenshots.h"

#include <doctest/doctest.h>

#include <cstdlib>

TEST_CASE("no screen cuts words, lays them over one another, or has areas too small [property]") {
  setenv("SDL_VIDEODRIVER", "dummy", 1);
  const auto faults = app::faults_on_screens("", {"360x640", "640x360", "1280x800"});
  for (const auto& fault : faults) MESSAGE(fault);
  CHECK(faults.empty());
}
