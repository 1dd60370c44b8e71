// horizon/terrain/terrain.h: the far skyline worked out from a grid of heights.
// Units:    degrees, metres (grid heights and the eye's height from the same level)
// Frame:    true azimuths; elevations as seen: Earth's curvature and terrestrial refraction are in
// Valid:    any grid that holds the station; cells without a height are skipped
// Accuracy: bilinear in the grid, met exactly where a ray crosses its rows and columns; geodesic
//           rays; 0.05 degree against another program on the same grid. A grid misses crags and
//           every tree, and coarse cells lower ridges and raise valley floors: each point says by
//           how much it may be wrong, from what doubling the cells would do to it
// Cost:     50 km round at 0.1 degree from a 1-arcsecond grid: some tenths of a second
// Errors:   a station outside the grid or on a cell without height
// Source:   line of sight over a digital elevation model; curvature and refraction coefficient as
//           in horizon/geodesy.h
#pragma once

#include <functional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "horizon/bearing/heading_check.h"
#include "horizon/place.h"
#include "horizon/result.h"
#include "horizon/skyline/mask.h"
#include "horizon/skyline/skyline.h"

namespace horizon {

struct TerrainGrid {
  int columns = 0, rows = 0;
  std::vector<float> heights_m;  // row by row, the northern row first; NaN = no height
  // Column and row (fractions, 0 = centre of the first cell) of a latitude and longitude.
  std::function<std::pair<double, double>(double latitude_deg, double longitude_deg)> cell_of;
  double cell_m = 30;  // about the size of a cell
  std::string source;

  float at(int column, int row) const {
    return heights_m[static_cast<size_t>(row) * columns + column];
  }
  // Bilinear; NaN where a corner is missing or outside.
  double height_m(double column, double row) const;
};
// Cells on a grid of latitude and longitude; north_deg and west_deg are the first cell's centre.
TerrainGrid geographic_grid(int columns, int rows, std::vector<float> heights_m, double north_deg,
                            double west_deg, double step_lat_deg, double step_lon_deg);

struct TerrainOptions {
  double from_m = 100;  // nearer ground is for the eye, the grid is too coarse
  double reach_m = 50000;
  double step_m = 0;  // even steps of this length; 0 = from crossing to crossing of the grid
  double azimuth_step_deg = 0.1;
  double refraction_k = 0.13;
  bool sigmas = true;  // of the points; costs a twentieth more
};

struct TerrainPoint {
  TrueAzimuth azimuth;
  Elevation elevation;
  double distance_m = 0, height_m = 0;  // of the ground that makes the skyline
  bool cut_short = false;               // the grid ends, or has no heights, before `reach_m`
  double sigma_deg = 0.3;  // of the elevation, shared with its neighbours; mostly downwards
};

struct TerrainSkyline {
  std::vector<TerrainPoint> points;                // azimuth 0 and on, evenly
  double ground_m = 0;                             // under the eye
  double elevation_deg(double azimuth_deg) const;  // straight between the points
  double sigma_deg(double azimuth_deg) const;
};
// eye.height_m is ignored: the eye stands eye_height_m over the grid's own ground.
Result<TerrainSkyline> terrain_skyline(const TerrainGrid& grid, const Place& eye,
                                       double eye_height_m, const TerrainOptions& options = {});
// Over tiles that share an edge or overlap; where a finer one knows the ground, it alone is asked.
Result<TerrainSkyline> terrain_skyline(std::span<const TerrainGrid> tiles, const Place& eye,
                                       double eye_height_m, const TerrainOptions& options = {});

// How the captured skyline must be turned to fit the computed one: a heading check. Points on trees
// and houses are kept out by Tukey's biweight (Beaton & Tukey 1974).
struct TerrainTurn {
  double clockwise_deg = 0;  // add to the captured azimuths
  double sigma_deg = 0;
  double spread_deg = 0;  // of the elevations that fit
  int fitting = 0;
  std::vector<int> nearer;  // captured points well above the terrain: trees, buildings
  std::vector<int> below;   // captured points well below it: a wrong aim or a coarse grid
};
// Fails with fewer than eight points, where the terrain is too even to tell, and where two turns
// within the reach fit alike.
Result<TerrainTurn> terrain_turn(std::span<const SkylinePoint> captured,
                                 const TerrainSkyline& terrain, double reach_deg = 25);
HeadingCheck terrain_check(const TerrainTurn& turn);

struct NearerStretch {
  double from_deg = 0, to_deg = 0;  // clockwise; may run over north
  double highest_above_deg = 0;     // of the captured line over the terrain
};
// Where the captured skyline stands more than `margin_deg` over the terrain, which is then not what
// hides the sun; open stretches are left out.
std::vector<NearerStretch> nearer_than_terrain(const Mask& captured, const TerrainSkyline& terrain,
                                               double margin_deg = 1);

// Adds computed points, marked so, in the open stretches of the skyline's mask. Each has an error of
// its own (crags, trees; common practice) and that of the grid, which all share.
constexpr double kLandOwnSigma_deg = 0.5;
Skyline filled_from_terrain(const Skyline& skyline, const TerrainSkyline& terrain,
                            double every_deg = 1);

}  // namespace horizon
