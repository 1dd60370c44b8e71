#include <doctest/doctest.h>

#include <cstdlib>

#include "app/touch/script/screenshots.h"
#include "app/words/words.h"

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

// ADRET_LONG=1: a quarter of an hour.
TEST_CASE("nor does any in any language at any size with the largest words [property]") {
  if (!std::getenv("ADRET_LONG")) return;
  setenv("SDL_VIDEODRIVER", "dummy", 1);
  for (const auto& code : app::languages()) {
    const auto faults = app::faults_on_screens(
        "", {"360x640", "640x360", "412x915", "800x1280", "1280x800"}, code, 1.4f);
    for (const auto& fault : faults) MESSAGE(fault);
    CHECK(faults.empty());
  }
}
