#include "horizon/terrain/terrain.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "horizon/geodesy.h"
#include "horizon/mask.h"

namespace horizon {
namespace {

constexpr int kBlock = 16;        // cells of a block whose highest cell is known
constexpr double kNode_m = 2000;  // between exact points of a ray; its bend over that is 0.1 m

// Bilinear; NaN where a corner is missing or outside.
double height_at(const TerrainGrid& grid, double column, double row) {
  const int c = static_cast<int>(std::floor(column)), r = static_cast<int>(std::floor(row));
  const bool last_c = c == grid.columns - 1 && column == c, last_r = r == grid.rows - 1 && row == r;
  if (c < 0 || r < 0 || c >= grid.columns - !last_c || r >= grid.rows - !last_r)
    return std::numeric_limits<double>::quiet_NaN();
  const int c2 = last_c ? c : c + 1, r2 = last_r ? r : r + 1;
  const double u = column - c, v = row - r;
  return (1 - v) * ((1 - u) * grid.at(c, r) + u * grid.at(c2, r)) +
         v * ((1 - u) * grid.at(c, r2) + u * grid.at(c2, r2));
}

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

// Metres along the ray until it leaves the block along one axis.
double to_edge(double at, double per_m) {
  if (per_m == 0) return std::numeric_limits<double>::infinity();
  const double block = std::floor(at / kBlock);
  const double edge = per_m > 0 ? (block + 1) * kBlock : block * kBlock;
  return std::max(0.0, (edge - at) / per_m);
}

struct Ray {
  double distance_m = 0, height_m = 0;
  bool found = false, cut_short = false;
};

class Caster {
 public:
  Caster(const TerrainGrid& grid, const Place& eye, const TerrainOptions& options)
      : grid_(grid),
        blocks_(grid),
        eye_(eye),
        options_(options),
        step_m_(options.step_m > 0 ? options.step_m : grid.cell_m / 2),
        drop_((1 - options.refraction_k) / (2 * kEarthRadius_m)) {}

  Ray cast(TrueAzimuth azimuth) const {
    Ray ray;
    double best = -std::numeric_limits<double>::infinity();
    for (double node = 0; node < options_.reach_m && !ray.cut_short; node += kNode_m) {
      const double end = std::min(node + kNode_m, options_.reach_m);
      const auto [c0, r0] = cell(azimuth, node);
      const auto [c1, r1] = cell(azimuth, end);
      const double per_c = (c1 - c0) / (end - node), per_r = (r1 - r0) / (end - node);
      const double first = std::max(node, options_.from_m);
      double d = options_.from_m + std::ceil((first - options_.from_m) / step_m_) * step_m_;
      while (d < end) {
        const double c = c0 + per_c * (d - node), r = r0 + per_r * (d - node);
        if (c < 0 || r < 0 || c > grid_.columns - 1 || r > grid_.rows - 1) {
          ray.cut_short = true;
          break;
        }
        const double leave = std::min(to_edge(c, per_c), to_edge(r, per_r));
        const double above =
            blocks_.highest(static_cast<int>(c), static_cast<int>(r)) - eye_.height_m;
        if (std::max(above / d, above / (d + leave)) - drop_ * d <= best) {
          // Nothing in this block reaches the line so far: on to the first step beyond it.
          d += std::max(1.0, std::ceil(leave / step_m_)) * step_m_;
          continue;
        }
        const double h = height_at(grid_, c, r);
        const double tangent = (h - eye_.height_m) / d - drop_ * d;
        if (tangent > best) {  // never for NaN
          best = tangent;
          ray.distance_m = d;
          ray.height_m = h;
          ray.found = true;
        }
        d += step_m_;
      }
    }
    return ray;
  }

 private:
  std::pair<double, double> cell(TrueAzimuth azimuth, double distance_m) const {
    const Place p = destination(eye_, azimuth, distance_m);
    return grid_.cell_of(p.latitude_deg, p.longitude_deg);
  }

  const TerrainGrid& grid_;
  Blocks blocks_;
  Place eye_;
  TerrainOptions options_;
  double step_m_;
  double drop_;
};

constexpr double kTruncate_deg = 1.0;  // a captured point further off says nothing of the turn

double misfit(const std::vector<SkylinePoint>& captured, const TerrainSkyline& terrain,
              double turn_deg) {
  double sum = 0;
  for (const SkylinePoint& p : captured)
    sum += std::min(kTruncate_deg, std::abs(p.elevation.degrees() -
                                            terrain.elevation_deg(p.azimuth.degrees() + turn_deg)));
  return sum / static_cast<double>(captured.size());
}

}  // namespace

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

Result<TerrainSkyline> terrain_skyline(const TerrainGrid& grid, const Place& station,
                                       double eye_height_m, const TerrainOptions& options) {
  if (grid.columns < 2 || grid.rows < 2 || !grid.cell_of)
    return fail(Code::bad_input, "the terrain grid is empty; choose another file");
  const auto [column, row] = grid.cell_of(station.latitude_deg, station.longitude_deg);
  const double ground = height_at(grid, column, row);
  if (!std::isfinite(ground))
    return fail(Code::out_of_range,
                "the station lies outside the terrain grid or on a cell without height; bring the "
                "grid that covers it");
  Place eye = station;
  eye.height_m = ground + eye_height_m;

  const Caster caster(grid, eye, options);
  TerrainSkyline skyline;
  skyline.ground_m = ground;
  const int rays = std::max(4, static_cast<int>(std::lround(360 / options.azimuth_step_deg)));
  for (int i = 0; i < rays; ++i) {
    TerrainPoint point;
    point.azimuth = TrueAzimuth::degrees(i * 360.0 / rays);
    const Ray ray = caster.cast(point.azimuth);
    point.cut_short = ray.cut_short;
    if (ray.found) {
      Place top = destination(eye, point.azimuth, ray.distance_m);
      top.height_m = ray.height_m;
      point.elevation = sight(eye, top, options.refraction_k).apparent;
      point.distance_m = ray.distance_m;
      point.height_m = ray.height_m;
    }
    skyline.points.push_back(point);
  }
  return skyline;
}

Result<TerrainTurn> terrain_turn(const std::vector<SkylinePoint>& captured,
                                 const TerrainSkyline& terrain, double reach_deg) {
  constexpr size_t kLeast = 8;
  if (captured.size() < kLeast)
    return fail(Code::bad_input,
                "too few sightings to compare with the terrain; take eight or more");
  TerrainTurn turn;
  double best = std::numeric_limits<double>::infinity();
  for (double t = -reach_deg; t <= reach_deg; t += 0.1) {
    const double m = misfit(captured, terrain, t);
    if (m < best) {
      best = m;
      turn.clockwise_deg = t;
    }
  }
  for (double step = 0.05; step > 0.002; step /= 2)
    for (const double t : {turn.clockwise_deg - step, turn.clockwise_deg + step})
      if (const double m = misfit(captured, terrain, t); m < best) {
        best = m;
        turn.clockwise_deg = t;
      }

  // From the points that fit: their scatter, and how steep the terrain is where they lie.
  double squares = 0, slopes = 0;
  int fitting = 0;
  for (size_t i = 0; i < captured.size(); ++i) {
    const double az = captured[i].azimuth.degrees() + turn.clockwise_deg;
    const double off = captured[i].elevation.degrees() - terrain.elevation_deg(az);
    const double sigma = std::max(0.3, captured[i].elevation_sigma_deg);
    if (off > 3 * sigma) turn.nearer.push_back(static_cast<int>(i));
    if (off < -3 * sigma) turn.below.push_back(static_cast<int>(i));
    if (std::abs(off) >= kTruncate_deg) continue;
    const double slope = terrain.elevation_deg(az + 0.5) - terrain.elevation_deg(az - 0.5);
    squares += off * off;
    slopes += slope * slope;
    ++fitting;
  }
  if (fitting < static_cast<int>(captured.size()) / 2 || fitting < static_cast<int>(kLeast))
    return fail(Code::bad_input,
                "the sightings do not look like this terrain; check the station's position and the "
                "grid, or whether trees hide most of the ridge");
  turn.spread_deg = std::sqrt(squares / fitting);
  turn.sigma_deg = std::max(0.05, turn.spread_deg / std::sqrt(slopes));
  if (!(turn.sigma_deg < 5))
    return fail(Code::bad_input, "the terrain is too even all round to tell the heading from it");
  return turn;
}

Skyline filled_from_terrain(const Skyline& skyline, const TerrainSkyline& terrain,
                            double every_deg) {
  constexpr double kElevationSigma_deg = 0.5;
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
      point.elevation_sigma_deg = kElevationSigma_deg;
      point.obstacle = static_cast<int>(filled.obstacles.size()) - 1;
      point.computed = true;
      filled.points.push_back(point);
    }
  }
  return filled;
}

}  // namespace horizon
