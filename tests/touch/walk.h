// tests/touch/walk.h: the true app in a folder of its own, driven by a script without a display.
#pragma once

#include <cstdlib>
#include <filesystem>
#include <memory>
#include <random>
#include <string>

#include "app/touch/script/script.h"
#include "app/words/sentence.h"

namespace touch_test {

struct Place {
  std::filesystem::path folder;
  // A name of its own: two runs at once do not meet.
  explicit Place(const char* name)
      : folder(std::filesystem::temp_directory_path() /
               (name + std::to_string(std::random_device{}()))) {
    setenv("SDL_VIDEODRIVER", "dummy", 1);
    std::filesystem::create_directories(folder);
  }
  ~Place() { std::filesystem::remove_all(folder); }
};

struct Walk {
  platform::Recording recording;
  app::TouchApp app;
  app::Window window;
  app::Script script;
  // `clock` in place of the recording's own.
  explicit Walk(const std::string& folder, std::unique_ptr<platform::Clock> clock = nullptr)
      : app(devices(recording, folder, std::move(clock))),
        window(app, options()),
        script(window, app, recording) {
    app.session().settings.warnings_read = true;  // their own test is in guide_test.cpp
  }
  static platform::Devices devices(platform::Recording& recording, const std::string& folder,
                                   std::unique_ptr<platform::Clock> clock) {
    platform::Devices devices = recording.devices(folder);
    if (clock) devices.clock = std::move(clock);
    return devices;
  }
  static app::WindowOptions options() {  // few pixels a dp: the same layout, drawn sooner
    app::WindowOptions o;
    o.width = 412;
    o.height = 915;
    o.scale = 0.5f;
    o.inspect = true;
    return o;
  }
  std::string run(const std::string& text) {
    const auto done = script.run(text);
    return done ? std::string() : app::in_words(done.error());
  }
};

}  // namespace touch_test
