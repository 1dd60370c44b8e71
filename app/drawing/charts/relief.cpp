#include "app/drawing/charts/relief.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "horizon/angle.h"

namespace app {
namespace {

constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();
constexpr double kPaper[] = {238, 233, 222};  // of level ground
constexpr double kDepth = 0.9;                // of the shade

}  // namespace

Image shaded_ground(std::span<const horizon::TerrainGrid> tiles, const GeoWindow& window, int width,
                    int height) {
  std::vector<const horizon::TerrainGrid*> finest;
  for (const auto& tile : tiles) finest.push_back(&tile);
  std::ranges::sort(finest, {}, &horizon::TerrainGrid::cell_m);
  // One more all round, for the slopes at the edge.
  const int wide = width + 2, tall = height + 2;
  std::vector<double> up(static_cast<std::size_t>(wide) * static_cast<std::size_t>(tall), kUnknown);
  const double step_lat = (window.north_deg - window.south_deg) / height,
               step_lon = (window.east_deg - window.west_deg) / width;
  const auto at = [&](int c, int r) -> double& {
    return up[static_cast<std::size_t>(r) * static_cast<std::size_t>(wide) +
              static_cast<std::size_t>(c)];
  };
  bool any = false;
  for (int r = 0; r < tall; ++r)
    for (int c = 0; c < wide; ++c)
      for (const auto* tile : finest) {
        const auto [x, y] = tile->cell_of(window.north_deg - (r - 0.5) * step_lat,
                                          window.west_deg + (c - 0.5) * step_lon);
        at(c, r) = tile->height_m(x, y);
        if (std::isnan(at(c, r))) continue;
        any = true;
        break;
      }
  Image image;
  if (!any) return image;
  image.width = width;
  image.height = height;
  const double middle = (window.north_deg + window.south_deg) / 2 * horizon::kDegree;
  const double north_m = 2 * step_lat * 111200, east_m = 2 * step_lon * 111320 * std::cos(middle);
  for (int r = 1; r <= height; ++r)
    for (int c = 1; c <= width; ++c) {
      const double rise_east = (at(c + 1, r) - at(c - 1, r)) / east_m,
                   rise_north = (at(c, r - 1) - at(c, r + 1)) / north_m;
      if (std::isnan(rise_east) || std::isnan(rise_north)) {
        image.rgba.insert(image.rgba.end(), {255, 255, 255, 0});
        continue;
      }
      // The light's way in is (-1/2, 1/2, sqrt 1/2): from the north-west, half up.
      const double lit = std::max(0.0, (rise_east - rise_north) / 2 + std::sqrt(0.5)) /
                         std::sqrt(1 + rise_east * rise_east + rise_north * rise_north);
      const double light = 1 + kDepth * (lit - std::sqrt(0.5));
      for (const double part : kPaper)
        image.rgba.push_back(static_cast<std::uint8_t>(std::clamp(part * light, 0.0, 255.0)));
      image.rgba.push_back(255);
    }
  return image;
}

}  // namespace app
