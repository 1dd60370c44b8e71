#include "app/touch/session/aim.h"

#include <algorithm>
#include <cmath>

#include "app/words/words.h"
#include "horizon/angle.h"

namespace app {
namespace {

constexpr double kSteady_deg = 0.6;
constexpr double kWindow_s = 2;
constexpr double kStuck_s = 5;    // no hand is that still, and no sensor that free of noise
constexpr double kJump_deg = 25;  // between two readings less than 0.15 s apart

}  // namespace

void AimTracker::reset() { *this = {}; }

void AimTracker::add(const platform::Pose& pose) {
  if (!std::isfinite(pose.azimuth_deg) || !std::isfinite(pose.elevation_deg)) return;
  if (!poses_.empty()) {
    const platform::Pose& last = poses_.back();
    const double step = std::fabs(horizon::wrap_180(pose.azimuth_deg - last.azimuth_deg));
    const double dt = pose.time_s - last.time_s;
    if (dt < 0 || pose.north != last.north || pose.free_turn != last.free_turn) {
      reset();
    } else {
      if (step != 0) same_azimuth_s_ = pose.time_s;
      if (pose.elevation_deg != last.elevation_deg) same_elevation_s_ = pose.time_s;
      // Near the zenith the azimuth may turn fast without a fault.
      if (dt < 0.15 && step > kJump_deg && std::fabs(pose.elevation_deg) < 70) {
        jumps_ = pose.time_s - jump_s_ < 3 ? jumps_ + 1 : 1;
        jump_s_ = pose.time_s;
      }
    }
  }
  if (poses_.empty()) steady_since_s_ = same_azimuth_s_ = same_elevation_s_ = pose.time_s;
  poses_.push_back(pose);
  while (poses_.size() > 1 && pose.time_s - poses_.front().time_s > kWindow_s) poses_.pop_front();

  // Walk back from the newest while all stay close to it.
  double since = pose.time_s;
  for (auto it = poses_.rbegin(); it != poses_.rend(); ++it) {
    const double cos_el = std::cos(pose.elevation_deg * horizon::kDegree);
    const double across = horizon::wrap_180(it->azimuth_deg - pose.azimuth_deg) * cos_el;
    if (std::hypot(across, it->elevation_deg - pose.elevation_deg) > kSteady_deg) break;
    since = it->time_s;
  }
  // Still steady over the whole window: the time goes on from where it began.
  if (since > poses_.front().time_s) steady_since_s_ = since;
}

std::optional<Aim> AimTracker::aim(double now_s) const {
  if (poses_.empty()) return {};
  const platform::Pose& last = poses_.back();
  Aim aim;
  aim.roll_deg = last.roll_deg;
  aim.north = last.north;
  aim.free_turn = last.free_turn;
  aim.field_nt = last.field_nt;
  aim.inclination_deg = last.inclination_deg;
  double azimuth = 0, elevation = 0, square = 0;
  int count = 0;
  for (auto it = poses_.rbegin(); it != poses_.rend(); ++it) {
    if (count > 0 && it->time_s < steady_since_s_) break;
    azimuth += horizon::wrap_180(it->azimuth_deg - last.azimuth_deg);
    elevation += it->elevation_deg;
    ++count;
  }
  azimuth = azimuth / count;
  elevation /= count;
  for (auto it = poses_.rbegin(); it != poses_.rbegin() + count; ++it) {
    const double off = horizon::wrap_180(it->azimuth_deg - last.azimuth_deg) - azimuth;
    square += off * off;
  }
  aim.azimuth_deg = horizon::wrap_360(last.azimuth_deg + azimuth);
  aim.elevation_deg = elevation;
  const double tremor = std::sqrt(square / count);
  aim.azimuth_sigma_deg = std::hypot(last.azimuth_sigma_deg, tremor / std::sqrt(double(count)));
  aim.elevation_sigma_deg = std::hypot(last.elevation_sigma_deg, tremor / std::sqrt(double(count)));
  aim.steady_s = std::max(0.0, last.time_s - steady_since_s_);
  if (now_s - last.time_s > (last.silent_at_rest ? 6 : 3))
    aim.fault = AimFault::silent;
  else if (!last.silent_at_rest && last.time_s - same_azimuth_s_ > kStuck_s)
    aim.fault = AimFault::stuck;
  else if (!last.silent_at_rest && last.time_s - same_elevation_s_ > kStuck_s)
    aim.fault = AimFault::stuck_level;
  else if (jumps_ >= 2 && last.time_s - jump_s_ < 3)
    aim.fault = AimFault::jumping;
  return aim;
}

std::string words_for(AimFault fault) {
  switch (fault) {
    case AimFault::none:
      return {};
    case AimFault::stuck:
      return tr("aim.compass_has_not_moved_while");
    case AimFault::stuck_level:
      return tr("aim.level_device_has_not_moved");
    case AimFault::jumping:
      return tr("aim.compass_jumps");
    case AimFault::silent:
      return tr("aim.compass_gives_no_more_readings");
  }
  return {};
}

std::string words_for_unknown(platform::North north) {
  return north == platform::North::unknown_till_low ? tr("aim.direction_not_known_yet_lower")
                                                    : tr("aim.device_tells_no_north");
}

}  // namespace app
