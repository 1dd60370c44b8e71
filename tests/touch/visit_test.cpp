#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <random>
#include <sstream>

#include "app/script/demo_visit.h"
#include "app/script/script.h"

using namespace app;
namespace fs = std::filesystem;

namespace {

struct Place {
  fs::path folder;
  explicit Place(const char* name) : folder(fs::temp_directory_path() / name) {
    setenv("SDL_VIDEODRIVER", "dummy", 1);
    fs::remove_all(folder);
    fs::create_directories(folder);
  }
  ~Place() { fs::remove_all(folder); }
};

struct Walk {
  platform::Recording recording;
  TouchApp app;
  Window window;
  Script script;
  explicit Walk(const std::string& folder)
      : app(recording.devices(folder)), window(app, options()), script(window, app, recording) {}
  static WindowOptions options() {
    WindowOptions o;
    o.width = 412;
    o.height = 915;
    o.scale = 1;
    o.inspect = true;
    return o;
  }
  std::string run(const std::string& text) {
    const auto done = script.run(text);
    return done ? std::string() : done.error().where + ": " + done.error().message;
  }
};

}  // namespace

TEST_CASE("a whole visit by touch takes under 110 touches, two to the first mark [property]") {
  Place place("adret-visit-test");
  const std::string photo = (place.folder / "view.png").string();
  REQUIRE(write_demo_photo(photo));
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.window.problem().empty());

  // Up to the first mark, counted from where the position is known.
  const std::string all = whole_visit(photo);
  std::istringstream lines(all);
  std::string line;
  int at_position = -1, at_first_mark = -1;
  while (std::getline(lines, line)) {
    const auto done = walk.script.command(line);
    INFO(line);
    REQUIRE_MESSAGE(done.has_value(), done.error().message);
    if (at_position < 0 && walk.app.session().has_position()) at_position = walk.script.touches();
    if (at_first_mark < 0 && walk.app.session().marks() == 1) at_first_mark = walk.script.touches();
  }
  MESSAGE("touches: " << walk.script.touches() << ", of them to scroll: " << walk.script.scrolls()
                      << ", from position to first mark: " << at_first_mark - at_position);
  CHECK(at_first_mark - at_position <= 2);
  CHECK(walk.script.touches() < 110);
  CHECK(walk.app.session().marks() == 40);
  CHECK(walk.app.session().checks().size() == 2);
  auto& book = walk.app.session().book();
  CHECK(book.all<survey::Photo>()->size() == 2);
  CHECK(book.all<survey::SoilLayer>()->size() == 3);
  CHECK(book.all<survey::PercolationReading>()->size() == 3);

  // Nothing moves now: no frame is drawn.
  CHECK(walk.run("touch \"Arrive\"\nwait 8\nsettle").empty());
  const long before = walk.window.frames();
  for (int i = 0; i < 50; ++i) walk.window.step(0);
  CHECK(walk.window.frames() == before);
}

TEST_CASE("faults of sensors are said in plain words and the visit goes on [property]") {
  Place place("adret-fault-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\nwait 0.5\ndevice \"position failed\"\nwait 1\n"
                 "expect \"stopped answering\"\ndevice \"position running\"\n"
                 "device \"fix 46.6213 10.3478 1482 4\"\nwait 1\ntouch \"Skyline\"\n"
                 "device \"aim 120 14\"\ndevice \"attitude jumping\"\nwait 3\nexpect \"jumps\"\n"
                 "device \"attitude stuck\"\nwait 8\nexpect \"has not moved\"\n"
                 "device \"attitude running\"\naim 130 14\nwait 3\nexpect_not \"has not moved\"\n"
                 "touch \"Mark\"\ndevice \"camera failed\"\nwait 0.5\naim 140 15\ntouch \"Mark\"\n"
                 "device \"attitude failed\"\nwait 5\nexpect \"stopped answering\"\n"
                 "touch \"Type a reading\"\ntouch \"Key 1\"\ntouch \"Key 5\"\ntouch \"Key 0\"\n"
                 "touch \"Next\"\ntouch \"Key 1\"\ntouch \"Key 6\"\ntouch \"Mark it\"\n"
                 "touch \"Close\"\n") == "");
  CHECK(walk.app.session().marks() == 3);
  // The clock is set back by a day: marks keep coming, and times are kept as they were read.
  CHECK(walk.run("device \"clock 1766224800\"\ndevice \"attitude running\"\naim 160 12\nwait 1\n"
                 "touch \"Mark\"") == "");
  CHECK(walk.app.session().marks() == 4);
}

TEST_CASE("undo takes the last mark back, a trace at one touch, and nothing leaves the file [property]") {
  Place place("adret-undo-test");
  Walk walk((place.folder / "data").string());
  REQUIRE(walk.run("touch \"New site\"\ndevice \"fix 46.6213 10.3478 1482 4\"\nwait 1\n"
                 "touch \"Skyline\"\naim 100 12\ntouch \"Mark\"\naim 110 12\n"
                 "hold \"Hold to trace\" 3 sweep 110 12 150 20") == "");
  const int traced = walk.app.session().marks();
  CHECK(traced >= 3);
  CHECK(walk.run("touch \"Undo\"") == "");
  CHECK(walk.app.session().marks() == 1);
  CHECK(walk.app.session().book().all<survey::Sighting>()->size() == std::size_t(traced));
}

TEST_CASE("killed at any moment, the app goes on with every mark it had confirmed [property]") {
  Place place("adret-kill-test");
  const std::string photo = (place.folder / "view.png").string();
  REQUIRE(write_demo_photo(photo));
  std::mt19937 random(3);
  for (int round = 0; round < 6; ++round) {
    const std::string data = (place.folder / ("data" + std::to_string(round))).string();
    int pipe_ends[2];
    REQUIRE(pipe(pipe_ends) == 0);
    const pid_t child = fork();
    if (child == 0) {
      close(pipe_ends[0]);
      Walk walk(data);
      std::istringstream lines(whole_visit(photo));
      std::string line;
      while (std::getline(lines, line)) {
        if (!walk.script.command(line)) break;
        const auto marks = static_cast<unsigned char>(walk.app.session().marks());
        if (write(pipe_ends[1], &marks, 1) != 1) break;
      }
      _exit(0);
    }
    close(pipe_ends[1]);
    // After so many commands the child is killed, wherever it is then.
    const int patience = 20 + int(random() % 110);
    unsigned char confirmed = 0, marks = 0;
    for (int i = 0; i < patience && read(pipe_ends[0], &marks, 1) == 1; ++i) confirmed = marks;
    kill(child, SIGKILL);
    waitpid(child, nullptr, 0);
    while (read(pipe_ends[0], &marks, 1) == 1) confirmed = marks;  // confirmed before it died
    close(pipe_ends[0]);
    Walk again(data);
    REQUIRE(again.app.session().has_site());
    CHECK(again.app.session().marks() >= int(confirmed));
    CHECK(again.app.screen() != ScreenId::sites);
  }
}
