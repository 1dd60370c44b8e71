#include "horizon/sun/sun_path.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "horizon/sun/sun.h"

namespace horizon {
namespace {

constexpr double kFloor_deg = -4;            // no skyline seen from the ground lies lower
constexpr double kShortest_s = 0.5;          // a stretch is not halved below this
constexpr double kElevationSlack_deg = 0.2;  // how far a gentle stretch bends beyond its ends
constexpr double kAzimuthSlack_deg = 0.3;

// The sun between two nodes: cubics in u, 0 to 1. The azimuth runs on over north.
struct Stretch {
  double from_utc_s = 0, length_s = 0;
  double az[4], el[4];

  double utc_s(double u) const { return from_utc_s + u * length_s; }
  static double value(const double (&c)[4], double u) {
    return c[0] + u * (c[1] + u * (c[2] + u * c[3]));
  }
  static double slope(const double (&c)[4], double u) {
    return c[1] + u * (2 * c[2] + u * 3 * c[3]);
  }
};

void set_cubic(double (&c)[4], double y0, double y1, double d0, double d1) {
  c[0] = y0;
  c[1] = d0;
  c[2] = 3 * (y1 - y0) - 2 * d0 - d1;
  c[3] = 2 * (y0 - y1) + d0 + d1;
}

Stretch stretch_between(const SunPath::Node& a, const SunPath::Node& b, double from,
                        double length) {
  Stretch s;
  s.from_utc_s = from;
  s.length_s = length;
  const double turn = wrap_180(b.azimuth_deg - a.azimuth_deg);
  set_cubic(s.az, a.azimuth_deg, a.azimuth_deg + turn, a.azimuth_rate * length,
            b.azimuth_rate * length);
  set_cubic(s.el, a.elevation_deg, b.elevation_deg, a.elevation_rate * length,
            b.elevation_rate * length);
  return s;
}

// The azimuth follows a cubic to 0.00002 degree while the sun moves by less than a tenth of its
// distance from the zenith; it then turns by less than 6 degrees.
bool is_gentle(const SunPath::Node& a, const SunPath::Node& b, double length) {
  constexpr double kSunSpeed = 15.1 / 3600;  // degrees a second across the sky, at most
  return kSunSpeed * length < 0.1 * (90.0 - std::max(a.elevation_deg, b.elevation_deg));
}

// Zero of f in [a, b] where f changes sign: false position with the halving of Illinois.
template <class F>
double zero_in(double a, double fa, double b, double fb, double tolerance, const F& f) {
  for (int i = 0; i < 100 && b - a > tolerance; ++i) {
    double x = (a * fb - b * fa) / (fb - fa);
    if (!(x > a && x < b)) x = (a + b) / 2;
    if (i % 8 == 7) x = (a + b) / 2;  // never stuck at one end
    const double fx = f(x);
    if (std::abs(fx) < 1e-11) return x;
    if ((fx > 0) == (fb > 0)) {
      b = x;
      fb = fx;
      fa /= 2;
    } else {
      a = x;
      fa = fx;
      fb /= 2;
    }
  }
  return (a + b) / 2;
}

// Where the azimuth turns back inside (0, 1): zeros of a quadratic.
int turning_points(const Stretch& s, std::array<double, 2>& at) {
  const double a = 3 * s.az[3], b = 2 * s.az[2], c = s.az[1];
  const double inner = b * b - 4 * a * c;
  if (inner <= 0) return 0;
  const double q = -0.5 * (b + std::copysign(std::sqrt(inner), b));
  int found = 0;
  for (double u : {a != 0 ? q / a : -1, q != 0 ? c / q : -1})
    if (u > 0 && u < 1) at[found++] = u;
  if (found == 2 && at[0] > at[1]) std::swap(at[0], at[1]);
  return found;
}

// When the azimuth comes to `edge` in [from, to], where it only grows or only falls.
double azimuth_reached(const Stretch& s, double edge, double from, double to) {
  double u = from + (edge - Stretch::value(s.az, from)) / Stretch::slope(s.az, from);
  for (int i = 0; i < 3; ++i) {
    if (!(u >= from && u <= to)) break;
    const double step = (Stretch::value(s.az, u) - edge) / Stretch::slope(s.az, u);
    u -= step;
    if (std::abs(step) < 1e-7 && u >= from && u <= to) return u;  // the next step: below 1e-12
  }
  const auto beyond = [&](double x) { return Stretch::value(s.az, x) - edge; };
  return zero_in(from, beyond(from), to, beyond(to), 1e-9, beyond);
}

// Calls part(piece, turn, u0, u1) for each part of [from, to] over one piece; the azimuth along the
// stretch minus `turn` is the piece's own.
template <class Part>
void over_pieces(const Stretch& s, std::span<const MaskPiece> pieces, double from, double to,
                 const Part& part) {
  std::array<double, 2> turns{};
  const int turn_count = turning_points(s, turns);
  const int last = static_cast<int>(pieces.size()) - 1;
  double u0 = from;
  for (int k = 0; k <= turn_count; ++k) {
    const double end = k < turn_count ? std::min(turns[k], to) : to;
    if (end <= u0) continue;
    const double az0 = Stretch::value(s.az, u0), az1 = Stretch::value(s.az, end);
    const bool clockwise = az1 >= az0;
    double turn = 360 * std::floor(az0 / 360);
    int i = static_cast<int>(
        std::upper_bound(pieces.begin(), pieces.end(), az0 - turn,
                         [](double az, const MaskPiece& p) { return az < p.to_deg; }) -
        pieces.begin());
    i = std::min(i, last);
    if (!clockwise && az0 - turn <= pieces[i].from_deg && --i < 0) {
      i = last;
      turn -= 360;
    }
    while (true) {
      const double edge = (clockwise ? pieces[i].to_deg : pieces[i].from_deg) + turn;
      if (clockwise ? edge >= az1 : edge <= az1) break;
      const double at = azimuth_reached(s, edge, u0, end);
      part(pieces[i], turn, u0, at);
      u0 = at;
      i += clockwise ? 1 : -1;
      if (i > last) {
        i = 0;
        turn += 360;
      } else if (i < 0) {
        i = last;
        turn -= 360;
      }
    }
    part(pieces[i], turn, u0, end);
    u0 = end;
  }
}

// The lowest and highest of the line in each half degree, to pass over most of the day at a glance.
class Bounds {
 public:
  explicit Bounds(const Mask& mask) : highest_(mask.highest_deg()) {
    low_.fill(90);
    high_.fill(-90);
    for (const MaskPiece& p : mask.pieces()) {
      const int first = static_cast<int>(p.from_deg * kPerDegree);
      const int last = std::min(kBins - 1, static_cast<int>(p.to_deg * kPerDegree));
      double left = p.from_deg, left_el = p.elevation_deg(left);
      for (int bin = first; bin <= last; ++bin) {
        const double right = std::min(p.to_deg, (bin + 1.0) / kPerDegree);
        const double right_el = p.elevation_deg(right);
        // The most that a great circle bends over half a degree: |el''| < 0.65 (a^2 + b^2) + 1.
        const double bend =
            p.edge == Edge::great_circle ? 0.001 + 4e-4 * (p.a * p.a + p.b * p.b) : 0;
        low_[bin] = std::min({low_[bin], left_el - bend, right_el - bend});
        high_[bin] = std::max({high_[bin], left_el + bend, right_el + bend});
        left = right;
        left_el = right_el;
      }
    }
  }

  double highest() const { return highest_; }
  struct Range {
    double low = 90, high = -90;
  };
  // From one azimuth the short way to another.
  Range between(double from, double to) const {
    const double turn = wrap_180(to - from);
    double left = (turn < 0 ? from + turn : from) - kAzimuthSlack_deg;
    if (left < 0) left += 360;
    int bin = static_cast<int>(left * kPerDegree);
    const int count = static_cast<int>((std::abs(turn) + 2 * kAzimuthSlack_deg) * kPerDegree) + 2;
    Range range;
    for (int i = 0; i < count; ++i, ++bin) {
      if (bin >= kBins) bin -= kBins;
      range.low = std::min(range.low, low_[bin]);
      range.high = std::max(range.high, high_[bin]);
    }
    return range;
  }

 private:
  static constexpr int kPerDegree = 2, kBins = 360 * kPerDegree;
  std::array<double, kBins> low_, high_;
  double highest_;
};

class WindowFinder {
 public:
  WindowFinder(const SunPath& path, const Mask& mask, Limb limb)
      : path_(path), mask_(mask), bounds_(mask), limb_(limb) {
    // Largest at -1.9 degrees, and falling from there on.
    for (int i = 0; i < kLifts; ++i)
      lifts_[i] = refraction_deg(std::max(kFloor_deg + i, -1.9), path.air());
  }

  SunWindows find() {
    for (const SunPath::Run& run : path_.runs()) {
      for (size_t i = 0; i + 1 < run.nodes.size(); ++i) {
        const double t = run.from_utc_s + i * SunPath::kStep_s;
        if (i % 144 == 0 && limb_ != Limb::centre) {
          // Half the disc changes by 0.00002 degree a day; a polar day's run goes on for months.
          const double half_disc = path_.track().at(t).semidiameter_deg;
          lift_ = limb_ == Limb::upper ? half_disc : -half_disc;
        }
        stretch(run.nodes[i], run.nodes[i + 1], t, SunPath::kStep_s);
      }
      now(false, run.from_utc_s + (run.nodes.size() - 1) * SunPath::kStep_s);
    }
    return std::move(windows_);
  }

 private:
  // The refraction at an elevation is no more than this.
  double most_lift(double elevation_deg) const {
    const int i = static_cast<int>(elevation_deg - kFloor_deg);
    return lifts_[std::clamp(i, 0, kLifts - 1)];
  }

  void now(bool up, double utc_s) {
    if (up == up_) return;
    if (up)
      since_ = utc_s;
    else if (utc_s > since_)
      windows_.push_back({since_, utc_s});
    up_ = up;
  }

  void stretch(const SunPath::Node& a, const SunPath::Node& b, double from, double length) {
    const bool gentle = is_gentle(a, b, length);
    const double slack = std::abs(lift_) + (gentle ? kElevationSlack_deg : 0.005 * length);
    // Refraction only lifts, so the lowest needs none and the highest its most.
    const double lowest = std::min(a.elevation_deg, b.elevation_deg) - slack;
    if (lowest > bounds_.highest()) return now(true, from);
    if (gentle) {
      const Bounds::Range line = bounds_.between(a.azimuth_deg, b.azimuth_deg);
      if (lowest > line.high) return now(true, from);
      const double highest = std::max(a.elevation_deg, b.elevation_deg) + slack;
      if (highest + most_lift(highest) < line.low) return now(false, from);
    } else if (length > kShortest_s) {
      const double half = length / 2;
      const SunPath::Node middle = path_.node_at(from + half);
      stretch(a, middle, from, half);
      stretch(middle, b, from + half, half);
      return;
    }
    const Stretch s = stretch_between(a, b, from, length);
    over_pieces(
        s, mask_.pieces(), 0, 1, [&](const MaskPiece& piece, double turn, double u0, double u1) {
          if (clear_of(s, piece, u0, u1)) return;
          // Quarters, so that the height over the line turns at most once in each.
          const int parts = std::max(1, static_cast<int>(std::ceil((u1 - u0) * 4 - 1e-9)));
          for (int i = 0; i < parts; ++i)
            cross(s, piece, turn, u0 + (u1 - u0) * i / parts, u0 + (u1 - u0) * (i + 1) / parts);
        });
  }

  // Far above or below the piece all the time.
  bool clear_of(const Stretch& s, const MaskPiece& piece, double u0, double u1) {
    if (piece.edge != Edge::straight) return false;
    const double e0 = Stretch::value(s.el, u0) + lift_, e1 = Stretch::value(s.el, u1) + lift_;
    const double bend = kElevationSlack_deg * (u1 - u0);
    const auto [line_low, line_high] = std::minmax(piece.from_el_deg, piece.to_el_deg);
    const double highest = std::max(e0, e1) + bend;
    if (std::min(e0, e1) - bend > line_high)
      now(true, s.utc_s(u0));
    else if (highest + most_lift(highest) < line_low)
      now(false, s.utc_s(u0));
    else
      return false;
    return true;
  }

  void cross(const Stretch& s, const MaskPiece& piece, double turn, double u0, double u1) {
    const auto apparent = [&](double u) {
      return apparent_elevation_deg(Stretch::value(s.el, u) + lift_, path_.air());
    };
    const auto line = [&](double u) { return piece.elevation_deg(Stretch::value(s.az, u) - turn); };
    const auto height = [&](double u) { return apparent(u) - line(u); };
    const auto climb = [&](double u) {
      const double rise = Stretch::slope(s.el, u) *
                          (1 + refraction_slope(Stretch::value(s.el, u) + lift_, path_.air()));
      return rise - line_slope(piece, Stretch::value(s.az, u) - turn) * Stretch::slope(s.az, u);
    };
    const double tolerance = 1e-3 / s.length_s;
    const double e0 = apparent(u0), e1 = apparent(u1), line0 = line(u0), line1 = line(u1);
    const double h0 = e0 - line0, h1 = e1 - line1;
    now(h0 > 0, s.utc_s(u0));
    if ((h0 > 0) != (h1 > 0)) {
      now(h1 > 0, s.utc_s(zero_in(u0, h0, u1, h1, tolerance, height)));
      return;
    }
    // The same side at both ends: it may still touch the line between, unless it is well off it. A
    // straight line runs evenly with the azimuth, which does not turn back here.
    const double bend = kElevationSlack_deg * (u1 - u0);
    if (piece.edge == Edge::straight && (h0 > 0 ? std::min(e0, e1) - bend > std::max(line0, line1)
                                                : std::max(e0, e1) + bend < std::min(line0, line1)))
      return;
    const double c0 = climb(u0), c1 = climb(u1);
    if ((c0 > 0) == (c1 > 0) || (c0 > 0) == (h0 > 0)) return;
    const double turn_at = zero_in(u0, c0, u1, c1, tolerance, climb);
    const double h = height(turn_at);
    if ((h > 0) == (h0 > 0)) return;
    now(h > 0, s.utc_s(zero_in(u0, h0, turn_at, h, tolerance, height)));
    now(h1 > 0, s.utc_s(zero_in(turn_at, h, u1, h1, tolerance, height)));
  }

  static double line_slope(const MaskPiece& p, double azimuth_deg) {
    if (p.edge == Edge::straight) return (p.to_el_deg - p.from_el_deg) / (p.to_deg - p.from_deg);
    const double az = azimuth_deg * kDegree, c = std::cos(az), s = std::sin(az);
    const double t = p.a * c + p.b * s;
    return (p.b * c - p.a * s) / (1 + t * t);
  }

  const SunPath& path_;
  const Mask& mask_;
  Bounds bounds_;
  Limb limb_;
  static constexpr int kLifts = 30;
  std::array<double, kLifts> lifts_;  // refraction by whole degrees from the floor up
  double lift_ = 0;                   // of the limb over the centre
  bool up_ = false;
  double since_ = 0;
  SunWindows windows_;
};

}  // namespace

SunPath::SunPath(const Place& place, Date first, int days, double utc_offset_h, const Air& air)
    : track_(place, start_of_day_utc_s(first, utc_offset_h),
             start_of_day_utc_s(first, utc_offset_h) + days * 86400.0),
      air_(air),
      utc_offset_h_(utc_offset_h),
      start_(start_of_day_utc_s(first, utc_offset_h)),
      days_(days) {
  const int nodes = days * static_cast<int>(86400 / kStep_s) + 1;
  std::vector<SunDirection> directions(nodes);
  track_.at_even_steps(start_, kStep_s, directions);
  bool in_run = false;
  for (int i = 0; i < nodes; ++i) {
    const double t = start_ + i * kStep_s;
    const bool up = directions[i].elevation_deg > kFloor_deg;
    if (up && !in_run) {
      runs_.push_back({i > 0 ? t - kStep_s : t, {}});
      runs_.back().nodes.reserve(144);
      if (i > 0) runs_.back().nodes.push_back(node_at(t - kStep_s));
    }
    if (up || in_run) runs_.back().nodes.push_back(node_at(t));
    in_run = up;
  }
}

SunPath SunPath::of_year(const Place& place, int year, std::optional<double> utc_offset_h,
                         std::optional<Air> air) {
  return SunPath(place, date_of_day(year, 1), days_in_year(year),
                 utc_offset_h.value_or(solar_zone_h(place.longitude_deg)),
                 air.value_or(standard_air(place.height_m)));
}

Date SunPath::date(int day) const { return date_of(day_start_utc_s(day) + 43200, utc_offset_h_); }

SunPath::Node SunPath::node_at(double utc_s) const {
  const SunMotion motion = track_.motion_at(utc_s);
  return {motion.direction.azimuth_deg, motion.direction.elevation_deg, motion.azimuth_rate,
          motion.elevation_rate};
}

SunPath::Seen SunPath::at(double utc_s) const {
  const SunDirection sun = track_.at(utc_s);
  return {sun.azimuth_deg, apparent_elevation_deg(sun.elevation_deg, air_), sun.semidiameter_deg};
}

SunWindows windows_above(const SunPath& path, const Mask& mask, Limb limb) {
  return WindowFinder(path, mask, limb).find();
}

SunWindows clipped(std::span<const SunWindow> windows, double from, double to) {
  auto it = std::lower_bound(windows.begin(), windows.end(), from,
                             [](const SunWindow& w, double t) { return w.to_utc_s <= t; });
  SunWindows inside;
  for (; it != windows.end() && it->from_utc_s < to; ++it)
    inside.push_back({std::max(from, it->from_utc_s), std::min(to, it->to_utc_s)});
  return inside;
}

SunWindows difference(std::span<const SunWindow> outer, std::span<const SunWindow> inner) {
  SunWindows rest;
  auto it = inner.begin();
  for (const SunWindow& window : outer) {
    double from = window.from_utc_s;
    while (it != inner.end() && it->to_utc_s <= from) ++it;
    for (auto cut = it; cut != inner.end() && cut->from_utc_s < window.to_utc_s; ++cut) {
      if (cut->from_utc_s > from) rest.push_back({from, cut->from_utc_s});
      from = cut->to_utc_s;
    }
    if (window.to_utc_s > from) rest.push_back({from, window.to_utc_s});
  }
  return rest;
}

double hours_in(std::span<const SunWindow> windows) {
  double sum = 0;
  for (const SunWindow& window : windows) sum += window.hours();
  return sum;
}

std::vector<double> hours_by_day(const SunPath& path, std::span<const SunWindow> windows) {
  std::vector<double> hours(path.days(), 0.0);
  for (const SunWindow& window : windows) {
    int day = static_cast<int>((window.from_utc_s - path.day_start_utc_s(0)) / 86400.0);
    for (double from = window.from_utc_s; from < window.to_utc_s && day < path.days(); ++day) {
      const double to = std::min(window.to_utc_s, path.day_start_utc_s(day + 1));
      hours[day] += (to - from) / 3600.0;
      from = to;
    }
  }
  return hours;
}

std::vector<SunStretch> by_obstacle(const SunPath& path, std::span<const SunWindow> windows,
                                    const Mask& mask) {
  std::vector<MaskPiece> zones;
  for (const MaskPiece& p : mask.pieces()) {
    if (!zones.empty() && zones.back().obstacle == p.obstacle && zones.back().open == p.open)
      zones.back().to_deg = p.to_deg;
    else
      zones.push_back(p);
  }
  std::vector<SunStretch> stretches;
  const auto add = [&](const MaskPiece& zone, double from, double to) {
    if (to <= from) return;
    if (!stretches.empty() && stretches.back().window.to_utc_s == from &&
        stretches.back().obstacle == zone.obstacle && stretches.back().open == zone.open)
      stretches.back().window.to_utc_s = to;
    else
      stretches.push_back({{from, to}, zone.obstacle, zone.open});
  };
  for (const SunWindow& window : windows) {
    for (double from = window.from_utc_s; from < window.to_utc_s;) {
      SunPath::Node a = path.node_at(from), b;
      double length = 2 * std::min(SunPath::kStep_s, window.to_utc_s - from);
      do {
        length /= 2;
        b = path.node_at(from + length);
      } while (!is_gentle(a, b, length) && length > kShortest_s);
      length = std::min(length, window.to_utc_s - from);
      const Stretch s = stretch_between(a, b, from, length);
      const double to = from + length;
      over_pieces(s, zones, 0, 1, [&](const MaskPiece& zone, double, double u0, double u1) {
        add(zone, u0 == 0 ? from : s.utc_s(u0), u1 == 1 ? to : s.utc_s(u1));
      });
      from = window.to_utc_s - to < 1e-6 ? window.to_utc_s : to;
    }
  }
  return stretches;
}

}  // namespace horizon
