// horizon/plot/hours_map.h: winter sun hours at every spot of a plot, how sure, and what takes the
// rest.
// Units:    metres; hours in the months asked for
// Frame:    spots in the plot's east, north; eyes above its ground plane
// Valid:    as horizon/plot/predicted_skyline.h
// Accuracy: of the arithmetic 0.5 % of the hours (the sun every five minutes, the outline every
//           quarter of a degree). A spot's range holds 90 % over places, heights and sizes of
//           things and over the ridge between its marks; counted in placed_shapes_test.cpp
// Cost:     200 by 200 spots with ranges in about a second
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
  int days() const { return days_; }

  // The azimuths that the sun comes by, and in each the hours that it is above a tangent.
  std::span<const int> bins() const { return bins_; }
  double hours_above(size_t index_of_bin, float tangent) const {
    const float at = tangent * per_tangent_;
    if (!(at > 0)) return above_[index_of_bin * kSteps];
    if (at >= kSteps - 1) return 0;
    const auto i = static_cast<size_t>(at);
    const float* const row = &above_[index_of_bin * kSteps + i];
    return row[0] + (row[1] - row[0]) * (at - static_cast<float>(i));
  }

 private:
  static constexpr size_t kSteps = 512;
  std::vector<Sample> samples_;
  bool southern_ = false;
  int days_ = 0;
  std::vector<int> bins_;
  std::vector<float> above_;
  float per_tangent_ = 1;
};

struct SpotHours {
  double direct_h = 0;
  double filtered_light_h = 0;  // behind leaves, times the light let through
  bool occupied = false;        // something stands here
  // In a map: 90 % hold direct_h, and it cannot be told well enough to build by.
  double low_h = 0, high_h = 0;
  bool unknown = false;
};
// A spot is not known where its hours may fall short by more than this, within its range or at the ends
// of what is plausible (PlacedShape::ends), or where its range is wider, a day; nor within 5 m of where
// a thing may stand that was seen from one side, without a distance.
inline constexpr double kMostShort_h_day = 0.6, kMostRange_h_day = 1.5;
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
  std::vector<SpotHours> spots;  // row by row from the south, each from the west
  bool ranged = false;           // low_h and high_h say something
  const SpotHours& at(int column, int row) const {
    return spots[static_cast<size_t>(row) * static_cast<size_t>(grid.columns) +
                 static_cast<size_t>(column)];
  }
};
// Direct hours at some eyes in each draw: draws in turn, then the eyes.
inline constexpr int kMapDraws = 40;
// By how much each drawn ridge lies above the one aimed at: tangents by the sun's bins. Made once
// for a plot; the same whatever stands near.
using RidgeLifts = std::vector<std::vector<float>>;
RidgeLifts ridge_lifts(const PlacedPlot& plot, const SunSamples& sun, int draws = kMapDraws);
std::vector<std::vector<float>> drawn_hours(const PlacedPlot& plot, const RidgeLifts& lifts,
                                            std::span<const Eigen::Vector2d> spots,
                                            double eye_height_m, const SunSamples& sun);

// Ranges come from the draws of the plot's shapes and of its ridge. Bad input: a grid without spots or over 250 000 of them.
Result<HoursMap> hours_map(const PlacedPlot& plot, const MapGrid& grid, const SunSamples& sun,
                           const RidgeLifts& lifts);
Result<HoursMap> hours_map(const PlacedPlot& plot, const MapGrid& grid, const SunSamples& sun);

}  // namespace horizon
