// horizon/plot/hours_map.h: winter sun hours at every spot of a plot, and what takes the rest.
// Units:    metres; hours in the months asked for
// Frame:    spots in the plot's east, north; eyes above its ground plane
// Valid:    as horizon/plot/predicted_skyline.h
// Accuracy: of the arithmetic 0.5 % of the hours (the sun every five minutes, the outline every
//           quarter of a degree); errors of the survey are far larger near tall things
// Cost:     50 by 50 spots in well under 2 s
// Source:   direct sun = the disc's centre above everything; behind leaves only = filtered
#pragma once

#include "horizon/plot/predicted_skyline.h"
#include "horizon/sun/sun_path.h"

namespace horizon {

// The sun through the months that count, ready for many spots.
class SunSamples {
 public:
  // months: bit 0 = January. `path` covers a year or the part that is wanted.
  SunSamples(const SunPath& path, unsigned months);
  static constexpr double kStep_s = 300;
  static constexpr int kBinsPerDegree = 4;
  struct Sample {
    std::uint16_t bin = 0;
    std::uint8_t month = 1;
    float elevation_deg = 0;
  };
  std::span<const Sample> samples() const { return samples_; }
  bool southern() const { return southern_; }

 private:
  std::vector<Sample> samples_;
  bool southern_ = false;
};

struct SpotHours {
  double direct_h = 0;
  double filtered_light_h = 0;  // behind leaves, times the light let through
  bool occupied = false;        // a tree stands here
};
struct ObstacleShare {
  double hidden_h = 0;  // it is what hides the sun
  double alone_h = 0;   // and nothing else does: these come back if it goes
};
SpotHours spot_hours(const PlacedPlot& plot, const Enu& eye, const SunSamples& sun,
                     std::vector<ObstacleShare>* shares = nullptr);

struct MapGrid {
  double west_m = 0, south_m = 0;  // middle of the first spot
  double step_m = 1;
  int columns = 0, rows = 0;
  double eye_height_m = 1;  // above the ground: the middle of a glazing
};
struct HoursMap {
  MapGrid grid;
  std::vector<SpotHours> spots;       // row by row from the south, each from the west
  std::vector<ObstacleShare> shares;  // of spot s and obstacle o at s * obstacles + o
  int obstacles = 0;
  const SpotHours& at(int column, int row) const {
    return spots[static_cast<size_t>(row) * static_cast<size_t>(grid.columns) +
                 static_cast<size_t>(column)];
  }
};
// Bad input: a grid without spots or over 250 000 of them.
Result<HoursMap> hours_map(const PlacedPlot& plot, const MapGrid& grid, const SunSamples& sun);

struct Footprint {
  double length_m = 10, depth_m = 5;  // the long side is glazed and faces:
  TrueAzimuth facing = TrueAzimuth::degrees(180);
};
struct FootprintPlace {
  double east_m = 0, north_m = 0;     // middle
  double mean_h = 0, least_h = 0;     // direct, over the spots within
  std::vector<ObstacleShare> shares;  // mean over the spots within
};
// A point, or a line from corner to corner, that the building stays off by a distance.
struct KeepOff {
  std::vector<Eigen::Vector2d> line;
  double distance_m = 0;
};
// Best first, each at least a footprint's length from the better ones; empty if none fits.
// boundary: corners of the land that may be built on, in order; empty: the whole map. The building
// stays inside it by the setback.
std::vector<FootprintPlace> best_places(const HoursMap& map, const Footprint& footprint,
                                        std::span<const Eigen::Vector2d> boundary = {},
                                        int count = 3, double setback_m = 0,
                                        std::span<const KeepOff> keep_off = {});
// The same building about the spot nearest to a point; nothing where it leaves the map.
std::optional<FootprintPlace> place_at(const HoursMap& map, const Footprint& footprint,
                                       double east_m, double north_m);

}  // namespace horizon
