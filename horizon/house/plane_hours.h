// horizon/house/plane_hours.h: hour by hour, what a plane of the house would get and pass of a sky's light.
// Units:    shares: W/m2 on or past the plane for each W/m2 of the sky's part (horizon/house/house_weather.h)
// Frame:    hours of local standard time, 0 to 8759 from 1 January 00:00, no leap day; true azimuths
// Valid:    a year of 365 days
// Accuracy: beam by 5- or 10-minute steps past the skyline; diffuse light in patches of 5 degrees
// Source:   as horizon/light/plane_light.h, kept apart by hour so that many skies can run over it
#pragma once

#include <array>
#include <vector>

#include "horizon/light/glazing.h"
#include "horizon/light/plane_light.h"
#include "horizon/light/sun_steps.h"

namespace horizon {

// What passes and what stays in the pane, over cos(incidence).
class PaneAngles {
 public:
  explicit PaneAngles(const Glazing& glazing);  // half stays in each face
  static PaneAngles opaque();                   // all is taken up outside
  struct Row {
    double angle_deg = 0, through = 0, outer = 0, inner = 0;
  };
  explicit PaneAngles(const std::vector<Row>& table);  // angles rising from 0 to 90
  struct Shares {
    float through = 0, outer = 0, inner = 0;
  };
  Shares at(double cos_incidence) const;

 private:
  static constexpr int kSteps = 128;
  std::array<Shares, kSteps + 1> table_{};
};

struct PlaneShares {
  float incident = 0, through = 0, outer = 0, inner = 0;
};
struct PlaneHours {
  std::vector<PlaneShares> sun;  // of the light that comes from the sun's direction
  std::array<PlaneShares, 12> sky{}, skyline{};
  PlaneShares ground, band;
};

class SiteSun {
 public:
  // The steps of a year of 365 days.
  SiteSun(const SunSteps& sun, const Skyline& skyline, const Masks& masks,
          const GroundSlope& slope = {});
  PlaneHours plane(const Plane& plane, const PaneAngles& pane) const;
  // A level bed behind the plane of glazing, with nothing clear at its back: `through` is its light.
  PlaneHours bed(const Plane& plane, const PaneAngles& pane) const;

  // By hour of the year.
  struct Hour {
    float up = 0;          // sine of the sun's height, mean of the sunlit part
    float sunlit = 0;      // share of the hour with the sun above the level
    float in_view = 0;     // share of the beam's time that the skyline lets through
    float solar_hour = 0;  // by the sun, 0 to 24
    double sky_term = 0;   // sky_hour_term() of it
  };
  const std::vector<Hour>& hours() const { return hours_; }
  const std::array<std::int16_t, 13>& month_begins() const { return sun_.month_begins; }
  const SunSteps& steps() const { return sun_; }

 private:
  PlaneHours received(const Plane& plane, const PaneAngles& pane, bool on_bed) const;
  SunSteps sun_;
  std::vector<float> seen_;
  std::vector<int> hour_of_;
  std::vector<Hour> hours_;
  std::vector<Patch> patches_;
};
int month_of_hour(int hour);  // 0 to 11, hour of the year from 0

}  // namespace horizon
