// app/touch/session/relief_job.h: the ground under a map on the screen, from the height grids kept beside the sites.
// Threads: the frame's; files are read and shaded by the worker, once for a window
#pragma once

#include <memory>
#include <string>

#include "app/drawing/charts/relief.h"
#include "platform/devices.h"

namespace app {

class ReliefJob {
 public:
  // Null while it is made, and where no grid knows the window.
  std::shared_ptr<const Image> of(platform::Worker& worker, platform::Files& files,
                                  const GeoWindow& window, int width, int height);

 private:
  struct Shared {
    std::shared_ptr<const Image> image;
  };
  std::shared_ptr<Shared> shared_ = std::make_shared<Shared>();
  std::string key_;
};

}  // namespace app
