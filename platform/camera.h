// platform/camera.h: the picture behind the sight, and photos.
// Units:  pixels, degrees
// Frame:  upright as the screen is held now
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "platform/device_state.h"

namespace platform {

struct CameraPicture {
  std::optional<double> time_s;  // of the app's clock, when it was taken; where the system says so
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgba;
  double field_of_view_deg = 60;  // across the width; a guess of the lens where not known
  bool field_of_view_known = false;
};

struct Still {
  std::vector<std::uint8_t> bytes;  // JPEG or PNG, as the device made it
  double field_of_view_deg = 60;
  bool field_of_view_known = false;
};

class Camera {
 public:
  virtual ~Camera() = default;
  virtual void start() = 0;
  virtual void stop() = 0;
  virtual DeviceStatus status() const = 0;
  // The newest picture not yet seen; at most 15 a second, about 640 wide.
  virtual std::optional<CameraPicture> poll() = 0;
  virtual void take() = 0;                   // a full-size photo
  virtual std::optional<Still> taken() = 0;  // once, when it is ready
};

}  // namespace platform
