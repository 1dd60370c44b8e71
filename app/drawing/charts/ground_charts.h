// app/drawing/charts/ground_charts.h: what was found below and around: soil layers, percolation, texture,
// and where things lie on the plot.
// Units:  metres, minutes, percent by weight
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/drawing/charts/chart.h"

namespace app {

enum class SoilFill : unsigned char { topsoil, sand, loam, silt, clay, gravel, rock, peat, other };
struct SoilLayer {
  double from_m = 0, to_m = 0;
  std::string name;   // "sandy loam, many roots"
  std::string notes;  // colour, stones, moisture
  SoilFill fill = SoilFill::other;
};
struct SoilProfileChart {
  std::vector<SoilLayer> layers;  // from the top
  std::optional<double> water_m;  // depth of standing water
  std::optional<double> frost_m;  // depth that frost reaches
  bool ended_on_rock = false;
};
void draw_soil_profile(Canvas& canvas, Rect where, const SoilProfileChart& chart,
                       const ChartStyle& style);

struct PercolationReading {
  double minutes = 0;
  double level_m = 0;  // depth of water in the hole
};
struct PercolationChart {
  std::vector<PercolationReading> readings;
  std::optional<double> rate_m_h;  // of the last readings, drawn as a line
};
void draw_percolation(Canvas& canvas, Rect where, const PercolationChart& chart,
                      const ChartStyle& style);

struct TexturePoint {
  double sand = 0, silt = 0, clay = 0;  // percent
  std::string label;
};
// The triangle of the USDA Soil Survey Manual.
void draw_texture_triangle(Canvas& canvas, Rect where, const std::vector<TexturePoint>& points,
                           const ChartStyle& style);

enum class PlotSign : unsigned char { station, landmark, pit, photo, water, other };
struct PlotPlace {
  double east_m = 0, north_m = 0;  // from any common origin
  std::string label;
  PlotSign sign = PlotSign::other;
  std::string value;  // under the label: "4.1 h"
};
struct PlotMap {
  std::vector<PlotPlace> places;
  std::vector<std::vector<Point>> outlines;  // x east, y north, metres: the plot, paths
  std::optional<double> facing_deg;          // an arrow at the first station
};
// North is up; with a bar for the scale.
void draw_plot_map(Canvas& canvas, Rect where, const PlotMap& map, const ChartStyle& style);

}  // namespace app
