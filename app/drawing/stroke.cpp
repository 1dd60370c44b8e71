// app/drawing/stroke.cpp: the outline of a stroke: a quad for each piece and a small disc at each
// bend, all turning the same way so that the raster unites them.
#include <cmath>

#include "app/drawing/raster.h"

namespace app {
namespace {

void contour(Contours& out, std::initializer_list<Point> points) {
  out.points.insert(out.points.end(), points);
  out.ends.push_back(std::uint32_t(out.points.size()));
}

void quad(Contours& out, Point a, Point b, float half) {
  float dx = b.x - a.x, dy = b.y - a.y, length = std::hypot(dx, dy);
  if (length < 1e-4f) return;
  float nx = -dy / length * half, ny = dx / length * half;
  contour(out,
          {{a.x + nx, a.y + ny}, {a.x - nx, a.y - ny}, {b.x - nx, b.y - ny}, {b.x + nx, b.y + ny}});
}

void disc(Contours& out, Point at, float radius) {
  int corners = radius < 2 ? 8 : radius < 6 ? 14 : 24;
  for (int i = 0; i < corners; ++i) {
    float angle = -float(i) * 6.2831853f / float(corners);  // turns as quad() does
    out.points.push_back({at.x + radius * std::cos(angle), at.y - radius * std::sin(angle)});
  }
  out.ends.push_back(std::uint32_t(out.points.size()));
}

void solid(std::span<const Point> line, bool closed, float width, Contours& out) {
  std::size_t n = line.size();
  if (n < 2) return;
  float half = width * 0.5f;
  std::size_t pieces = closed ? n : n - 1;
  for (std::size_t i = 0; i < pieces; ++i) quad(out, line[i], line[(i + 1) % n], half);
  if (width <= 1.2f) return;  // too thin for a gap at a bend to show
  for (std::size_t i = closed ? 0 : 1; i < (closed ? n : n - 1); ++i) {
    Point a = line[(i + n - 1) % n], b = line[i], c = line[(i + 1) % n];
    float cross = (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x);
    float dot = (b.x - a.x) * (c.x - b.x) + (b.y - a.y) * (c.y - b.y);
    if (std::fabs(std::atan2(cross, dot)) * half > 0.35f) disc(out, b, half);
  }
}

}  // namespace

void stroke_contours(std::span<const Point> line, bool closed, float width,
                     std::span<const float> dashes, Contours& out) {
  float period = 0;
  for (float d : dashes) period += d;
  if (dashes.size() < 2 || period <= 0.1f) return solid(line, closed, width, out);

  std::size_t which = 0;
  float left = dashes[0];
  bool on = true;
  std::vector<Point> piece;
  std::size_t n = line.size(), pieces = closed ? n : (n ? n - 1 : 0);
  if (n) piece.push_back(line[0]);
  for (std::size_t i = 0; i < pieces; ++i) {
    Point a = line[i], b = line[(i + 1) % n];
    float length = std::hypot(b.x - a.x, b.y - a.y), done = 0;
    while (length - done > left) {
      done += left;
      float t = done / length;
      Point p{a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t};
      if (on) {
        piece.push_back(p);
        solid(piece, false, width, out);
      }
      piece.assign(1, p);
      on = !on;
      which = (which + 1) % dashes.size();
      left = std::max(dashes[which], 0.05f);
    }
    left -= length - done;
    if (on) piece.push_back(b);
  }
  if (on && piece.size() > 1) solid(piece, false, width, out);
}

}  // namespace app
