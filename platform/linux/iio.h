// platform/linux/iio.h: attitude from the kernel's industrial I/O sensors.
// Source: kernel ABI documentation, sysfs-bus-iio (raw, scale, offset, mount_matrix)
#pragma once

#include <memory>
#include <string>

#include "platform/attitude.h"

namespace platform {

std::unique_ptr<Attitude> make_iio_attitude(std::string folder = "/sys/bus/iio/devices");

}  // namespace platform
