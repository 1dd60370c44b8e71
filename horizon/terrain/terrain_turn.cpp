#include <algorithm>
#include <cmath>

#include "horizon/terrain/terrain.h"

namespace horizon {
namespace {

constexpr size_t kFewest = 8;
constexpr double kCut = 4.685;       // of the biweight: 95 percent efficient
constexpr double kSearch_deg = 0.2;  // finer than any summit is wide
constexpr double kApart_deg = 3;
constexpr double kAlike = 3.84;            // of chi squared: two turns told apart with 95 percent
constexpr double kTerrainSigma_deg = 0.1;  // of the grid's far ridges, crags and snow left out
// Heights of open grids scatter by some metres: over a near bank that is a wide angle.
constexpr double kGridHeightSigma_m = 2;

double step_of(const TerrainSkyline& terrain) {
  return 360.0 / static_cast<double>(terrain.points.size());
}

double terrain_slope(const TerrainSkyline& terrain, double azimuth_deg) {
  const double h = std::max(0.25, step_of(terrain));
  return (terrain.elevation_deg(azimuth_deg + h) - terrain.elevation_deg(azimuth_deg - h)) /
         (2 * h);
}

struct Fit {
  std::span<const SkylinePoint> points;
  const TerrainSkyline& terrain;
  double scale = 1;  // of the sigmas, as the residuals turn out to scatter

  double residual_deg(const SkylinePoint& p, double turn_deg) const {
    return p.elevation.degrees() - terrain.elevation_deg(p.azimuth.degrees() + turn_deg);
  }
  double sigma_deg(const SkylinePoint& p, double turn_deg) const {
    const double azimuth = p.azimuth.degrees() + turn_deg;
    const size_t nearest = static_cast<size_t>(std::lround(wrap_360(azimuth) / step_of(terrain))) %
                           terrain.points.size();
    const double distance = std::max(1.0, terrain.points[nearest].distance_m);
    const double of_heights = std::atan2(kGridHeightSigma_m, distance) / kDegree;
    const double of_aim = p.azimuth_sigma_deg * terrain_slope(terrain, azimuth);
    return scale * std::hypot(std::hypot(p.elevation_sigma_deg, kTerrainSigma_deg),
                              std::hypot(of_heights, of_aim));
  }
  // Tukey's biweight: a tree costs no more than being far off, however tall it is.
  double cost(double turn_deg) const {
    double sum = 0;
    for (const SkylinePoint& p : points) {
      const double t = residual_deg(p, turn_deg) / sigma_deg(p, turn_deg) / kCut;
      const double inside = std::max(0.0, 1 - t * t);
      sum += kCut * kCut / 3 * (1 - inside * inside * inside);
    }
    return sum;
  }
};

double refined(const Fit& fit, double low, double high) {
  const double golden = (std::sqrt(5.0) - 1) / 2;
  double a = high - golden * (high - low), b = low + golden * (high - low);
  double cost_a = fit.cost(a), cost_b = fit.cost(b);
  while (high - low > 1e-4) {
    if (cost_a < cost_b) {
      high = b;
      b = a;
      cost_b = cost_a;
      a = high - golden * (high - low);
      cost_a = fit.cost(a);
    } else {
      low = a;
      a = b;
      cost_a = cost_b;
      b = low + golden * (high - low);
      cost_b = fit.cost(b);
    }
  }
  return (low + high) / 2;
}

// The median of the residuals over their sigmas.
double middle_residual(const Fit& fit, double turn_deg) {
  std::vector<double> sizes;
  for (const SkylinePoint& p : fit.points)
    sizes.push_back(std::abs(fit.residual_deg(p, turn_deg)) / fit.sigma_deg(p, turn_deg));
  const auto middle = sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() / 2);
  std::nth_element(sizes.begin(), middle, sizes.end());
  return *middle;
}

}  // namespace

Result<TerrainTurn> terrain_turn(std::span<const SkylinePoint> captured,
                                 const TerrainSkyline& terrain, double reach_deg) {
  if (terrain.points.empty() || !(reach_deg > 0))
    return fail(Code::bad_input, "error.no_computed_skyline");
  std::vector<SkylinePoint> points;
  std::vector<int> index;
  for (size_t i = 0; i < captured.size(); ++i) {
    const SkylinePoint& p = captured[i];
    if (p.computed || p.layer != 0 || !p.azimuth.finite() || !p.elevation.finite()) continue;
    points.push_back(p);
    index.push_back(static_cast<int>(i));
  }
  if (points.size() < kFewest) return fail(Code::bad_input, "error.too_few_skyline_points");

  Fit fit{points, terrain};
  const double widest = std::min(reach_deg, 180.0);
  const int steps = static_cast<int>(std::ceil(widest / kSearch_deg));
  std::vector<double> costs;
  for (int i = -steps; i <= steps; ++i) costs.push_back(fit.cost(i * kSearch_deg));
  const auto lowest = std::min_element(costs.begin(), costs.end());
  const int at = static_cast<int>(lowest - costs.begin()) - steps;
  TerrainTurn turn;
  turn.clockwise_deg = refined(fit, (at - 1) * kSearch_deg, (at + 1) * kSearch_deg);
  // The stated sigmas of aims and grid are rough; half of the points say how they really scatter,
  // whatever stands before the terrain elsewhere.
  fit.scale = std::clamp(1.4826 * middle_residual(fit, turn.clockwise_deg), 0.3, 3.0);
  turn.clockwise_deg = refined(fit, turn.clockwise_deg - 2, turn.clockwise_deg + 2);

  double information = 0, squares = 0, weighted = 0;
  for (size_t i = 0; i < points.size(); ++i) {
    const double off = fit.residual_deg(points[i], turn.clockwise_deg);
    const double sigma = fit.sigma_deg(points[i], turn.clockwise_deg);
    if (std::abs(off) > 3 * sigma) {
      (off > 0 ? turn.nearer : turn.below).push_back(index[i]);
      continue;
    }
    ++turn.fitting;
    squares += off * off;
    weighted += off * off / (sigma * sigma);
    information += std::pow(
        terrain_slope(terrain, points[i].azimuth.degrees() + turn.clockwise_deg) / sigma, 2);
  }
  if (turn.fitting < static_cast<int>(kFewest) ||
      2 * static_cast<size_t>(turn.fitting) < points.size())
    return fail(Code::out_of_range, "error.skyline_not_like_terrain");
  turn.spread_deg = std::sqrt(squares / turn.fitting);
  const double scatter = std::max(1.0, weighted / std::max(1, turn.fitting - 1));
  const double linear = information > 0 ? std::sqrt(scatter / information) : 180;
  // The line is jagged: how the misfit really grows on both sides counts as well.
  const double h = std::min(1.0, linear);
  const double growth = fit.cost(turn.clockwise_deg + h) + fit.cost(turn.clockwise_deg - h) -
                        2 * fit.cost(turn.clockwise_deg);
  turn.sigma_deg = std::max(linear, growth > 0 ? h * std::sqrt(2 * scatter / growth) : 180);
  if (turn.sigma_deg > 2) return fail(Code::out_of_range, "error.skyline_too_even");
  // Farther off than the fit itself is uncertain, and hardly dearer.
  for (int i = -steps; i <= steps; ++i)
    if (std::abs(i * kSearch_deg - turn.clockwise_deg) > std::max(kApart_deg, 5 * turn.sigma_deg) &&
        costs[static_cast<size_t>(i + steps)] < *lowest + kAlike)
      return fail(Code::out_of_range, "error.two_turns_fit");
  return turn;
}

HeadingCheck terrain_check(const TerrainTurn& turn) {
  HeadingCheck check;
  check.kind = CheckKind::terrain;
  check.measured = TrueAzimuth::degrees(0);
  check.known = TrueAzimuth::degrees(turn.clockwise_deg);
  check.measured_sigma_deg = turn.sigma_deg;
  check.known_sigma_deg = 0;
  return check;
}

std::vector<NearerStretch> nearer_than_terrain(const Mask& captured, const TerrainSkyline& terrain,
                                               double margin_deg) {
  std::vector<NearerStretch> stretches;
  bool inside = false;
  for (size_t i = 0; i < terrain.points.size(); ++i) {
    const double azimuth = static_cast<double>(i) * step_of(terrain);
    const MaskPiece& piece = captured.piece_at(azimuth);
    const double above = piece.elevation_deg(azimuth) - terrain.points[i].elevation.degrees();
    const bool nearer = !piece.open && piece.obstacle >= 0 && above > margin_deg;
    if (nearer && !inside) stretches.push_back({azimuth, azimuth, above});
    if (nearer) {
      stretches.back().to_deg = wrap_360(azimuth + step_of(terrain));
      stretches.back().highest_above_deg = std::max(stretches.back().highest_above_deg, above);
    }
    inside = nearer;
  }
  // One that runs over north was cut there.
  if (stretches.size() > 1 && stretches.front().from_deg == 0 && stretches.back().to_deg == 0) {
    stretches.back().to_deg = stretches.front().to_deg;
    stretches.back().highest_above_deg =
        std::max(stretches.back().highest_above_deg, stretches.front().highest_above_deg);
    stretches.erase(stretches.begin());
  }
  return stretches;
}

}  // namespace horizon
