// app/touch/script/pictures.cpp: the pictures of README, drawn by the app out of the invented site.
#include <algorithm>
#include <cstdio>
#include <filesystem>

#include "app/touch/script/demo_visit.h"
#include "app/touch/script/screenshots.h"
#include "app/touch/script/script.h"
#include "app/words/sentence.h"
#include "survey/exchange/exchange.h"

namespace app {

namespace fs = std::filesystem;

int take_pictures(const std::string& folder) {
  const fs::path work = survey::new_temp_folder("adret-pictures-");
  std::error_code ignored;
  fs::create_directories(folder, ignored);
  const auto failed = [&](const std::string& why) {
    std::fprintf(stderr, "adret: %s\n", why.c_str());
    fs::remove_all(work, ignored);
    return 1;
  };
  if (auto made = make_demo_folder(work.string()); !made) return failed(in_words(made.error()));
  platform::Recording recording;
  TouchApp touch_app(recording.devices((work / "demo").string()));
  touch_app.session().settings.warnings_read = true;
  const auto& sites = touch_app.session().sites().sites;
  if (sites.empty() || !touch_app.session().open_site(sites.front().path))
    return failed(touch_app.session().problem);
  (void)recording.apply("aim 218.0 24.0");
  recording.advance(3600);
  touch_app.go(ScreenId::skyline);
  WindowOptions options;
  options.width = 412;
  options.height = 860;
  options.inspect = true;
  options.scale = 1;
  Window window(touch_app, options);
  if (!window.problem().empty()) return failed(window.problem());
  Script script(window, touch_app, recording);
  script.folder = folder;
  const auto done = script.run(
      "wait 1.5\nsettle\nscreenshot \"skyline.png\"\ntouch \"Light\"\nsettle\nwait 0.5\n"
      "screenshot \"light.png\"\n");
  if (!done) return failed(in_words(done.error()));
  // The report as the visit handed it over; its first page is turned into a picture by the caller.
  for (const auto& entry : fs::recursive_directory_iterator(work / "demo", ignored))
    if (entry.path().extension() == ".pdf")
      fs::copy_file(entry.path(), fs::path(folder) / "report.pdf",
                    fs::copy_options::overwrite_existing, ignored);
  touch_app.session().close_site();
  fs::remove_all(work, ignored);
  return fs::exists(fs::path(folder) / "report.pdf") ? 0 : failed("the visit made no report");
}

}  // namespace app
