#include "platform/linux/iio.h"

#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "platform/fusion.h"

namespace platform {
namespace {

namespace fs = std::filesystem;

std::optional<double> number_in(const fs::path& path) {
  std::ifstream file(path);
  file.imbue(std::locale::classic());
  double value;
  return file >> value ? std::optional(value) : std::nullopt;
}

// "1, 0, 0; 0, 1, 0; 0, 0, 1"
std::array<double, 9> matrix_in(const fs::path& path) {
  std::array<double, 9> m{1, 0, 0, 0, 1, 0, 0, 0, 1}, read{};
  std::ifstream file(path);
  std::string text((std::istreambuf_iterator<char>(file)), {});
  for (char& c : text)
    if (c == ',' || c == ';') c = ' ';
  std::istringstream in(text);
  in.imbue(std::locale::classic());
  for (double& v : read)
    if (!(in >> v)) return m;
  return read;
}

struct Sensor {
  fs::path folder;
  std::string prefix;  // "in_accel"
  double scale = 1;
  std::array<double, 9> mount{};

  std::optional<Vector3> read() const {
    Vector3 raw{};
    for (int i = 0; i < 3; ++i) {
      const std::string axis = prefix + "_" + "xyz"[i];
      const auto value = number_in(folder / (axis + "_raw"));
      if (!value) return {};
      const double own = number_in(folder / (axis + "_scale")).value_or(scale);
      raw[i] = (*value + number_in(folder / (axis + "_offset")).value_or(0)) * own;
    }
    Vector3 turned{};
    for (int i = 0; i < 3; ++i)
      for (int k = 0; k < 3; ++k) turned[i] += mount[i * 3 + k] * raw[k];
    return turned;
  }
};

std::optional<Sensor> sensor(const std::string& root, const std::string& prefix) {
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(root, error)) {
    if (!fs::exists(entry.path() / (prefix + "_x_raw"), error)) continue;
    Sensor found{entry.path(), prefix};
    found.scale = number_in(entry.path() / (prefix + "_scale")).value_or(1);
    fs::path own = entry.path() / (prefix + "_mount_matrix");
    found.mount = matrix_in(fs::exists(own, error) ? own : entry.path() / "mount_matrix");
    return found;
  }
  return {};
}

class IioAttitude : public Attitude {
 public:
  explicit IioAttitude(std::string root) : root_(std::move(root)) { look(); }
  void start() override {
    look();
    if (acceleration_) status_ = {DeviceState::starting, {}};
    fusion_.reset();
  }
  void stop() override {
    if (acceleration_) status_ = {DeviceState::off, {}};
  }
  DeviceStatus status() const override { return status_; }
  std::optional<Pose> poll() override {
    if (status_.state == DeviceState::off || status_.state == DeviceState::missing) return {};
    const double now =
        std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
    if (now - last_s_ < 0.02) return {};
    last_s_ = now;
    const auto up = acceleration_->read();
    if (!up) {
      status_ = {DeviceState::failed, "device.level_sensor_stopped_answering"};
      return {};
    }
    auto field = field_ ? field_->read() : std::nullopt;
    if (field)
      for (double& v : *field) v *= 1e5;  // gauss to nanotesla
    auto pose = fusion_.update(now, *up, field, rate_ ? rate_->read() : std::nullopt);
    if (pose) status_ = {DeviceState::running, {}};
    return pose;
  }

 private:
  void look() {
    acceleration_ = sensor(root_, "in_accel");
    field_ = sensor(root_, "in_magn");
    rate_ = sensor(root_, "in_anglvel");
    if (acceleration_)
      status_ = {DeviceState::off, {}};
    else
      status_ = {DeviceState::missing, "device.no_compass_level_device"};
  }
  std::string root_;
  std::optional<Sensor> acceleration_, field_, rate_;
  Fusion fusion_;
  double last_s_ = 0;
  DeviceStatus status_;
};

}  // namespace

std::unique_ptr<Attitude> make_iio_attitude(std::string folder) {
  return std::make_unique<IioAttitude>(std::move(folder));
}

}  // namespace platform
