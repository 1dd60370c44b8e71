#include "horizon/photo/turn_align.h"

#include <Eigen/Dense>
#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

constexpr float kLeastGradient = 3.0F;  // levels a pixel: below it is noise
constexpr int kLeastSpots = 60;
constexpr double kFits = 3;          // robust sigmas
constexpr double kMostMisfit = 0.7;  // of the spots' own gradient: a pixel beside is as bad
constexpr float kCounts = 0.3F;      // spots of less weight help but do not judge
constexpr int kRounds = 12;
constexpr float kLeastLight = 8;
constexpr int kNeighbourhood = 20;  // pixels of the finest level
// Neighbouring spots err together.
constexpr double kAlike = 3;
// A hand carries the camera round at 0.3 m, 1.6 m above the ground (common practice, no source): over
// 10 degrees, what lies an angle below the skyline shifts by at most 0.3 * 0.17 / 1.6 of it.
constexpr double kNearShift = 0.03;

GreyLevel halved(const GreyLevel& in) {
  GreyLevel out;
  out.width = in.width / 2;
  out.height = in.height / 2;
  out.values.resize(static_cast<std::size_t>(out.width) * out.height);
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x)
      out.values[static_cast<std::size_t>(y) * out.width + x] =
          (in.at(2 * x, 2 * y) + in.at(2 * x + 1, 2 * y) + in.at(2 * x, 2 * y + 1) +
           in.at(2 * x + 1, 2 * y + 1)) /
          4;
  return out;
}

std::vector<AlignSpot> spots_of(const GreyLevel& g, int cell,
                                const std::function<SpotPlace(float, float)>& place_at) {
  std::vector<AlignSpot> spots;
  for (int cy = 1; cy + cell < g.height; cy += cell)
    for (int cx = 1; cx + cell < g.width; cx += cell) {
      AlignSpot best;
      float most = kLeastGradient * kLeastGradient;
      for (int y = cy; y < cy + cell; ++y)
        for (int x = cx; x < cx + cell; ++x) {
          const float gx = (g.at(x + 1, y) - g.at(x - 1, y)) / 2,
                      gy = (g.at(x, y + 1) - g.at(x, y - 1)) / 2;
          if (gx * gx + gy * gy <= most) continue;
          most = gx * gx + gy * gy;
          const SpotPlace place = place_at((x + 0.5F) / g.width, (y + 0.5F) / g.height);
          best = {x + 0.5F - g.width / 2.0F,
                  y + 0.5F - g.height / 2.0F,
                  g.at(x, y),
                  gx,
                  gy,
                  place.weight,
                  place.near};
        }
      if (best.weight > 0 && most > kLeastGradient * kLeastGradient) spots.push_back(best);
    }
  return spots;
}

// Between pixels; nothing at the edge.
bool sampled(const GreyLevel& g, double x, double y, float& value) {
  const double u = x + g.width / 2.0 - 0.5, v = y + g.height / 2.0 - 0.5;
  if (!(u >= 0 && v >= 0 && u < g.width - 1 && v < g.height - 1)) return false;
  const int x0 = static_cast<int>(u), y0 = static_cast<int>(v);
  const float a = static_cast<float>(u - x0), b = static_cast<float>(v - y0);
  value = (1 - a) * ((1 - b) * g.at(x0, y0) + b * g.at(x0, y0 + 1)) +
          a * ((1 - b) * g.at(x0 + 1, y0) + b * g.at(x0 + 1, y0 + 1));
  return true;
}

double middle_of(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

constexpr int kUnknowns = 6;  // rotation, contrast, brightness, shift of what is near
using Vector6d = Eigen::Matrix<double, kUnknowns, 1>;
using Matrix6d = Eigen::Matrix<double, kUnknowns, kUnknowns>;

// The spots of one level laid on another frame, beginning from what `result` says.
class LevelFit {
 public:
  LevelFit(const std::vector<AlignSpot>& spots, const GreyLevel& grey, double f, Alignment& result)
      : spots_(spots), grey_(grey), f_(f), out_(result), left_(spots.size()), rows_(spots.size()) {
    for (std::size_t i = 0; i < spots.size(); ++i) {
      const AlignSpot& s = spots[i];
      const Eigen::Vector3d ray(s.x / f, -s.y / f, 1);
      rows_[i] << ray.cross(
          Eigen::Vector3d(s.gx * f, -s.gy * f, -s.gx * f * ray.x() + s.gy * f * ray.y())),
          s.grey, 1, s.gx * f * s.near;
    }
  }
  // False: too little to lay one on the other by.
  bool run(int least_spots) {
    out_.good = false;
    for (int round = 0; round < kRounds; ++round) {
      look(out_.rotation, out_.near_shift, left_);
      weigh();
      if (out_.spots < least_spots) return false;
      const Vector6d step = solved();
      const Eigen::Vector3d turn = step.head<3>();
      if (!step.allFinite() || turn.norm() > 0.2) return false;
      // Products of many rotations drift from being one.
      out_.rotation =
          Eigen::Quaterniond(out_.rotation * rotation_by(-turn)).normalized().toRotationMatrix();
      gain_ = step[3];
      offset_ = step[4];
      out_.near_shift += step[5];
      if (turn.norm() * f_ < 0.01) break;
    }
    const Matrix6d inverse = solver_.solve(Matrix6d::Identity());
    const Eigen::Matrix3d spread = inverse.topLeftCorner<3, 3>();
    out_.sigma_rad = out_.misfit * std::sqrt(kAlike * spread.trace() / 3);
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> axes(spread);
    out_.holds = held(axes.eigenvectors().col(2));
    out_.good = out_.misfit < kMostMisfit * out_.contrast + 0.5 && std::abs(gain_) < 0.7 &&
                out_.sigma_rad * f_ < 1;
    return true;
  }

 private:
  static constexpr float kUnseen = 1e9F;
  // By how much each spot's grey differs.
  void look(const Eigen::Matrix3d& rotation, double shift, std::vector<float>& left) const {
    for (std::size_t i = 0; i < spots_.size(); ++i) {
      const AlignSpot& s = spots_[i];
      const Eigen::Vector3d there =
          rotation * Eigen::Vector3d(s.x / f_ - shift * s.near, -s.y / f_, 1);
      float value = 0;
      left[i] = there.z() > 0.2 && sampled(grey_, f_ * there.x() / there.z(),
                                           -f_ * there.y() / there.z(), value)
                    ? value - s.grey
                    : kUnseen;
    }
  }
  float rest(std::size_t i, const std::vector<float>& left) const {
    return left[i] - static_cast<float>(gain_ * spots_[i].grey + offset_);
  }
  void weigh() {
    std::vector<double> sizes, gradients;
    for (std::size_t i = 0; i < spots_.size(); ++i) {
      if (left_[i] == kUnseen || spots_[i].weight < kCounts) continue;
      sizes.push_back(std::abs(rest(i, left_)));
      gradients.push_back(std::hypot(spots_[i].gx, spots_[i].gy));
    }
    out_.spots = static_cast<int>(sizes.size());
    out_.misfit = std::max(1.0, 1.4826 * middle_of(std::move(sizes)));
    out_.contrast = middle_of(std::move(gradients));
  }
  Vector6d solved() {
    Matrix6d a = Matrix6d::Zero();
    Vector6d b = Vector6d::Zero();
    for (std::size_t i = 0; i < spots_.size(); ++i) {
      if (left_[i] == kUnseen) continue;
      const double size = std::abs(rest(i, left_)) / out_.misfit;
      if (size > 2 * kFits) continue;
      const double w = spots_[i].weight * (size > 1.5 ? 1.5 / size : 1.0);
      a.noalias() += w * rows_[i] * rows_[i].transpose();
      b += w * left_[i] * rows_[i];
    }
    const double prior = out_.misfit * out_.misfit / (kNearShift * kNearShift);
    a.diagonal() += Vector6d::Constant(1e-6);
    a(5, 5) += prior;
    b[5] -= prior * out_.near_shift;
    solver_.compute(a);
    return solver_.solve(b);
  }
  // Turned a pixel about this axis to either side, does the picture fit less well, as its drawing
  // promises? A straight rim fits wherever it slides along itself.
  double held(const Eigen::Vector3d& axis) const {
    const double least = 2 * kFits * out_.misfit;
    std::vector<float> here(spots_.size()), there(spots_.size()), back(spots_.size());
    look(out_.rotation, out_.near_shift, here);
    look(out_.rotation * rotation_by(axis / f_), out_.near_shift, there);
    look(out_.rotation * rotation_by(-axis / f_), out_.near_shift, back);
    double rises = 0, promised = 0;
    const auto cost = [&](float rest) { return std::min<double>(rest * rest, least * least); };
    for (std::size_t i = 0; i < spots_.size(); ++i) {
      if (here[i] == kUnseen || there[i] == kUnseen || back[i] == kUnseen) continue;
      const double w = spots_[i].weight, moved = rows_[i].head<3>().dot(axis) / f_;
      rises += w * ((cost(rest(i, there)) + cost(rest(i, back))) / 2 - cost(rest(i, here)));
      promised += w * cost(static_cast<float>(moved));
    }
    return rises / std::max(promised, 1e-9);
  }

  const std::vector<AlignSpot>& spots_;
  const GreyLevel& grey_;
  double f_, gain_ = 0, offset_ = 0;
  Alignment& out_;
  std::vector<float> left_;
  std::vector<Vector6d> rows_;
  Eigen::LDLT<Matrix6d> solver_;
};

}  // namespace

Eigen::Matrix3d rotation_by(const Eigen::Vector3d& vector) {
  const double angle = vector.norm();
  if (angle < 1e-14) return Eigen::Matrix3d::Identity();
  return Eigen::AngleAxisd(angle, vector / angle).toRotationMatrix();
}

Eigen::Vector3d vector_of(const Eigen::Matrix3d& rotation) {
  const Eigen::AngleAxisd turn(rotation);
  return turn.angle() * turn.axis();
}

GreyPyramid grey_pyramid(const Grid& luma) {
  GreyLevel first;
  first.width = luma.width;
  first.height = luma.height;
  first.values.resize(luma.values.size());
  for (int x = 0; x < luma.width; ++x)
    for (int y = 0; y < luma.height; ++y)
      first.values[static_cast<std::size_t>(y) * luma.width + x] = luma.at(x, y);
  // Noise of the sensor would be taken for drawing.
  std::vector<float> row(first.values);
  const auto index = [&](int x, int y) { return static_cast<std::size_t>(y) * first.width + x; };
  for (int y = 0; y < first.height; ++y)
    for (int x = 1; x + 1 < first.width; ++x)
      row[index(x, y)] = (first.at(x - 1, y) + 2 * first.at(x, y) + first.at(x + 1, y)) / 4;
  first.values = row;
  for (int y = 1; y + 1 < first.height; ++y)
    for (int x = 0; x < first.width; ++x)
      first.values[index(x, y)] =
          (row[index(x, y - 1)] + 2 * row[index(x, y)] + row[index(x, y + 1)]) / 4;
  // The lens is darker towards its edges and the exposure wanders: only the part by which a spot
  // differs from its neighbourhood counts.
  const Grid nearby = box_mean(luma, kNeighbourhood);
  for (int y = 0; y < first.height; ++y)
    for (int x = 0; x < first.width; ++x) {
      float& v = first.values[index(x, y)];
      v = 100 * v / (nearby.at(x, y) + kLeastLight);
    }
  GreyPyramid pyramid;
  pyramid.levels.push_back(std::move(first));
  while (pyramid.levels.size() < kLevels) pyramid.levels.push_back(halved(pyramid.levels.back()));
  return pyramid;
}

AlignReference align_reference(const GreyPyramid& frame,
                               const std::function<SpotPlace(float, float)>& place_at) {
  AlignReference reference;
  int cell = 8;
  for (const GreyLevel& level : frame.levels) {
    reference.levels.push_back(spots_of(level, cell, place_at));
    cell = std::max(3, cell - 2);
  }
  return reference;
}

Alignment aligned(const AlignReference& first, const GreyPyramid& second, double focal_px,
                  const Eigen::Matrix3d& guess, int finest, int coarsest) {
  Alignment result;
  result.rotation = guess;
  for (int level = coarsest; level >= finest; --level) {
    LevelFit fit(first.levels[static_cast<std::size_t>(level)],
                 second.levels[static_cast<std::size_t>(level)], focal_px / (1 << level), result);
    if (!fit.run(kLeastSpots / (1 << level))) return result;
  }
  return result;
}

}  // namespace horizon
