// horizon/sun/sun_path.h: the sun's way through the days of a year at one place, ready for any skyline.
// Units:    degrees, seconds UTC, hours
// Frame:    true azimuth; elevation as seen, refracted by the station's air
// Valid:    days within 1950 to 2100; the sun below -4 degrees counts as down for every skyline
// Accuracy: times of crossing to 0.01 s of the model's sun, however steep, narrow or short the gap
// Cost:     see tests/bench; the path of a year is made once, a skyline over it takes far less
// Source:   nodes every ten minutes from horizon/sun/sun_track.h; between them a cubic in azimuth and
//           elevation, split where the azimuth turns back and at every corner of the skyline
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "horizon/place.h"
#include "horizon/skyline/mask.h"
#include "horizon/sun/refraction.h"
#include "horizon/sun/sun_track.h"
#include "horizon/time.h"

namespace horizon {

// Of the disc. Upper and lower are its highest and lowest point, at the centre's azimuth.
enum class Limb { upper, centre, lower };

struct SunWindow {
  double from_utc_s = 0, to_utc_s = 0;
  double hours() const { return (to_utc_s - from_utc_s) / 3600.0; }
};
using SunWindows = std::vector<SunWindow>;  // in time order, apart from each other

class SunPath {
 public:
  // `days` local days from `first`, midnight to midnight at utc_offset_h.
  SunPath(const Place& place, Date first, int days, double utc_offset_h, const Air& air);
  // Offset by longitude and standard air at the height, unless given.
  static SunPath of_year(const Place& place, int year, std::optional<double> utc_offset_h = {},
                         std::optional<Air> air = {});

  const Place& place() const { return track_.place(); }
  const Air& air() const { return air_; }
  double utc_offset_h() const { return utc_offset_h_; }
  int days() const { return days_; }
  Date date(int day) const;  // day 0 is the first
  double day_start_utc_s(int day) const { return start_ + day * 86400.0; }
  double end_utc_s() const { return day_start_utc_s(days_); }

  struct Seen {
    double azimuth_deg = 0, elevation_deg = 0;  // as seen
    double semidiameter_deg = 0;
  };
  Seen at(double utc_s) const;
  const SunTrack& track() const { return track_; }

  // The stretches between ten-minute nodes while the sun is above -4 degrees.
  struct Node {
    double azimuth_deg = 0, elevation_deg = 0;    // without refraction
    double azimuth_rate = 0, elevation_rate = 0;  // degrees a second
  };
  struct Run {
    double from_utc_s = 0;
    std::vector<Node> nodes;
  };
  static constexpr double kStep_s = 600;
  std::span<const Run> runs() const { return runs_; }
  Node node_at(double utc_s) const;

 private:
  SunTrack track_;
  Air air_;
  double utc_offset_h_ = 0, start_ = 0;
  int days_ = 0;
  std::vector<Run> runs_;
};

// When the limb stands above the line.
SunWindows windows_above(const SunPath& path, const Mask& mask, Limb limb = Limb::centre);

// The part of `windows` inside [from, to].
SunWindows clipped(std::span<const SunWindow> windows, double from_utc_s, double to_utc_s);
// `outer` less `inner`.
SunWindows difference(std::span<const SunWindow> outer, std::span<const SunWindow> inner);
double hours_in(std::span<const SunWindow> windows);
// For each day of the path.
std::vector<double> hours_by_day(const SunPath& path, std::span<const SunWindow> windows);

// Splits windows where the sun's azimuth passes from one piece to another. Pieces that follow each
// other with the same obstacle and the same openness count as one.
struct SunStretch {
  SunWindow window;
  int obstacle = -1;
  bool open = false;
};
std::vector<SunStretch> by_obstacle(const SunPath& path, std::span<const SunWindow> windows,
                                    const Mask& mask);

}  // namespace horizon
