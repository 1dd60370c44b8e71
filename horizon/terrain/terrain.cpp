#include "horizon/terrain/terrain.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "horizon/geodesy.h"
#include "horizon/skyline/mask.h"

namespace horizon {
namespace {

constexpr int kBlock = 16;         // cells of a block whose highest cell is known
constexpr double kNudge_m = 1e-3;  // rounding must not hold a ray on a line of the grid
constexpr double kNearCells = 8;   // nearer, the curve within a cell is wide to the eye
constexpr double kLook_m = 250;    // between looks at what a finer tile knows of a ray
constexpr double kFiner = 0.9;     // of a tile's cells, to know better
constexpr double kNode_m = 2000;   // between exact points of a ray; its bend over that is 0.1 m

// The highest cell of each block, its far neighbours included: no interpolated height is above it.
class Blocks {
 public:
  explicit Blocks(const TerrainGrid& grid)
      : columns_((grid.columns + kBlock - 1) / kBlock),
        highest_(static_cast<size_t>(columns_) * ((grid.rows + kBlock - 1) / kBlock), -1e9F) {
    for (int r = 0; r < grid.rows; ++r) {
      for (int c = 0; c < grid.columns; ++c) {
        const float h = grid.at(c, r);
        if (!(h > -1e9F)) continue;
        // A cell on a block's first row or column also bounds the block before it.
        for (const int br : {r / kBlock, std::max(0, r - 1) / kBlock})
          for (const int bc : {c / kBlock, std::max(0, c - 1) / kBlock}) {
            float& top = highest_[static_cast<size_t>(br) * columns_ + bc];
            top = std::max(top, h);
          }
      }
    }
  }
  float highest(int column, int row) const {
    return highest_[static_cast<size_t>(row / kBlock) * columns_ + column / kBlock];
  }

 private:
  int columns_;
  std::vector<float> highest_;
};

// Metres along the ray until it comes to the next multiple of `size` along one axis.
double to_next(double at, double per_m, double size) {
  if (per_m == 0) return std::numeric_limits<double>::infinity();
  const double edge =
      per_m > 0 ? (std::floor(at / size) + 1) * size : (std::ceil(at / size) - 1) * size;
  return (edge - at) / per_m;
}

struct Ray {
  double tangent = -std::numeric_limits<double>::infinity();
  double distance_m = 0, height_m = 0;
  int known_nodes = 0;
};

class Caster {
 public:
  // finer: tiles with smaller cells, which know better where they lie.
  Caster(const TerrainGrid& grid, std::vector<const TerrainGrid*> finer, const Place& eye,
         const TerrainOptions& options)
      : grid_(grid),
        finer_(std::move(finer)),
        blocks_(grid),
        eye_(eye),
        options_(options),
        drop_((1 - options.refraction_k) / (2 * kEarthRadius_m)) {}

  // Carries on from what other tiles have found along the same ray.
  void cast(TrueAzimuth azimuth, Ray& ray) const {
    std::pair<double, double> begin, end = cell(eye_);
    bool known_here = known_finer(eye_);
    for (double from = 0; from < options_.reach_m; from += kNode_m) {
      const double to = std::min(from + kNode_m, options_.reach_m);
      const Place there = destination(eye_, azimuth, to);
      begin = end;
      end = cell(there);
      const bool known_there = known_finer(there);
      bool finer = known_here && known_there;
      for (double d = from + kLook_m; finer && d < to; d += kLook_m)
        finer = known_finer(destination(eye_, azimuth, d));
      known_here = known_there;
      ray.known_nodes += !known_there && std::isfinite(grid_.height_m(end.first, end.second));
      if (to > options_.from_m && !finer && !beside(begin, end)) walk(from, to, begin, end, ray);
    }
  }

 private:
  std::pair<double, double> cell(const Place& p) const {
    return grid_.cell_of(p.latitude_deg, p.longitude_deg);
  }
  bool known_finer(const Place& p) const {
    return std::any_of(finer_.begin(), finer_.end(), [&](const TerrainGrid* grid) {
      const auto [column, row] = grid->cell_of(p.latitude_deg, p.longitude_deg);
      return std::isfinite(grid->height_m(column, row));
    });
  }

  bool beside(std::pair<double, double> a, std::pair<double, double> b) const {
    const double right = grid_.columns - 1, bottom = grid_.rows - 1;
    return (a.first < 0 && b.first < 0) || (a.first > right && b.first > right) ||
           (a.second < 0 && b.second < 0) || (a.second > bottom && b.second > bottom);
  }

  // The bilinear surface bends where the ray crosses a row or a column, so a ridge is met exactly
  // there; in between it is a shallow curve, looked at in its middle.
  void walk(double from, double to, std::pair<double, double> begin, std::pair<double, double> end,
            Ray& ray) const {
    const double per_c = (end.first - begin.first) / (to - from);
    const double per_r = (end.second - begin.second) / (to - from);
    const auto look = [&](double d) {
      const double h =
          grid_.height_m(begin.first + per_c * (d - from), begin.second + per_r * (d - from));
      const double tangent = (h - eye_.height_m) / d - drop_ * d;
      if (tangent > ray.tangent) {  // never for NaN
        ray.tangent = tangent;
        ray.distance_m = d;
        ray.height_m = h;
      }
    };
    const double step = options_.step_m;
    double d = std::max(from, options_.from_m);
    if (step > 0)
      d = options_.from_m + std::ceil((d - options_.from_m) / step) * step;
    else
      look(d);
    while (d < to) {
      const double c = begin.first + per_c * (d - from), r = begin.second + per_r * (d - from);
      if (c < 0 || r < 0 || c > grid_.columns - 1 || r > grid_.rows - 1) {
        d += step > 0 ? step : grid_.cell_m / 4;
        continue;
      }
      const double leave = std::min(to_next(c, per_c, kBlock), to_next(r, per_r, kBlock));
      const double above =
          blocks_.highest(static_cast<int>(c), static_cast<int>(r)) - eye_.height_m;
      const bool hidden = std::max(above / d, above / (d + leave)) - drop_ * d <= ray.tangent;
      if (step > 0) {
        if (!hidden) look(d);
        d += hidden ? std::max(1.0, std::ceil(leave / step)) * step : step;
        continue;
      }
      const double out = std::min(d + leave, to);
      while (!hidden && d < out) {
        const double next =
            std::min(out, d + std::min(to_next(begin.first + per_c * (d - from), per_c, 1),
                                       to_next(begin.second + per_r * (d - from), per_r, 1)));
        const int looks = d < kNearCells * grid_.cell_m ? 6 : 2;
        for (int k = 1; k <= looks; ++k) look(d + (next - d) * k / looks);
        d = std::max(next, d + kNudge_m);
      }
      d = std::max(d, out) + kNudge_m;
    }
  }

  const TerrainGrid& grid_;
  std::vector<const TerrainGrid*> finer_;
  Blocks blocks_;
  Place eye_;
  TerrainOptions options_;
  double drop_;
};

// The same ground by cells twice as wide: means of four.
TerrainGrid halved(const TerrainGrid& grid) {
  TerrainGrid half;
  half.columns = grid.columns / 2;
  half.rows = grid.rows / 2;
  half.cell_m = 2 * grid.cell_m;
  half.source = grid.source;
  half.heights_m.reserve(static_cast<size_t>(half.columns) * half.rows);
  for (int r = 0; r < half.rows; ++r)
    for (int c = 0; c < half.columns; ++c)
      half.heights_m.push_back((grid.at(2 * c, 2 * r) + grid.at(2 * c + 1, 2 * r) +
                                grid.at(2 * c, 2 * r + 1) + grid.at(2 * c + 1, 2 * r + 1)) /
                               4);
  half.cell_of = [cell_of = grid.cell_of](double latitude_deg, double longitude_deg) {
    const auto [column, row] = cell_of(latitude_deg, longitude_deg);
    return std::pair((column - 0.5) / 2, (row - 0.5) / 2);
  };
  return half;
}

// How wrong each point may be. Halving the cells would change it about as much as doubling them
// does (the error of a mean over cells goes with their size), counted over a few degrees: the line
// of one pass says little of its neighbour. Besides the heights' own error, and what may stand
// beyond the end of the grid.
void put_sigmas(std::span<const TerrainGrid> tiles, const Place& station, double eye_height_m,
                const TerrainOptions& options, const std::vector<Ray>& rays,
                TerrainSkyline& skyline) {
  constexpr double kHeight_m = 5;  // of a public grid's heights, one sigma
  constexpr double kLeast_deg = 0.3;
  constexpr double kGrowth = 1.4;   // counted: tests/horizon/terrain/terrain_sigma_test.cpp
  constexpr double kUnseen = 0.25;  // of what could rise beyond the grid
  constexpr int kAround_deg = 5;
  std::vector<TerrainGrid> halves;
  double highest_m = -std::numeric_limits<double>::infinity(), cell_m = 0;
  for (const TerrainGrid& grid : tiles) {
    if (grid.columns >= 4 && grid.rows >= 4) halves.push_back(halved(grid));
    for (const float h : grid.heights_m)
      if (h > highest_m) highest_m = h;
    cell_m = std::max(cell_m, grid.cell_m);
  }
  TerrainOptions coarse = options;
  coarse.azimuth_step_deg = 1;
  coarse.sigmas = false;
  const auto doubled = terrain_skyline(halves, station, eye_height_m, coarse);
  std::vector<double> apart_deg(360);
  for (int i = 0; doubled && i < 360; ++i)
    apart_deg[static_cast<size_t>(i)] = skyline.elevation_deg(i) - doubled->elevation_deg(i);
  for (size_t i = 0; i < skyline.points.size(); ++i) {
    TerrainPoint& point = skyline.points[i];
    const double far_m = std::max(point.distance_m, options.from_m);
    double squares = 0;
    const int middle = static_cast<int>(std::lround(point.azimuth.degrees()));
    for (int k = -kAround_deg; k <= kAround_deg; ++k) {
      const double apart = apart_deg[static_cast<size_t>((middle + k + 360) % 360)];
      squares += apart * apart / (2 * kAround_deg + 1);
    }
    // Where the wider cells do not hold the station, a quarter of a cell.
    const double cells_deg =
        doubled ? kGrowth * std::sqrt(squares) : std::atan(cell_m / 4 / far_m) / kDegree;
    const double heights_deg = std::atan(kHeight_m / far_m) / kDegree;
    double beyond_deg = 0;
    if (point.cut_short) {
      const double end_m = std::max(kNode_m * rays[i].known_nodes, far_m);
      const double could_deg =
          std::atan((highest_m - skyline.ground_m - eye_height_m) / end_m) / kDegree;
      beyond_deg = kUnseen * std::max(0.0, could_deg - point.elevation.degrees());
    }
    point.sigma_deg =
        std::max(kLeast_deg, std::hypot(std::hypot(cells_deg, heights_deg), beyond_deg));
  }
}

}  // namespace

double TerrainGrid::height_m(double column, double row) const {
  const int c = static_cast<int>(std::floor(column)), r = static_cast<int>(std::floor(row));
  const bool last_c = c == columns - 1 && column == c, last_r = r == rows - 1 && row == r;
  if (c < 0 || r < 0 || c >= columns - !last_c || r >= rows - !last_r)
    return std::numeric_limits<double>::quiet_NaN();
  const int c2 = last_c ? c : c + 1, r2 = last_r ? r : r + 1;
  const double u = column - c, v = row - r;
  return (1 - v) * ((1 - u) * at(c, r) + u * at(c2, r)) +
         v * ((1 - u) * at(c, r2) + u * at(c2, r2));
}

TerrainGrid geographic_grid(int columns, int rows, std::vector<float> heights_m, double north_deg,
                            double west_deg, double step_lat_deg, double step_lon_deg) {
  TerrainGrid grid;
  grid.columns = columns;
  grid.rows = rows;
  grid.heights_m = std::move(heights_m);
  grid.cell_m = step_lat_deg * kDegree * kEarthRadius_m;
  grid.cell_of = [=](double latitude_deg, double longitude_deg) {
    // The branch of longitude that lies nearest to the grid's middle.
    const double middle = west_deg + step_lon_deg * (columns - 1) / 2;
    const double east = middle + wrap_180(longitude_deg - middle) - west_deg;
    return std::pair(east / step_lon_deg, (north_deg - latitude_deg) / step_lat_deg);
  };
  return grid;
}

double TerrainSkyline::elevation_deg(double azimuth_deg) const {
  const auto n = points.size();
  const double at = wrap_360(azimuth_deg) / 360 * static_cast<double>(n);
  const auto i = static_cast<size_t>(at) % n;
  const double part = at - std::floor(at);
  return (1 - part) * points[i].elevation.degrees() +
         part * points[(i + 1) % n].elevation.degrees();
}

double TerrainSkyline::sigma_deg(double azimuth_deg) const {
  const auto n = points.size();
  const auto i =
      static_cast<size_t>(std::lround(wrap_360(azimuth_deg) / 360 * static_cast<double>(n)));
  return points[i % n].sigma_deg;
}

Result<TerrainSkyline> terrain_skyline(const TerrainGrid& grid, const Place& station,
                                       double eye_height_m, const TerrainOptions& options) {
  return terrain_skyline(std::span(&grid, 1), station, eye_height_m, options);
}

Result<TerrainSkyline> terrain_skyline(std::span<const TerrainGrid> tiles, const Place& station,
                                       double eye_height_m, const TerrainOptions& options) {
  if (!(options.azimuth_step_deg >= 0.005 && options.azimuth_step_deg <= 90) ||
      !(options.from_m > 0 && options.reach_m > options.from_m && options.reach_m <= 400000) ||
      !(options.step_m >= 0))
    return fail(Code::bad_input, "error.terrain_steps_range");
  TerrainSkyline skyline;
  skyline.ground_m = std::numeric_limits<double>::quiet_NaN();
  double finest_m = std::numeric_limits<double>::infinity();
  for (const TerrainGrid& grid : tiles) {
    if (grid.columns < 2 || grid.rows < 2 || !grid.cell_of)
      return fail(Code::bad_input, "error.terrain_empty", grid.source);
    const auto [column, row] = grid.cell_of(station.latitude_deg, station.longitude_deg);
    const double ground_m = grid.height_m(column, row);
    if (!std::isfinite(ground_m) || grid.cell_m >= finest_m) continue;
    finest_m = grid.cell_m;
    skyline.ground_m = ground_m;
  }
  if (!std::isfinite(skyline.ground_m))
    return fail(Code::out_of_range, "error.station_off_terrain");
  Place eye = station;
  eye.height_m = skyline.ground_m + eye_height_m;

  const int count = std::max(4, static_cast<int>(std::lround(360 / options.azimuth_step_deg)));
  std::vector<Ray> rays(static_cast<size_t>(count));
  for (const TerrainGrid& grid : tiles) {
    std::vector<const TerrainGrid*> finer;
    for (const TerrainGrid& other : tiles)
      if (other.cell_m < kFiner * grid.cell_m) finer.push_back(&other);
    const Caster caster(grid, std::move(finer), eye, options);
    for (int i = 0; i < count; ++i)
      caster.cast(TrueAzimuth::degrees(i * 360.0 / count), rays[static_cast<size_t>(i)]);
  }
  const int nodes = static_cast<int>(std::ceil(options.reach_m / kNode_m));
  for (int i = 0; i < count; ++i) {
    const Ray& ray = rays[static_cast<size_t>(i)];
    TerrainPoint point;
    point.azimuth = TrueAzimuth::degrees(i * 360.0 / count);
    point.cut_short = ray.known_nodes < nodes;
    if (ray.distance_m > 0) {
      Place top = destination(eye, point.azimuth, ray.distance_m);
      top.height_m = ray.height_m;
      point.elevation = sight(eye, top, options.refraction_k).apparent;
      point.distance_m = ray.distance_m;
      point.height_m = ray.height_m;
    }
    skyline.points.push_back(point);
  }
  if (options.sigmas) put_sigmas(tiles, station, eye_height_m, options, rays, skyline);
  return skyline;
}

Skyline filled_from_terrain(const Skyline& skyline, const TerrainSkyline& terrain,
                            double every_deg) {
  Skyline filled = skyline;
  const Mask mask(skyline);
  if (mask.open_stretches().empty()) return filled;
  Obstacle ridge;
  ridge.label = "computed terrain";
  filled.obstacles.push_back(ridge);
  for (const OpenStretch& open : mask.open_stretches()) {
    const int pieces = std::max(1, static_cast<int>(std::ceil(open.width_deg() / every_deg)));
    const bool all_round = open.width_deg() >= 360;
    for (int i = all_round ? 0 : 1; i < pieces; ++i) {
      SkylinePoint point;
      point.azimuth = TrueAzimuth::degrees(open.from_deg + i * open.width_deg() / pieces);
      point.elevation = Elevation::degrees(terrain.elevation_deg(point.azimuth.degrees()));
      point.azimuth_sigma_deg = 0.1;
      point.elevation_sigma_deg = kLandOwnSigma_deg;
      point.level_sigma_deg = terrain.sigma_deg(point.azimuth.degrees());
      point.obstacle = static_cast<int>(filled.obstacles.size()) - 1;
      point.computed = true;
      filled.points.push_back(point);
    }
  }
  return filled;
}

}  // namespace horizon
