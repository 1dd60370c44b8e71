// tests/horizon/plot/made_plots.h: plots whose truth is known, as a surveyor would have aimed at them.
// Crowns are ellipsoids, taller or flatter than a ball; houses are convex solids whose outline is
// the upper hull of their corners: neither is taken from the code under test. Invented.
#pragma once

#include <algorithm>
#include <cmath>
#include <random>

#include "horizon/plot/hours_map.h"

namespace made {

using namespace horizon;

struct Thing {
  Kind kind = Kind::building;
  ShapeForm form = ShapeForm::flat;
  Eigen::Vector2d middle = Eigen::Vector2d::Zero();
  double radius_m = 0, crown_m = 0;  // of a crown: across, and up from its widest part
  double top_m = 0;
  std::vector<Enu> corners;
  bool covers(const Eigen::Vector2d& p, double about_m = 0) const {
    if (form == ShapeForm::round) return (p - middle).norm() < radius_m + about_m;
    const Eigen::Vector2d a = corners[1].head<2>() - corners[0].head<2>(),
                          b = corners[3].head<2>() - corners[0].head<2>();
    const Eigen::Vector2d off = p - middle;
    return std::abs(off.dot(a.normalized())) < a.norm() / 2 + about_m &&
           std::abs(off.dot(b.normalized())) < b.norm() / 2 + about_m;
  }
};

// The upper outline from an eye, clockwise, as bearing and tangent of the elevation.
using Line = std::vector<std::pair<double, double>>;
inline double line_at(const Line& line, double azimuth_deg) {
  for (size_t i = 0; i + 1 < line.size(); ++i) {
    const double from = wrap_180(azimuth_deg - line[i].first),
                 wide = wrap_180(line[i + 1].first - line[i].first);
    if (from < 0 || from > wide || wide <= 0) continue;
    return (line[i].second * std::sin((wide - from) * kDegree) +
            line[i + 1].second * std::sin(from * kDegree)) /
           std::sin(wide * kDegree);
  }
  return -1e9;
}

inline Line outline(const Thing& thing, const Enu& eye, int parts) {
  Line line;
  const Eigen::Vector2d to = thing.middle - eye.head<2>();
  double middle = std::atan2(to.x(), to.y()) / kDegree;
  const double away = to.norm();
  if (thing.form == ShapeForm::round) {
    const double half = std::asin(thing.radius_m / away) / kDegree;
    for (int i = 0; i < parts; ++i) {
      const double t = parts == 1 ? 0 : 2.0 * i / (parts - 1) - 1;
      const double up = thing.top_m - thing.crown_m + thing.crown_m * std::sqrt(1 - t * t);
      line.emplace_back(wrap_360(middle + half * t), (up - eye.z()) / away);
    }
    return line;
  }
  // On a plane across the bearing midway between its sides straight edges are straight.
  double low = 0, high = 0;
  const auto off_deg = [&](const Enu& v) {
    return wrap_180(std::atan2(v.x(), v.y()) / kDegree - middle);
  };
  for (const Enu& c : thing.corners) {
    low = std::min(low, off_deg(c - eye));
    high = std::max(high, off_deg(c - eye));
  }
  middle += (low + high) / 2;
  std::vector<std::pair<double, double>> points;
  for (const Enu& c : thing.corners) {
    const Enu v = c - eye;
    const double az = off_deg(v) * kDegree;
    points.emplace_back(std::tan(az), v.z() / std::hypot(v.x(), v.y()) / std::cos(az));
  }
  std::sort(points.begin(), points.end());
  for (const auto& p : points) {
    while (line.size() > 1) {
      const auto &a = line[line.size() - 2], &b = line.back();
      if ((b.first - a.first) * (p.second - a.second) < (p.first - a.first) * (b.second - a.second))
        break;
      line.pop_back();
    }
    if (!line.empty() && p.first - line.back().first < 1e-9) {
      line.back().second = std::max(line.back().second, p.second);
      continue;
    }
    line.push_back(p);
  }
  for (auto& [x, y] : line) {
    const double az = std::atan(x);
    y *= std::cos(az);
    x = wrap_360(middle + az / kDegree);
  }
  return line;
}

struct Plot {
  std::vector<Enu> eyes;  // where the stations truly stood
  std::vector<Thing> things;
  std::vector<Enu> ridge;  // every degree, seen from the middle
  PlotSurvey survey;

  // Every degree, as seen from an eye.
  std::vector<double> ridge_from(const Enu& eye) const {
    std::vector<std::pair<double, double>> seen;
    for (const Enu& point : ridge) {
      const Enu v = point - eye;
      seen.emplace_back(wrap_360(std::atan2(v.x(), v.y()) / kDegree),
                        std::atan2(v.z(), std::hypot(v.x(), v.y())) / kDegree);
    }
    std::sort(seen.begin(), seen.end());
    std::vector<double> out;
    size_t next = 0;
    for (int az = 0; az < 360; ++az) {
      while (next < seen.size() && seen[next].first < az) ++next;
      const auto &b = seen[next % seen.size()], &a = seen[(next + seen.size() - 1) % seen.size()];
      const double wide = std::max(1e-6, wrap_360(b.first - a.first));
      out.push_back(a.second + wrap_360(az - a.first) / wide * (b.second - a.second));
    }
    return out;
  }
  double hours(const Enu& eye, const SunSamples& sun) const {
    std::vector<double> line;
    const std::vector<double> far = ridge_from(eye);
    for (const int bin : sun.bins()) {
      const double az = (bin + 0.5) / SunSamples::kBinsPerDegree;
      const auto i = static_cast<size_t>(az);
      line.push_back(
          std::tan((far[i] + (az - std::floor(az)) * (far[(i + 1) % 360] - far[i])) * kDegree));
    }
    for (const Thing& thing : things) {
      const Line seen = outline(thing, eye, 60);
      for (size_t b = 0; b < line.size(); ++b)
        line[b] =
            std::max(line[b], line_at(seen, (sun.bins()[b] + 0.5) / SunSamples::kBinsPerDegree));
    }
    std::array<float, 1440> limit{};
    for (size_t b = 0; b < line.size(); ++b)
      limit[static_cast<size_t>(sun.bins()[b])] = static_cast<float>(std::atan(line[b]) / kDegree);
    double h = 0;
    for (const auto& sample : sun.samples())
      if (sample.elevation_deg > limit[sample.bin]) h += SunSamples::kStep_s / 3600;
    return h;
  }
};

class Maker {
 public:
  explicit Maker(unsigned number) : random_(number) {}
  double even(double a, double b) { return std::uniform_real_distribution<double>(a, b)(random_); }
  double gauss() { return std::normal_distribution<double>(0, 1)(random_); }
  int pick(int count) { return std::uniform_int_distribution<int>(0, count - 1)(random_); }

  Thing thing() {
    Thing t;
    const double az = even(0, 360) * kDegree, away = even(14, 55);
    t.middle = {away * std::sin(az), away * std::cos(az)};
    const double turn = even(0, 180) * kDegree;
    switch (pick(6)) {
      case 0:
      case 1:
        t.kind = pick(2) ? Kind::evergreen : Kind::leafy;
        t.form = ShapeForm::round;
        t.radius_m = even(1.5, 4);
        t.top_m = even(6, 20);
        t.crown_m = t.radius_m * even(0.8, 1.6);
        break;
      case 2:
        solid(t, ShapeForm::gable, turn, even(8, 18), even(5, 10), even(2.5, 5), even(1.5, 4));
        break;
      case 3:
        solid(t, ShapeForm::flat, turn, even(6, 18), even(4, 10), even(3, 8), 0);
        break;
      case 4:
        solid(t, ShapeForm::wall, turn, even(6, 20), 0.4, even(2, 4), 0);
        break;
      default:
        t.kind = Kind::evergreen;
        {
          const double tall = even(6, 14);
          solid(t, ShapeForm::row, turn, even(14, 35), even(3, 5), 0.75 * tall, 0.25 * tall);
        }
    }
    return t;
  }

  static void solid(Thing& t, ShapeForm form, double turn, double length, double width, double eave,
                    double rise) {
    t.form = form;
    const Eigen::Vector2d a(std::sin(turn) * length / 2, std::cos(turn) * length / 2),
        b(std::cos(turn) * width / 2, -std::sin(turn) * width / 2);
    for (const auto& [i, j] : {std::pair(-1, -1), {1, -1}, {1, 1}, {-1, 1}}) {
      const Eigen::Vector2d p = t.middle + i * a + j * b;
      t.corners.emplace_back(p.x(), p.y(), eave);
    }
    if (form == ShapeForm::gable || form == ShapeForm::row)
      for (const int i : {-1, 1}) {
        const Eigen::Vector2d p = t.middle + i * a;
        t.corners.emplace_back(p.x(), p.y(), eave + rise);
      }
    t.top_m = eave + rise;
  }

  // noise: share of the stated errors; 0 gives exact aims.
  void aims(Plot& plot, double noise) {
    for (size_t s = 0; s < plot.eyes.size(); ++s) {
      PlotStation station;
      station.eye = plot.eyes[s];
      station.eye +=
          noise * Enu(station.horizontal_sigma_m * gauss(), station.horizontal_sigma_m * gauss(),
                      station.up_sigma_m * gauss());
      plot.survey.stations.push_back(station);
    }
    for (size_t s = 0; s < plot.eyes.size(); ++s) {
      const double heading = noise * plot.survey.stations[s].heading_sigma_deg * gauss();
      const std::vector<double> far = plot.ridge_from(plot.eyes[s]);
      for (int az = 0; s == 0 && az < 360; az += 10) {
        plot.survey.marks.push_back({0, "ridge", {}, {}});
        PlotAim aim;
        aim.mark = static_cast<int>(plot.survey.marks.size()) - 1;
        aim.azimuth = TrueAzimuth::degrees(az + heading + noise * aim.azimuth_sigma_deg * gauss());
        aim.elevation = Elevation::degrees(far[static_cast<size_t>(az)] +
                                           noise * aim.elevation_sigma_deg * gauss());
        plot.survey.aims.push_back(aim);
      }
      for (size_t t = 0; t < plot.things.size(); ++t) {
        PlotOutline seen;
        seen.station = static_cast<int>(s);
        seen.obstacle = static_cast<int>(t) + 1;
        const int marks = single_ ? 1 : 7;
        Line line = outline(plot.things[t], plot.eyes[s], marks);
        if (plot.things[t].form == ShapeForm::row && line.size() > 1) {
          const Line whole = line;
          const double wide = wrap_360(whole.back().first - whole.front().first);
          line.clear();
          for (int i = 0; i < 6; ++i) {
            const double az = whole.front().first + wide * i / 5;
            // The tops of a row are not level.
            const double t_here = line_at(whole, i == 0 ? az + 1e-6 : i == 5 ? az - 1e-6 : az);
            line.emplace_back(az, t_here * (1 + 0.06 * noise * gauss()));
          }
        }
        for (size_t i = 0; i < line.size(); ++i) {
          const auto [az, t_el] = line[i];
          // Corners of one height that lie closer than a degree and a half are one to the hand.
          const ShapeForm form = plot.things[t].form;
          if ((form == ShapeForm::wall || form == ShapeForm::flat) && i > 0 &&
              i + 1 < line.size() &&
              (wrap_180(az - line[i - 1].first) < 1.5 || wrap_180(line[i + 1].first - az) < 1.5))
            continue;
          OutlineMark mark;
          mark.azimuth =
              TrueAzimuth::degrees(az + heading + noise * mark.azimuth_sigma_deg * gauss());
          mark.elevation = Elevation::degrees(std::atan(t_el) / kDegree +
                                              noise * mark.elevation_sigma_deg * gauss());
          seen.marks.push_back(mark);
        }
        plot.survey.outlines.push_back(seen);
      }
    }
  }

  void ridge(Plot& plot) {
    const double base = even(8, 18), p1 = even(0, 6.28), p2 = even(0, 6.28);
    const double away = even(1200, 3500), p3 = even(0, 6.28);
    double rough = 0;
    for (int i = 0; i < 360; ++i) {
      rough = 0.8 * rough + 0.2 * gauss();
      const double az = i * kDegree, d = away * (1 + 0.25 * std::sin(3 * az + p3));
      const double el =
          std::max(1.0, base + 5 * std::sin(2 * az + p1) + 2 * std::sin(5 * az + p2) + rough);
      plot.ridge.emplace_back(d * std::sin(az), d * std::cos(az), d * std::tan(el * kDegree));
    }
    plot.survey.obstacles.push_back({{Kind::ridge, "ridge"}, {}});
  }

  Plot plot(int stations, int things, double noise) {
    Plot out;
    ridge(out);
    for (int i = 0; i < stations; ++i) {
      const double az = (i * 120 + even(-30, 30)) * kDegree, away = even(8, 22);
      out.eyes.emplace_back(away * std::sin(az), away * std::cos(az), 1.6);
    }
    while (static_cast<int>(out.things.size()) < things) {
      const Thing t = thing();
      if (std::any_of(out.eyes.begin(), out.eyes.end(),
                      [&](const Enu& e) { return t.covers(e.head<2>(), 4); }))
        continue;
      out.things.push_back(t);
      out.survey.obstacles.push_back({{t.kind, name_of_thing(out.things.size())}, {}});
    }
    aims(out, noise);
    return out;
  }
  static std::string name_of_thing(size_t number) { return "thing " + std::to_string(number); }
  void only_tops() { single_ = true; }

 private:
  std::mt19937 random_;
  bool single_ = false;
};

}  // namespace made
