// horizon/plot/footprint.h: where on the map a building has most sun.
// Units:    metres; hours in the months of the map
// Frame:    the plot's east, north
// Valid:    as the map
// Source:   every place on the grid is tried
#pragma once

#include <functional>

#include "horizon/plot/hours_map.h"

namespace horizon {

struct Footprint {
  double length_m = 10, depth_m = 5;  // the long side is glazed and faces:
  TrueAzimuth facing = TrueAzimuth::degrees(180);
};
struct FootprintPlace {
  double east_m = 0, north_m = 0;  // middle
  double mean_h = 0, least_h = 0;  // direct, over the spots within
  double low_h = 0, high_h = 0;    // 90 % hold the mean; set by complete()
  double sure_h = 0;               // the mean, counting spots that cannot be told by their low end
  double unknown_share = 0;        // of its spots that cannot be told
  std::vector<ObstacleShare> shares;  // mean over the spots within
};
// A point, or a line from corner to corner, that the building stays off by a distance.
struct KeepOff {
  std::vector<Eigen::Vector2d> line;
  double distance_m = 0;
};
// What hides the sun there, once it is chosen, and the range of its mean.
void complete(FootprintPlace& place, const PlacedPlot& plot, const RidgeLifts& lifts,
              const HoursMap& map, const Footprint& footprint, const SunSamples& sun);
// The mean over its spots as the plot is given, 90 %; empty where the map has no ranges.
struct MeanHours {
  double mean_h = 0, low_h = 0, high_h = 0;
};
std::optional<MeanHours> mean_hours(const FootprintPlace& place, const PlacedPlot& plot,
                                    const RidgeLifts& lifts, const HoursMap& map,
                                    const Footprint& footprint, const SunSamples& sun);
// At one point, its eye so high above the ground; the range is wide enough to hold what the plot as
// given says there.
MeanHours hours_at(const PlacedPlot& plot, const RidgeLifts& lifts, const Eigen::Vector2d& at,
                   double eye_height_m, const SunSamples& sun);
// What the hours there change by from one plot to another, draw by draw: what both share cancels.
MeanHours change_at(const PlacedPlot& now, const PlacedPlot& then, const RidgeLifts& lifts,
                    const Eigen::Vector2d& at, double eye_height_m, const SunSamples& sun);
// Most sun first; of those alike to a hundredth, the nearest to the plot's origin, its first station.
void sort_by_sun(std::vector<FootprintPlace>& places,
                 const std::function<double(const FootprintPlace&)>& hours);
// Best first, by what is sure: a spot that cannot be told counts by its low end. Each at least a
// footprint's length from the better ones; empty if none fits.
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
