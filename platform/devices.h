// platform/devices.h: all that a system offers, in one bundle.
// A device that is not there answers "not on this device"; the pointer is never null.
#pragma once

#include <memory>
#include <string>

#include "horizon/result.h"
#include "platform/attitude.h"
#include "platform/camera.h"
#include "platform/clock.h"
#include "platform/feedback.h"
#include "platform/files.h"
#include "platform/position.h"
#include "platform/share.h"
#include "platform/worker.h"

namespace platform {

struct Devices {
  std::unique_ptr<Clock> clock;
  std::unique_ptr<Position> position;
  std::unique_ptr<Attitude> attitude;
  std::unique_ptr<Camera> camera;
  std::unique_ptr<Files> files;
  std::unique_ptr<Share> share;
  std::unique_ptr<Feedback> feedback;
  std::unique_ptr<Worker> worker;
};

// Those of the system that the program was built for. `folder` overrides where sites are kept.
Devices system_devices(const std::string& folder = {});

}  // namespace platform
