// horizon/skyline/contact.h: where the ridge stands that the light of sun or moon left or reached at
// a known second.
// Units:    degrees, seconds, hPa, degrees Celsius; sigmas are one standard deviation
// Frame:    true azimuth; elevation as seen from the spot where the light was watched
// Valid:    1950 to 2100, the body's top no more than a degree below the flat horizon; a limb of the
//           moon only where it is lit
// Method:   the touched point is the disc's centre moved by the semidiameter along the normal of the
//           ridge, on the sphere, then lifted by refraction. A slope that is wrong by d lowers the
//           point by S (1 - cos d) under the line and never raises it: the mean of that is added
// Accuracy: ridges above 8 degrees, clock and reading 5 s, air 10 K: 0.02 degree and less
// Source:   limb geometry by spherical trigonometry; scatter of refraction at the horizon 0.16
//           degree, Schaefer & Liller, PASP 102 (1990) 796, faded by the square of the refraction
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "horizon/angle.h"
#include "horizon/place.h"
#include "horizon/result.h"
#include "horizon/skyline/mask.h"
#include "horizon/sun/refraction.h"

namespace horizon {

enum class Body : std::uint8_t { sun, moon };
inline constexpr int kBodyCount = 2;
std::string_view name_of(Body body);  // "sun", "moon"
std::optional<Body> body_named(std::string_view name);

// Which part of the disc met the ridge.
enum class Touch : std::uint8_t {
  edge,    // the first or the last light: the upper limb
  half,    // half of the disc shows
  shadow,  // the shadow's edge reached the mark: it is soft, about half of the disc shows
  whole,   // the disc stands clear, or just began to hide: the lower limb
};
inline constexpr int kTouchCount = 4;
std::string_view name_of(Touch touch);  // "edge", "half", "shadow", "whole"
std::optional<Touch> touch_named(std::string_view name);

struct ContactReading {
  Body body = Body::sun;
  Touch touch = Touch::edge;
  bool came = false;  // the light came; else it went
  double utc_s = 0;   // by the true clock: a known offset is taken off before
  Place place;
  std::optional<Air> air;  // none: standard air at the height, 10 K and 8 hPa uncertain
  double reading_sigma_s = 5;
  double clock_sigma_s = 2;
  int source = -1;  // the caller's own number for it
};

// Of the line where it was touched, as a tangent on the sky: positive where it rises clockwise.
struct RidgeSlope {
  double slope_deg = 0;
  double sigma_deg = 25;  // nothing known: ridges seldom rise by more than 45
};

struct Contact {
  TrueAzimuth azimuth;                                    // of the touched point
  Elevation elevation;                                    // as seen
  double azimuth_sigma_deg = 0, elevation_sigma_deg = 0;  // of the point
  double line_sigma_deg = 0;  // of the line's elevation at that azimuth: less where sun and ridge
                              // run alongside each other
  TrueAzimuth body_azimuth;   // of the disc's centre
  Elevation body_elevation;   // as seen
  double semidiameter_deg = 0;
  double azimuth_rate = 0, elevation_rate = 0;  // of the centre, degrees a second
  RidgeSlope slope;
  // Degrees a second by which the touched limb leaves the line upwards; its sign says whether the
  // light can have come (+) or gone (-) over a ridge of this slope.
  double opening_rate = 0;
};

// What of a reading does not hang on the ridge's slope.
struct ContactSight {
  struct Centre {
    double azimuth_deg = 0, elevation_deg = 0;  // without refraction
    double semidiameter_deg = 0, lit_share = 1, lit_limb_deg = 0;
    double hour_angle_deg = 0, declination_deg = 0;
  };
  ContactReading reading;
  Air air;
  Centre centre, before, after;  // 30 s apart
};
// Fails with the cure where the instant is outside 1950 to 2100, the body below the horizon, the
// moon new.
Result<ContactSight> contact_sight(const ContactReading& reading);
// Fails where the touched limb is dark.
Result<Contact> contact_point(const ContactSight& sight, const RidgeSlope& slope = {});
Result<Contact> contact_point(const ContactReading& reading, const RidgeSlope& slope = {});

// The disc of sun or moon at an instant, as seen.
struct Disc {
  double azimuth_deg = 0, elevation_deg = 0, semidiameter_deg = 0;
  double lit_share = 1, lit_limb_deg = 0;  // of the moon
};
Disc disc_at(Body body, double utc_s, const Place& place, const Air& air);

// How far the disc's edge reaches over the line at most; below 0 it is hidden. Touch::whole: how
// far its lowest part stays clear; half and shadow: the centre. Of the moon only lit parts count.
double over_line_deg(const Disc& disc, const Mask& mask, Touch touch = Touch::edge);

}  // namespace horizon
