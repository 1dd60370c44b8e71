#include "platform/linux/gpsd.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cmath>
#include <nlohmann/json.hpp>

#include "horizon/time.h"

namespace platform {

std::optional<Fix> fix_of_gpsd_line(std::string_view line, double utc_s) {
  const auto report = nlohmann::json::parse(line, nullptr, false);
  if (!report.is_object() || report.value("class", "") != "TPV" || !report.contains("lat") ||
      !report.contains("lon"))
    return {};
  const auto number = [&](const char* key) -> std::optional<double> {
    const auto found = report.find(key);
    if (found == report.end() || !found->is_number()) return {};
    return found->get<double>();
  };
  const auto mode = number("mode"), lat = number("lat"), lon = number("lon");
  if (!mode || *mode < 2 || !lat || !lon || std::fabs(*lat) > 90 || std::fabs(*lon) > 360)
    return {};
  Fix fix;
  fix.utc_s = utc_s;
  fix.place = {*lat, *lon, 0};
  // The daemon's errors are 95 %; ours are one standard deviation of a plane error.
  fix.accuracy_m = number("eph").value_or(15) / 1.96;
  if (*mode >= 3) {
    for (const char* key : {"altHAE", "altMSL", "alt"})
      if (const auto height = number(key)) {
        fix.place.height_m = *height;
        fix.height_accuracy_m = number("epv").value_or(30) / 1.96;
        break;
      }
  }
  if (const auto time = report.find("time"); time != report.end() && time->is_string())
    if (const auto receiver_s = horizon::parse_utc_s(time->get<std::string>()))
      fix.clock_ahead_s = utc_s - *receiver_s;
  return fix;
}

namespace {

double now_s() {
  return std::chrono::duration<double>(std::chrono::system_clock::now().time_since_epoch()).count();
}

class GpsdPosition : public Position {
 public:
  GpsdPosition(std::string host, int port) : host_(std::move(host)), port_(port) {}
  ~GpsdPosition() override { close(); }

  void start() override {
    if (status_.state == DeviceState::running) return;
    status_ = {DeviceState::starting, {}};
    connect();
  }
  void stop() override {
    close();
    status_ = {DeviceState::off, {}};
  }
  DeviceStatus status() const override { return status_; }

  std::optional<Fix> poll() override {
    if (status_.state == DeviceState::off) return {};
    if (socket_ < 0) {
      if (now_s() - tried_s_ > 5) connect();
      return {};
    }
    if (!connected_ && !finish_connecting()) return {};
    char block[4096];
    for (;;) {
      const auto got = ::recv(socket_, block, sizeof block, MSG_DONTWAIT);
      if (got > 0) {
        text_.append(block, std::size_t(got));
        if (text_.size() > 1 << 20) text_.clear();
      } else if (got == 0 || (errno != EAGAIN && errno != EWOULDBLOCK && errno != EINTR)) {
        lost("device.position_service_ended");
        return {};
      } else {
        break;
      }
    }
    std::optional<Fix> newest;
    for (std::size_t end; (end = text_.find('\n')) != std::string::npos; text_.erase(0, end + 1))
      if (auto fix = fix_of_gpsd_line(std::string_view(text_).substr(0, end), now_s()))
        newest = fix;
    if (newest) status_ = {DeviceState::running, {}};
    return newest;
  }

 private:
  void connect() {
    tried_s_ = now_s();
    close();
    socket_ = ::socket(AF_INET, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    if (socket_ < 0) return lost("device.system_gave_no_network_socket");
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(std::uint16_t(port_));
    ::inet_pton(AF_INET, host_.c_str(), &address.sin_addr);
    const int rc = ::connect(socket_, reinterpret_cast<sockaddr*>(&address), sizeof address);
    if (rc != 0 && errno != EINPROGRESS) lost(kNone);
  }
  bool finish_connecting() {
    pollfd waiting{socket_, POLLOUT, 0};
    if (::poll(&waiting, 1, 0) <= 0) return false;
    int error = 0;
    socklen_t size = sizeof error;
    ::getsockopt(socket_, SOL_SOCKET, SO_ERROR, &error, &size);
    if (error != 0) {
      lost(kNone);
      return false;
    }
    static constexpr std::string_view kWatch = "?WATCH={\"enable\":true,\"json\":true};\n";
    connected_ =
        ::send(socket_, kWatch.data(), kWatch.size(), MSG_NOSIGNAL) == ssize_t(kWatch.size());
    return connected_;
  }
  void close() {
    if (socket_ >= 0) ::close(socket_);
    socket_ = -1;
    connected_ = false;
    text_.clear();
  }
  void lost(const char* problem) {
    close();
    status_ = {status_.state == DeviceState::running ? DeviceState::failed : DeviceState::missing,
               problem};
  }

  static constexpr const char* kNone = "device.no_position_receiver_found_gpsd";
  std::string host_;
  int port_;
  int socket_ = -1;
  bool connected_ = false;
  double tried_s_ = 0;
  std::string text_;
  DeviceStatus status_{DeviceState::off, {}};
};

}  // namespace

std::unique_ptr<Position> make_gpsd_position(std::string host, int port) {
  return std::make_unique<GpsdPosition>(std::move(host), port);
}

}  // namespace platform
