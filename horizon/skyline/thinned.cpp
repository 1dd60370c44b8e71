#include "horizon/skyline/thinned.h"

#include <algorithm>
#include <map>
#include <tuple>

namespace horizon {
namespace {

constexpr double kFinest_deg = 0.25;

bool is_ridge(const Obstacle& obstacle) { return obstacle.kind == Kind::ridge; }

// New number of each obstacle; -1: gone.
std::vector<int> kept_things(const Skyline& skyline, size_t most, std::vector<Obstacle>& kept) {
  const size_t count = skyline.obstacles.size();
  std::vector<double> highest(count, -91);
  for (const SkylinePoint& p : skyline.points)
    highest[p.obstacle] = std::max(highest[p.obstacle], p.elevation.degrees());
  std::vector<int> number(count, -1);
  for (const bool ridge : {true, false}) {
    std::vector<size_t> order;
    for (size_t o = 0; o < count; ++o)
      if (is_ridge(skyline.obstacles[o]) == ridge && highest[o] > -91) order.push_back(o);
    std::stable_sort(order.begin(), order.end(),
                     [&](size_t a, size_t b) { return highest[a] > highest[b]; });
    if (order.size() > most) {
      if (ridge) {
        const int nameless = static_cast<int>(kept.size());
        kept.emplace_back();
        for (size_t i = most; i < order.size(); ++i) number[order[i]] = nameless;
      }
      order.resize(most);
    }
    std::sort(order.begin(), order.end());
    for (const size_t o : order) {
      number[o] = static_cast<int>(kept.size());
      kept.push_back(skyline.obstacles[o]);
    }
  }
  return number;
}

// The highest of each step, in the order they were given.
std::vector<SkylinePoint> highest_of_each(const std::vector<SkylinePoint>& points,
                                          double step_deg) {
  std::map<std::tuple<int, int, int>, size_t> at;
  std::vector<char> stays(points.size());
  for (size_t i = 0; i < points.size(); ++i) {
    const SkylinePoint& p = points[i];
    const auto [found, fresh] =
        at.try_emplace({p.obstacle, p.layer, static_cast<int>(p.azimuth.degrees() / step_deg)}, i);
    if (!fresh && p.elevation.degrees() > points[found->second].elevation.degrees())
      found->second = i;
  }
  for (const auto& [key, i] : at) stays[i] = true;
  std::vector<SkylinePoint> out;
  for (size_t i = 0; i < points.size(); ++i)
    if (stays[i]) out.push_back(points[i]);
  return out;
}

}  // namespace

Thinned thinned(const Skyline& skyline, const SkylineLimits& limits) {
  Thinned out{skyline, skyline.points.size(), skyline.obstacles.size(), false};
  if (out.points <= limits.points && out.things <= limits.things) return out;
  out.any = true;
  out.skyline.obstacles.clear();
  const std::vector<int> number = kept_things(skyline, limits.things, out.skyline.obstacles);
  std::erase_if(out.skyline.points, [&](const auto& p) { return number[p.obstacle] < 0; });
  for (SkylinePoint& p : out.skyline.points) p.obstacle = number[p.obstacle];
  if (out.skyline.points.size() <= limits.points) return out;
  for (double step = kFinest_deg; out.skyline.points.size() > limits.points_then && step <= 360;
       step *= 2)
    out.skyline.points = highest_of_each(out.skyline.points, step);
  // Layers without end, or more things than marks: the first ones.
  if (out.skyline.points.size() > limits.points_then) out.skyline.points.resize(limits.points_then);
  return out;
}

}  // namespace horizon
