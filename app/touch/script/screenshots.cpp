#include "app/touch/script/screenshots.h"

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <map>

#include "app/drawing/contrast.h"
#include "app/touch/script/demo_visit.h"
#include "app/touch/script/script.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/exchange/exchange.h"

namespace app {
namespace {

namespace fs = std::filesystem;

struct Shot {
  const char *name, *commands;
};

// Each begins at the Skyline stop of the demo site.
constexpr Shot kShots[] = {
    {"skyline", "wait 0.1"},
    {"timeline", "touch \"What was done\""},
    {"skyline-again", "touch \"Skyline\"\nwait 1.5"},
    {"skyline-name", "touch \"Ridge\""},
    {"skyline-mark", "touch \"Done\"\nwait 6\ntouch \"Unrolled skyline\" at 0.5 0.72"},
    {"skyline-keypad", "device \"attitude missing\"\nwait 4\ntouch \"Type a reading\""},
    {"arrive", "touch \"Arrive\""},
    {"arrive-position",
     "touch \"Put the position right\"\ntouch \"Position in any notation\"\ntype \"32N 597000 "
     "5163000\""},
    {"stations", "touch \"Stations\""},
    {"warnings", "touch \"Arrive\"\ntouch \"How a visit goes\"\ntouch \"The warnings again\""},
    {"guide", "touch \"I have read this\""},
    {"guide-below", "swipe \"GUIDE\" 0 -BELOW\nwait 2"},
    {"arrive-again", "touch \"Arrive\""},
    {"explained", "touch \"EXPLAIN\""},
    {"check-shadow", "touch \"Close\"\ntouch \"Arrive\"\ntouch \"Check the compass\""},
    {"check-landmark", "touch \"Landmark\""},
    {"check-terrain", "touch \"Terrain\"\nsettle"},
    {"check-terrain-below", "swipe \"Check rows\" 0 -BELOW\nwait 2"},
    {"ground", "touch \"Ground\""},
    {"pit", "touch \"PIT\""},
    {"pit-more", "touch \"More of this layer\""},
    {"pit-laboratory",
     "touch \"Laboratory grading at hand\"\ntouch \"Sand, %\"\ntype \"44\"\ntouch \"Clay, "
     "%\"\ntype \"18\"\nkey escape"},
    {"percolation", "touch \"Ground\"\ntouch \"Percolation test\""},
    {"slope",
     "touch \"Ground\"\ntouch \"Lay the device on the ground\"\ndevice \"aim 150 -84\"\nwait 1"},
    {"ground-frost", "touch \"Ground\"\ntouch \"Frost and design cold\""},
    {"ground-months", "touch \"Climate, month by month\""},
    {"ground-cold-air", "touch \"Ground\"\ntouch \"Cold air\""},
    {"ground-wind", "touch \"Ground\"\ntouch \"Wind and drifts\""},
    {"ground-snow", "touch \"Ground\"\ntouch \"Snow load\""},
    {"ground-water", "touch \"Ground\"\ntouch \"Water\""},
    {"ground-services", "touch \"Ground\"\ntouch \"Power and drains\""},
    {"ground-access", "touch \"Ground\"\ntouch \"Access\""},
    {"ground-neighbours", "touch \"Ground\"\ntouch \"Neighbours\""},
    {"ground-permissions", "touch \"Ground\"\ntouch \"Permissions\""},
    {"ground-results", "touch \"Ground\"\ntouch \"What follows from it\""},
    {"ground-plot", "touch \"Ground\"\ntouch \"Sun map and verdict\"\nsettle"},
    {"ground-plot-below", "swipe \"PLOT\" 0 -BELOW\nwait 2"},
    {"lines", "touch \"Ground\"\ntouch \"Boundary and lines\""},
    {"lines-new", "touch \"New line\""},
    {"people", "touch \"Arrive\"\ntouch \"People and roles\""},
    {"people-new", "touch \"Add a person\""},
    {"contacts", "touch \"Skyline\"\ntouch \"Sun gone or back?\""},
    {"turn", "touch \"Skyline\"\ntouch \"Turn once with the camera\""},
    {"diary", "touch \"Skyline\"\ntouch \"Sun gone or back?\"\ntouch \"Diary for many days\""},
    {"light", "touch \"Light\"\nsettle"},
    {"light-below", "swipe \"Light rows\" 0 -BELOW\nwait 2"},
    {"light-months", "swipe \"Light rows\" 0 -BELOW\nwait 2"},
    {"house", "touch \"Light\"\nsettle\ntouch \"All about the house\"\nsettle"},
    {"house-below", "swipe \"House rows\" 0 -BELOW\nwait 2"},
    {"design", "touch \"Light\"\ntouch \"Building and weather\""},
    {"compare", "touch \"Light\"\ntouch \"Compare stations and sites\"\nsettle"},
    {"handover", "touch \"Hand over\""},
    {"photos", "touch \"Photos\""},
    {"photo", "touch \"Photo 1\""},
    {"trace", "touch \"Read the skyline\"\nsettle"},
    {"trace-kinds", "touch \"Kinds\""},
    {"trace-marks", "touch \"Marks\"\ntouch \"The photo\" at 0.3 0.5"},
    {"settings", "touch \"Settings\""},
    {"sites", "touch \"Back\"\ntouch \"All sites\""},
    {"sites-menu", "touch \"More on Larkholm school garden\""},
    {"sites-file", "touch \"Close\"\ntouch \"Bring in a file\""},
    {"programme", "touch \"All sites side by side\"\nsettle"},
    {"programme-site", "touch \"SITE\"\nwait 0.3"},
    {"programme-map", "touch \"Close\"\ntouch \"MAPPED\"\nsettle"},
};

// Words that stand out by less than 7 to 1 (WCAG 2.1, 1.4.6) from the commonest colour round them;
// those of an area that cannot be touched now are meant to.
void add_faint_words(TouchApp& app, const Window& window, std::vector<std::string>& faults) {
  const Bitmap& pixels = window.pixels();
  const auto& hits = app.ui().hits();
  for (const auto& words : window.inspected().words()) {
    const Rect box = words.visible;
    if (box.h < words.box.h * 0.9f || box.w < 4) continue;
    const bool off = std::any_of(hits.begin(), hits.end(), [&](const Hit& hit) {
      return !hit.enabled && hit.rect.contains({box.x + box.w / 2, box.y + box.h / 2});
    });
    if (off) continue;
    std::map<std::uint32_t, int> seen;
    for (int y = std::max(0, int(box.y) - 2); y < std::min(pixels.height, int(box.bottom()) + 3);
         ++y)
      for (int x = std::max(0, int(box.x) - 2); x < std::min(pixels.width, int(box.right()) + 3);
           ++x)
        ++seen[pixels.pixels[std::size_t(y) * std::size_t(pixels.width) + std::size_t(x)] &
               0xffffffu];
    if (seen.empty()) continue;
    const std::uint32_t most =
        std::max_element(seen.begin(), seen.end(), [](const auto& a, const auto& b) {
          return a.second < b.second;
        })->first;
    const Color ground{std::uint8_t(most >> 16), std::uint8_t(most >> 8), std::uint8_t(most)};
    const auto mixed = [&](std::uint8_t over, std::uint8_t under) {
      return std::uint8_t((over * words.color.a + under * (255 - words.color.a)) / 255);
    };
    const Color ink{mixed(words.color.r, ground.r), mixed(words.color.g, ground.g),
                    mixed(words.color.b, ground.b)};
    char ratio[16];
    std::snprintf(ratio, sizeof ratio, " %.1f", contrast(ink, ground));
    if (contrast(ink, ground) < 7) faults.push_back("faint: " + words.text + ratio);
  }
}

// What a shot's commands leave open: labels as this screen has them, sizes.
void fill_in(std::string& commands, const Ui& ui, int width, int height) {
  const auto replace = [&](const std::string& from, const std::string& to) {
    if (const auto at = commands.find(from); at != commands.npos)
      commands.replace(at, from.size(), to);
  };
  const std::string sign = tr("ui.what", {""});
  for (const Hit& hit : ui.hits()) {
    if (hit.label.starts_with("Pit ")) replace("PIT", hit.label);
    if (hit.label.starts_with(sign)) replace("EXPLAIN", hit.label);
    if (hit.label.starts_with("Larkholm")) replace("SITE", hit.label);
  }
  replace("MAPPED", tr("programme.shown_as") + ": " + tr("programme.as_map"));
  replace("Photo 1", tr("photos.photo", {"1"}));
  replace("More on Larkholm school garden", tr("sites.more_on", {"Larkholm school garden"}));
  if (width > height && height > 500) replace("0.5 0.72", "0.5 0.89");  // a mark stands there
  replace("GUIDE", width > 760 ? "Guide right" : "Guide rows");
  replace("PLOT", width > 760 ? "Plot right" : "Plot rows");
  replace("BELOW", std::to_string(height));
}

}  // namespace

std::vector<std::string> faults_on_screens(const std::string& png_folder,
                                           const std::vector<std::string>& sizes,
                                           const std::string& language, float text_scale) {
  std::vector<std::string> all;
  const fs::path work = survey::new_temp_folder("adret-screens-");
  std::error_code ignored;
  if (auto made = make_demo_folder(work.string()); !made) {
    all.push_back("demo: " + made.error().where + ": " + words_of(made.error()));
    return all;
  }
  if (!png_folder.empty()) fs::create_directories(png_folder, ignored);
  for (const std::string& size : sizes) {
    int width = 0, height = 0;
    if (std::sscanf(size.c_str(), "%dx%d", &width, &height) != 2) continue;
    for (const bool dusk : {false, true}) {
      const std::string run =
          (language == "en" ? "" : language + "-") + size + (dusk ? "-dusk" : "-day");
      fs::remove_all(work / "run", ignored);
      fs::copy(work / "demo", work / "run", fs::copy_options::recursive, ignored);
      platform::Recording recording;
      TouchApp touch_app(recording.devices((work / "run").string()));
      touch_app.session().settings.language = language;
      touch_app.session().settings.warnings_read = true;
      touch_app.session().settings.text_scale = text_scale;
      const InLanguage in(language);
      touch_app.session().settings.theme = dusk ? ThemeChoice::dusk : ThemeChoice::daylight;
      const auto& sites = touch_app.session().sites().sites;
      if (sites.empty() || !touch_app.session().open_site(sites.front().path)) {
        all.push_back(run + ": the demo site cannot be opened");
        continue;
      }
      (void)recording.apply("aim 218.0 24.0");
      recording.advance(3600);  // the demo's visit is over
      touch_app.go(ScreenId::skyline);
      WindowOptions options;
      options.width = width;
      options.height = height;
      options.inspect = true;
      options.scale = 1;
      Window window(touch_app, options);
      Script script(window, touch_app, recording);
      script.may_shorten = demo_names();
      (void)script.run("wait 1.5\nsettle");
      for (const Shot& shot : kShots) {
        std::string commands = shot.commands;
        fill_in(commands, touch_app.ui(), width, height);
        if (std::string(shot.name) == "skyline-keypad") touch_app.states().close_sheet();
        if (std::string(shot.name) == "check-shadow")
          (void)script.run("device \"attitude running\"");
        const auto done = script.run(commands);
        const std::string name = run + "-" + shot.name;
        if (!done) {
          all.push_back(name + ": " + done.error().where + ": " + words_of(done.error()));
          continue;
        }
        (void)script.run("wait 0.3");
        std::vector<std::string> faults;
        script.gather = &faults;
        (void)script.run("check");
        if (!dusk) add_faint_words(touch_app, window, faults);
        for (const auto& fault : faults) all.push_back(name + ": " + fault);
        if (!png_folder.empty()) (void)write_png(png_folder + "/" + name + ".png", window.pixels());
        if (std::string(shot.name) == "skyline-keypad") (void)script.run("touch \"Close\"");
      }
      touch_app.session().close_site();
    }
  }
  fs::remove_all(work, ignored);
  return all;
}

int take_screenshots(const std::string& folder, const std::string& language, float text_scale,
                     const std::string& size) {
  std::vector<std::string> sizes{"360x640", "640x360", "412x915", "800x1280", "1280x800"};
  if (!size.empty()) sizes = {size};
  const auto faults = faults_on_screens(folder, sizes, language, text_scale);
  for (const auto& fault : faults) std::printf("%s\n", fault.c_str());
  std::printf("%zu faults; pictures in %s\n", faults.size(), folder.c_str());
  return faults.empty() ? 0 : 1;
}

}  // namespace app
