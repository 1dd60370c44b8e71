// platform/not_here.h: devices that this system does not have.
#pragma once

#include "platform/devices.h"

namespace platform {

class NoPosition : public Position {
 public:
  void start() override {}
  void stop() override {}
  DeviceStatus status() const override {
    return {DeviceState::missing, "No position receiver on this device. Type the position in."};
  }
  std::optional<Fix> poll() override { return {}; }
};

class NoAttitude : public Attitude {
 public:
  void start() override {}
  void stop() override {}
  DeviceStatus status() const override {
    return {DeviceState::missing,
            "No compass and level on this device. Use a hand compass and clinometer."};
  }
  std::optional<Pose> poll() override { return {}; }
};

class NoCamera : public Camera {
 public:
  void start() override {}
  void stop() override {}
  DeviceStatus status() const override {
    return {DeviceState::missing, "No camera on this device. Pick a picture instead."};
  }
  std::optional<CameraPicture> poll() override { return {}; }
  void take() override {}
  std::optional<Still> taken() override { return {}; }
};

class NoShare : public Share {
 public:
  bool available() const override { return false; }
  std::string verb() const override { return "Share"; }
  std::string share(const std::string&) override {
    return "This device cannot share files. Copy them from the folder shown.";
  }
};

class NoFeedback : public Feedback {
 public:
  void give(Signal) override {}
  void keep_screen_on(bool) override {}
};

}  // namespace platform
