// horizon/plot/plot.h: stations, aims and obstacles of one plot, in metres.
// Units:    metres, degrees; one standard deviation
// Frame:    east, north, up from the plot's origin, on the ellipsoid's tangent plane
// Valid:    plots of up to a kilometre (the Earth's curve is 8 cm there)
// Source:   horizon/geodesy.h for places; the rest is bookkeeping
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "horizon/place.h"
#include "horizon/skyline/skyline.h"

namespace horizon {

using Enu = Eigen::Vector3d;  // east, north, up
Enu to_enu(const Place& origin, const Place& place);
Place to_place(const Place& origin, const Enu& point);

struct PlotStation {
  std::string name;
  Enu eye = Enu::Zero();
  double eye_height_m = 1.6;                          // of the eye above the ground
  double horizontal_sigma_m = 0.5, up_sigma_m = 0.2;  // against the other stations
  double heading_sigma_deg = 0.5;                     // shared by its aims
};

// A point of an obstacle that was aimed at: a roof's end, a tree's top, a summit.
struct PlotMark {
  int obstacle = 0;  // index into PlotSurvey::obstacles
  std::string name;
  // Known otherwise (map, tape) from about the station that aims at it; the sigma says how well.
  std::optional<double> distance_m, distance_sigma_m;
};

struct PlotObstacle {
  Obstacle what;
  // Of a round thing, whose one mark is the middle of its top. Without it the marks, in their
  // order, are joined by straight edges.
  std::optional<double> radius_m;
};

struct PlotAim {
  int station = 0, mark = 0;
  TrueAzimuth azimuth;
  Elevation elevation;
  double azimuth_sigma_deg = 0.5, elevation_sigma_deg = 0.3;
  double level_sigma_deg = 0;  // beside it, of one error that all aims with one share
};

// A thing near by as one station saw it: marks along its upper outline, clockwise. A mark without a
// distance is a direction and no more.
enum class ShapeForm : std::uint8_t { round, row, flat, gable, wall };
struct OutlineMark {
  TrueAzimuth azimuth;
  Elevation elevation;
  double azimuth_sigma_deg = 0.5, elevation_sigma_deg = 0.3;
  std::optional<double> distance_m, distance_sigma_m;
};
struct PlotOutline {
  int station = 0, obstacle = 0;
  std::vector<OutlineMark> marks;
  // The first and last mark are its sides; else it goes on behind something, or was not followed.
  bool first_is_side = true, last_is_side = true;
};

struct PlotSurvey {
  std::vector<PlotStation> stations;
  std::vector<PlotObstacle> obstacles;  // each has either marks or outlines
  std::vector<PlotMark> marks;
  std::vector<PlotAim> aims;
  std::vector<PlotOutline> outlines;
  double max_gap_deg = 15;  // of the ridge line
};

// The ground's height from the stations: a plane through three or more that span an area, as steep
// as their heights bear out; else level at their mean height.
struct GroundPlane {
  double up_m = 0, rise_east = 0, rise_north = 0;  // at the origin; metres a metre
  double up_at(double east_m, double north_m) const {
    return up_m + rise_east * east_m + rise_north * north_m;
  }
};
GroundPlane ground_plane(std::span<const PlotStation> stations);
GroundPlane mean_of(std::span<const GroundPlane> grounds);  // of none: at 0, level

}  // namespace horizon
