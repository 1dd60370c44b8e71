#include "app/handover/surfaces.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "horizon/angle.h"

namespace app {
namespace {

using horizon::kDegree;
using horizon::Mask;

constexpr double kStep_deg = 0.5;    // of a face: its straight top stays on the mask's line
constexpr double kDeepest_deg = 80;  // a body's depth is its width, up to this
constexpr double kLeastRadius_m = 300;

// The distance of an obstacle: the mean of its measured points.
std::map<int, double> near_obstacles(const horizon::Skyline& skyline) {
  std::map<int, std::pair<double, int>> sums;
  for (const auto& point : skyline.points) {
    if (point.layer != 0 || !point.distance_m || !(*point.distance_m > 0.5)) continue;
    auto& [sum, count] = sums[point.obstacle];
    sum += *point.distance_m;
    ++count;
  }
  std::map<int, double> out;
  for (const auto& [obstacle, sum] : sums) {
    const auto kind = skyline.obstacles[obstacle].kind;
    if (kind != horizon::Kind::ridge) out[obstacle] = sum.first / sum.second;
  }
  return out;
}

Vertex at(double azimuth_deg, double distance_m, double z) {
  const double a = azimuth_deg * kDegree;
  return {distance_m * std::sin(a), distance_m * std::cos(a), z};
}

struct Slice {  // of the line, between two azimuths of one piece
  double from_deg, to_deg, from_el, to_el;
};

std::vector<Slice> slices_of(const horizon::MaskPiece& piece) {
  std::vector<Slice> out;
  const int steps =
      std::max(1, static_cast<int>(std::ceil((piece.to_deg - piece.from_deg) / kStep_deg)));
  const auto azimuth = [&](int i) {
    return i == steps ? piece.to_deg : piece.from_deg + (piece.to_deg - piece.from_deg) * i / steps;
  };
  for (int i = 0; i < steps; ++i) {
    out.push_back({azimuth(i), azimuth(i + 1), piece.elevation_deg(azimuth(i)),
                   piece.elevation_deg(azimuth(i + 1))});
  }
  return out;
}

double height_at(const ShadingModel& model, double elevation_deg, double distance_m) {
  return model.eye_height_m + distance_m * std::tan(std::min(elevation_deg, 89.0) * kDegree);
}

void wall(Surface& surface, const ShadingModel& model, const Slice& s, double distance_m,
          double base_m) {
  const double left = height_at(model, s.from_el, distance_m);
  const double right = height_at(model, s.to_el, distance_m);
  if (left <= base_m && right <= base_m) return;
  surface.faces.push_back({at(s.from_deg, distance_m, base_m), at(s.to_deg, distance_m, base_m),
                           at(s.to_deg, distance_m, std::max(right, base_m)),
                           at(s.from_deg, distance_m, std::max(left, base_m))});
}

// Front as sighted; a back as tall and as wide, further away, so that it never shows beside or
// above the front; top and sides between.
void body(Surface& surface, const ShadingModel& model, const std::vector<Slice>& slices,
          double distance_m, double base_m) {
  for (const Slice& s : slices) wall(surface, model, s, distance_m, base_m);
  if (slices.empty()) return;
  const double width_deg = std::min(kDeepest_deg, slices.back().to_deg - slices.front().from_deg);
  const double depth = std::clamp(2 * distance_m * std::tan(width_deg / 2 * kDegree), 0.2, 10.0);
  const double middle = (slices.front().from_deg + slices.back().to_deg) / 2;
  const double dx = depth * std::sin(middle * kDegree), dy = depth * std::cos(middle * kDegree);
  const auto back = [&](Vertex v) { return Vertex{v.x + dx, v.y + dy, v.z}; };
  const std::vector<Face> front = surface.faces;
  for (const Face& f : front) {
    surface.faces.push_back({back(f[1]), back(f[0]), back(f[3]), back(f[2])});
    surface.faces.push_back({f[3], f[2], back(f[2]), back(f[3])});
  }
  if (front.empty()) return;
  const Face &first = front.front(), &last = front.back();
  surface.faces.push_back({back(first[0]), first[0], first[3], back(first[3])});
  surface.faces.push_back({last[1], back(last[1]), back(last[2]), last[2]});
}

// Behind the outline as sighted half a cone (evergreen) or half a dome (leafy), as deep as half its
// width. No point of it shows beside or above the outline, seen from the eye.
void crown(Surface& surface, const ShadingModel& model, const std::vector<Slice>& slices,
           const Mask& mask, double distance_m, double base_m) {
  for (const Slice& s : slices) wall(surface, model, s, distance_m, base_m);
  if (surface.faces.empty()) return;
  const double from = slices.front().from_deg, to = slices.back().to_deg;
  const double middle = (from + to) / 2;
  const double half_deg = std::min(kDeepest_deg, to - from) / 2;
  const double depth = std::clamp(distance_m * std::tan(half_deg * kDegree), 0.1, 5.0);
  const bool cone = surface.kind == horizon::Kind::evergreen;
  const auto point = [&](double azimuth_deg, double elevation_deg, double t) {
    const double across = std::sqrt(1 - t * t), up = cone ? 1 - t : across;
    Vertex v = at(middle + (azimuth_deg - middle) * across, distance_m, 0);
    v.x += t * depth * std::sin(middle * kDegree);
    v.y += t * depth * std::cos(middle * kDegree);
    const double seen_at = horizon::wrap_360(std::atan2(v.x, v.y) / kDegree);
    const double outline = height_at(model, mask.elevation_deg(seen_at), std::hypot(v.x, v.y));
    const double own = base_m + up * (height_at(model, elevation_deg, distance_m) - base_m);
    v.z = std::max(base_m, t > 0 ? std::min(own, outline - 0.01 * (outline - base_m)) : own);
    return v;
  };
  constexpr double kSteps[] = {0, 0.25, 0.5, 0.75, 0.92, 1};
  for (std::size_t step = 0; step + 1 < std::size(kSteps); ++step) {
    for (const Slice& s : slices) {
      surface.faces.push_back({point(s.from_deg, s.from_el, kSteps[step]),
                               point(s.to_deg, s.to_el, kSteps[step]),
                               point(s.to_deg, s.to_el, kSteps[step + 1]),
                               point(s.from_deg, s.from_el, kSteps[step + 1])});
    }
    // Down to the ground at both ends.
    for (const auto& [azimuth, elevation] :
         {std::pair{from, slices.front().from_el}, std::pair{to, slices.back().to_el}}) {
      const Vertex a = point(azimuth, elevation, kSteps[step]);
      const Vertex b = point(azimuth, elevation, kSteps[step + 1]);
      surface.faces.push_back({Vertex{a.x, a.y, base_m}, a, b, Vertex{b.x, b.y, base_m}});
    }
  }
}

std::string name_of_piece(const horizon::Skyline& skyline, const horizon::MaskPiece& piece) {
  if (piece.open || piece.obstacle < 0) return "open stretch";
  const auto& obstacle = skyline.obstacles[piece.obstacle];
  return obstacle.label.empty() ? std::string(horizon::name_of(obstacle.kind)) : obstacle.label;
}

}  // namespace

ShadingModel shading_model(const StationReport& station) {
  ShadingModel model;
  model.eye_height_m = station.derived.station.eye_height_m;
  const auto& skyline = station.skyline();
  const Mask& mask = station.masks.all;
  const auto near = near_obstacles(skyline);
  std::vector<int> without;
  model.ring_radius_m = kLeastRadius_m;
  for (const auto& [obstacle, distance] : near) {
    without.push_back(obstacle);
    model.ring_radius_m = std::max(model.ring_radius_m, distance * 1.5);
  }
  const Mask behind(skyline, without);
  double lowest = 0;
  for (const auto& piece : mask.pieces()) {
    lowest = std::min({lowest, piece.from_el_deg, piece.to_el_deg});
  }
  const double ring_base = std::min(0.0, height_at(model, lowest, model.ring_radius_m)) - 1;
  const auto pieces = mask.pieces();
  for (std::size_t i = 0; i < pieces.size();) {
    const std::size_t first = i;
    std::vector<Slice> slices;
    for (; i < pieces.size() && pieces[i].obstacle == pieces[first].obstacle &&
           pieces[i].open == pieces[first].open;
         ++i) {
      const auto more = slices_of(pieces[i]);
      slices.insert(slices.end(), more.begin(), more.end());
    }
    Surface surface;
    surface.name = name_of_piece(skyline, pieces[first]);
    surface.open = pieces[first].open || pieces[first].obstacle < 0;
    if (pieces[first].obstacle >= 0) surface.kind = skyline.obstacles[pieces[first].obstacle].kind;
    const auto distance = near.find(pieces[first].obstacle);
    surface.near = !surface.open && distance != near.end();
    if (!surface.near) {
      surface.distance_m = model.ring_radius_m;
      for (const Slice& s : slices) wall(surface, model, s, model.ring_radius_m, ring_base);
    } else {
      surface.distance_m = distance->second;
      const double base = std::min(0.0, height_at(model, lowest, distance->second)) - 1;
      if (surface.kind == horizon::Kind::evergreen || surface.kind == horizon::Kind::leafy) {
        crown(surface, model, slices, mask, distance->second, base);
      } else {
        body(surface, model, slices, distance->second, base);
      }
      Surface far;
      far.name = "behind " + surface.name;
      far.distance_m = model.ring_radius_m;
      for (Slice s : slices) {
        s.from_el = std::min(s.from_el, behind.elevation_deg(s.from_deg));
        // Just inside, so that a step at the slice's end counts for the next one.
        s.to_el = std::min(s.to_el, behind.elevation_deg(s.to_deg - 1e-9));
        wall(far, model, s, model.ring_radius_m, ring_base);
      }
      if (!far.faces.empty()) model.surfaces.push_back(std::move(far));
    }
    if (!surface.faces.empty()) model.surfaces.push_back(std::move(surface));
  }
  return model;
}

}  // namespace app
