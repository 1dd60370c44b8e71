// adret: the touch app.
//   adret [--folder DIR] [SITE.gpkg]
//   adret --script FILE [--recording FILE] [--size WxH] [--scale S] [--folder DIR]
//   adret --screenshots DIR [--language de]     every screen at five sizes in both themes, checked
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "app/drawing/fonts.h"
#include "app/touch/script/screenshots.h"
#include "app/touch/script/script.h"
#include "app/touch/session/crash_mark.h"
#include "app/words/sentence.h"
#include "survey/exchange/exchange.h"

namespace {

struct Options {
  std::string folder, site, script, recording, screenshots, language = "en";
  int width = 1280, height = 800;
  float scale = 0;
};

std::string text_of(const std::string& path, bool& good) {
  std::ifstream file(path, std::ios::binary);
  good = file.good();
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

int usage(const char* problem) {
  std::fprintf(stderr,
               "adret: %s\n"
               "usage: adret [--folder DIR] [SITE.gpkg]\n"
               "       adret --script FILE [--recording FILE] [--size 412x915] [--scale 2] "
               "[--folder DIR]\n"
               "       adret --screenshots DIR [--language de]\n",
               problem);
  return 2;
}

int run_script(const Options& options) {
  bool good = false;
  platform::Recording recording;
  if (!options.recording.empty()) {
    const std::string lines = text_of(options.recording, good);
    if (!good) return usage(("cannot read " + options.recording).c_str());
    if (auto read = recording.load(lines); !read) {
      std::fprintf(stderr, "adret: %s: %s: %s\n", options.recording.c_str(),
                   read.error().where.c_str(), app::words_of(read.error()).c_str());
      return 2;
    }
  }
  const std::string text = text_of(options.script, good);
  if (!good) return usage(("cannot read " + options.script).c_str());
  const std::string folder =
      options.folder.empty() ? survey::new_temp_folder("adret-script-") : options.folder;
  if (folder.empty()) return usage("no folder could be made; name one with --folder");
  app::TouchApp touch_app(recording.devices(folder));
  app::WindowOptions window_options;
  window_options.width = options.width;
  window_options.height = options.height;
  window_options.scale = options.scale > 0 ? options.scale : 1;
  window_options.inspect = true;
  app::Window window(touch_app, window_options);
  if (!window.problem().empty()) return usage(window.problem().c_str());
  app::Script script(window, touch_app, recording);
  const auto done = script.run(text);
  std::printf("%d touches (%d of them to scroll), %ld frames\n", script.touches(), script.scrolls(),
              window.frames());
  if (done) return 0;
  std::fprintf(stderr, "adret: %s: %s\n", done.error().where.c_str(),
               app::words_of(done.error()).c_str());
  return 1;
}

}  // namespace

namespace {

int run(int argc, char** argv) {
  Options options;
  for (int i = 1; i < argc; ++i) {
    const std::string arg = argv[i];
    const bool more = i + 1 < argc;
    if (arg == "--folder" && more)
      options.folder = argv[++i];
    else if (arg == "--script" && more)
      options.script = argv[++i];
    else if (arg == "--recording" && more)
      options.recording = argv[++i];
    else if (arg == "--screenshots" && more)
      options.screenshots = argv[++i];
    else if (arg == "--language" && more)
      options.language = argv[++i];
    else if (arg == "--scale" && more)
      options.scale = std::strtof(argv[++i], nullptr);
    else if (arg == "--size" && more) {
      if (std::sscanf(argv[++i], "%dx%d", &options.width, &options.height) != 2 ||
          options.width < 200 || options.height < 200)
        return usage("write the size as 412x915");
    } else if (arg.starts_with("-"))
      return usage(("unknown option " + arg).c_str());
    else
      options.site = arg;
  }
  if (const std::string problem = app::Fonts::shared().problem(); !problem.empty()) {
    std::fprintf(stderr, "adret: %s\n", problem.c_str());
    return 1;
  }
  if (!options.screenshots.empty()) {
    return app::take_screenshots(options.screenshots, options.language);
  }
  if (!options.script.empty()) return run_script(options);

  auto devices = platform::system_devices(options.folder);
  app::mark_crashes_at(devices.files->settings_file() + ".crashed");
  app::TouchApp touch_app(std::move(devices));
  if (!options.site.empty()) {
    if (touch_app.session().open_site(options.site)) touch_app.go(app::ScreenId::skyline);
  }
  app::WindowOptions window_options;
  window_options.width = options.width;
  window_options.height = options.height;
  window_options.scale = options.scale;
  app::Window window(touch_app, window_options);
  if (!window.problem().empty()) {
    std::fprintf(stderr, "adret: %s\n", window.problem().c_str());
    return 1;
  }
  window.run();
  touch_app.session().close_site();
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const std::exception& error) {  // every entry was kept when it was made
    std::fprintf(stderr, "adret: %s\n", app::words_of(survey::error_of(error)).c_str());
    return 1;
  }
}
