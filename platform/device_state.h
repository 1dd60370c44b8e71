// platform/device_state.h: how a device is doing, the same words for every device.
#pragma once

#include <cstdint>
#include <string>

namespace platform {

enum class DeviceState : std::uint8_t {
  missing,   // not on this device
  off,       // there, not started
  asking,    // waits for the user's permission
  refused,   // permission refused; the app goes on without it
  starting,  // started, no reading yet
  running,
  failed,  // was running, gives nothing more: see `problem`
};

struct DeviceStatus {
  DeviceState state = DeviceState::missing;
  std::string problem;  // plain words with the cure; empty while all is well
};

}  // namespace platform
