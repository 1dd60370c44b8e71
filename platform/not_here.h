// platform/not_here.h: devices that this system does not have.
#pragma once

#include "platform/devices.h"

namespace platform {

class NoPosition : public Position {
 public:
  void start() override {}
  void stop() override {}
  DeviceStatus status() const override {
    return {DeviceState::missing, "device.no_position_receiver_device_type"};
  }
  std::optional<Fix> poll() override { return {}; }
};

class NoAttitude : public Attitude {
 public:
  void start() override {}
  void stop() override {}
  DeviceStatus status() const override {
    return {DeviceState::missing, "device.no_compass_level_device"};
  }
  std::optional<Pose> poll() override { return {}; }
};

class NoCamera : public Camera {
 public:
  void start() override {}
  void stop() override {}
  DeviceStatus status() const override {
    return {DeviceState::missing, "device.no_camera_device_pick_picture"};
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
