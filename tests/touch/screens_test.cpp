#include <doctest/doctest.h>

#include <cstdlib>

#include "app/touch/script/screenshots.h"

TEST_CASE(
    "no screen cuts words, lays them over one another, has faint words or areas too small "
    "[property]") {
  setenv("SDL_VIDEODRIVER", "dummy", 1);
  auto faults = app::faults_on_screens("", {"360x640", "640x360", "1280x800"});
  for (auto& fault : app::faults_on_screens("", {"360x640", "640x360"}, "de"))
    faults.push_back(fault);
  for (const auto& fault : faults) MESSAGE(fault);
  CHECK(faults.empty());
}
