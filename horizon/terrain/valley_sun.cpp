#include "horizon/terrain/valley_sun.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <memory>

#include "horizon/angle.h"
#include "horizon/light/clear_sky.h"
#include "horizon/light/solar_terms.h"
#include "horizon/parallel.h"
#include "horizon/sun/sun_path.h"
#include "horizon/time.h"

namespace horizon {
namespace {

constexpr int kFacings = 7;  // 45 degrees to each side of noon's
constexpr double kFacingStep_deg = 15;
constexpr double kBlock_m = 8000;  // over which one sun serves: 0.04 degree of latitude aside
constexpr double kTangentStep = 0.0025, kHighestTangent = 2.5;
constexpr int kHeights = static_cast<int>(kHighestTangent / kTangentStep) + 2;
constexpr double kSample_s = 60, kShortestSample_s = 5;
constexpr int kHalfYear = 183;

// What a cell gathers direction by direction.
enum Channel { winter, shortest, gain_first, before = gain_first + kFacings, after, kChannels };
using Sums = std::array<float, kChannels>;

struct Direction {
  double grid_azimuth_deg = 0, width_deg = 0;
};

// Directions that share the round: fine where the sun runs in winter, coarse elsewhere.
std::vector<Direction> directions_for(double latitude_deg, double grid_north_deg,
                                      const ValleyOptions& options) {
  // Sunrise on the winter day nearest to the equinox, with room for the grid's own turn.
  const double reach =
      15 +
      std::acos(std::clamp(std::sin(-10 * kDegree) / std::cos(latitude_deg * kDegree), -1.0, 1.0)) /
          kDegree -
      90;
  const double noon = latitude_deg < 0 ? 0 : 180, half = std::min(120.0, 90 - reach + 30);
  std::vector<Direction> all;
  const int fine = static_cast<int>(std::ceil(2 * half / options.sun_step_deg));
  for (int i = 0; i < fine; ++i)
    all.push_back({noon - half + (i + 0.5) * 2 * half / fine, 2 * half / fine});
  const int coarse = static_cast<int>(std::ceil((360 - 2 * half) / options.sky_step_deg));
  for (int i = 0; i < coarse; ++i)
    all.push_back({noon + half + (i + 0.5) * (360 - 2 * half) / coarse, (360 - 2 * half) / coarse});
  for (Direction& d : all) d.grid_azimuth_deg = wrap_360(d.grid_azimuth_deg - grid_north_deg);
  return all;
}

// The sun of one block of cells: for each direction and height of the horizon, what is left.
class BlockSun {
 public:
  BlockSun(const GridSpot& spot, const ValleyOptions& options,
           std::span<const Direction> directions)
      : spot_(spot),
        options_(options),
        directions_(directions),
        southern_(spot.place.latitude_deg < 0) {
    rows_.assign(directions.size() * kHeights, Sums{});
    for (Sums& sums : rows_) sums[before] = sums[after] = kHalfYear;
    by_azimuth();
    const SunPath path = SunPath::of_year(spot.place, options.year);
    gather(path);
    add_up();
  }

  const Sums* of(size_t direction) const { return rows_.data() + direction * kHeights; }
  int solstice() const { return solstice_; }
  double diffuse_kwh_m2() const { return diffuse_; }

 private:
  static int height_index(double elevation_deg) {
    if (elevation_deg <= 0) return -1;
    const double tangent = elevation_deg < 80 ? std::tan(elevation_deg * kDegree) : 1e9;
    return std::min(kHeights - 1, static_cast<int>(tangent / kTangentStep));
  }

  void by_azimuth() {
    for (size_t d = 0; d < directions_.size(); ++d) {
      const double middle = directions_[d].grid_azimuth_deg + spot_.grid_north_deg;
      const double half = directions_[d].width_deg / 2;
      const int first = static_cast<int>(std::floor((middle - half) * kBins / 360));
      const int last = static_cast<int>(std::ceil((middle + half) * kBins / 360));
      for (int bin = first; bin <= last; ++bin)
        if (std::abs((bin + 0.5) * 360 / kBins - middle) <= half + 1e-9)
          direction_of_[static_cast<size_t>(((bin % kBins) + kBins) % kBins)] = static_cast<int>(d);
    }
  }

  void gather(const SunPath& path) {
    solstice_ = southern_ ? 172 : 355;
    winter_days_ = 0;
    for (int day = 0; day < path.days(); ++day) {
      const Date date = path.date(day);
      winter_days_ += options_.winter_months >> (static_cast<unsigned>(date.month()) - 1) & 1;
    }
    const MonthlyTurbidity turbidity = default_turbidity(spot_.place.height_m, southern_);
    for (const SunPath::Run& run : path.runs()) {
      const double end =
          run.from_utc_s + SunPath::kStep_s * static_cast<double>(run.nodes.size() - 1);
      for (double t = run.from_utc_s; t < end; t += kSample_s) {
        const int day = static_cast<int>((t - path.day_start_utc_s(0)) / 86400);
        const auto seen = path.at(t + kSample_s / 2);
        const int h = height_index(seen.elevation_deg);
        if (h < 0) continue;
        Sums& sums = rows_[cell(seen.azimuth_deg) + static_cast<size_t>(h)];
        spell(sums, day + 1);
        const unsigned month = static_cast<unsigned>(path.date(day).month()) - 1;
        if (options_.winter_months >> month & 1) add_winter(sums, seen, turbidity[month], day);
        if (day + 1 != solstice_) continue;
        for (double s = t + kShortestSample_s / 2; s < t + kSample_s; s += kShortestSample_s) {
          const auto fine = path.at(s);
          const int level = height_index(fine.elevation_deg);
          if (level >= 0)
            rows_[cell(fine.azimuth_deg) + static_cast<size_t>(level)][shortest] +=
                static_cast<float>(kShortestSample_s / 3600);
        }
      }
    }
  }

  void add_winter(Sums& sums, const SunPath::Seen& seen, double turbidity, int day) {
    const double share = kSample_s / 3600 / winter_days_;
    sums[winter] += static_cast<float>(share);
    const Irradiance sky =
        esra_clear_sky(seen.elevation_deg, turbidity, spot_.place.height_m,
                       kSolarConstant_wm2 * distance_factor(std::min(day + 1, 365)));
    diffuse_ += sky.diffuse_horizontal_wm2 / 1000 * share;
    const double tilt = options_.glazing_tilt_deg * kDegree, up = seen.elevation_deg * kDegree;
    for (int f = 0; f < kFacings; ++f) {
      const double aside = (seen.azimuth_deg - facing_deg(f, southern_)) * kDegree;
      const double cosine =
          std::sin(up) * std::cos(tilt) + std::cos(up) * std::sin(tilt) * std::cos(aside);
      sums[gain_first + f] +=
          static_cast<float>(std::max(0.0, cosine) * sky.beam_normal_wm2 / 1000 * share);
    }
  }

  // How near to the solstice the sun still comes this high in this direction.
  void spell(Sums& sums, int day_of_year) const {
    int from = day_of_year - solstice_;
    if (from > kHalfYear) from -= 365;
    if (from < -kHalfYear) from += 365;
    if (from <= 0) sums[before] = std::min(sums[before], static_cast<float>(-from));
    if (from >= 0) sums[after] = std::min(sums[after], static_cast<float>(from));
  }

  // From what happens at a height to what is left above it.
  void add_up() {
    for (size_t d = 0; d < directions_.size(); ++d) {
      Sums* sums = rows_.data() + d * kHeights;
      for (int h = kHeights - 2; h >= 0; --h)
        for (int c = 0; c < kChannels; ++c)
          sums[h][c] = c == before || c == after ? std::min(sums[h][c], sums[h + 1][c])
                                                 : sums[h][c] + sums[h + 1][c];
    }
  }

  size_t cell(double azimuth_deg) const {
    const int bin = static_cast<int>(wrap_360(azimuth_deg) * kBins / 360) % kBins;
    return static_cast<size_t>(direction_of_[static_cast<size_t>(bin)]) * kHeights;
  }

 public:
  static double facing_deg(int f, bool southern) {
    return (southern ? 0 : 180) + (f - kFacings / 2) * kFacingStep_deg;
  }

 private:
  static constexpr int kBins = 7200;
  GridSpot spot_;
  const ValleyOptions& options_;
  std::span<const Direction> directions_;
  bool southern_;
  std::array<int, kBins> direction_of_{};
  std::vector<Sums> rows_;
  int solstice_ = 355, winter_days_ = 0;
  double diffuse_ = 0;
};

class Gatherer {
 public:
  Gatherer(const MetricGrid& grid, const std::function<GridSpot(double, double)>& spot_at,
           const ValleyOptions& options)
      : grid_(grid), options_(options), spot_at_(spot_at) {
    const GridSpot middle = spot_at(grid.columns / 2.0, grid.rows / 2.0);
    southern_ = middle.place.latitude_deg < 0;
    directions_ = directions_for(middle.place.latitude_deg, middle.grid_north_deg, options);
    block_ = std::max(8, static_cast<int>(kBlock_m / std::max(grid.column_m, grid.row_m)));
    across_ = (grid.columns + block_ - 1) / block_;
    const int down = (grid.rows + block_ - 1) / block_;
    suns_.resize(static_cast<size_t>(across_) * static_cast<size_t>(down));
    in_parallel(options.sweep.threads, across_ * down,
                [&](int b) { suns_[static_cast<size_t>(b)] = sun_of(b); });
    Sums nothing{};
    nothing[before] = nothing[after] = kHalfYear;
    sums_.assign(grid.heights_m.size(), nothing);
    sky_.assign(grid.heights_m.size(), 0);
  }

  Result<ValleySun> work(const ValleyProgress& progress) {
    std::vector<double> azimuths;
    for (const Direction& d : directions_) azimuths.push_back(d.grid_azimuth_deg);
    size_t done = 0;
    const bool whole = horizon_sweep(
        grid_, azimuths, options_.sweep, [&](double azimuth, std::span<const float> tangents) {
          const size_t d = static_cast<size_t>(
              std::find(azimuths.begin(), azimuths.end(), azimuth) - azimuths.begin());
          in_parallel(options_.sweep.threads, grid_.rows,
                      [&](int row) { gather(d, row, tangents); });
          return !progress || progress(double(++done) / double(azimuths.size()));
        });
    if (!whole) return fail(Code::failed, "error.valley_stopped");
    return layers();
  }

 private:
  std::unique_ptr<BlockSun> sun_of(int b) const {
    const int column = b % across_ * block_, row = b / across_ * block_;
    const int columns = std::min(block_, grid_.columns - column),
              rows = std::min(block_, grid_.rows - row);
    double sum = 0;
    int known = 0;
    for (int r = row; r < row + rows; ++r)
      for (int c = column; c < column + columns; ++c)
        if (const float h = grid_.heights_m[grid_.index(c, r)]; !std::isnan(h)) sum += h, ++known;
    if (known == 0) return nullptr;
    GridSpot spot = spot_at_(column + columns / 2.0, row + rows / 2.0);
    spot.place.height_m = sum / known;
    return std::make_unique<BlockSun>(spot, options_, directions_);
  }

  void gather(size_t direction, int row, std::span<const float> tangents) {
    const double share = directions_[direction].width_deg / 360;
    for (int c = 0; c < grid_.columns; ++c) {
      const BlockSun* sun = suns_[static_cast<size_t>(row / block_ * across_ + c / block_)].get();
      const size_t i = grid_.index(c, row);
      const float tangent = tangents[i];
      if (!sun || std::isnan(tangent)) continue;
      const double clear = std::max(0.0, double(tangent));
      sky_[i] += static_cast<float>(share / (1 + clear * clear));
      const double at = clear / kTangentStep;
      if (at >= kHeights - 1) continue;
      const int h = static_cast<int>(at);
      const float part = static_cast<float>(at - h);
      const Sums *low = sun->of(direction) + h, *high = low + 1;
      Sums& sums = sums_[i];
      for (int k = 0; k < before; ++k) sums[k] += (*low)[k] + part * ((*high)[k] - (*low)[k]);
      for (int k = before; k < kChannels; ++k)
        sums[k] = std::min(sums[k], (*low)[k] + part * ((*high)[k] - (*low)[k]));
    }
  }

  Result<ValleySun> layers() const {
    ValleySun out;
    out.columns = grid_.columns;
    out.rows = grid_.rows;
    const float none = std::numeric_limits<float>::quiet_NaN();
    for (auto* layer : {&out.winter_h, &out.shortest_day_h, &out.gain_kwh_m2, &out.best_facing_deg,
                        &out.sky_view, &out.days_without, &out.first_without, &out.last_without,
                        &out.slope_deg, &out.downhill_deg})
      layer->assign(grid_.heights_m.size(), none);
    in_parallel(options_.sweep.threads, grid_.rows, [&](int row) {
      for (int c = 0; c < grid_.columns; ++c) put(c, row, out);
    });
    return out;
  }

  void put(int c, int row, ValleySun& out) const {
    const BlockSun* sun = suns_[static_cast<size_t>(row / block_ * across_ + c / block_)].get();
    const size_t i = grid_.index(c, row);
    if (!sun || std::isnan(grid_.heights_m[i])) return;
    const Sums& sums = sums_[i];
    out.winter_h[i] = sums[winter];
    out.shortest_day_h[i] = sums[shortest];
    out.sky_view[i] = sky_[i];
    const auto best =
        std::max_element(sums.begin() + gain_first, sums.begin() + gain_first + kFacings);
    const double seen_sky = (1 + std::cos(options_.glazing_tilt_deg * kDegree)) / 2 * sky_[i];
    out.gain_kwh_m2[i] = static_cast<float>(*best + sun->diffuse_kwh_m2() * seen_sky);
    out.best_facing_deg[i] = static_cast<float>(
        BlockSun::facing_deg(static_cast<int>(best - sums.begin()) - gain_first, southern_));
    const CellSlope slope = cell_slope(grid_, c, row);
    out.slope_deg[i] = slope.slope_deg;
    out.downhill_deg[i] =
        static_cast<float>(wrap_360(slope.downhill_deg + spot_at_(c, row).grid_north_deg));
    // Between the last day before the solstice that sees the sun and the first after it.
    const float days = std::max(0.0F, std::ceil(sums[before]) + std::ceil(sums[after]) - 1);
    out.days_without[i] = sums[before] == 0 ? 0 : days;
    if (out.days_without[i] == 0) return;
    const auto day = [&](float from) {
      const float d = static_cast<float>(sun->solstice()) + from;
      return d < 1 ? d + 365 : d > 365 ? d - 365 : d;
    };
    out.first_without[i] = day(1 - std::ceil(sums[before]));
    out.last_without[i] = day(std::ceil(sums[after]) - 1);
  }

  const MetricGrid& grid_;
  const ValleyOptions& options_;
  std::function<GridSpot(double, double)> spot_at_;
  bool southern_ = false;
  std::vector<Direction> directions_;
  int block_ = 1, across_ = 1;
  std::vector<std::unique_ptr<BlockSun>> suns_;
  std::vector<Sums> sums_;
  std::vector<float> sky_;
};

}  // namespace

CellSlope cell_slope(const MetricGrid& grid, int column, int row) {
  const auto at = [&](int c, int r) {
    const float middle = grid.heights_m[grid.index(column, row)];
    const float h = grid.heights_m[grid.index(std::clamp(c, 0, grid.columns - 1),
                                              std::clamp(r, 0, grid.rows - 1))];
    return double(std::isnan(h) ? middle : h);
  };
  const int c = column, r = row;
  const double east = (at(c + 1, r - 1) + 2 * at(c + 1, r) + at(c + 1, r + 1) - at(c - 1, r - 1) -
                       2 * at(c - 1, r) - at(c - 1, r + 1)) /
                      (8 * grid.column_m);
  const double north = (at(c - 1, r - 1) + 2 * at(c, r - 1) + at(c + 1, r - 1) - at(c - 1, r + 1) -
                        2 * at(c, r + 1) - at(c + 1, r + 1)) /
                       (8 * grid.row_m);
  return {static_cast<float>(std::atan(std::hypot(east, north)) / kDegree),
          static_cast<float>(wrap_360(std::atan2(-east, -north) / kDegree))};
}

Result<ValleySun> valley_sun(const MetricGrid& grid,
                             const std::function<GridSpot(double, double)>& spot_at,
                             const ValleyOptions& options, const ValleyProgress& progress) {
  if (grid.columns < 3 || grid.rows < 3 || !(grid.column_m > 0) || !(grid.row_m > 0))
    return fail(Code::bad_input, "error.grid_3_by_3");
  if (std::all_of(grid.heights_m.begin(), grid.heights_m.end(),
                  [](float h) { return std::isnan(h); }))
    return fail(Code::bad_input, "error.grid_no_height");
  if (std::abs(spot_at(grid.columns / 2.0, grid.rows / 2.0).place.latitude_deg) > 66)
    return fail(Code::out_of_range, "error.valley_polar");
  return Gatherer(grid, spot_at, options).work(progress);
}

}  // namespace horizon
