#include "platform/recorded.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <deque>
#include <filesystem>
#include <sstream>

#include "platform/not_here.h"
#include "platform/plain_files.h"
#include "platform/thread_worker.h"

namespace platform {
namespace {

struct Event {
  double time_s;
  std::string words;
};

std::vector<unsigned char> bytes_of(const std::string& path);

// Nothing where the file is no PPM of eight bits.
std::optional<CameraPicture> picture_of(const std::string& path) {
  const auto bytes = bytes_of(path);
  const std::string head(bytes.begin(),
                         bytes.begin() + std::ptrdiff_t(std::min<std::size_t>(40, bytes.size())));
  CameraPicture picture;
  int most = 0, read = 0;
  if (std::sscanf(head.c_str(), "P6 %d %d %d%n", &picture.width, &picture.height, &most, &read) < 3)
    return {};
  const auto pixels =
      std::size_t(std::max(0, picture.width)) * std::size_t(std::max(0, picture.height));
  const std::size_t from = std::size_t(read) + 1;
  if (most != 255 || pixels == 0 || bytes.size() < from + 3 * pixels) return {};
  picture.rgba.resize(4 * pixels, 255);
  for (std::size_t i = 0; i < pixels; ++i)
    for (std::size_t c = 0; c < 3; ++c) picture.rgba[4 * i + c] = bytes[from + 3 * i + c];
  return picture;
}

std::vector<unsigned char> bytes_of(const std::string& path) {
  std::vector<unsigned char> bytes;
  if (std::FILE* file = std::fopen(path.c_str(), "rb")) {
    unsigned char block[16384];
    while (std::size_t got = std::fread(block, 1, sizeof block, file))
      bytes.insert(bytes.end(), block, block + got);
    std::fclose(file);
  }
  return bytes;
}

std::string lost(const std::string& device) {
  return device == "position"   ? "device.position_sensor_stopped_answering_type"
         : device == "attitude" ? "device.level_sensor_stopped_answering"
                                : "device.camera_was_lost_sight_works";
}

}  // namespace

struct Recording::State {
  double running_s = 0, utc_start_s = 1766311200;  // 2025-12-21 10:00
  double utc_jump_s = 0;
  double booted_s = 0;  // when it was switched on last, after the start
  int boots = 1;
  std::vector<Event> events;  // by time
  std::size_t next = 0;
  std::deque<Fix> fixes;
  DeviceStatus position{DeviceState::off, {}}, attitude{DeviceState::off, {}},
      camera{DeviceState::off, {}};
  Pose aim;
  bool aimed = false, stuck = false, jumping = false;
  double shake_deg = 0.05, last_pose_s = -1;
  std::string photo, file, opened, frame;
  double frame_s = 0, frame_view_deg = 60;
  std::optional<Still> still;
  int pictures = 0;
  std::vector<Signal> signals;

  void catch_up() {
    while (next < events.size() && events[next].time_s <= running_s) {
      const std::string words = events[next++].words;
      (void)apply(words);
    }
  }
  horizon::Result<void> apply(const std::string& words);
};

horizon::Result<void> Recording::State::apply(const std::string& words) {
  std::istringstream in(words);
  in.imbue(std::locale::classic());
  std::string what;
  in >> what;
  const auto bad = [&](horizon::Sentence cure) {
    return horizon::fail(horizon::Code::bad_input, std::move(cure), words);
  };
  if (what == "fix") {
    Fix fix;
    fix.utc_s = utc_start_s + running_s + utc_jump_s;
    if (!(in >> fix.place.latitude_deg >> fix.place.longitude_deg >> fix.place.height_m >>
          fix.accuracy_m))
      return bad({"error.recorded_form", {"fix LATITUDE LONGITUDE HEIGHT_M ACCURACY_M"}});
    fix.height_accuracy_m = 2 * fix.accuracy_m;
    if (double ahead_s = 0; in >> ahead_s) fix.clock_ahead_s = ahead_s;
    fixes.push_back(fix);
    if (position.state == DeviceState::starting) position.state = DeviceState::running;
  } else if (what == "aim") {
    Pose pose = aim;
    if (!(in >> pose.azimuth_deg >> pose.elevation_deg))
      return bad({"error.recorded_form", {"aim AZIMUTH ELEVATION [ROLL]"}});
    if (!(in >> pose.roll_deg)) pose.roll_deg = 0;
    aim = pose;
    aimed = true;
  } else if (what == "field") {
    double nanotesla, dip;
    if (!(in >> nanotesla >> dip)) return bad({"error.recorded_form", {"field NANOTESLA DIP"}});
    aim.field_nt = nanotesla;
    aim.inclination_deg = dip;
  } else if (what == "shake") {
    if (!(in >> shake_deg)) return bad({"error.recorded_form", {"shake DEGREES"}});
  } else if (what == "north") {
    std::string state;
    in >> state;
    if (state != "known" && state != "low" && state != "free")
      return bad({"error.recorded_form", {"north known|low|free"}});
    aim.north = state == "known" ? North::magnetic
                : state == "low" ? North::unknown_till_low
                                 : North::unknown;
    ++aim.free_turn;
  } else if (what == "frame") {
    frame_s = running_s;
    if (!(in >> frame_view_deg) || !std::getline(in >> std::ws, frame))
      return bad({"error.recorded_form", {"frame VIEW_DEG PATH"}});
  } else if (what == "photo" || what == "file") {
    std::getline(in >> std::ws, what == "photo" ? photo : file);
  } else if (what == "open") {
    std::getline(in >> std::ws, opened);
  } else if (what == "clock") {
    double utc;
    if (!(in >> utc)) return bad({"error.recorded_form", {"clock UTC_SECONDS"}});
    utc_jump_s = utc - utc_start_s - running_s;
  } else if (what == "reboot") {
    booted_s = running_s + 3600;  // its count begins again
    ++boots;
  } else if (what == "position" || what == "attitude" || what == "camera") {
    std::string state;
    in >> state;
    DeviceStatus& status = what == "position" ? position : what == "attitude" ? attitude : camera;
    stuck = what == "attitude" ? state == "stuck" : stuck;
    jumping = what == "attitude" ? state == "jumping" : jumping;
    if (state == "off")
      status = {DeviceState::off, {}};
    else if (state == "missing")
      status = {DeviceState::missing, "device.not_device"};
    else if (state == "refused")
      status = {DeviceState::refused, "device.permission_was_refused_allow_device"};
    else if (state == "failed")
      status = {DeviceState::failed, lost(what)};
    else if (state == "running" || state == "stuck" || state == "jumping")
      status = {DeviceState::running, {}};
    else
      return bad("error.recorded_state_unknown");
  } else {
    return bad("error.recorded_event_unknown");
  }
  return {};
}

namespace {

using Shared = std::shared_ptr<Recording::State>;

void start(DeviceStatus& status) {
  if (status.state == DeviceState::off) status.state = DeviceState::starting;
}
void stop(DeviceStatus& status) {
  if (status.state == DeviceState::running || status.state == DeviceState::starting)
    status.state = DeviceState::off;
}

class RecordedClock : public Clock {
 public:
  explicit RecordedClock(Shared state) : state_(std::move(state)) {}
  double utc_s() const override {
    return state_->utc_start_s + state_->running_s + state_->utc_jump_s;
  }
  double running_s() const override { return state_->running_s; }
  double utc_offset_h(double) const override { return 1; }
  std::optional<double> since_boot_s() const override {
    return 3600 + state_->running_s - state_->booted_s;
  }
  std::string boot() const override { return "boot " + std::to_string(state_->boots); }

 private:
  Shared state_;
};

class RecordedPosition : public Position {
 public:
  explicit RecordedPosition(Shared state) : state_(std::move(state)) {}
  void start() override {
    platform::start(state_->position);
    if (state_->position.state == DeviceState::starting && !state_->fixes.empty())
      state_->position.state = DeviceState::running;
  }
  void stop() override { platform::stop(state_->position); }
  DeviceStatus status() const override { return state_->position; }
  std::optional<Fix> poll() override {
    state_->catch_up();
    if (state_->position.state != DeviceState::running || state_->fixes.empty()) return {};
    Fix fix = state_->fixes.front();
    state_->fixes.pop_front();
    return fix;
  }

 private:
  Shared state_;
};

class RecordedAttitude : public Attitude {
 public:
  explicit RecordedAttitude(Shared state) : state_(std::move(state)) {}
  void start() override {
    platform::start(state_->attitude);
    if (state_->attitude.state == DeviceState::starting && state_->aimed)
      state_->attitude.state = DeviceState::running;
  }
  void stop() override { platform::stop(state_->attitude); }
  DeviceStatus status() const override { return state_->attitude; }
  std::optional<Pose> poll() override {
    State& s = *state_;
    s.catch_up();
    if (s.attitude.state == DeviceState::starting && s.aimed)
      s.attitude.state = DeviceState::running;
    if (s.attitude.state != DeviceState::running || !s.aimed) return {};
    if (s.running_s - s.last_pose_s < 1.0 / 30) return {};
    s.last_pose_s = s.running_s;
    Pose pose = s.aim;
    pose.time_s = s.running_s;
    if (!s.stuck) {  // the tremor of a hand, the same in every run
      pose.azimuth_deg += s.shake_deg * std::sin(s.running_s * 9.1);
      pose.elevation_deg += s.shake_deg * std::cos(s.running_s * 7.3);
    }
    if (s.jumping) pose.azimuth_deg += std::fmod(std::floor(s.running_s * 4) * 77.0, 90.0) - 45;
    pose.azimuth_deg = std::fmod(pose.azimuth_deg + 720, 360);
    pose.azimuth_sigma_deg = 0.8;
    pose.elevation_sigma_deg = 0.2;
    return pose;
  }

 private:
  using State = Recording::State;
  Shared state_;
};

// A view made of the recording's own aim: sky above the horizon line, land below.
class RecordedCamera : public Camera {
 public:
  explicit RecordedCamera(Shared state) : state_(std::move(state)) {}
  void start() override {
    platform::start(state_->camera);
    if (state_->camera.state == DeviceState::starting) state_->camera.state = DeviceState::running;
  }
  void stop() override { platform::stop(state_->camera); }
  DeviceStatus status() const override { return state_->camera; }
  std::optional<CameraPicture> poll() override {
    state_->catch_up();
    if (state_->camera.state != DeviceState::running || state_->frame.empty()) return {};
    auto picture = picture_of(state_->frame);
    state_->frame.clear();
    if (!picture) return {};
    picture->time_s = state_->frame_s;
    picture->field_of_view_deg = state_->frame_view_deg;
    picture->field_of_view_known = true;
    return picture;
  }
  void take() override {
    if (state_->camera.state != DeviceState::running || state_->photo.empty()) return;
    state_->still = Still{bytes_of(state_->photo), 63, true};
    if (state_->still->bytes.empty()) state_->still.reset();
  }
  std::optional<Still> taken() override {
    std::optional<Still> still;
    still.swap(state_->still);
    return still;
  }

 private:
  Shared state_;
};

// Without a file to choose there is no chooser.
class RecordedFiles : public PlainFiles {
 public:
  RecordedFiles(Shared state, const std::string& folder)
      : PlainFiles(folder), state_(std::move(state)) {}
  bool pick(const std::string&) override {
    asked_ = !state_->file.empty();
    return asked_;
  }
  std::optional<PickedFile> picked() override {
    if (!asked_) return {};
    asked_ = false;
    return PickedFile{std::filesystem::path(state_->file).filename().string(),
                      bytes_of(state_->file)};
  }
  std::optional<PickedFile> opened() override {
    const std::string path = std::exchange(state_->opened, {});
    if (path.empty()) return {};
    return PickedFile{std::filesystem::path(path).filename().string(), bytes_of(path)};
  }

 private:
  Shared state_;
  bool asked_ = false;
};

}  // namespace

Recording::Recording() : state_(std::make_shared<State>()) {}
Recording::~Recording() = default;

horizon::Result<void> Recording::load(std::string_view text) {
  std::istringstream lines{std::string(text)};
  std::string line;
  int row = 0;
  while (std::getline(lines, line)) {
    ++row;
    line = line.substr(0, line.find('#'));
    std::istringstream in(line);
    in.imbue(std::locale::classic());
    double time_s;
    std::string words;
    if (line.find_first_not_of(" \t\r") == std::string::npos) continue;
    if (!(in >> time_s) || !std::getline(in >> std::ws, words))
      return horizon::fail(horizon::Code::bad_input, "error.recorded_line",
                           "line " + std::to_string(row));
    State trial;  // read it once to name a bad line before the replay begins
    if (auto read = trial.apply(words); !read)
      return horizon::fail(horizon::Code::bad_input, read.error().sentence(),
                           "line " + std::to_string(row));
    state_->events.push_back({time_s, words});
  }
  std::stable_sort(state_->events.begin() + std::ptrdiff_t(state_->next), state_->events.end(),
                   [](const Event& a, const Event& b) { return a.time_s < b.time_s; });
  return {};
}

horizon::Result<void> Recording::apply(std::string_view event) {
  return state_->apply(std::string(event));
}
void Recording::advance(double seconds) {
  state_->running_s += seconds;
  state_->catch_up();
}
double Recording::running_s() const { return state_->running_s; }

Devices Recording::devices(const std::string& folder) {
  Devices devices;
  devices.clock = std::make_unique<RecordedClock>(state_);
  devices.position = std::make_unique<RecordedPosition>(state_);
  devices.attitude = std::make_unique<RecordedAttitude>(state_);
  devices.camera = std::make_unique<RecordedCamera>(state_);
  devices.files = std::make_unique<RecordedFiles>(state_, folder);
  devices.share = std::make_unique<NoShare>();
  devices.feedback = std::make_unique<NoFeedback>();
  devices.worker = make_turn_worker();
  return devices;
}

}  // namespace platform
