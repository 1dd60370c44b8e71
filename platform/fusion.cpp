#include "platform/fusion.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace platform {
namespace {

constexpr double kToDegrees = 180 / std::numbers::pi;

Vector3 cross(const Vector3& a, const Vector3& b) {
  return {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]};
}
double dot(const Vector3& a, const Vector3& b) { return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]; }
double length(const Vector3& a) { return std::sqrt(dot(a, a)); }
Vector3 scaled(const Vector3& a, double by) { return {a[0] * by, a[1] * by, a[2] * by}; }

// What a vector fixed to the Earth becomes in the device's frame when the device turns.
void turn(Vector3& v, const Vector3& rate, double dt) {
  const Vector3 change = cross(v, rate);
  const double before = length(v);
  for (int i = 0; i < 3; ++i) v[i] += change[i] * dt;
  const double after = length(v);
  if (after > 0) v = scaled(v, before / after);
}

void draw_to(Vector3& v, const Vector3& measured, double part) {
  for (int i = 0; i < 3; ++i) v[i] += (measured[i] - v[i]) * part;
}

}  // namespace

std::optional<Pose> pose_of(const Vector3& up_raw, const Vector3& field_nt) {
  const double g = length(up_raw), strength = length(field_nt);
  if (!(g > 1e-9) || !(strength > 1e-9)) return {};
  const Vector3 up = scaled(up_raw, 1 / g);
  Vector3 east = cross(field_nt, up);
  if (!(length(east) > 1e-6 * strength)) return {};
  east = scaled(east, 1 / length(east));
  const Vector3 north = cross(up, east);
  Pose pose;
  pose.elevation_deg = std::asin(std::clamp(-up[2], -1.0, 1.0)) * kToDegrees;
  const double azimuth = std::atan2(-east[2], -north[2]) * kToDegrees;
  pose.azimuth_deg = azimuth < 0 ? azimuth + 360 : azimuth;
  pose.roll_deg = std::atan2(-up[0], up[1]) * kToDegrees;
  pose.field_nt = strength;
  pose.inclination_deg =
      std::asin(std::clamp(-dot(field_nt, up) / strength, -1.0, 1.0)) * kToDegrees;
  pose.azimuth_sigma_deg = 1.5;
  pose.elevation_sigma_deg = 0.3;
  return pose;
}

std::optional<Pose> Fusion::update(double time_s, const Vector3& acceleration,
                                   const std::optional<Vector3>& field_nt,
                                   const std::optional<Vector3>& rate_rad_s) {
  const double dt = time_s - time_s_;
  time_s_ = time_s;
  // Without a compass any fixed level direction will do: bearings are then relative.
  const Vector3 field = field_nt.value_or(Vector3{0, 0, -30000});
  if (!started_ || dt < 0 || dt > 1) {
    up_ = acceleration;
    field_ = field;
    started_ = true;
  } else {
    if (rate_rad_s) {
      turn(up_, *rate_rad_s, dt);
      turn(field_, *rate_rad_s, dt);
    }
    const double level_s = rate_rad_s ? 0.5 : 0.15, compass_s = rate_rad_s ? 1.0 : 0.25;
    draw_to(up_, acceleration, dt / (level_s + dt));
    if (field_nt) draw_to(field_, field, dt / (compass_s + dt));
  }
  auto pose = pose_of(up_, field_);
  if (pose) {
    pose->time_s = time_s;
    if (!field_nt) {
      pose->north = North::unknown;
      pose->field_nt.reset();
      pose->inclination_deg.reset();
      pose->azimuth_sigma_deg = 180;
    }
  }
  return pose;
}

}  // namespace platform
