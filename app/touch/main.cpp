// adret: the touch app.
//   adret [--folder DIR] [--size WxH] [SITE.gpkg]
//   adret --script FILE [--recording FILE] [--size WxH] [--scale S] [--folder DIR]
//   adret --screenshots DIR [--language de]     every screen at five sizes in both themes, checked
// `adret --help` lists every option.
#include <CLI/CLI.hpp>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "app/drawing/fonts.h"
#include "app/touch/script/screenshots.h"
#include "app/touch/script/script.h"
#include "app/touch/session/crash_mark.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/exchange/exchange.h"

namespace {

struct Options {
  std::string folder, site, script, recording, screenshots, pictures, language = "en";
  int width = 1280, height = 800;
  float scale = 0, words = 1;
};

std::string text_of(const std::string& path, bool& good) {
  std::ifstream file(path, std::ios::binary);
  good = file.good();
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

int usage(const std::string& problem) {
  std::fprintf(stderr, "adret: %s\n", problem.c_str());
  return 2;
}

// "412x915", dp.
std::string size_problem(const std::string& text) {
  int width = 0, height = 0;
  char rest = 0;
  if (std::sscanf(text.c_str(), "%dx%d%c", &width, &height, &rest) != 2 || width < 200 ||
      height < 200 || width > 8000 || height > 8000)
    return "write the size as 412x915, each side 200 to 8000";
  return {};
}

int run_script(const Options& options) {
  bool good = false;
  platform::Recording recording;
  if (!options.recording.empty()) {
    const std::string lines = text_of(options.recording, good);
    if (!good) return usage("cannot read " + options.recording);
    if (auto read = recording.load(lines); !read) {
      std::fprintf(stderr, "adret: %s: %s: %s\n", options.recording.c_str(),
                   read.error().where.c_str(), app::words_of(read.error()).c_str());
      return 2;
    }
  }
  const std::string text = text_of(options.script, good);
  if (!good) return usage("cannot read " + options.script);
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
  if (!window.problem().empty()) return usage(window.problem());
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
  std::string size;
  CLI::App cli{"Adret: the field book for the winter sun, the ground and the wind of a plot.",
               "adret"};
  cli.set_version_flag("--version", "adret " ADRET_VERSION);
  cli.add_option("site", options.site, "a site file to open (SITE.gpkg)");
  cli.add_option("--folder", options.folder, "where the sites are kept");
  cli.add_option("--size", size, "of the window, as 412x915")->check(size_problem);
  cli.add_option("--scale", options.scale, "pixels a unit; without it, by the screen")
      ->check(CLI::Range(0.25f, 8.f));
  cli.add_option("--script", options.script, "a scripted walk to drive the app with");
  cli.add_option("--recording", options.recording, "devices that replay this file, for --script");
  cli.add_option("--screenshots", options.screenshots,
                 "draw every screen at five sizes in both themes into this folder, and check them");
  cli.add_option("--pictures", options.pictures, "draw the pictures of README into this folder");
  cli.add_option("--language", options.language, "of the screenshots, as de")
      ->check(CLI::IsMember(app::languages()));
  cli.add_option("--words", options.words, "how large the words of the screenshots are")
      ->check(CLI::Range(0.85f, 1.6f));
  try {
    cli.parse(argc, argv);
  } catch (const CLI::Success& said) {  // help, version
    return cli.exit(said);
  } catch (const CLI::ParseError& error) {
    (void)cli.exit(error);
    return 2;
  }
  if (!size.empty()) std::sscanf(size.c_str(), "%dx%d", &options.width, &options.height);
  if (const std::string problem = app::Fonts::shared().problem(); !problem.empty()) {
    std::fprintf(stderr, "adret: %s\n", problem.c_str());
    return 1;
  }
  if (!options.screenshots.empty()) {
    return app::take_screenshots(options.screenshots, options.language, options.words, size);
  }
  if (!options.pictures.empty()) return app::take_pictures(options.pictures);
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
