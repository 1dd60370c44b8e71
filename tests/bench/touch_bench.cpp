// tests/bench/touch_bench.cpp: what the touch app costs, with the demo site, without a display.
// Limits:  no frame and under 1 % of a core while idle; a frame under 8 ms while aiming (1280 x 800,
//          software renderer); the first frame after 0.5 s; under 120 MB
// Method:  each measurement in a process of its own, so that none warms the next one up
#include <SDL.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>

#include "app/touch/script/demo_visit.h"
#include "app/touch/window.h"
#include "app/words/sentence.h"
#include "platform/recorded.h"

namespace {

using namespace app;

double now_s() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

double cpu_s() {
  rusage used{};
  getrusage(RUSAGE_SELF, &used);
  return double(used.ru_utime.tv_sec + used.ru_stime.tv_sec) +
         1e-6 * double(used.ru_utime.tv_usec + used.ru_stime.tv_usec);
}

void line(const char* what, double value, const char* unit, double limit) {
  std::printf("%-52s %9.2f %-8s limit %6.1f%s\n", what, value, unit, limit,
              value <= limit ? "" : "   MISSED");
}

WindowOptions options() {
  WindowOptions o;
  o.scale = 1;
  return o;
}

void settle(TouchApp& app, Window& window) {
  for (const double begun = now_s(); now_s() - begun < 30;) {
    window.step(0.01);
    if (!app.busy() && !app.wants_frame()) return;
  }
}

// The picture of a camera, new 15 times a second.
class Camera : public platform::Camera {
 public:
  explicit Camera(const platform::Clock& clock) : clock_(clock) {
    picture_.width = 640;
    picture_.height = 480;
    picture_.field_of_view_known = true;
    for (int i = 0; i < 640 * 480; ++i)
      for (int c = 0; c < 4; ++c) picture_.rgba.push_back(std::uint8_t(i * 7 + c * 50));
  }
  void start() override {}
  void stop() override {}
  platform::DeviceStatus status() const override { return {platform::DeviceState::running, {}}; }
  std::optional<platform::CameraPicture> poll() override {
    if (clock_.running_s() - last_s_ < 1.0 / 15) return {};
    last_s_ = clock_.running_s();
    for (std::size_t i = 0; i < picture_.rgba.size(); i += 64) ++picture_.rgba[i];
    return picture_;
  }
  void take() override {}
  std::optional<platform::Still> taken() override { return {}; }

 private:
  const platform::Clock& clock_;
  platform::CameraPicture picture_;
  double last_s_ = -1;
};

// ---------------------------------------------------------------- each in its own process

void start(const std::string& folder, double begun) {
  TouchApp app(platform::system_devices(folder));
  Window window(app, options());
  while (window.frames() == 0) window.step(0);
  line("start to first frame, the site open at its skyline", now_s() - begun, "s", 0.5);
  while (!app.session().live()) window.step(0.001);
  window.step(0);
  std::printf("%-52s %9.2f s\n", "  and to the sun hours on it", now_s() - begun);
}

void idle(const std::string& folder, double) {
  TouchApp app(platform::system_devices(folder));
  Window window(app, options());
  for (const auto& [name, screen] :
       {std::pair{"Light", ScreenId::light}, std::pair{"Arrive", ScreenId::arrive},
        std::pair{"Skyline, no sensors", ScreenId::skyline}}) {
    app.go(screen);
    settle(app, window);
    for (const double rest = now_s(); now_s() - rest < 6;) window.step(app.sleep_s());  // toasts go
    const double begun = now_s(), cpu = cpu_s();
    const long frames = window.frames();
    while (now_s() - begun < 5) window.step(app.sleep_s());
    const double gone = now_s() - begun;
    char words[80];
    std::snprintf(words, sizeof words, "idle for 5 s at %s: frames", name);
    line(words, double(window.frames() - frames), "", 0);
    std::snprintf(words, sizeof words, "idle for 5 s at %s: of a core", name);
    line(words, (cpu_s() - cpu) / gone * 100, "%", 1);
  }
}

void aiming(const std::string& folder, bool camera) {
  platform::Recording recording;
  platform::Devices devices = recording.devices(folder);
  if (camera) devices.camera = std::make_unique<Camera>(*devices.clock);
  (void)recording.apply("aim 150 12");
  TouchApp app(std::move(devices));
  Window window(app, options());
  std::vector<double> ms;
  for (int i = 0; i < 900; ++i) {  // a slow sweep over the winter sun, 30 poses a second
    char aim[64];
    std::snprintf(aim, sizeof aim, "aim %.2f %.2f", 120 + i * 0.13, 14 + 6 * std::sin(i * 0.02));
    (void)recording.apply(aim);
    recording.advance(1.0 / 30);
    const long before = window.frames();
    window.step(0);
    if (i >= 60 && window.frames() > before) ms.push_back(window.last_frame_ms());
  }
  std::sort(ms.begin(), ms.end());
  const std::string with = camera ? "with a camera picture" : "on a clean sight";
  line(("frame while aiming " + with + ": median").c_str(), ms[ms.size() / 2], "ms", 8);
  line(("frame while aiming " + with + ": 95 of 100 under").c_str(), ms[ms.size() * 95 / 100], "ms",
       8);
}

void memory(const std::string& folder, double) {
  TouchApp app(platform::system_devices(folder));
  Window window(app, options());
  for (const ScreenId screen :
       {ScreenId::arrive, ScreenId::skyline, ScreenId::ground, ScreenId::plot, ScreenId::light,
        ScreenId::compare, ScreenId::handover, ScreenId::photos}) {
    app.go(screen);
    settle(app, window);
  }
  rusage used{};
  getrusage(RUSAGE_SELF, &used);
  line("peak memory, every stop of the demo site seen", double(used.ru_maxrss) / 1024, "MB", 120);
}

int run_apart(const char* self, const char* what, const std::string& folder) {
  std::fflush(stdout);
  const std::string begun = std::to_string(now_s());
  const pid_t child = fork();
  if (child == 0) {
    execl(self, self, what, folder.c_str(), begun.c_str(), nullptr);
    _exit(127);
  }
  int status = 0;
  waitpid(child, &status, 0);
  return status;
}

}  // namespace

int main(int argc, char** argv) {
  setenv("SDL_VIDEODRIVER", "dummy", 0);  // or another, where it was asked for
  setenv("SDL_AUDIODRIVER", "dummy", 0);
  if (argc == 4) {
    const std::string what = argv[1], folder = argv[2];
    const double begun = std::strtod(argv[3], nullptr);
    if (what == "start") start(folder, begun);
    if (what == "idle") idle(folder, begun);
    if (what == "sight") aiming(folder, false);
    if (what == "camera") aiming(folder, true);
    if (what == "memory") memory(folder, begun);
    return 0;
  }
  const std::filesystem::path work = std::filesystem::temp_directory_path() / "adret-touch-bench";
  std::error_code ignored;
  std::filesystem::remove_all(work, ignored);
  if (auto made = make_demo_folder(work.string()); !made) {
    std::fprintf(stderr, "touch_bench: %s\n", app::in_words(made.error()).c_str());
    return 1;
  }
  const std::string folder = (work / "demo").string();
  {
    TouchApp app(platform::system_devices(folder));
    auto& session = app.session();
    if (session.sites().sites.empty() || !session.open_site(session.sites().sites.front().path))
      return 1;
    app.go(ScreenId::skyline);
  }
  int bad = 0;
  for (const char* what : {"start", "start", "start", "idle", "sight", "camera", "memory"})
    bad |= run_apart(argv[0], what, folder);
  std::filesystem::remove_all(work, ignored);
  return bad ? 1 : 0;
}
