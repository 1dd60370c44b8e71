#include "horizon/terrain/horizon_sweep.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "horizon/angle.h"
#include "horizon/parallel.h"

// The same values on every machine; wider registers where there are some.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define ADRET_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define ADRET_WIDE
#endif

namespace horizon {
namespace {

constexpr int kNear = 16;  // steps met exactly; beyond, half a cell aside is a small angle
constexpr int kBent = 8, kCurved = 3;  // nearer, the surface within a cell counts
constexpr int kBlock = 64;  // lines of sight walked together, so that rows are read in one go
constexpr int kTile = 32;   // of a turned copy
constexpr float kNothing = -std::numeric_limits<float>::infinity();

// The grid turned so that one looks towards lower lines, and along a line lies what is beside.
struct Turned {
  bool swapped = false, flipped = false;  // lines are columns; counted from the far side
  int lines = 0, width = 0;
  double line_m = 1, width_m = 1;
  std::vector<float> heights;
  const float* line(int i) const { return heights.data() + static_cast<size_t>(i) * width; }
};

// from[line * ...] of the turned order; `back` copies the other way.
template <bool back>
void turn(const Turned& t, const float* from, float* to) {
  const int columns = t.swapped ? t.lines : t.width;
  for (int i0 = 0; i0 < t.lines; i0 += kTile)
    for (int j0 = 0; j0 < t.width; j0 += kTile)
      for (int i = i0; i < std::min(i0 + kTile, t.lines); ++i) {
        const int line = t.flipped ? t.lines - 1 - i : i;
        for (int j = j0; j < std::min(j0 + kTile, t.width); ++j) {
          const size_t plain = t.swapped ? static_cast<size_t>(j) * columns + line
                                         : static_cast<size_t>(line) * columns + j;
          const size_t turned = static_cast<size_t>(i) * t.width + j;
          if constexpr (back)
            to[plain] = from[turned];
          else
            to[turned] = from[plain];
        }
      }
}

Turned turned(const MetricGrid& grid, int quarter) {  // 0 north, 1 east, 2 south, 3 west
  Turned t;
  t.swapped = quarter % 2 == 1;
  t.flipped = quarter == 1 || quarter == 2;
  t.lines = t.swapped ? grid.columns : grid.rows;
  t.width = t.swapped ? grid.rows : grid.columns;
  t.line_m = t.swapped ? grid.column_m : grid.row_m;
  t.width_m = t.swapped ? grid.row_m : grid.column_m;
  t.heights.resize(grid.heights_m.size());
  turn<false>(t, grid.heights_m.data(), t.heights.data());
  return t;
}

// best = max(best, tangent to the height between four neighbours: two on a line, two on the next).
ADRET_WIDE void look(const float* far_line, const float* near_line, float towards, float aside,
                     const float* eye, float per_m, float lowered, float* best, int count) {
  for (int j = 0; j < count; ++j) {
    const float a = far_line[j] + aside * (far_line[j + 1] - far_line[j]);
    const float b = near_line[j] + aside * (near_line[j + 1] - near_line[j]);
    const float tangent = (a + towards * (b - a) - eye[j]) * per_m - lowered;
    best[j] = tangent > best[j] ? tangent : best[j];  // never for NaN
  }
}
ADRET_WIDE void look(const float* one, const float* other, float part, const float* eye,
                     float per_m, float lowered, float* best, int count) {
  for (int j = 0; j < count; ++j) {
    const float tangent = (one[j] + part * (other[j] - one[j]) - eye[j]) * per_m - lowered;
    best[j] = tangent > best[j] ? tangent : best[j];
  }
}

class Direction {
 public:
  // aside: how far the ray goes along the lines with each line it crosses, -1 to 1.
  Direction(const Turned& grid, double aside, const SweepOptions& options)
      : grid_(grid),
        options_(options),
        aside_(aside),
        step_m_(std::hypot(grid.line_m, aside * grid.width_m)),
        drop_((1 - options.refraction_k) / (2 * kEarthRadius_m)) {
    std::vector<double> crossed{0};  // lines of either sort, in lines that the ray crosses
    for (int s = 1; s <= kNear; ++s) {
      const double a = aside * (s - 1);
      const double whole = aside > 0 ? std::floor(a + 1e-9) + 1 : std::ceil(a - 1e-9) - 1;
      if (aside != 0 && std::abs(whole) < std::abs(aside * s) - 1e-9)
        crossed.push_back(whole / aside);
      crossed.push_back(s);
    }
    for (size_t i = 1; i < crossed.size(); ++i) {
      const int parts = crossed[i] <= kCurved ? 4 : crossed[i] <= kBent ? 2 : 1;
      for (int k = 1; k <= parts; ++k)
        near_.push_back(crossed[i - 1] + (crossed[i] - crossed[i - 1]) * k / parts);
    }
  }

  void sweep(std::vector<float>& tangents) const {
    in_parallel(options_.threads, grid_.lines, [&](int i) { near(i, row(tangents, i)); });
    // Line of sight k is at k - aside * i on line i.
    const double most = aside_ * (grid_.lines - 1);
    const int first = static_cast<int>(std::floor(std::min(0.0, most)));
    const int last = static_cast<int>(std::ceil(std::max(0.0, most))) + grid_.width;
    const int blocks = (last - first + kBlock - 1) / kBlock;
    in_parallel(options_.threads, blocks, [&](int b) { far(first + b * kBlock, tangents); });
  }

 private:
  struct Point {
    double x, z;
  };
  // What stands out along a line of sight, from far to near; each point hides what lies below the
  // straight line between its neighbours.
  struct Hull {
    std::vector<Point> points;
    size_t seen = 0;  // where the last look met it: the next is near
    void add(Point p) {
      while (points.size() > 1) {
        const Point &a = points[points.size() - 2], &b = points.back();
        if ((b.z - a.z) * (p.x - b.x) > (p.z - b.z) * (b.x - a.x)) break;
        points.pop_back();
      }
      points.push_back(p);
    }
    double tangent_from(double x, double z) {
      if (points.empty()) return -std::numeric_limits<double>::infinity();
      const auto slope = [&](size_t i) { return (points[i].z - z) / (x - points[i].x); };
      size_t i = std::min(seen, points.size() - 1);
      double best = slope(i);
      for (double next; i + 1 < points.size() && (next = slope(i + 1)) >= best; ++i) best = next;
      for (double next; i > 0 && (next = slope(i - 1)) > best; --i) best = next;
      seen = i;
      return best;
    }
  };

  float* row(std::vector<float>& all, int i) const {
    return all.data() + static_cast<size_t>(i) * grid_.width;
  }

  void near(int i, float* best) const {
    std::vector<float> eye(grid_.line(i), grid_.line(i) + grid_.width);
    for (int j = 0; j < grid_.width; ++j) {
      best[j] = std::isnan(eye[j]) ? eye[j] : kNothing;
      eye[j] += static_cast<float>(options_.eye_height_m);
    }
    for (const double lines_back : near_) {
      const double d = lines_back * step_m_;
      if (d < options_.from_m || d > options_.reach_m) continue;
      const int back = static_cast<int>(std::ceil(lines_back));
      if (i - back < 0) break;
      // Rounding must not make a place on a line one beside it.
      const double across = aside_ * lines_back, round = std::round(across);
      const bool on_crossing = std::abs(across - round) < 1e-6;
      const int whole = static_cast<int>(on_crossing ? round : std::floor(across));
      const float aside = on_crossing ? 0 : static_cast<float>(across - whole);
      const float towards = static_cast<float>(back - lines_back);
      const int begin = std::max(0, -whole);
      const int end = std::min(grid_.width, grid_.width - whole - !on_crossing);
      if (end <= begin) continue;
      const float* far_line = grid_.line(i - back) + whole + begin;
      const float* near_line = towards > 0 ? grid_.line(i - back + 1) + whole + begin : far_line;
      const float per_m = static_cast<float>(1 / d), lowered = static_cast<float>(drop_ * d);
      if (on_crossing)
        look(far_line, near_line, towards, eye.data() + begin, per_m, lowered, best + begin,
             end - begin);
      else if (towards == 0)
        look(far_line, far_line + 1, aside, eye.data() + begin, per_m, lowered, best + begin,
             end - begin);
      else
        look(far_line, near_line, towards, aside, eye.data() + begin, per_m, lowered, best + begin,
             end - begin);
    }
  }

  void add(Hull& hull, double line, double height) const {
    const double x = line * step_m_;
    if (!std::isnan(height)) hull.add({x, height - drop_ * x * x});
  }

  // Lines of sight first to first + kBlock, and the cells that lie between two of them.
  void far(int first, std::vector<float>& tangents) const {
    std::vector<Hull> hulls(kBlock + 1);
    for (int i = kNear + 1; i < grid_.lines; ++i) {
      const int met = i - kNear - 1;
      for (int k = 0; k <= kBlock; ++k) meet(hulls[k], first + k, met);
      // Cells of this line between lines of sight k and k + 1.
      const double shift = aside_ * i;
      const int begin = std::max(0, static_cast<int>(std::ceil(first - shift)));
      const int end = std::min(grid_.width, static_cast<int>(std::ceil(first + kBlock - shift)));
      const float* here = grid_.line(i);
      const double x = i * step_m_;
      float* best = row(tangents, i);
      for (int j = begin; j < end; ++j) {
        const double z = here[j] + options_.eye_height_m - drop_ * x * x;
        if (std::isnan(z)) continue;
        const double at = j + shift - first;
        const int k = std::min(static_cast<int>(at), kBlock - 1);
        const double part = at - k;
        double left = hulls[k].tangent_from(x, z), right = hulls[k + 1].tangent_from(x, z);
        if (std::isinf(left)) left = right;
        if (std::isinf(right)) right = left;
        const double tangent = left + part * (right - left) - 2 * drop_ * x;
        if (tangent > best[j]) best[j] = static_cast<float>(tangent);
      }
    }
  }

  // The places of line of sight k between the lines `met` - 1 and `met` of the grid, far ones first.
  void meet(Hull& hull, int k, int met) const {
    const double y = k - aside_ * met;
    const double whole = std::floor(y), part = y - whole;
    // The crossing of a grid line that runs the ray's way, between this line and the one before.
    const double before = k - aside_ * (met - 1);
    if (met > 0 && aside_ != 0) {
      const double crossing = std::floor(std::max(y, before));
      if (crossing > std::min(y, before) && crossing < std::max(y, before) && crossing >= 0 &&
          crossing < grid_.width) {
        const double line = (k - crossing) / aside_, share = met - line;
        const int j = static_cast<int>(crossing);
        const double a = grid_.line(met)[j], b = grid_.line(met - 1)[j];
        add(hull, line, a + share * (b - a));
      }
    }
    const int j = static_cast<int>(whole);
    if (j < 0 || j >= grid_.width || (part > 0 && j + 1 >= grid_.width)) return;
    const float* line = grid_.line(met);
    add(hull, met, part > 0 ? line[j] + part * (line[j + 1] - line[j]) : line[j]);
  }

  const Turned& grid_;
  const SweepOptions& options_;
  double aside_, step_m_, drop_;
  std::vector<double> near_;  // places along the ray, in lines that it crosses
};

}  // namespace

bool horizon_sweep(const MetricGrid& grid, std::span<const double> azimuths_deg,
                   const SweepOptions& options, const EachDirection& each) {
  assert(grid.columns > 1 && grid.rows > 1);
  std::vector<float> tangents(grid.heights_m.size()), plain(grid.heights_m.size());
  for (int quarter = 0; quarter < 4; ++quarter) {
    Turned t;
    for (const double azimuth : azimuths_deg) {
      const double east = std::sin(azimuth * kDegree) / grid.column_m;
      const double north = std::cos(azimuth * kDegree) / grid.row_m;
      const bool along_rows = std::abs(east) > std::abs(north);
      const int its = along_rows ? (east > 0 ? 1 : 3) : (north > 0 ? 0 : 2);
      if (its != quarter) continue;
      if (t.heights.empty()) t = turned(grid, quarter);
      // Beside the way lie the east (columns count on) or the south (rows do).
      const double aside = along_rows ? -north / std::abs(east) : east / std::abs(north);
      Direction(t, aside, options).sweep(tangents);
      turn<true>(t, tangents.data(), plain.data());
      if (!each(azimuth, plain)) return false;
    }
  }
  return true;
}

}  // namespace horizon
