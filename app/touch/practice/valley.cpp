#include "app/touch/practice/valley.h"

#include <algorithm>
#include <cmath>

#include "horizon/angle.h"
#include "horizon/bearing/declination.h"
#include "horizon/bearing/landmark.h"
#include "horizon/sun/sun.h"

namespace app {
namespace {

using horizon::kDegree;
using horizon::Kind;
using horizon::wrap_180;
using horizon::wrap_360;

struct Thing {
  double from_deg, to_deg;
  Kind kind;
};
constexpr Thing kThings[] = {
    {95, 103, Kind::leafy}, {150, 159, Kind::building}, {206, 231, Kind::evergreen}};

double ridge_deg(double az) {
  const double a = az * kDegree;
  const double notch = wrap_180(az - 133) / 4;  // the gap that is easily missed
  return 15 - 6 * std::cos(a - 170 * kDegree) + 1.5 * std::sin(3 * a + 0.7) +
         0.8 * std::sin(7 * a) + 0.3 * std::sin(17 * a) - 6.5 * std::exp(-notch * notch);
}

// Between 0 and 1, as the teeth of a saw of that width.
double teeth(double az, double width) {
  const double part = std::fmod(az, width) / width;
  return 1 - std::fabs(2 * part - 1);
}

double thing_deg(const Thing& thing, double az) {
  const double part = (az - thing.from_deg) / (thing.to_deg - thing.from_deg);
  switch (thing.kind) {
    case Kind::leafy:
      return 11 + 11 * std::sqrt(std::max(0.0, 1 - std::pow(2 * part - 1, 2)));
    case Kind::building:
      return 11.5 + 2.2 * (1 - std::fabs(2 * part - 1));
    default:
      return 17 + 4 * teeth(az - thing.from_deg, 5);
  }
}

const Thing* thing_at(double az) {
  for (const Thing& thing : kThings)
    if (az >= thing.from_deg && az <= thing.to_deg) return &thing;
  return nullptr;
}

constexpr double kEye_m = 1.6, kChapel_m = 2400, kChapelBearing_deg = 64;

// ---------------------------------------------------------------- the picture

struct Shade {
  double r, g, b;
};
Shade mixed(Shade a, Shade b, double part) {
  part = std::clamp(part, 0.0, 1.0);
  return {a.r + (b.r - a.r) * part, a.g + (b.g - a.g) * part, a.b + (b.b - a.b) * part};
}
// The same for every picture of the same spot of the valley.
double grain(double az, double el) {
  const double x = std::sin(az * 127.1 + el * 311.7) * 43758.5453;
  return x - std::floor(x);
}

Shade ground(double az, double el, double top, double light, bool lit) {
  const Thing* thing = thing_at(az);
  if (thing && top > ridge_deg(az)) {
    if (thing->kind == Kind::building)
      return el > 11.5 ? Shade{92, 62, 48} : mixed({128, 96, 70}, {80, 60, 46}, teeth(az, 0.8));
    const Shade dark = thing->kind == Kind::leafy ? Shade{112, 92, 54} : Shade{34, 62, 46};
    return mixed(dark, {200, 210, 206}, 0.25 * grain(std::floor(az * 3), std::floor(el * 3)));
  }
  const double chapel = std::fabs(wrap_180(az - kChapelBearing_deg));
  if (chapel < 0.45 && el > 2 && el < 6 - 2.2 * chapel) return {238, 232, 220};
  const Shade rock = mixed({92, 104, 116}, {140, 148, 152},
                           0.3 * grain(std::floor(az * 4), std::floor(el * 4)) +
                               0.25 * std::sin(az * 1.7 + el * 2.3)),
              snow{228, 234, 240}, meadow{214, 220, 222};
  Shade shade = mixed(rock, snow, (el - (top - 5)) / 5);
  shade = mixed(shade, meadow, (2.5 - el) / 3);
  // Slopes that face the sun are bright; in the shade the snow is blue.
  return mixed(mixed(shade, {70, 86, 112}, 0.45), shade, lit ? 0.55 + 0.45 * light : 0.25);
}

}  // namespace

horizon::Place valley_place() { return {46.8712, 10.1187, 1340 + kEye_m}; }

double chapel_bearing_deg() { return kChapelBearing_deg; }

horizon::Place valley_chapel() {
  const auto from = valley_place();
  const double north = kChapel_m * std::cos(kChapelBearing_deg * kDegree),
               east = kChapel_m * std::sin(kChapelBearing_deg * kDegree);
  constexpr double kMetres = 111320;  // a degree of latitude; the landmark's own sum follows
  horizon::Place chapel{
      from.latitude_deg + north / kMetres,
      from.longitude_deg + east / (kMetres * std::cos(from.latitude_deg * kDegree)),
      1340 + kChapel_m * std::tan(4 * kDegree)};
  // Turned until it stands in its bearing on the ellipsoid too.
  for (int i = 0; i < 6; ++i) {
    const auto seen = horizon::landmark_bearing({from, 1}, {"", chapel, true});
    if (!seen) break;
    const double off = wrap_180(kChapelBearing_deg - seen->known.degrees()) * kDegree * kChapel_m;
    chapel.latitude_deg -= off * std::sin(kChapelBearing_deg * kDegree) / kMetres;
    chapel.longitude_deg += off * std::cos(kChapelBearing_deg * kDegree) /
                            (kMetres * std::cos(from.latitude_deg * kDegree));
  }
  return chapel;
}

double valley_elevation_deg(double azimuth_deg) {
  const double az = wrap_360(azimuth_deg), ridge = ridge_deg(az);
  const Thing* thing = thing_at(az);
  return thing ? std::max(ridge, thing_deg(*thing, az)) : ridge;
}

Kind valley_kind(double azimuth_deg) {
  const double az = wrap_360(azimuth_deg);
  const Thing* thing = thing_at(az);
  return thing && thing_deg(*thing, az) > ridge_deg(az) ? thing->kind : Kind::ridge;
}

horizon::Skyline valley_skyline() {
  horizon::Skyline truth;
  for (int k = 0; k < horizon::kKindCount; ++k)
    truth.obstacles.push_back({horizon::Kind(k), {}, {}, {}, {}});
  const auto point = [&](double az) {
    horizon::SkylinePoint p;
    p.azimuth = horizon::TrueAzimuth::degrees(wrap_360(az));
    p.elevation = horizon::Elevation::degrees(valley_elevation_deg(az));
    p.obstacle = int(valley_kind(az));
    truth.points.push_back(p);
  };
  for (int i = 0; i < 720; ++i) point(i * 0.5);
  return truth;
}

bool valley_sun(double utc_s) {
  const auto sun = horizon::sun_position(utc_s, valley_place());
  return sun.elevation.degrees() > std::max(0.0, valley_elevation_deg(sun.azimuth.degrees()));
}

platform::CameraPicture valley_picture(double azimuth_deg, double elevation_deg, double utc_s) {
  constexpr int kWidth = 320, kHeight = 240;
  const auto sun = horizon::sun_position(utc_s, valley_place());
  const double sun_az = sun.azimuth.degrees(), sun_el = sun.elevation.degrees();
  const bool day = sun_el > -2, lit = valley_sun(utc_s);
  platform::CameraPicture picture;
  picture.width = kWidth;
  picture.height = kHeight;
  picture.field_of_view_deg = kValleyView_deg;
  picture.field_of_view_known = true;
  picture.rgba.resize(std::size_t(kWidth) * kHeight * 4);
  const double step = kValleyView_deg / kWidth;
  for (int x = 0; x < kWidth; ++x) {
    const double az = wrap_360(azimuth_deg + (x + 0.5 - kWidth / 2.0) * step);
    const double top = valley_elevation_deg(az);
    const double light = 0.5 - 0.5 * std::cos(wrap_180(az - sun_az) * kDegree);
    const double from_sun = wrap_180(az - sun_az);
    for (int y = 0; y < kHeight; ++y) {
      const double el = elevation_deg - (y + 0.5 - kHeight / 2.0) * step;
      Shade c;
      if (el > top) {
        c = mixed({196, 216, 230}, {108, 156, 204}, (el - 5) / 45);
        const double off = std::hypot(from_sun * std::cos(el * kDegree), el - sun_el);
        if (day) c = mixed(c, {255, 240, 190}, std::exp(-off / 4) * 0.9);
        if (day && off < 0.9) c = {255, 250, 226};
      } else {
        c = ground(az, el, top, light, lit);
      }
      if (!day) c = mixed(c, {18, 26, 40}, 0.75);
      std::uint8_t* pixel = &picture.rgba[(std::size_t(y) * kWidth + std::size_t(x)) * 4];
      pixel[0] = std::uint8_t(c.r);
      pixel[1] = std::uint8_t(c.g);
      pixel[2] = std::uint8_t(c.b);
      pixel[3] = 255;
    }
  }
  return picture;
}

void Practice::turn(double azimuth_by_deg, double elevation_by_deg) {
  azimuth_deg = wrap_360(azimuth_deg + azimuth_by_deg);
  elevation_deg = std::clamp(elevation_deg + elevation_by_deg, -30.0, 60.0);
}

// ---------------------------------------------------------------- devices

namespace {

using State = std::shared_ptr<Practice>;

class ValleyClock : public platform::Clock {
 public:
  ValleyClock(State state, const platform::Clock& real) : state_(std::move(state)), real_(real) {}
  double utc_s() const override { return real_.utc_s() + state_->skipped_s; }
  double running_s() const override { return real_.running_s(); }
  // The valley's own, wherever the device is.
  double utc_offset_h(double) const override {
    return horizon::solar_zone_h(valley_place().longitude_deg);
  }

 private:
  State state_;
  const platform::Clock& real_;
};

class ValleyPosition : public platform::Position {
 public:
  ValleyPosition(State state, const platform::Clock& clock)
      : state_(std::move(state)), clock_(clock) {}
  void start() override { running_ = true; }
  void stop() override { running_ = false; }
  platform::DeviceStatus status() const override {
    return {running_ ? platform::DeviceState::running : platform::DeviceState::off, {}};
  }
  std::optional<platform::Fix> poll() override {
    if (!running_ || clock_.running_s() < next_s_) return {};
    next_s_ = clock_.running_s() + 1;
    platform::Fix fix;
    fix.utc_s = clock_.utc_s() + state_->skipped_s;
    fix.place = valley_place();
    fix.place.height_m -= kEye_m;
    fix.accuracy_m = 3;
    fix.height_accuracy_m = 4;
    return fix;
  }

 private:
  State state_;
  const platform::Clock& clock_;
  bool running_ = false;
  double next_s_ = 0;
};

class ValleyAttitude : public platform::Attitude {
 public:
  ValleyAttitude(State state, const platform::Clock& clock)
      : state_(std::move(state)), clock_(clock) {
    if (const auto field =
            horizon::magnetic_field(valley_place(), horizon::decimal_year_of(clock.utc_s())))
      field_ = field->now;
  }
  void start() override { running_ = true; }
  void stop() override { running_ = false; }
  platform::DeviceStatus status() const override {
    return {running_ ? platform::DeviceState::running : platform::DeviceState::off, {}};
  }
  std::optional<platform::Pose> poll() override {
    const double now = clock_.running_s();
    if (!running_ || now < next_s_) return {};
    next_s_ = now + 1.0 / 30;
    platform::Pose pose;
    pose.time_s = now;
    // A hand trembles a little.
    const double tremble = 0.03 * std::sin(now * 7.3), nod = 0.02 * std::sin(now * 5.1);
    pose.azimuth_deg = wrap_360(state_->azimuth_deg - field_.declination_deg +
                                (state_->iron ? kIron_deg : 0) + tremble);
    pose.elevation_deg = state_->elevation_deg + nod;
    pose.azimuth_sigma_deg = 1;
    pose.elevation_sigma_deg = 0.2;
    pose.field_nt = field_.total_nt + (state_->iron ? 9000 : 0);
    pose.inclination_deg = field_.inclination_deg + (state_->iron ? 6 : 0);
    return pose;
  }

 private:
  State state_;
  const platform::Clock& clock_;
  horizon::FieldElements field_;
  bool running_ = false;
  double next_s_ = 0;
};

class ValleyCamera : public platform::Camera {
 public:
  ValleyCamera(State state, const platform::Clock& clock)
      : state_(std::move(state)), clock_(clock) {}
  void start() override {
    running_ = true;
    seen_az_ = -1;
  }
  void stop() override { running_ = false; }
  platform::DeviceStatus status() const override {
    return {running_ ? platform::DeviceState::running : platform::DeviceState::off, {}};
  }
  std::optional<platform::CameraPicture> poll() override {
    const double utc = clock_.utc_s() + state_->skipped_s;
    const bool same = seen_az_ == state_->azimuth_deg && seen_el_ == state_->elevation_deg &&
                      std::fabs(utc - seen_utc_s_) < 60;
    if (!running_ || same) return {};
    seen_az_ = state_->azimuth_deg;
    seen_el_ = state_->elevation_deg;
    seen_utc_s_ = utc;
    return valley_picture(seen_az_, seen_el_, utc);
  }
  void take() override {}  // a made valley gives no photos
  std::optional<platform::Still> taken() override { return {}; }

 private:
  State state_;
  const platform::Clock& clock_;
  bool running_ = false;
  double seen_az_ = -1, seen_el_ = 0, seen_utc_s_ = 0;
};

}  // namespace

RealDevices enter_valley(platform::Devices& devices, std::shared_ptr<Practice> practice) {
  RealDevices real{std::move(devices.clock), std::move(devices.position),
                   std::move(devices.attitude), std::move(devices.camera)};
  const platform::Clock& clock = *real.clock;
  devices.clock = std::make_unique<ValleyClock>(practice, clock);
  devices.position = std::make_unique<ValleyPosition>(practice, clock);
  devices.attitude = std::make_unique<ValleyAttitude>(practice, clock);
  devices.camera = std::make_unique<ValleyCamera>(practice, clock);
  return real;
}

void leave_valley(platform::Devices& devices, RealDevices real) {
  devices.clock = std::move(real.clock);
  devices.position = std::move(real.position);
  devices.attitude = std::move(real.attitude);
  devices.camera = std::move(real.camera);
}

}  // namespace app
