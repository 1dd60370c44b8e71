// app/touch/session/settings.h: how the reader likes the app, and where they were.
// Kept in a small JSON file; a damaged or missing file gives the defaults.
#pragma once

#include <string>

#include "app/words/quantity.h"

namespace app {

enum class ThemeChoice : unsigned char { by_time, daylight, dusk };
enum class Instrument : unsigned char { device, by_hand };

struct Settings {
  ThemeChoice theme = ThemeChoice::daylight;
  Units units = Units::metric;
  float text_scale = 1;
  bool left_handed = false;
  bool speak = false;   // readings are said aloud when they are marked
  bool gloves = false;  // areas of 15 mm on the Skyline stop
  std::string language = "en";
  Instrument instrument = Instrument::device;
  double eye_height_m = 1.6;
  // Where to go on after a restart.
  std::string site_path;
  std::string station;
  std::string screen;
  bool warnings_read = false;  // what may hurt here
  int starts = 0;              // one after the other that did not run for a while; see Session
};

Settings read_settings(const std::string& path);
// Written beside and renamed, so that a power cut leaves the old or the new, never half of one.
bool write_settings(const std::string& path, const Settings& settings);

}  // namespace app
