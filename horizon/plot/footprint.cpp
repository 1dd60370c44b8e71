#include "horizon/plot/footprint.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "horizon/light/uncertainty.h"

namespace horizon {
namespace {

constexpr double kAlike = 0.01;  // of the most sun; less is beyond what a map of aims tells apart

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
      const double part = 1 / static_cast<double>(offsets_.size());
      place.mean_h += spot.direct_h * part;
      place.sure_h += (spot.unknown ? spot.low_h : spot.direct_h) * part;
      if (spot.unknown) place.unknown_share += part;
      place.least_h = std::min(place.least_h, spot.direct_h);
    }
    return place;
  }
  std::vector<Eigen::Vector2d> spots(const FootprintPlace& place) const {
    std::vector<Eigen::Vector2d> all;
    for (const auto& [c, r] : offsets_)
      all.emplace_back(place.east_m + c * map_.grid.step_m, place.north_m + r * map_.grid.step_m);
    return all;
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
  return fitting.at(static_cast<int>(std::lround((east_m - grid.west_m) / grid.step_m)),
                    static_cast<int>(std::lround((north_m - grid.south_m) / grid.step_m)));
}

void sort_by_sun(std::vector<FootprintPlace>& places,
                 const std::function<double(const FootprintPlace&)>& hours) {
  double most = 0;
  for (const auto& place : places) most = std::max(most, hours(place));
  const auto rank = [&](const FootprintPlace& place) {
    return most > 0 ? std::floor((most - hours(place)) / (kAlike * most)) : 0;
  };
  std::stable_sort(places.begin(), places.end(), [&](const auto& a, const auto& b) {
    return std::pair(rank(a), std::hypot(a.east_m, a.north_m)) <
           std::pair(rank(b), std::hypot(b.east_m, b.north_m));
  });
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
  sort_by_sun(all, [](const FootprintPlace& place) { return place.sure_h; });
  std::vector<FootprintPlace> best;
  for (FootprintPlace& place : all) {
    if (static_cast<int>(best.size()) >= count) break;
    const bool apart = std::all_of(best.begin(), best.end(), [&](const FootprintPlace& other) {
      return std::hypot(place.east_m - other.east_m, place.north_m - other.north_m) >=
             std::max(footprint.length_m, footprint.depth_m);
    });
    if (apart) best.push_back(std::move(place));
  }
  return best;
}

namespace {
// Some thirty are enough for a mean.
std::vector<Eigen::Vector2d> some_spots(const HoursMap& map, const Footprint& footprint,
                                        const FootprintPlace& place) {
  constexpr size_t kEnough = 32;
  const std::vector<Eigen::Vector2d> spots = Fitting(map, footprint).spots(place);
  if (spots.size() <= kEnough) return spots;
  std::vector<Eigen::Vector2d> some;
  for (size_t i = 0; i < kEnough; ++i) some.push_back(spots[i * spots.size() / kEnough]);
  return some;
}

// Of one number a draw: 90 % hold.
MeanHours range_of(std::vector<double> means) {
  MeanHours out;
  for (const double mean : means) out.mean_h += mean / static_cast<double>(means.size());
  out.low_h = std::min(end_of_range(means, 0.05), out.mean_h);
  out.high_h = std::max(end_of_range(std::move(means), 0.95), out.mean_h);
  return out;
}

// The likeliest plot's own figure, and what the draws say of it.
MeanHours about(double likeliest_h, std::vector<double> drawn) {
  if (drawn.empty()) return {likeliest_h, likeliest_h, likeliest_h};
  const MeanHours range = range_of(std::move(drawn));
  return {likeliest_h, std::min(range.low_h, likeliest_h), std::max(range.high_h, likeliest_h)};
}
double likeliest_hours(const PlacedPlot& plot, const Eigen::Vector2d& at, double eye_height_m,
                       const SunSamples& sun) {
  const double ground_m = ground_plane(plot.survey.stations).up_at(at.x(), at.y());
  return spot_hours(plot, {at.x(), at.y(), ground_m + eye_height_m}, sun).direct_h;
}
}  // namespace

MeanHours hours_at(const PlacedPlot& plot, const RidgeLifts& lifts, const Eigen::Vector2d& at,
                   double eye_height_m, const SunSamples& sun) {
  std::vector<double> drawn;
  for (const auto& draw : drawn_hours(plot, lifts, std::span(&at, 1), eye_height_m, sun))
    drawn.push_back(draw.front());
  return about(likeliest_hours(plot, at, eye_height_m, sun), std::move(drawn));
}

MeanHours change_at(const PlacedPlot& now, const PlacedPlot& then, const RidgeLifts& lifts,
                    const Eigen::Vector2d& at, double eye_height_m, const SunSamples& sun) {
  const auto before = drawn_hours(now, lifts, std::span(&at, 1), eye_height_m, sun),
             after = drawn_hours(then, lifts, std::span(&at, 1), eye_height_m, sun);
  std::vector<double> drawn;
  for (size_t d = 0; d < lifts.size(); ++d)
    drawn.push_back(double{after[d].front()} - double{before[d].front()});
  return about(
      likeliest_hours(then, at, eye_height_m, sun) - likeliest_hours(now, at, eye_height_m, sun),
      std::move(drawn));
}

std::optional<MeanHours> mean_hours(const FootprintPlace& place, const PlacedPlot& plot,
                                    const RidgeLifts& lifts, const HoursMap& map,
                                    const Footprint& footprint, const SunSamples& sun) {
  if (!map.ranged || lifts.empty()) return std::nullopt;
  const auto spots = some_spots(map, footprint, place);
  std::vector<double> means;
  for (const auto& draw : drawn_hours(plot, lifts, spots, map.grid.eye_height_m, sun)) {
    double sum = 0;
    for (const float h : draw) sum += h;
    means.push_back(sum / static_cast<double>(spots.size()));
  }
  return range_of(std::move(means));
}

void complete(FootprintPlace& place, const PlacedPlot& plot, const RidgeLifts& lifts,
              const HoursMap& map, const Footprint& footprint, const SunSamples& sun) {
  const auto spots = some_spots(map, footprint, place);
  const GroundPlane ground = ground_plane(plot.survey.stations);
  const auto count = static_cast<double>(spots.size());
  place.shares.assign(plot.survey.obstacles.size(), {});
  std::vector<ObstacleShare> shares;
  for (const auto& p : spots) {
    spot_hours(plot, {p.x(), p.y(), ground.up_at(p.x(), p.y()) + map.grid.eye_height_m}, sun,
               &shares);
    for (size_t o = 0; o < shares.size(); ++o) {
      place.shares[o].hidden_h += shares[o].hidden_h / count;
      place.shares[o].alone_h += shares[o].alone_h / count;
    }
  }
  place.low_h = place.high_h = place.mean_h;
  const auto mean = mean_hours(place, plot, lifts, map, footprint, sun);
  if (!mean) return;
  place.low_h = std::min(mean->low_h, place.mean_h);
  place.high_h = std::max(mean->high_h, place.mean_h);
}

}  // namespace horizon
