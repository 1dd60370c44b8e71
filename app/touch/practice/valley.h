// app/touch/practice/valley.h: a made valley to practise in: what stands round its station, how it looks,
// and devices that stand in it.
// Units:  degrees, metres; true azimuths
// Frame:  pictures as platform/camera.h
// Faults: iron beside the first spot turns the needle by kIron_deg until one steps aside; a notch
//         in the ridge is narrow enough to be missed; spruces stand before the ridge
#pragma once

#include <memory>
#include <optional>

#include "horizon/place.h"
#include "horizon/skyline/skyline.h"
#include "platform/devices.h"

namespace app {

inline constexpr double kIron_deg = 10;
inline constexpr double kValleyView_deg = 60;  // across the made camera's picture

horizon::Place valley_place();
horizon::Place valley_chapel();  // a landmark
double chapel_bearing_deg();     // true, from the station
double valley_elevation_deg(double azimuth_deg);
horizon::Kind valley_kind(double azimuth_deg);
// The whole truth: a point each degree and at every step.
horizon::Skyline valley_skyline();

// As the camera would see it; the sun where it stands at that time.
platform::CameraPicture valley_picture(double azimuth_deg, double elevation_deg, double utc_s);
// Does the sun reach the station?
bool valley_sun(double utc_s);

// Who practises: where they look, whether they stand beside the iron.
struct Practice {
  double azimuth_deg = 180, elevation_deg = 8;  // true
  bool iron = true;
  double skipped_s = 0;  // of the clock: one need not wait for the sun
  double begun_s = 0;
  void turn(double azimuth_by_deg, double elevation_by_deg);
};

// Position, attitude, camera and clock of the valley, in place of those of `devices`, which are kept in
// what is returned and put back by a swap.
struct RealDevices {
  std::unique_ptr<platform::Clock> clock;
  std::unique_ptr<platform::Position> position;
  std::unique_ptr<platform::Attitude> attitude;
  std::unique_ptr<platform::Camera> camera;
};
RealDevices enter_valley(platform::Devices& devices, std::shared_ptr<Practice> practice);
void leave_valley(platform::Devices& devices, RealDevices real);

}  // namespace app
