// platform/linux/devices.cpp: what a Linux tablet or desktop offers.
#include "platform/devices.h"

#include <SDL.h>

#include <chrono>
#include <cmath>
#include <cstdlib>
#include <ctime>
#include <fstream>

#include "platform/linux/chooser.h"
#include "platform/linux/gpsd.h"
#include "platform/linux/iio.h"
#include "platform/linux/v4l2.h"
#include "platform/not_here.h"
#include "platform/plain_files.h"
#include "platform/thread_worker.h"

namespace platform {
namespace {

class SystemClock : public Clock {
 public:
  double utc_s() const override { return seconds(std::chrono::system_clock::now()); }
  double running_s() const override { return seconds(std::chrono::steady_clock::now()) - start_; }
  double utc_offset_h(double utc_s) const override {
    const std::time_t time = std::time_t(utc_s);
    std::tm local{};
    localtime_r(&time, &local);
    return double(local.tm_gmtoff) / 3600;
  }
  std::optional<double> since_boot_s() const override {
    timespec now{};
    if (clock_gettime(CLOCK_BOOTTIME, &now) != 0) return {};
    return double(now.tv_sec) + 1e-9 * double(now.tv_nsec);
  }
  std::string boot() const override {
    static const std::string id = [] {
      std::string line;
      std::getline(std::ifstream("/proc/sys/kernel/random/boot_id") >> std::ws, line);
      return line;
    }();
    return id;
  }

 private:
  template <class Time>
  static double seconds(Time time) {
    return std::chrono::duration<double>(time.time_since_epoch()).count();
  }
  double start_ = seconds(std::chrono::steady_clock::now());
};

// A short tone, since few tablets offer a buzzer; silent without a sound card.
class ToneFeedback : public Feedback {
 public:
  ~ToneFeedback() override {
    if (device_) SDL_CloseAudioDevice(device_);
  }
  void give(Signal signal) override {
    if (!tried_) open();
    if (!device_) return;
    const double hertz = signal == Signal::refused ? 220 : signal == Signal::saved ? 880 : 660;
    constexpr int kRate = 22050, kLength = kRate / 14;
    Sint16 tone[kLength];
    for (int i = 0; i < kLength; ++i)
      tone[i] = Sint16(9000 * std::sin(6.2831853 * hertz * i / kRate) * (1 - double(i) / kLength));
    SDL_ClearQueuedAudio(device_);
    SDL_QueueAudio(device_, tone, sizeof tone);
  }
  void keep_screen_on(bool on) override {
    if (on == on_) return;
    on_ = on;
    on ? SDL_DisableScreenSaver() : SDL_EnableScreenSaver();
  }

 private:
  void open() {
    tried_ = true;
    if (SDL_InitSubSystem(SDL_INIT_AUDIO) != 0) return;
    SDL_AudioSpec wish{};
    wish.freq = 22050;
    wish.format = AUDIO_S16SYS;
    wish.channels = 1;
    wish.samples = 512;
    device_ = SDL_OpenAudioDevice(nullptr, 0, &wish, nullptr, 0);
    if (device_) SDL_PauseAudioDevice(device_, 0);
  }
  SDL_AudioDeviceID device_ = 0;
  bool tried_ = false, on_ = false;
};

class FolderShare : public Share {
 public:
  bool available() const override { return true; }
  std::string verb() const override { return "Open folder"; }
  std::string share(const std::string& path) override {
    const auto slash = path.rfind('/');
    const std::string folder = slash == std::string::npos ? "." : path.substr(0, slash);
    if (SDL_OpenURL(("file://" + folder).c_str()) == 0) return {};
    return "The folder could not be opened. The files are in " + folder;
  }
};

std::string home_folder() {
  if (const char* data = std::getenv("XDG_DATA_HOME"); data && *data)
    return std::string(data) + "/adret";
  const char* home = std::getenv("HOME");
  return std::string(home && *home ? home : ".") + "/.local/share/adret";
}

}  // namespace

Devices system_devices(const std::string& folder) {
  Devices devices;
  devices.clock = std::make_unique<SystemClock>();
  devices.position = make_gpsd_position();
  devices.attitude = make_iio_attitude();
  devices.camera = make_v4l2_camera();
  devices.files = std::make_unique<LinuxFiles>(folder.empty() ? home_folder() : folder);
  devices.share = std::make_unique<FolderShare>();
  devices.feedback = std::make_unique<ToneFeedback>();
  devices.worker = make_thread_worker();
  return devices;
}

}  // namespace platform
