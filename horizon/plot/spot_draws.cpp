#include "horizon/plot/spot_draws.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace horizon {
namespace {

constexpr int kBins = 360 * SunSamples::kBinsPerDegree;

// Where a spot lies between the places of a map at which the ridge, far away, is worked out.
struct Between {
  std::array<size_t, 4> node{};
  std::array<float, 4> weight{1, 0, 0, 0};
  float of(const float* values, size_t stride) const {
    return weight[0] * values[node[0] * stride] + weight[1] * values[node[1] * stride] +
           weight[2] * values[node[2] * stride] + weight[3] * values[node[3] * stride];
  }
};

// By how much nearer than taken a ridge of unknown distance stands in a draw: by a factor of two.
double nearness(size_t draw) {
  constexpr double kGolden = 0.6180339887, kSpread = 0.7;
  const double u = std::fmod((static_cast<double>(draw) + 0.5) * kGolden, 1.0);
  return std::exp(kSpread * std::log(u / (1 - u)) / 1.702);
}

// The ridge of each draw at five by five places, as tangents by the sun's bins, and the hours over it.
class DrawnRidges {
 public:
  DrawnRidges(const PlacedPlot& plot, const RidgeLifts& lifts, const SunSamples& sun,
              const GroundPlane& ground, Eigen::Vector2d low, Eigen::Vector2d high,
              double eye_height_m)
      : low_(low), span_(high - low), bins_(sun.bins().size()) {
    places_ = span_.isZero(0) ? 1 : kSide * kSide;  // one spot: the same everywhere
    if (lifts.empty()) return;
    const std::vector<float> line = tangents(plot, sun, ground, eye_height_m, false),
                             far = tangents(plot, sun, ground, eye_height_m, true);
    for (size_t d = 0; d <= lifts.size(); ++d) {  // the last as it was sighted
      const bool drawn = d < lifts.size();
      const auto near = static_cast<float>(drawn ? nearness(d) : 1);
      float lowest = 1e9f;
      for (size_t n = 0; n < places_; ++n) {
        double whole = 0;
        for (size_t b = 0; b < bins_; ++b) {
          const float endless = far[n * bins_ + b];
          tangent_.push_back(endless + near * (line[n * bins_ + b] - endless) +
                             (drawn ? lifts[d][b] : 0));
          hours_.push_back(static_cast<float>(sun.hours_above(b, tangent_.back())));
          lowest = std::min(lowest, tangent_.back());
          whole += hours_.back();
        }
        whole_.push_back(static_cast<float>(whole));
      }
      lowest_.push_back(lowest);
    }
  }
  Between between(double east, double north) const {
    Between out;
    if (places_ == 1) return out;
    constexpr double kCells = kSide - 1;
    const auto share = [&](double off, double span) {
      return span > 0 ? std::clamp(off / span * kCells, 0.0, kCells) : 0;
    };
    const double x = share(east - low_.x(), span_.x()), y = share(north - low_.y(), span_.y());
    const size_t c = std::min(static_cast<size_t>(x), kSide - 2),
                 r = std::min(static_cast<size_t>(y), kSide - 2);
    const auto u = static_cast<float>(x - static_cast<double>(c)),
               v = static_cast<float>(y - static_cast<double>(r));
    out.node = {r * kSide + c, r * kSide + c + 1, (r + 1) * kSide + c, (r + 1) * kSide + c + 1};
    out.weight = {(1 - v) * (1 - u), (1 - v) * u, v * (1 - u), v * u};
    return out;
  }
  double whole(const Between& at, size_t draw) const { return at.of(&whole_[draw * places_], 1); }
  float lowest(size_t draw) const { return lowest_[draw]; }  // anywhere, towards the sun
  float tangent(const Between& at, size_t draw, size_t bin) const {
    return at.of(&tangent_[draw * places_ * bins_ + bin], bins_);
  }
  float hours(const Between& at, size_t draw, size_t bin) const {
    return at.of(&hours_[draw * places_ * bins_ + bin], bins_);
  }

 private:
  std::vector<float> tangents(const PlacedPlot& plot, const SunSamples& sun,
                              const GroundPlane& ground, double eye_height_m, bool endless) const {
    PlacedPlot ridges = plot;
    ridges.shapes.clear();
    if (endless)
      for (size_t m = 0; m < ridges.rays.size(); ++m)
        if (!plot.survey.marks[m].distance_m) ridges.rays[m].inverse_m = 0;
    std::vector<double> azimuths, heights;
    for (const int bin : sun.bins()) azimuths.push_back((bin + 0.5) / SunSamples::kBinsPerDegree);
    std::vector<float> out;
    for (size_t n = 0; n < places_; ++n) {
      const Eigen::Vector2d share(static_cast<double>(n % kSide), static_cast<double>(n / kSide));
      const Eigen::Vector2d p = low_ + span_.cwiseProduct(share) / (kSide - 1);
      const SpotView view(ridges, ridges.rays,
                          {p.x(), p.y(), ground.up_at(p.x(), p.y()) + eye_height_m});
      view.highest_at(azimuths, -90, heights);
      for (const double el : heights)
        out.push_back(static_cast<float>(el > -90 ? std::tan(std::min(el, 89.0) * kDegree) : -2));
    }
    return out;
  }

  Eigen::Vector2d low_, span_;
  static constexpr size_t kSide = 5;
  size_t bins_, places_ = 1;
  std::vector<float> tangent_, hours_, whole_, lowest_;
};

// To a thousandth of a degree; a bin is a quarter. Abramowitz & Stegun 4.4.49.
double quick_azimuth_deg(double east, double north) {
  const double x = std::abs(east), y = std::abs(north);
  const double t = std::min(x, y) / std::max({x, y, 1e-12}), s = t * t;
  double angle =
      t * (0.9998660 + s * (-0.3302995 + s * (0.1801410 + s * (-0.0851330 + s * 0.0208351))));
  if (x > y) angle = std::numbers::pi / 2 - angle;
  if (north < 0) angle = std::numbers::pi - angle;
  return (east < 0 ? -angle : angle) / kDegree;
}

// The bins of the sun by azimuth, with their directions.
class BinTable {
 public:
  explicit BinTable(const SunSamples& sun) {
    index_.fill(-1);
    for (const int bin : sun.bins()) {
      index_[static_cast<size_t>(bin)] = static_cast<int>(cosine.size());
      const double az = (bin + 0.5) / SunSamples::kBinsPerDegree * kDegree;
      cosine.push_back(static_cast<float>(std::cos(az)));
      sine.push_back(static_cast<float>(std::sin(az)));
    }
    // The sun's part of the circle is what its widest gap leaves.
    double widest = 0, middle = 0;
    for (size_t i = 0; i < sun.bins().size(); ++i) {
      const int from = sun.bins()[i], to = sun.bins()[(i + 1) % sun.bins().size()];
      const double gap = wrap_360((to - from) / double{SunSamples::kBinsPerDegree});
      if (gap > widest) widest = gap, middle = from / double{SunSamples::kBinsPerDegree} + gap / 2;
    }
    half_rad_ = (180 - widest / 2) * kDegree;
    towards_ = -Eigen::Vector2d(std::sin(middle * kDegree), std::cos(middle * kDegree));
  }
  std::vector<float> cosine, sine;
  template <class F>
  void between(double from_deg, double width_deg, F&& f) const {
    constexpr double kPer = SunSamples::kBinsPerDegree;
    const int from = static_cast<int>(std::ceil(from_deg * kPer - 0.5));
    const int to = static_cast<int>(std::ceil((from_deg + width_deg) * kPer - 0.5));
    for (int bin = from; bin < to; ++bin) {
      const int b = index_[static_cast<size_t>((bin % kBins + kBins) % kBins)];
      if (b >= 0) f(static_cast<size_t>(b), bin);
    }
  }
  // Whether what reaches so far about a place `off` from the eye can stand before the sun.
  bool may_hide(const Eigen::Vector2d& off, double reach_m) const {
    const double away = off.norm();
    if (away <= reach_m) return true;
    const double open = half_rad_ + std::numbers::pi / 2 * reach_m / away + 0.01;  // asin, above
    return open >= std::numbers::pi || off.dot(towards_) >= away * std::cos(open);
  }

 private:
  std::array<int, kBins> index_;  // -1: the sun never comes here
  double half_rad_ = std::numbers::pi;
  Eigen::Vector2d towards_;
};

// A thing of one draw, with what does not change from spot to spot.
struct Standing {
  Shape shape;
  ShapeCorners corners;
  double reach_m = 0;
  explicit Standing(const Shape& s) : shape(s) {
    if (s.form != ShapeForm::round) corners = corners_of(s);
    reach_m = std::hypot(s.length_m, s.width_m) / 2;
  }
};

// What rises above level at a spot, as tangents by the sun's bins; 0 where nothing does.
class Rising {
 public:
  explicit Rising(size_t bins) : tangent_(bins) {}
  void clear() {
    for (const size_t b : bins_) tangent_[b] = 0;
    bins_.clear();
  }
  void raise(size_t bin, float tangent) {
    if (tangent <= tangent_[bin]) return;
    if (tangent_[bin] == 0) bins_.push_back(bin);
    tangent_[bin] = tangent;
  }
  std::span<const size_t> bins() const { return bins_; }
  float tangent(size_t bin) const { return tangent_[bin]; }

 private:
  std::vector<float> tangent_;
  std::vector<size_t> bins_;
};

// Raises the line by a thing; false where the eye is in it. What stays below `ridge` everywhere is
// not looked at.
bool raise(Rising& line, const Standing& thing, const Enu& eye, const BinTable& table,
           double ridge) {
  const Shape& shape = thing.shape;
  const Eigen::Vector2d off = shape.middle - eye.head<2>();
  const double clear = off.norm() - thing.reach_m;
  if (clear <= 0 && shape.covers(eye.x(), eye.y())) return false;
  if (shape.top_up_m - eye.z() <= std::max(0.0, ridge * clear) ||
      !table.may_hide(off, thing.reach_m))
    return true;
  if (shape.form == ShapeForm::round) {
    const CrownSeen seen = crown_seen(shape, eye);
    const double half = seen.half_width_rad / kDegree, middle = seen.azimuth_rad / kDegree;
    const auto wide = static_cast<float>(seen.wide_tan),
               up = static_cast<float>(seen.top_tan - seen.wide_tan);
    table.between(middle - half, 2 * half, [&](size_t b, int bin) {
      const auto t = static_cast<float>(((bin + 0.5) / SunSamples::kBinsPerDegree - middle) / half);
      line.raise(b, wide + up * std::sqrt(std::max(0.f, 1 - t * t)));
    });
    return true;
  }
  const ShapeCorners& corners = thing.corners;
  std::array<Enu, 6> at;
  std::array<double, 6> azimuth{};
  for (size_t c = 0; c < static_cast<size_t>(corners.count); ++c) {
    at[c] = corners.at[c] - eye;
    azimuth[c] = quick_azimuth_deg(at[c].x(), at[c].y());
  }
  for (int e = 0; e < corners.edge_count; ++e) {
    const auto i = static_cast<size_t>(corners.edges[static_cast<size_t>(e)][0]),
               j = static_cast<size_t>(corners.edges[static_cast<size_t>(e)][1]);
    const Enu &p = at[i], &q = at[j];
    // The plane through the eye and the edge: up = a north + b east of a unit of distance.
    const double cross = p.y() * q.x() - p.x() * q.y();
    if (std::abs(cross) < 1e-6) continue;
    const auto a = static_cast<float>((p.z() * q.x() - q.z() * p.x()) / cross),
               b = static_cast<float>((q.z() * p.y() - p.z() * q.y()) / cross);
    double from = azimuth[i], width = wrap_180(azimuth[j] - azimuth[i]);
    if (width < 0) from = azimuth[j], width = -width;
    table.between(from, width,
                  [&](size_t k, int) { line.raise(k, a * table.cosine[k] + b * table.sine[k]); });
  }
  return true;
}

}  // namespace

// Everything that is the same at all spots.
struct SpotDraws::Inner {
  Inner(const PlacedPlot& plot, const RidgeLifts& lifts, const SunSamples& sun, double eye_height_m,
        Eigen::Vector2d low, Eigen::Vector2d high)
      : plot_(plot),
        sun_(sun),
        draws_(lifts.size()),
        eye_height_m_(eye_height_m),
        ground_(ground_plane(plot.survey.stations)),
        table_(sun),
        ridges_(plot, lifts, sun, ground_, low, high, eye_height_m) {
    for (size_t d = 0; d < draws_; ++d)
      for (const PlacedShape& shape : plot.shapes) things_.emplace_back(shape.draws[world_of(d)]);
    if (draws_ > 0 && !plot.shapes.empty()) ends_ = plot.shapes.front().ends.size();
    for (size_t e = 0; e < ends_; ++e)
      for (const PlacedShape& shape : plot.shapes) things_.emplace_back(shape.ends[e]);
    if (!plot.grounds.empty()) mean_ground_ = mean_of(plot.grounds);
  }
  std::vector<float> draws(double east, double north) const {
    const Between at = ridges_.between(east, north);
    Rising rising(sun_.bins().size());
    std::vector<float> out;
    out.reserve(draws_);
    for (size_t d = 0; d < draws_; ++d)
      out.push_back(hours(at, d, d, plot_.grounds.empty() ? ground_ : plot_.grounds[world_of(d)],
                          east, north, rising));
    return out;
  }
  float least_at_ends(double east, double north) const {
    const Between at = ridges_.between(east, north);
    Rising rising(sun_.bins().size());
    float least = 1e9f;
    for (size_t e = draws_; e < draws_ + ends_; ++e)
      least = std::min(least, hours(at, e, draws_, mean_ground_, east, north, rising));
    return least;
  }

  // The worlds drawn are more than the map's: take them evenly.
  size_t world_of(size_t draw) const {
    return plot_.grounds.empty() ? 0 : draw * plot_.grounds.size() / draws_;
  }
  // Over the ridge, less what things take that rise above it.
  float hours(const Between& at, size_t world, size_t ridge, const GroundPlane& ground, double east,
              double north, Rising& rising) const {
    const Enu eye(east, north, ground.up_at(east, north) + eye_height_m_);
    rising.clear();
    const size_t count = plot_.shapes.size();
    for (size_t t = world * count; t < (world + 1) * count; ++t)
      if (!raise(rising, things_[t], eye, table_, ridges_.lowest(ridge))) return 0;
    double sum = ridges_.whole(at, ridge);
    for (const size_t b : rising.bins())
      if (rising.tangent(b) > ridges_.tangent(at, ridge, b))
        sum += sun_.hours_above(b, rising.tangent(b)) - ridges_.hours(at, ridge, b);
    return static_cast<float>(sum);
  }

  const PlacedPlot& plot_;
  const SunSamples& sun_;
  size_t draws_, ends_ = 0;
  double eye_height_m_;
  GroundPlane ground_, mean_ground_ = ground_;
  BinTable table_;
  DrawnRidges ridges_;
  std::vector<Standing> things_;  // of each draw in turn, then of each end
};

SpotDraws::SpotDraws(const PlacedPlot& plot, const RidgeLifts& lifts, const SunSamples& sun,
                     double eye_height_m, Eigen::Vector2d low, Eigen::Vector2d high)
    : in_(std::make_unique<Inner>(plot, lifts, sun, eye_height_m, low, high)) {}
SpotDraws::~SpotDraws() = default;
std::vector<float> SpotDraws::at(double east, double north) const {
  return in_->draws(east, north);
}
float SpotDraws::least_at_ends(double east, double north) const {
  return in_->least_at_ends(east, north);
}

}  // namespace horizon
