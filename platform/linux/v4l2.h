// platform/linux/v4l2.h: the first camera that the kernel offers (/dev/video*), YUYV or MJPEG.
// Source: kernel documentation, Video for Linux API, memory-mapped streaming
#pragma once

#include <memory>
#include <string>

#include "platform/camera.h"

namespace platform {

std::unique_ptr<Camera> make_v4l2_camera(std::string device = {});
// Studio-range BT.601, two pixels in four bytes.
void rgba_of_yuyv(const std::uint8_t* yuyv, int width, int height, std::uint8_t* rgba);

}  // namespace platform
