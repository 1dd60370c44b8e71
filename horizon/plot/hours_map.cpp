#include "horizon/plot/hours_map.h"

#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

constexpr int kBins = 360 * SunSamples::kBinsPerDegree;
constexpr float kNothing = -90;

// The outline at a spot by azimuth: the highest thing, the highest other thing, the highest opaque.
struct Outline {
  std::array<float, kBins> first, second, solid;
  std::array<std::int16_t, kBins> obstacle;
};

void add(Outline& outline, int bin, float el, int obstacle, bool leafy) {
  const auto b = static_cast<size_t>(bin);
  if (!leafy) outline.solid[b] = std::max(outline.solid[b], el);
  if (el > outline.first[b]) {
    if (outline.obstacle[b] != obstacle) outline.second[b] = outline.first[b];
    outline.first[b] = el;
    outline.obstacle[b] = static_cast<std::int16_t>(obstacle);
  } else if (outline.obstacle[b] != obstacle) {
    outline.second[b] = std::max(outline.second[b], el);
  }
}

bool within(std::span<const Eigen::Vector2d> corners, const Eigen::Vector2d& p) {
  bool inside = false;
  for (size_t i = 0, j = corners.size() - 1; i < corners.size(); j = i++) {
    const Eigen::Vector2d &a = corners[i], &b = corners[j];
    if ((a.y() > p.y()) != (b.y() > p.y()) &&
        p.x() < (b.x() - a.x()) * (p.y() - a.y()) / (b.y() - a.y()) + a.x())
      inside = !inside;
  }
  return inside;
}

}  // namespace

SunSamples::SunSamples(const SunPath& path, unsigned months)
    : southern_(path.place().latitude_deg < 0) {
  for (int day = 0; day < path.days(); ++day) {
    const unsigned month = static_cast<unsigned>(path.date(day).month());
    if (!(months >> (month - 1) & 1)) continue;
    const double from = path.day_start_utc_s(day);
    // The middles of the steps, so that a day holds as many before noon as after.
    for (double t = from + kStep_s / 2; t < from + 86400; t += kStep_s) {
      const SunPath::Seen sun = path.at(t);
      if (sun.elevation_deg <= 0) continue;
      const int bin = static_cast<int>(sun.azimuth_deg * kBinsPerDegree) % kBins;
      samples_.push_back({static_cast<std::uint16_t>(bin), static_cast<std::uint8_t>(month),
                          static_cast<float>(sun.elevation_deg)});
    }
  }
}

SpotHours spot_hours(const PlacedPlot& plot, const Enu& eye, const SunSamples& sun,
                     std::vector<ObstacleShare>* shares) {
  const SpotView view(plot, plot.rays, eye);
  const auto& obstacles = plot.survey.obstacles;
  Outline outline;
  outline.first.fill(kNothing);
  outline.second.fill(kNothing);
  outline.solid.fill(kNothing);
  outline.obstacle.fill(-1);
  for (const SpotView::Piece& piece : view.pieces()) {
    const bool leafy = obstacles[static_cast<size_t>(piece.obstacle)].what.kind == Kind::leafy;
    constexpr double kPer = SunSamples::kBinsPerDegree;
    // Bins whose middle lies in the piece.
    const int from = static_cast<int>(std::ceil(piece.from_deg * kPer - 0.5));
    const int to = static_cast<int>(std::ceil((piece.from_deg + piece.width_deg) * kPer - 0.5));
    for (int bin = from; bin < to; ++bin)
      add(outline, bin % kBins,
          static_cast<float>(piece.elevation_deg((bin + 0.5) / kPer - piece.from_deg)),
          piece.obstacle, leafy);
  }
  std::vector<std::array<double, 13>> through(obstacles.size());
  for (size_t o = 0; o < obstacles.size(); ++o)
    for (int month = 1; month <= 12; ++month)
      through[o][static_cast<size_t>(month)] =
          obstacles[o].what.kind == Kind::leafy
              ? light_through(obstacles[o].what.foliage, month, sun.southern())
              : 0;

  constexpr double kHours = SunSamples::kStep_s / 3600;
  SpotHours hours;
  hours.occupied = view.inside() >= 0;
  if (shares) shares->assign(obstacles.size(), {});
  for (const SunSamples::Sample& sample : sun.samples()) {
    const size_t b = sample.bin;
    if (sample.elevation_deg > outline.first[b]) {
      hours.direct_h += kHours;
      continue;
    }
    const int by = outline.obstacle[b];
    if (sample.elevation_deg > outline.solid[b])
      hours.filtered_light_h += kHours * through[static_cast<size_t>(by)][sample.month];
    if (!shares) continue;
    ObstacleShare& share = (*shares)[static_cast<size_t>(by)];
    share.hidden_h += kHours;
    if (sample.elevation_deg > outline.second[b]) share.alone_h += kHours;
  }
  return hours;
}

Result<HoursMap> hours_map(const PlacedPlot& plot, const MapGrid& grid, const SunSamples& sun) {
  if (grid.columns < 1 || grid.rows < 1 || !(grid.step_m > 0))
    return fail(Code::bad_input, "error.map_needs_a_spot", "map");
  if (static_cast<long>(grid.columns) * grid.rows > 250000)
    return fail(Code::bad_input, "error.map_too_many_spots", "map");
  const GroundPlane ground = ground_plane(plot.survey.stations);
  HoursMap map;
  map.grid = grid;
  map.obstacles = static_cast<int>(plot.survey.obstacles.size());
  std::vector<ObstacleShare> shares;
  for (int row = 0; row < grid.rows; ++row)
    for (int column = 0; column < grid.columns; ++column) {
      const double east = grid.west_m + column * grid.step_m;
      const double north = grid.south_m + row * grid.step_m;
      const Enu eye(east, north, ground.up_at(east, north) + grid.eye_height_m);
      map.spots.push_back(spot_hours(plot, eye, sun, &shares));
      map.shares.insert(map.shares.end(), shares.begin(), shares.end());
    }
  return map;
}

namespace {

// The footprint's own axes and the map's spots within it.
class Fitting {
 public:
  Fitting(const HoursMap& map, const Footprint& footprint)
      : map_(map), half_l_(footprint.length_m / 2), half_d_(footprint.depth_m / 2) {
    const double az = footprint.facing.radians();
    out_ = {std::sin(az), std::cos(az)};
    along_ = {std::cos(az), -std::sin(az)};
    const double step = map.grid.step_m;
    const int reach = static_cast<int>(std::hypot(half_l_, half_d_) / step) + 1;
    for (int r = -reach; r <= reach; ++r)
      for (int c = -reach; c <= reach; ++c) {
        const Eigen::Vector2d p(c * step, r * step);
        if (std::abs(p.dot(along_)) <= half_l_ + 1e-9 && std::abs(p.dot(out_)) <= half_d_ + 1e-9)
          offsets_.emplace_back(c, r);
      }
  }
  bool inside(const Eigen::Vector2d& middle, std::span<const Eigen::Vector2d> boundary) const {
    const MapGrid& grid = map_.grid;
    const double west = grid.west_m - grid.step_m / 2, south = grid.south_m - grid.step_m / 2;
    for (const double l : {-half_l_, half_l_})
      for (const double d : {-half_d_, half_d_}) {
        const Eigen::Vector2d corner = middle + l * along_ + d * out_;
        if (corner.x() < west || corner.x() > west + grid.columns * grid.step_m ||
            corner.y() < south || corner.y() > south + grid.rows * grid.step_m ||
            (!boundary.empty() && !within(boundary, corner)))
          return false;
      }
    return true;
  }
  // To the nearest wall; 0 inside. Lines are followed every half metre.
  double distance_m(const Eigen::Vector2d& middle, const Eigen::Vector2d& from,
                    const Eigen::Vector2d& to) const {
    const int steps = 1 + static_cast<int>((to - from).norm() / 0.5);
    double least = 1e9;
    for (int i = 0; i <= steps; ++i) {
      const Eigen::Vector2d off = from + (to - from) * i / steps - middle;
      const double l = std::max(0.0, std::abs(off.dot(along_)) - half_l_);
      const double d = std::max(0.0, std::abs(off.dot(out_)) - half_d_);
      least = std::min(least, std::hypot(l, d));
    }
    return least;
  }
  bool clear_of(const Eigen::Vector2d& middle, std::span<const Eigen::Vector2d> line, bool closed,
                double least_m) const {
    for (size_t i = 0; i < line.size(); ++i) {
      const bool last = i + 1 == line.size();
      if (last && !closed && i > 0) break;
      if (distance_m(middle, line[i], line[last ? 0 : i + 1]) < least_m - 1e-9) return false;
    }
    return true;
  }
  // Nothing where a tree stands in it, or where it leaves the map.
  std::optional<FootprintPlace> at(int column, int row) const {
    const MapGrid& grid = map_.grid;
    FootprintPlace place;
    place.east_m = grid.west_m + column * grid.step_m;
    place.north_m = grid.south_m + row * grid.step_m;
    place.least_h = 1e9;
    for (const auto& [c, r] : offsets_) {
      if (column + c < 0 || column + c >= grid.columns || row + r < 0 || row + r >= grid.rows)
        return std::nullopt;
      const SpotHours& spot = map_.at(column + c, row + r);
      if (spot.occupied) return std::nullopt;
      place.mean_h += spot.direct_h / static_cast<double>(offsets_.size());
      place.least_h = std::min(place.least_h, spot.direct_h);
    }
    return place;
  }
  void add_shares(FootprintPlace& place) const {
    const MapGrid& grid = map_.grid;
    place.shares.assign(static_cast<size_t>(map_.obstacles), {});
    const int column = static_cast<int>(std::lround((place.east_m - grid.west_m) / grid.step_m));
    const int row = static_cast<int>(std::lround((place.north_m - grid.south_m) / grid.step_m));
    const double count = static_cast<double>(offsets_.size());
    for (const auto& [c, r] : offsets_)
      for (int o = 0; o < map_.obstacles; ++o) {
        const size_t spot = static_cast<size_t>((row + r) * grid.columns + column + c);
        const ObstacleShare& one =
            map_.shares[spot * static_cast<size_t>(map_.obstacles) + static_cast<size_t>(o)];
        place.shares[static_cast<size_t>(o)].hidden_h += one.hidden_h / count;
        place.shares[static_cast<size_t>(o)].alone_h += one.alone_h / count;
      }
  }

 private:
  const HoursMap& map_;
  double half_l_, half_d_;
  Eigen::Vector2d out_, along_;
  std::vector<std::pair<int, int>> offsets_;
};

}  // namespace

std::optional<FootprintPlace> place_at(const HoursMap& map, const Footprint& footprint,
                                       double east_m, double north_m) {
  const Fitting fitting(map, footprint);
  const MapGrid& grid = map.grid;
  auto place = fitting.at(static_cast<int>(std::lround((east_m - grid.west_m) / grid.step_m)),
                          static_cast<int>(std::lround((north_m - grid.south_m) / grid.step_m)));
  if (place) fitting.add_shares(*place);
  return place;
}

std::vector<FootprintPlace> best_places(const HoursMap& map, const Footprint& footprint,
                                        std::span<const Eigen::Vector2d> boundary, int count,
                                        double setback_m, std::span<const KeepOff> keep_off) {
  const Fitting fitting(map, footprint);
  std::vector<FootprintPlace> all;
  for (int row = 0; row < map.grid.rows; ++row)
    for (int column = 0; column < map.grid.columns; ++column) {
      const Eigen::Vector2d middle(map.grid.west_m + column * map.grid.step_m,
                                   map.grid.south_m + row * map.grid.step_m);
      if (!fitting.inside(middle, boundary) ||
          !fitting.clear_of(middle, boundary, true, setback_m) ||
          !std::all_of(keep_off.begin(), keep_off.end(), [&](const KeepOff& off) {
            return fitting.clear_of(middle, off.line, false, off.distance_m);
          }))
        continue;
      if (auto place = fitting.at(column, row)) all.push_back(*place);
    }
  std::stable_sort(all.begin(), all.end(),
                   [](const auto& a, const auto& b) { return a.mean_h > b.mean_h; });
  std::vector<FootprintPlace> best;
  for (FootprintPlace& place : all) {
    if (static_cast<int>(best.size()) >= count) break;
    const bool apart = std::all_of(best.begin(), best.end(), [&](const FootprintPlace& other) {
      return std::hypot(place.east_m - other.east_m, place.north_m - other.north_m) >=
             std::max(footprint.length_m, footprint.depth_m);
    });
    if (!apart) continue;
    fitting.add_shares(place);
    best.push_back(std::move(place));
  }
  return best;
}

}  // namespace horizon
