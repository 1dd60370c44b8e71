#include <doctest/doctest.h>

#include <cmath>

#include "app/drawing/contrast.h"
#include "app/drawing/shapes.h"
#include "app/drawing/theme.h"

using namespace app;

TEST_CASE("Words stand out by 7:1 in every theme (WCAG 2.1, 1.4.6) [published]") {
  CHECK(contrast({0, 0, 0}, {255, 255, 255}) == doctest::Approx(21));
  for (const Theme& theme : {kDaylight, kDusk, kPrint}) {
    CHECK(contrast(theme.ink, theme.paper) >= 7);
    CHECK(contrast(theme.ink, theme.card) >= 7);
    CHECK(contrast(theme.quiet, theme.paper) >= 7);
    CHECK(contrast(theme.quiet, theme.card) >= 7);
    CHECK(contrast(theme.ink, theme.amber_soft) >= 7);
    CHECK(contrast(theme.on_ink, theme.night) >= 7);
    CHECK(contrast(theme.warning, theme.card) >= 7);
    CHECK(contrast(theme.good, theme.card) >= 7);
  }
  CHECK(contrast(kDaylight.ink, kDaylight.amber) >= 7);
}

TEST_CASE("A line of fewer points lies as close to all of them as was asked [property]") {
  std::vector<Point> points;
  for (int i = 0; i < 600; ++i)
    points.push_back({i * 0.5f, 40 + 20 * std::sin(i * 0.02f) + (i % 50 == 0 ? 5.f : 0.f)});
  const auto few = fewer_points(points, 0.03f);
  CHECK(few.size() < points.size() / 3);
  CHECK(few.front().x == points.front().x);
  CHECK(few.back().x == points.back().x);
  std::size_t k = 0;
  for (const Point& p : points) {
    while (k + 2 < few.size() && few[k + 1].x < p.x) ++k;
    const double dx = few[k + 1].x - few[k].x, dy = few[k + 1].y - few[k].y;
    const double off = std::abs((p.x - few[k].x) * dy - (p.y - few[k].y) * dx) / std::hypot(dx, dy);
    CHECK(off < 0.0301);
  }
  CHECK(fewer_points({{0, 0}, {0, 0}}, 1).size() == 2);
  CHECK(fewer_points({{0, 0}, {5, 5}, {0, 0}}, 1).size() == 3);  // there and back
}

TEST_CASE("Flattened curves stay within a twentieth of a unit [property]") {
  for (float radius : {0.5f, 3.f, 40.f, 900.f}) {
    const Path path = circle({10, 20}, radius);
    CHECK(path.closed);
    for (std::size_t i = 0; i < path.points.size(); ++i) {
      const Point a = path.points[i], b = path.points[(i + 1) % path.points.size()];
      const double middle = std::hypot((a.x + b.x) / 2 - 10, (a.y + b.y) / 2 - 20);
      CHECK(std::abs(middle - radius) < 0.051);
    }
  }
  CHECK(polar({0, 0}, 2, 90).x == doctest::Approx(2));  // east is to the right
  const Rect box = bounds_of(rounded({5, 6, 70, 30}, 8));
  CHECK(box.x == doctest::Approx(5));
  CHECK(box.bottom() == doctest::Approx(36));
}

TEST_CASE("Every hatch covers the whole of its bounds, wherever they lie [property]") {
  for (Hatch hatch : {Hatch::ridge, Hatch::evergreen, Hatch::leafy, Hatch::building, Hatch::pole,
                      Hatch::open, Hatch::computed}) {
    for (Rect where : {Rect{0, 0, 60, 60}, Rect{-333, 1204, 60, 60}}) {
      CAPTURE(static_cast<int>(hatch));
      int quarters[4] = {0, 0, 0, 0};
      for (const Path& stroke : hatch_lines(hatch, where)) {
        for (std::size_t i = 1; i < stroke.points.size(); ++i) {
          for (float t = 0; t <= 1; t += 0.01f) {
            const Point a = stroke.points[i - 1], b = stroke.points[i];
            const Point p{a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t};
            if (!where.contains(p)) continue;
            ++quarters[(p.x > where.x + 30 ? 1 : 0) + (p.y > where.y + 30 ? 2 : 0)];
          }
        }
      }
      for (int count : quarters) CHECK(count > 0);
    }
  }
}
