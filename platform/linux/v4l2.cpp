#include "platform/linux/v4l2.h"

#include <fcntl.h>
#include <linux/videodev2.h>
#include <sys/ioctl.h>
#include <sys/mman.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>

#define STB_IMAGE_STATIC
#define STB_IMAGE_IMPLEMENTATION
#define STBI_ONLY_JPEG
#define STBI_NO_STDIO
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wunused-function"
#include <stb/stb_image.h>
#define STB_IMAGE_WRITE_STATIC
#define STB_IMAGE_WRITE_IMPLEMENTATION
#include <stb/stb_image_write.h>
#pragma GCC diagnostic pop

namespace platform {

void rgba_of_yuyv(const std::uint8_t* in, int width, int height, std::uint8_t* out) {
  const auto byte = [](int v) { return std::uint8_t(std::clamp(v >> 8, 0, 255)); };
  for (int i = 0; i + 1 < width * height; i += 2, in += 4, out += 8) {
    const int u = in[1] - 128, v = in[3] - 128;
    for (int k = 0; k < 2; ++k) {
      const int y = 298 * (in[2 * k] - 16) + 128;
      out[4 * k] = byte(y + 409 * v);
      out[4 * k + 1] = byte(y - 100 * u - 208 * v);
      out[4 * k + 2] = byte(y + 516 * u);
      out[4 * k + 3] = 255;
    }
  }
}

namespace {

int control(int fd, unsigned long request, void* argument) {
  int rc;
  do rc = ::ioctl(fd, request, argument);
  while (rc < 0 && errno == EINTR);
  return rc;
}

class V4l2Camera : public Camera {
 public:
  explicit V4l2Camera(std::string device) : wanted_(std::move(device)) {
    device_ = find();
    status_ = device_.empty() ? DeviceStatus{DeviceState::missing, kNone}
                              : DeviceStatus{DeviceState::off, {}};
  }
  ~V4l2Camera() override { close(); }
  void start() override {
    if (fd_ >= 0) return;
    if (device_.empty()) device_ = find();
    if (device_.empty()) return;
    if (!open()) {
      close();
      status_ = {DeviceState::failed, "device.camera_could_not_started_sight"};
    } else {
      status_ = {DeviceState::starting, {}};
    }
  }
  void stop() override {
    close();
    if (!device_.empty()) status_ = {DeviceState::off, {}};
  }
  DeviceStatus status() const override { return status_; }

  std::optional<CameraPicture> poll() override {
    if (fd_ < 0) return {};
    std::optional<CameraPicture> newest;
    for (;;) {
      v4l2_buffer buffer{};
      buffer.type = V4L2_BUF_TYPE_VIDEO_CAPTURE;
      buffer.memory = V4L2_MEMORY_MMAP;
      if (control(fd_, VIDIOC_DQBUF, &buffer) < 0) {
        if (errno == EAGAIN) break;
        close();
        status_ = {DeviceState::failed, "device.camera_was_lost_sight_works"};
        return {};
      }
      newest =
          decode(static_cast<const std::uint8_t*>(maps_[buffer.index].first), buffer.bytesused);
      control(fd_, VIDIOC_QBUF, &buffer);
    }
    if (newest) {
      status_ = {DeviceState::running, {}};
      if (take_) {  // a still is the next picture, as JPEG
        take_ = false;
        Still still;
        stbi_write_jpg_to_func(
            [](void* to, void* data, int size) {
              auto* bytes = static_cast<std::vector<std::uint8_t>*>(to);
              const auto* from = static_cast<const std::uint8_t*>(data);
              bytes->insert(bytes->end(), from, from + size);
            },
            &still.bytes, newest->width, newest->height, 4, newest->rgba.data(), 90);
        still_ = std::move(still);
      }
    }
    return newest;
  }
  void take() override { take_ = true; }
  std::optional<Still> taken() override {
    std::optional<Still> out;
    out.swap(still_);
    return out;
  }

 private:
  std::string find() const {
    if (!wanted_.empty()) return ::access(wanted_.c_str(), R_OK | W_OK) == 0 ? wanted_ : "";
    for (int i = 0; i < 8; ++i) {
      const std::string path = "/dev/video" + std::to_string(i);
      const int fd = ::open(path.c_str(), O_RDWR | O_NONBLOCK | O_CLOEXEC);
      if (fd < 0) continue;
      v4l2_capability can{};
      const bool captures = control(fd, VIDIOC_QUERYCAP, &can) == 0 &&
                            (can.device_caps & V4L2_CAP_VIDEO_CAPTURE) &&
                            (can.device_caps & V4L2_CAP_STREAMING);
      ::close(fd);
      if (captures) return path;
    }
    return {};
  }
  bool open() {
    fd_ = ::open(device_.c_str(), O_RDWR | O_NONBLOCK | O_CLOEXEC);
    if (fd_ < 0) return false;
    for (const std::uint32_t format : {V4L2_PIX_FMT_YUYV, V4L2_PIX_FMT_MJPEG}) {
      v4l2_format wish{};
      wish.type = V4L2_BUF_TYPE_VIDEO_CAPTURE;
      wish.fmt.pix.width = 640;
      wish.fmt.pix.height = 480;
      wish.fmt.pix.pixelformat = format;
      if (control(fd_, VIDIOC_S_FMT, &wish) < 0 || wish.fmt.pix.pixelformat != format) continue;
      format_ = format;
      width_ = int(wish.fmt.pix.width);
      height_ = int(wish.fmt.pix.height);
      return begin();
    }
    return false;
  }
  bool begin() {
    v4l2_requestbuffers ask{};
    ask.count = 3;
    ask.type = V4L2_BUF_TYPE_VIDEO_CAPTURE;
    ask.memory = V4L2_MEMORY_MMAP;
    if (control(fd_, VIDIOC_REQBUFS, &ask) < 0) return false;
    for (unsigned i = 0; i < ask.count; ++i) {
      v4l2_buffer buffer{};
      buffer.type = V4L2_BUF_TYPE_VIDEO_CAPTURE;
      buffer.memory = V4L2_MEMORY_MMAP;
      buffer.index = i;
      if (control(fd_, VIDIOC_QUERYBUF, &buffer) < 0) return false;
      void* map = ::mmap(nullptr, buffer.length, PROT_READ, MAP_SHARED, fd_, buffer.m.offset);
      if (map == MAP_FAILED) return false;
      maps_.push_back({map, buffer.length});
      if (control(fd_, VIDIOC_QBUF, &buffer) < 0) return false;
    }
    int type = V4L2_BUF_TYPE_VIDEO_CAPTURE;
    return control(fd_, VIDIOC_STREAMON, &type) == 0;
  }
  void close() {
    for (auto [map, size] : maps_) ::munmap(map, size);
    maps_.clear();
    if (fd_ >= 0) ::close(fd_);
    fd_ = -1;
  }
  std::optional<CameraPicture> decode(const std::uint8_t* data, std::size_t size) const {
    CameraPicture picture;
    if (format_ == V4L2_PIX_FMT_YUYV) {
      if (size < std::size_t(width_) * height_ * 2) return {};
      picture.width = width_;
      picture.height = height_;
      picture.rgba.resize(std::size_t(width_) * height_ * 4);
      rgba_of_yuyv(data, width_, height_, picture.rgba.data());
      return picture;
    }
    int channels;
    stbi_uc* pixels =
        stbi_load_from_memory(data, int(size), &picture.width, &picture.height, &channels, 4);
    if (!pixels) return {};
    picture.rgba.assign(pixels, pixels + std::size_t(picture.width) * picture.height * 4);
    stbi_image_free(pixels);
    return picture;
  }

  static constexpr const char* kNone = "device.no_camera_device_pick_picture";
  std::string wanted_, device_;
  DeviceStatus status_;
  int fd_ = -1, width_ = 0, height_ = 0;
  std::uint32_t format_ = 0;
  std::vector<std::pair<void*, std::size_t>> maps_;
  bool take_ = false;
  std::optional<Still> still_;
};

}  // namespace

std::unique_ptr<Camera> make_v4l2_camera(std::string device) {
  return std::make_unique<V4l2Camera>(std::move(device));
}

}  // namespace platform
