// horizon/light/sun_steps.h: the sun of one year at even steps, worked out once a station.
// Units:    degrees, hours; days and months count from 0
// Frame:    true azimuth; `seen` is the elevation with refraction, `el` without
// Accuracy: positions as horizon/sun/sun_track.h; sums take what lies between two nodes as straight
// Cost:     5-minute steps: 53 000 nodes, 1.3 MB, some ms
//
// A node belongs to a civil day at the station's offset from UTC. Only steps with the sun above the
// flat horizon at one end at least are kept; step i lies between its two nodes.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <vector>

#include "horizon/light/sky_view.h"
#include "horizon/place.h"
#include "horizon/skyline/mask.h"

namespace horizon {

struct SunNode {
  double azimuth_deg = 0, seen_deg = 0, el_deg = 0;
};

struct SunStep {
  int node = 0;  // from this one to the next
  std::int16_t day = 0;
  std::int8_t month = 0;
  float east = 0, north = 0, up = 0;  // unit vector to the sun's middle, without refraction
};

struct SunSteps {
  Place place;
  double utc_offset_h = 0;
  int year = 0;
  double step_h = 0;
  double semidiameter_deg = 0.2666;
  std::array<std::int16_t, 13> month_begins{};  // day numbers; the last is the year's length
  std::vector<SunNode> nodes;
  std::vector<double> utc_s;   // of the nodes
  std::vector<SunStep> steps;  // in time order
  int days() const { return month_begins[12]; }
};
// day_stride above 1 leaves days out, for estimates.
SunSteps sun_steps(const Place& place, int year, double utc_offset_h, double step_min = 5,
                   int day_stride = 1);

// The steps of some months only (bit 0 = January); `original` tells each one's place in the year.
SunSteps in_months(const SunSteps& sun, unsigned months, std::vector<int>* original = nullptr);

// Elevation of a mask at even azimuths, for fast look-ups by the same nodes again and again.
class MaskTable {
 public:
  static constexpr int kPerDegree = 4;
  explicit MaskTable(const Mask& mask);
  // Never below the flat horizon.
  // bin and part: the azimuth times kPerDegree, its whole and its fraction.
  float at(int bin, float part) const {
    return height_[bin] + part * (height_[bin + 1] - height_[bin]);
  }
  // The lower, the higher of two at each azimuth.
  void lower_to(const MaskTable& other) {
    for (size_t i = 0; i < height_.size(); ++i) height_[i] = std::min(height_[i], other.height_[i]);
  }
  void raise_to(const MaskTable& other) {
    for (size_t i = 0; i < height_.size(); ++i) height_[i] = std::max(height_[i], other.height_[i]);
  }

 private:
  std::array<float, 360 * kPerDegree + 2> height_;
};

// Share of a step during which a height that runs evenly from d0 to d1 is above 0.
inline double share_above(double d0, double d1) {
  if (d0 > 0) return d1 >= 0 ? 1 : d0 / (d0 - d1);
  return d1 > 0 ? d1 / (d1 - d0) : 0;
}
// Mean share of a disc of radius r that shows while its centre runs evenly from d0 to d1.
double disc_shown(double d0, double d1, double r);

// For each step, how much of the sun's disc shows past the skyline, leaves dimming it by the
// month, and for how long its centre does.
struct SunSeen {
  std::vector<float> light;    // share of the beam that arrives, 0 to 1
  std::vector<float> in_view;  // share of the step with the centre above everything
};
// The slope at the station hides the sun too where it rises above the skyline.
SunSeen sun_seen(const SunSteps& sun, const Skyline& skyline, const Masks& masks,
                 const GroundSlope& slope = {});

// Hours above the flat horizon and in view, by day.
std::vector<double> daily_hours(const SunSteps& sun, const std::vector<float>& in_view);
std::vector<double> daily_flat_hours(const SunSteps& sun);

}  // namespace horizon
