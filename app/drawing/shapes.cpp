#include "app/drawing/shapes.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace app {
namespace {

constexpr float kRadians = std::numbers::pi_v<float> / 180;

int steps_for(float radius, float sweep_deg) {
  constexpr float kFlat = 0.05f;
  const float step = std::acos(std::max(0.f, 1 - kFlat / std::max(radius, 0.1f))) * 2;
  return std::max(2, static_cast<int>(std::ceil(std::abs(sweep_deg) * kRadians / step)));
}

// Parallel strokes `gap` apart (measured across x), leaning `lean` in x for each unit of y.
void slanted(std::vector<Path>& out, Rect b, float gap, float lean) {
  const float at_top = b.y * lean, at_bottom = b.bottom() * lean;
  const float first = std::floor((b.x - std::max(at_top, at_bottom)) / gap);
  const float last = std::ceil((b.right() - std::min(at_top, at_bottom)) / gap);
  for (float i = first; i <= last; ++i) {
    out.push_back(line({i * gap + at_top, b.y}, {i * gap + at_bottom, b.bottom()}));
  }
}

}  // namespace

Path line(Point from, Point to) { return {{from, to}, false}; }

Path rectangle(Rect r) {
  return {{{r.x, r.y}, {r.right(), r.y}, {r.right(), r.bottom()}, {r.x, r.bottom()}}, true};
}

// Douglas & Peucker 1973.
std::vector<Point> fewer_points(const std::vector<Point>& points, float off) {
  if (points.size() < 3) return points;
  std::vector<char> stays(points.size());
  stays.front() = stays.back() = true;
  std::vector<std::pair<std::size_t, std::size_t>> open = {{0, points.size() - 1}};
  while (!open.empty()) {
    const auto [from, to] = open.back();
    open.pop_back();
    const Point a = points[from], b = points[to];
    const float dx = b.x - a.x, dy = b.y - a.y, length2 = dx * dx + dy * dy;
    float most = off * off;
    std::size_t farthest = 0;
    for (std::size_t i = from + 1; i < to; ++i) {
      const Point p = points[i];
      const float along =
          length2 > 0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / length2, 0.f, 1.f) : 0;
      const float ex = p.x - a.x - along * dx, ey = p.y - a.y - along * dy;
      if (const float away2 = ex * ex + ey * ey; away2 > most) most = away2, farthest = i;
    }
    if (farthest == 0) continue;
    stays[farthest] = true;
    open.emplace_back(from, farthest);
    open.emplace_back(farthest, to);
  }
  std::vector<Point> out;
  for (std::size_t i = 0; i < points.size(); ++i)
    if (stays[i]) out.push_back(points[i]);
  return out;
}

Point polar(Point center, float radius, float bearing_deg) {
  const float angle = bearing_deg * kRadians;
  return {center.x + radius * std::sin(angle), center.y - radius * std::cos(angle)};
}

Path arc(Point center, float radius, float from_deg, float to_deg) {
  Path path;
  const int steps = steps_for(radius, to_deg - from_deg);
  for (int i = 0; i <= steps; ++i) {
    const float part = static_cast<float>(i) / static_cast<float>(steps);
    path.points.push_back(polar(center, radius, from_deg + (to_deg - from_deg) * part));
  }
  return path;
}

Path circle(Point center, float radius) {
  Path path = arc(center, radius, 0, 360);
  path.points.pop_back();
  path.closed = true;
  return path;
}

Path ring_sector(Point center, float inner, float outer, float from_deg, float to_deg) {
  Path path = arc(center, outer, from_deg, to_deg);
  const Path back = arc(center, inner, to_deg, from_deg);
  path.points.insert(path.points.end(), back.points.begin(), back.points.end());
  path.closed = true;
  return path;
}

Path rounded(Rect r, float radius) {
  radius = std::max(0.f, std::min({radius, r.w / 2, r.h / 2}));
  if (radius == 0) return rectangle(r);
  Path path;
  const Point corners[] = {{r.right() - radius, r.y + radius},
                           {r.right() - radius, r.bottom() - radius},
                           {r.x + radius, r.bottom() - radius},
                           {r.x + radius, r.y + radius}};
  for (int i = 0; i < 4; ++i) {
    const auto from = static_cast<float>(90 * i);
    const Path corner = arc(corners[i], radius, from, from + 90);
    path.points.insert(path.points.end(), corner.points.begin(), corner.points.end());
  }
  path.closed = true;
  return path;
}

Rect bounds_of(const Path& path) {
  if (path.points.empty()) return {};
  Point low = path.points[0], high = low;
  for (const Point& p : path.points) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  return {low.x, low.y, high.x - low.x, high.y - low.y};
}

std::vector<Path> hatch_lines(Hatch hatch, Rect b) {
  std::vector<Path> out;
  const auto rows = [&](float gap, auto&& draw) {
    for (float i = std::floor(b.y / gap); i * gap <= b.bottom() + gap; ++i) draw(i, i * gap);
  };
  switch (hatch) {
    case Hatch::none:
      break;
    case Hatch::ridge:
      slanted(out, b, 9, -0.45f);
      break;
    case Hatch::open:
      slanted(out, b, 9, -1);
      break;
    case Hatch::pole:
      slanted(out, b, 2.5f, 0);
      break;
    case Hatch::evergreen:  // rows of tree tops
      rows(7, [&](float, float y) {
        Path zigzag;
        for (float i = std::floor(b.x / 3.5f); i * 3.5f <= b.right() + 3.5f; ++i) {
          const bool up = static_cast<long>(i) % 2 == 0;
          zigzag.points.push_back({i * 3.5f, y + (up ? 0.f : 4.f)});
        }
        out.push_back(std::move(zigzag));
      });
      break;
    case Hatch::leafy:  // rows of round crowns
      rows(7, [&](float row, float y) {
        const float shift = static_cast<long>(row) % 2 == 0 ? 0.f : 4.f;
        for (float i = std::floor((b.x - shift) / 8); i * 8 + shift <= b.right() + 8; ++i) {
          out.push_back(arc({i * 8 + shift, y + 3}, 2.4f, -90, 90));
        }
      });
      break;
    case Hatch::building:  // courses of stone
      rows(6, [&](float row, float y) {
        out.push_back(line({b.x, y}, {b.right(), y}));
        const float shift = static_cast<long>(row) % 2 == 0 ? 0.f : 5.f;
        for (float i = std::floor((b.x - shift) / 10); i * 10 + shift <= b.right(); ++i) {
          out.push_back(line({i * 10 + shift, y}, {i * 10 + shift, y + 6}));
        }
      });
      break;
    case Hatch::computed:  // dashes: nobody aimed here
      rows(5, [&](float row, float y) {
        const float shift = static_cast<long>(row) % 2 == 0 ? 0.f : 5.f;
        for (float i = std::floor((b.x - shift) / 10); i * 10 + shift <= b.right(); ++i) {
          out.push_back(line({i * 10 + shift, y}, {i * 10 + shift + 4, y}));
        }
      });
      break;
  }
  return out;
}

float hatch_width(Hatch hatch) {
  return hatch == Hatch::open ? 1.5f : hatch == Hatch::pole ? 0.7f : 0.9f;
}

Rect overlap(Rect a, Rect b) {
  const float x = std::max(a.x, b.x), y = std::max(a.y, b.y);
  return {x, y, std::max(0.f, std::min(a.right(), b.right()) - x),
          std::max(0.f, std::min(a.bottom(), b.bottom()) - y)};
}

}  // namespace app
