#include "horizon/photo/photo_points.h"

#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

// Neighbours of the line farther apart than this many of its usual steps leave the skyline open.
constexpr double kGapSteps = 3;

int obstacle_at(double x_px, std::span<const PhotoStretch> stretches) {
  for (const PhotoStretch& s : stretches)
    if (x_px >= s.from_px && x_px < s.to_px) return s.obstacle;
  return 0;
}

// Degrees by which a point lies off the straight join of two others.
double off_deg(const SkylinePoint& a, const SkylinePoint& b, const SkylinePoint& p) {
  const double width = clockwise_deg(a.azimuth, b.azimuth);
  const double along = clockwise_deg(a.azimuth, p.azimuth);
  const double rise = b.elevation.degrees() - a.elevation.degrees();
  const double up = p.elevation.degrees() - a.elevation.degrees();
  const double length = std::hypot(width, rise);
  if (length == 0) return std::hypot(along, up);
  return std::abs(along * rise - up * width) / length;
}

void keep_corners(std::span<const SkylinePoint> run, size_t from, size_t to, double tolerance_deg,
                  std::vector<bool>& keep) {
  size_t worst = from;
  double most = tolerance_deg;
  for (size_t i = from + 1; i < to; ++i)
    if (const double off = off_deg(run[from], run[to], run[i]); off > most) {
      most = off;
      worst = i;
    }
  if (worst == from) return;
  keep[worst] = true;
  keep_corners(run, from, worst, tolerance_deg, keep);
  keep_corners(run, worst, to, tolerance_deg, keep);
}

}  // namespace

std::vector<SkylinePoint> thinned_points(std::span<const SkylinePoint> run, double tolerance_deg,
                                         double widest_deg) {
  std::vector<SkylinePoint> kept;
  if (run.empty()) return kept;
  std::vector<bool> keep(run.size(), false);
  keep.front() = keep.back() = true;
  keep_corners(run, 0, run.size() - 1, tolerance_deg, keep);
  for (size_t i = 0; i < run.size(); ++i) {
    const bool wide = !kept.empty() && i + 1 < run.size() &&
                      clockwise_deg(kept.back().azimuth, run[i + 1].azimuth) > widest_deg;
    if (keep[i] || wide) kept.push_back(run[i]);
  }
  return kept;
}

Result<PhotoSkyline> photo_skyline(const PhotoLine& line, const PhotoOrientation& orientation,
                                   std::span<const PhotoStretch> stretches, double tolerance_deg) {
  if (!(orientation.camera.focal_px > 0)) return fail(Code::bad_input, "error.photo_no_direction");
  if (!(tolerance_deg >= 0)) return fail(Code::bad_input, "error.tolerance_negative");
  if (line.unsure)
    return fail(Code::bad_input, line.why.empty() ? "error.photo_line_unsure" : line.why);

  PhotoSkyline result;
  result.bearing_sigma_deg = orientation.bearing_sigma_deg();
  result.tilt_sigma_deg = std::sqrt(orientation.covariance(1, 1));
  const double step_px = line.points.size() > 1 ? line.points[1].x_px - line.points[0].x_px : 1;
  std::vector<SkylinePoint> run;
  double last_px = 0;
  const auto close_run = [&] {
    for (const SkylinePoint& p : thinned_points(run, tolerance_deg)) result.points.push_back(p);
    run.clear();
  };
  for (size_t i = 0; i < line.points.size(); ++i) {
    const LinePoint& p = line.points[i];
    if (!p.sure) continue;
    const Direction d = direction_of(orientation.camera, {p.x_px, p.y_px});
    const double pixel_deg = p.sigma_px / orientation.camera.focal_px / kDegree;
    SkylinePoint point;
    point.azimuth = d.azimuth;
    point.elevation = d.elevation;
    point.azimuth_sigma_deg = pixel_deg / std::max(0.05, std::cos(d.elevation.radians()));
    point.elevation_sigma_deg = pixel_deg;
    point.obstacle = obstacle_at(p.x_px, stretches);
    point.source = static_cast<int>(i);
    if (!run.empty() &&
        (p.x_px - last_px > kGapSteps * step_px || run.back().obstacle != point.obstacle))
      close_run();
    run.push_back(point);
    last_px = p.x_px;
  }
  close_run();
  return result;
}

}  // namespace horizon
