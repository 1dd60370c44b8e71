#include "horizon/plot/hours_map.h"

#include <algorithm>
#include <cmath>

#include "horizon/parallel.h"
#include "horizon/plot/spot_draws.h"
#include "horizon/skyline/mask.h"
#include "horizon/skyline/plausible.h"

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

}  // namespace

SunSamples::SunSamples(const SunPath& path, unsigned months)
    : southern_(path.place().latitude_deg < 0) {
  for (int day = 0; day < path.days(); ++day) {
    const unsigned month = static_cast<unsigned>(path.date(day).month());
    if (!(months >> (month - 1) & 1)) continue;
    ++days_;
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
  float highest = 0;
  std::array<int, kBins> index;
  index.fill(-1);
  for (const Sample& sample : samples_) {
    highest = std::max(highest, sample.elevation_deg);
    index[sample.bin] = 0;
  }
  for (int bin = 0; bin < kBins; ++bin)
    if (index[static_cast<size_t>(bin)] == 0) {
      index[static_cast<size_t>(bin)] = static_cast<int>(bins_.size());
      bins_.push_back(bin);
    }
  // Near the zenith tangents have no end: what stands so high is over the sun anyhow.
  const double most = std::tan(std::min(85.0, highest + 0.5) * kDegree);
  per_tangent_ = static_cast<float>((kSteps - 1) / most);
  above_.assign(bins_.size() * kSteps, 0);
  for (const Sample& sample : samples_) {
    const double at =
        std::tan(std::min(85.0, double{sample.elevation_deg}) * kDegree) * per_tangent_;
    float* const row = &above_[static_cast<size_t>(index[sample.bin]) * kSteps];
    const auto last = static_cast<size_t>(std::clamp(at, 0.0, kSteps - 1.0));
    for (size_t i = 0; i <= last; ++i) row[i] += static_cast<float>(kStep_s / 3600);
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

namespace {

// Of draws in any order: Weibull's place, k / (n + 1).
float quantile(std::vector<float>& values, double p) {
  const double at = std::clamp(p * (static_cast<double>(values.size()) + 1) - 1, 0.0,
                               static_cast<double>(values.size() - 1));
  const auto i = static_cast<long>(at);
  std::nth_element(values.begin(), values.begin() + i, values.end());
  const float low = values[static_cast<size_t>(i)];
  if (static_cast<size_t>(i) + 1 >= values.size()) return low;
  const float next = *std::min_element(values.begin() + i + 1, values.end());
  return low + static_cast<float>(at - std::floor(at)) * (next - low);
}

bool occupied(const PlacedPlot& plot, double east, double north) {
  return std::any_of(plot.shapes.begin(), plot.shapes.end(), [&](const PlacedShape& shape) {
    return shape.choices.front().shape.covers(east, north);
  });
}

// Marks joined by straight edges stand near by: only the exact sum knows them.
bool has_near_marks(const PlotSurvey& survey) {
  return std::any_of(survey.marks.begin(), survey.marks.end(), [&](const PlotMark& mark) {
    return survey.obstacles[static_cast<size_t>(mark.obstacle)].what.kind != Kind::ridge;
  });
}

// Where things may stand that were seen from one side only, without a distance: anywhere along their
// bearings, to twice as far as drawn.
class OneSided {
 public:
  explicit OneSided(const PlacedPlot& plot) {
    for (const PlacedShape& shape : plot.shapes) {
      if (shape.placing != Placing::direction || shape.draws.empty()) continue;
      for (const PlotOutline& outline : plot.survey.outlines) {
        if (outline.obstacle != shape.obstacle || outline.marks.empty()) continue;
        Sector one;
        one.eye = plot.survey.stations[static_cast<size_t>(outline.station)].eye.head<2>();
        std::vector<float> away;
        for (const Shape& draw : shape.draws)
          away.push_back(static_cast<float>((draw.middle - one.eye).norm()));
        one.near_m = kNearest_m;
        one.far_m = quantile(away, 0.95) * 2;
        const double from = outline.marks.front().azimuth.degrees();
        one.half_deg = wrap_360(outline.marks.back().azimuth.degrees() - from) / 2;
        one.middle_deg = from + one.half_deg;
        sectors_.push_back(one);
      }
    }
  }
  bool near(double east, double north) const {
    constexpr double kNear_m = 5;
    return std::any_of(sectors_.begin(), sectors_.end(), [&](const Sector& s) {
      const Eigen::Vector2d off = Eigen::Vector2d(east, north) - s.eye;
      const double turn = std::abs(wrap_180(std::atan2(off.x(), off.y()) / kDegree - s.middle_deg));
      const double aside = std::max(0.0, turn - s.half_deg) * kDegree;
      const double along = off.norm() * std::cos(aside);  // of the sector's edge
      return std::hypot(along - std::clamp(along, s.near_m, s.far_m),
                        off.norm() * std::sin(aside)) < kNear_m;
    });
  }

 private:
  struct Sector {
    Eigen::Vector2d eye;
    double middle_deg = 0, half_deg = 0, near_m = 0, far_m = 0;
  };
  std::vector<Sector> sectors_;
};

// A spot's low, mean and high hours, and the least at the ends of what is plausible.
using Node = std::array<double, 4>;

bool unknown(const Node& node, int days) {
  const double shown = std::clamp(node[1], node[0], node[2]);
  return shown - std::min(node[0], node[3]) > kMostShort_h_day * days ||
         node[2] - node[0] > kMostRange_h_day * days;
}

void set_range(SpotHours& spot, const Node& node, int days) {
  spot.low_h = node[0];
  spot.high_h = node[2];
  spot.direct_h = std::clamp(node[1], node[0], node[2]);
  spot.unknown = unknown(node, days);
}

// The ranges at some spots of a map, every metre at the closest. Where those every second one agree,
// grey or not among it, what lies between them is put straight; in between nodes too.
class Nodes {
 public:
  Nodes(const SpotDraws& work, const MapGrid& grid, int days)
      : stride_(std::max(1, static_cast<int>(std::lround(1.0 / grid.step_m)))),
        wide_((grid.columns - 1 + stride_ - 1) / stride_ + 1),
        tall_((grid.rows - 1 + stride_ - 1) / stride_ + 1),
        nodes_(static_cast<size_t>(wide_) * static_cast<size_t>(tall_)) {
    const auto exact = [&](int c, int r) {
      const double east = grid.west_m + std::min(c * stride_, grid.columns - 1) * grid.step_m,
                   north = grid.south_m + std::min(r * stride_, grid.rows - 1) * grid.step_m;
      std::vector<float> draws = work.at(east, north);
      Node node{};
      for (const float h : draws) node[1] += h / static_cast<double>(draws.size());
      node[0] = quantile(draws, 0.05);
      node[2] = quantile(draws, 0.95);
      node[3] = node[0];
      if (!unknown(node, days))
        node[3] = std::min<double>(node[0], work.least_at_ends(east, north));
      node_at(c, r) = node;
    };
    const auto coarse = [](int i, int last) { return i % 2 == 0 || i == last; };
    in_parallel(tall_, [&](int r) {
      for (int c = 0; c < wide_; ++c)
        if (coarse(c, wide_ - 1) && coarse(r, tall_ - 1)) exact(c, r);
    });
    constexpr double kAgree_h_day = 0.2;
    in_parallel(tall_, [&](int r) {
      for (int c = 0; c < wide_; ++c) {
        if (coarse(c, wide_ - 1) && coarse(r, tall_ - 1)) continue;
        const int c0 = c - c % 2, c1 = std::min(c0 + 2, wide_ - 1), r0 = r - r % 2,
                  r1 = std::min(r0 + 2, tall_ - 1);
        const Node corners[] = {node_at(c0, r0), node_at(c1, r0), node_at(c0, r1), node_at(c1, r1)};
        Node mean{};
        const auto grey = std::count_if(std::begin(corners), std::end(corners),
                                        [&](const Node& corner) { return unknown(corner, days); });
        bool agree = grey == 0 || grey == std::ssize(corners);
        for (size_t k = 0; k < node_at(c, r).size(); ++k) {
          double least = 1e9, most = -1e9;
          for (const Node& node : corners) {
            least = std::min(least, node[k]);
            most = std::max(most, node[k]);
          }
          agree = agree && (k == 3 || most - least < kAgree_h_day * days);
          const double u = c1 > c0 ? static_cast<double>(c - c0) / (c1 - c0) : 0,
                       v = r1 > r0 ? static_cast<double>(r - r0) / (r1 - r0) : 0;
          mean[k] = (1 - v) * ((1 - u) * corners[0][k] + u * corners[1][k]) +
                    v * ((1 - u) * corners[2][k] + u * corners[3][k]);
        }
        if (agree)
          node_at(c, r) = mean;
        else
          exact(c, r);
      }
    });
  }
  Node at(int column, int row) const {
    const int c = std::min(column / stride_, std::max(0, wide_ - 2)),
              r = std::min(row / stride_, std::max(0, tall_ - 2));
    const int c1 = std::min(c + 1, wide_ - 1), r1 = std::min(r + 1, tall_ - 1);
    const double u = std::min(1.0, static_cast<double>(column - c * stride_) / stride_),
                 v = std::min(1.0, static_cast<double>(row - r * stride_) / stride_);
    Node out{};
    for (size_t k = 0; k < out.size(); ++k)
      out[k] = (1 - v) * ((1 - u) * node_at(c, r)[k] + u * node_at(c1, r)[k]) +
               v * ((1 - u) * node_at(c, r1)[k] + u * node_at(c1, r1)[k]);
    return out;
  }

 private:
  Node& node_at(int c, int r) { return nodes_[static_cast<size_t>(r * wide_ + c)]; }
  const Node& node_at(int c, int r) const { return nodes_[static_cast<size_t>(r * wide_ + c)]; }
  int stride_, wide_, tall_;
  std::vector<Node> nodes_;
};

}  // namespace

RidgeLifts ridge_lifts(const PlacedPlot& plot, const SunSamples& sun, int draws) {
  std::vector<std::vector<float>> lifts(static_cast<size_t>(draws),
                                        std::vector<float>(sun.bins().size()));
  const PlotSurvey& survey = plot.survey;
  std::vector<int> count(survey.stations.size());
  const auto of_ridge = [&](const PlotAim& aim) {
    const auto& mark = survey.marks[static_cast<size_t>(aim.mark)];
    return survey.obstacles[static_cast<size_t>(mark.obstacle)].what.kind == Kind::ridge;
  };
  for (const PlotAim& aim : survey.aims)
    if (of_ridge(aim)) ++count[static_cast<size_t>(aim.station)];
  if (count.empty()) return lifts;
  const int most = static_cast<int>(std::max_element(count.begin(), count.end()) - count.begin());
  Skyline ridge;
  ridge.obstacles = {{Kind::ridge, "ridge"}};
  ridge.max_gap_deg = survey.max_gap_deg;
  ridge.heading_sigma_deg = survey.stations[static_cast<size_t>(most)].heading_sigma_deg;
  for (const PlotAim& aim : survey.aims) {
    if (aim.station != most || !of_ridge(aim)) continue;
    SkylinePoint point{aim.azimuth, aim.elevation, aim.azimuth_sigma_deg, aim.elevation_sigma_deg,
                       aim.level_sigma_deg};
    ridge.points.push_back(point);
  }
  if (ridge.points.size() < 2) return lifts;
  const Mask sighted(ridge);
  const PlausibleLines lines(ridge, 0, draws, 7);
  in_parallel(draws, [&](int d) {
    const Mask drawn(lines.draw(d));
    for (size_t b = 0; b < sun.bins().size(); ++b) {
      const double az = (sun.bins()[b] + 0.5) / SunSamples::kBinsPerDegree;
      lifts[static_cast<size_t>(d)][b] =
          static_cast<float>(std::tan(std::min(89.0, drawn.elevation_deg(az)) * kDegree) -
                             std::tan(std::min(89.0, sighted.elevation_deg(az)) * kDegree));
    }
  });
  return lifts;
}

std::vector<std::vector<float>> drawn_hours(const PlacedPlot& plot, const RidgeLifts& lifts,
                                            std::span<const Eigen::Vector2d> spots,
                                            double eye_height_m, const SunSamples& sun) {
  if (spots.empty()) return {};
  Eigen::Vector2d low = spots.front(), high = low;
  for (const auto& p : spots) {
    low = low.cwiseMin(p);
    high = high.cwiseMax(p);
  }
  const SpotDraws work(plot, lifts, sun, eye_height_m, low, high);
  std::vector<std::vector<float>> out(lifts.size(), std::vector<float>(spots.size()));
  in_parallel(static_cast<int>(spots.size()), [&](int i) {
    const auto at = static_cast<size_t>(i);
    const std::vector<float> here = work.at(spots[at].x(), spots[at].y());
    for (size_t d = 0; d < here.size(); ++d) out[d][at] = here[d];
  });
  return out;
}

Result<HoursMap> hours_map(const PlacedPlot& plot, const MapGrid& grid, const SunSamples& sun) {
  return hours_map(plot, grid, sun,
                   has_near_marks(plot.survey) ? RidgeLifts() : ridge_lifts(plot, sun));
}

Result<HoursMap> hours_map(const PlacedPlot& plot, const MapGrid& grid, const SunSamples& sun,
                           const RidgeLifts& lifts) {
  if (grid.columns < 1 || grid.rows < 1 || !(grid.step_m > 0))
    return fail(Code::bad_input, "error.map_needs_a_spot", "map");
  if (static_cast<long>(grid.columns) * grid.rows > 250000)
    return fail(Code::bad_input, "error.map_too_many_spots", "map");
  HoursMap map;
  map.grid = grid;
  map.spots.resize(static_cast<size_t>(grid.columns) * static_cast<size_t>(grid.rows));
  const GroundPlane ground = ground_plane(plot.survey.stations);
  const Eigen::Vector2d low(grid.west_m, grid.south_m);
  const Eigen::Vector2d high = low + grid.step_m * Eigen::Vector2d(grid.columns - 1, grid.rows - 1);
  const bool exact = has_near_marks(plot.survey);
  const SpotDraws work(plot, exact ? RidgeLifts() : lifts, sun, grid.eye_height_m, low, high);
  const auto at = [&](int column, int row) -> SpotHours& {
    return map.spots[static_cast<size_t>(row) * static_cast<size_t>(grid.columns) +
                     static_cast<size_t>(column)];
  };
  in_parallel(grid.rows, [&](int row) {
    for (int column = 0; column < grid.columns; ++column) {
      const double east = grid.west_m + column * grid.step_m;
      const double north = grid.south_m + row * grid.step_m;
      SpotHours& spot = at(column, row);
      if (exact)
        spot = spot_hours(plot, {east, north, ground.up_at(east, north) + grid.eye_height_m}, sun);
      else
        spot.occupied = occupied(plot, east, north);
      spot.low_h = spot.high_h = spot.direct_h;
    }
  });
  map.ranged = !exact;
  if (exact) return map;
  const Nodes nodes(work, grid, sun.days());
  const OneSided one_sided(plot);
  for (int row = 0; row < grid.rows; ++row)
    for (int column = 0; column < grid.columns; ++column) {
      SpotHours& spot = at(column, row);
      set_range(spot, nodes.at(column, row), sun.days());
      spot.unknown = spot.unknown || one_sided.near(grid.west_m + column * grid.step_m,
                                                    grid.south_m + row * grid.step_m);
    }
  return map;
}

}  // namespace horizon
