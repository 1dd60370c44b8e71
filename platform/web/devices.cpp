// platform/web/devices.cpp: what a browser offers, fetched from devices.js.
#include "platform/devices.h"

#include <emscripten.h>

#include <chrono>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <filesystem>

#include "horizon/bearing/attitude.h"
#include "horizon/bearing/device_north.h"
#include "platform/not_here.h"
#include "platform/plain_files.h"
#include "platform/thread_worker.h"

// clang-format off
EM_JS(int, device_state, (const char* device), {
  const it = adretDevices[UTF8ToString(device)];
  if (it.check) it.check();
  return it.state;
});
EM_JS(char*, device_problem, (const char* device), {
  return allocateUTF8(adretDevices[UTF8ToString(device)].problem);
});
EM_JS(void, device_start, (const char* device), { adretDevices[UTF8ToString(device)].start(); });
EM_JS(void, device_stop, (const char* device), { adretDevices[UTF8ToString(device)].stop(); });
EM_JS(int, device_next_fix, (double* six), {
  const fix = adretDevices.position.fixes.shift();
  if (!fix) return 0;
  HEAPF64.set(fix, six >> 3);
  return 1;
});
EM_JS(int, device_next_attitude, (double* eight), {
  const it = adretDevices.attitude;
  if (!it.newest) return 0;
  HEAPF64.set(it.newest, eight >> 3);
  it.newest = null;
  return 1;
});
EM_JS(int, device_field, (double* three), {
  const field = adretDevices.attitude.field;
  if (!field) return 0;
  HEAPF64.set(field, three >> 3);
  return 1;
});
EM_JS(unsigned char*, device_picture, (int* size), {
  const picture = adretDevices.camera.picture();
  if (!picture) return 0;
  HEAP32[size >> 2] = picture[0];
  HEAP32[(size >> 2) + 1] = picture[1];
  const bytes = _malloc(picture[2].length);
  HEAPU8.set(picture[2], bytes);
  return bytes;
});
EM_JS(void, device_take, (), { adretDevices.camera.take(); });
EM_JS(unsigned char*, device_photo, (int* size), {
  const photo = adretDevices.camera.photo;
  if (!photo) return 0;
  adretDevices.camera.photo = null;
  HEAP32[size >> 2] = photo.length;
  const bytes = _malloc(photo.length);
  HEAPU8.set(photo, bytes);
  return bytes;
});
EM_JS(void, device_feedback, (int signal), { adretDevices.feedback.give(signal); });
EM_JS(int, device_speaks, (), { return adretDevices.feedback.speaks() ? 1 : 0; });
EM_JS(void, device_speak, (const char* words, const char* language),
      { adretDevices.feedback.speak(UTF8ToString(words), UTF8ToString(language)); });
EM_JS(void, device_keep_screen_on, (int on), { adretDevices.feedback.keepScreenOn(!!on); });
EM_JS(void, device_pick, (const char* kinds), { adretDevices.files.pick(UTF8ToString(kinds)); });
EM_JS(char*, device_file_name, (int opened), {
  const first = (opened ? adretDevices.files.opened : adretDevices.files.chosen)[0];
  return first ? allocateUTF8(first.name) : 0;
});
EM_JS(int, device_picked_some, (), { return adretDevices.files.chosen.length ? 1 : 0; });
EM_JS(unsigned char*, device_file_bytes, (int opened, int* size), {
  const bytes = (opened ? adretDevices.files.opened : adretDevices.files.chosen).shift().bytes;
  HEAP32[size >> 2] = bytes.length;
  const copy = _malloc(Math.max(1, bytes.length));
  HEAPU8.set(bytes, copy);
  return copy;
});
EM_JS(int, device_can_share, (), { return adretDevices.files.canShare() ? 1 : 0; });
EM_JS(void, device_share, (const char* path), {
  const name = UTF8ToString(path);
  adretDevices.files.share(name.slice(name.lastIndexOf("/") + 1), Module["adretStore"].blobOf(name));
});
EM_JS(int, device_durable, (), { return Module["adretStore"].durable() ? 1 : 0; });
EM_JS(double, device_utc_offset_h, (double utc_s), {
  return 0 - new Date(utc_s * 1000).getTimezoneOffset() / 60;  // never -0
});
// clang-format on

namespace platform {
namespace {

// A string or bytes that JavaScript allocated.
std::string taken_text(char* text) {
  std::string result = text ? text : "";
  std::free(text);
  return result;
}
std::vector<unsigned char> taken_bytes(unsigned char* bytes, int size) {
  std::vector<unsigned char> result(bytes, bytes + size);
  std::free(bytes);
  return result;
}

DeviceStatus status_of(const char* device) {
  return {DeviceState(device_state(device)), taken_text(device_problem(device))};
}

class BrowserClock : public Clock {
 public:
  double utc_s() const override { return seconds(std::chrono::system_clock::now()); }
  double running_s() const override { return emscripten_get_now() / 1000; }  // since the page began
  double utc_offset_h(double utc_s) const override { return device_utc_offset_h(utc_s); }

 private:
  template <class Time>
  static double seconds(Time time) {
    return std::chrono::duration<double>(time.time_since_epoch()).count();
  }
};

class BrowserPosition : public Position {
 public:
  void start() override { device_start("position"); }
  void stop() override { device_stop("position"); }
  DeviceStatus status() const override { return status_of("position"); }
  std::optional<Fix> poll() override {
    double v[6];
    if (!device_next_fix(v)) return {};
    Fix fix;
    fix.utc_s = v[0];
    fix.place = {v[1], v[2], std::isfinite(v[3]) ? v[3] : 0};
    // W3C Geolocation speaks of 95 % confidence, yet phones fill in the radius of 68 %. The larger
    // of the two readings: that radius is 1.515 sigma of a round normal error.
    fix.accuracy_m = v[4] / 1.515;
    if (std::isfinite(v[3]) && std::isfinite(v[5])) fix.height_accuracy_m = v[5];
    return fix;
  }
};

class BrowserAttitude : public Attitude {
 public:
  void start() override {
    north_.restart();
    device_start("attitude");
  }
  void stop() override { device_stop("attitude"); }
  DeviceStatus status() const override { return status_of("attitude"); }

  std::optional<Pose> poll() override {
    double v[8];
    if (!device_next_attitude(v)) return {};
    const int kind = int(v[0]);
    Pose pose;
    pose.silent_at_rest = true;
    auto rotation = kind == 3 ? horizon::rotation_of_quaternion(v[1], v[2], v[3], v[4])
                              : horizon::rotation_of_angles(v[1], v[2], v[3]);
    if (kind == 2 || kind == 4) {
      horizon::FreeTurnReading reading{v[7], rotation, {}, {}};
      if (kind == 2 && std::isfinite(v[4])) reading.heading_deg = v[4];
      if (std::isfinite(v[6]) && v[6] > 0) reading.heading_sigma_deg = v[6];
      const horizon::DeviceNorth north = north_.update(reading);
      rotation = horizon::turned(rotation, north.turn_deg);
      pose.north = north.known ? North::magnetic
                   : kind == 2 ? North::unknown_till_low
                               : North::unknown;
      pose.free_turn = north.free_turn;
      if (north.known) pose.azimuth_sigma_deg = north.sigma_deg;
    } else if (std::isfinite(v[6]) && v[6] > 0) {
      pose.azimuth_sigma_deg = v[6];
    }
    const auto aim = horizon::camera_aim<horizon::MagneticNorth>(rotation, v[5]);
    pose.time_s = v[7];
    pose.azimuth_deg = aim.bearing.degrees();
    pose.elevation_deg = aim.elevation.degrees();
    pose.roll_deg = aim.roll_deg;
    double field[3];  // microtesla, device frame
    if (device_field(field)) {
      double earth[3] = {};
      for (int i = 0; i < 3; ++i)
        for (int j = 0; j < 3; ++j) earth[i] += rotation.rows[i][j] * field[j];
      const double level = std::hypot(earth[0], earth[1]);
      pose.field_nt = 1000 * std::hypot(level, earth[2]);
      pose.inclination_deg = std::atan2(-earth[2], level) / horizon::kDegree;
    }
    return pose;
  }

 private:
  horizon::NorthFinder north_;
};

// Phones' main cameras see 60 to 70 degrees along the longer side; browsers do not say.
double likely_view_deg(double width, double height) {
  const double half = std::tan(32.5 * horizon::kDegree) * width / std::max(width, height);
  return 2 * std::atan(half) / horizon::kDegree;
}

class BrowserCamera : public Camera {
 public:
  void start() override { device_start("camera"); }
  void stop() override { device_stop("camera"); }
  DeviceStatus status() const override { return status_of("camera"); }
  std::optional<CameraPicture> poll() override {
    int size[2];
    unsigned char* bytes = device_picture(size);
    if (!bytes) return {};
    CameraPicture picture;
    picture.width = size[0];
    picture.height = size[1];
    picture.rgba = taken_bytes(bytes, size[0] * size[1] * 4);
    picture.field_of_view_deg = view_deg_ = likely_view_deg(size[0], size[1]);
    return picture;
  }
  void take() override { device_take(); }
  std::optional<Still> taken() override {
    int size = 0;
    unsigned char* bytes = device_photo(&size);
    if (!bytes) return {};
    Still still;
    still.bytes = taken_bytes(bytes, size);
    still.field_of_view_deg = view_deg_;
    return still;
  }

 private:
  double view_deg_ = 60;
};

class BrowserFiles : public PlainFiles {
 public:
  BrowserFiles() : PlainFiles("/adret") {}
  bool pick(const std::string& kinds) override {
    device_pick(kinds.c_str());
    return true;
  }
  std::optional<PickedFile> picked() override { return next(false); }
  std::optional<PickedFile> opened() override { return next(true); }
  bool asked() override { return device_picked_some(); }
  bool crowded() override {
    return MAIN_THREAD_EM_ASM_INT({ return Module["adretStore"].crowded() ? 1 : 0; });
  }
  bool durable() override { return device_durable(); }

 private:
  static std::optional<PickedFile> next(bool opened) {
    char* name = device_file_name(opened);
    if (!name) return {};
    int size = 0;
    unsigned char* bytes = device_file_bytes(opened, &size);
    return PickedFile{taken_text(name), taken_bytes(bytes, size)};
  }
};

class BrowserShare : public Share {
 public:
  bool available() const override { return true; }
  std::string verb() const override { return device_can_share() ? "Share" : "Download"; }
  bool one_by_one() const override { return true; }
  std::string share(const std::string& path) override {
    std::error_code error;
    if (!std::filesystem::is_regular_file(path, error))
      return "The file is gone. Make the report again.";
    device_share(path.c_str());
    return {};
  }
};

class BrowserFeedback : public Feedback {
 public:
  void give(Signal signal) override { device_feedback(int(signal)); }
  bool speaks() const override { return device_speaks() != 0; }
  void speak(const std::string& words, const std::string& language) override {
    device_speak(words.c_str(), language.c_str());
  }
  void keep_screen_on(bool on) override {
    if (on != on_) device_keep_screen_on(on);
    on_ = on;
  }

 private:
  bool on_ = false;
};

}  // namespace

Devices system_devices(const std::string&) {
  Devices devices;
  devices.clock = std::make_unique<BrowserClock>();
  devices.position = std::make_unique<BrowserPosition>();
  devices.attitude = std::make_unique<BrowserAttitude>();
  devices.camera = std::make_unique<BrowserCamera>();
  devices.files = std::make_unique<BrowserFiles>();
  devices.share = std::make_unique<BrowserShare>();
  devices.feedback = std::make_unique<BrowserFeedback>();
  devices.worker = make_thread_worker();
  return devices;
}

}  // namespace platform
