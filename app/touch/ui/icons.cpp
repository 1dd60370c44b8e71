// app/touch/ui/icons.cpp: the few signs that stand beside words.
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/touch/ui/widgets.h"

namespace app {

void draw_icon(Ui& ui, Icon icon, Point c, float size, Color color) {
  // Only what points to a side is mirrored with the screen.
  Canvas& canvas = icon == Icon::back || icon == Icon::undo
                       ? ui.canvas()
                       : ui.figure({c.x - size / 2, c.y - size / 2, size, size});
  const float r = size / 2, w = std::max(1.6f, size / 11);
  const auto at = [&](float x, float y) { return Point{c.x + x * r, c.y + y * r}; };
  const auto open = [&](std::initializer_list<Point> points) {
    Path path;
    for (Point p : points) path.points.push_back(at(p.x, p.y));
    canvas.stroke(path, {color, w});
  };
  switch (icon) {
    case Icon::none:
      break;
    case Icon::back:
      open({{0.4f, -0.8f}, {-0.4f, 0}, {0.4f, 0.8f}});
      break;
    case Icon::up:
      open({{-0.7f, 0.35f}, {0, -0.35f}, {0.7f, 0.35f}});
      break;
    case Icon::down:
      open({{-0.7f, -0.35f}, {0, 0.35f}, {0.7f, -0.35f}});
      break;
    case Icon::settings:
      for (int i = 0; i < 3; ++i) {
        const float y = -0.6f + 0.6f * float(i), knob = i == 1 ? 0.4f : -0.35f;
        open({{-0.85f, y}, {0.85f, y}});
        canvas.fill(circle(at(knob, y), r * 0.22f), {color});
      }
      break;
    case Icon::still:  // a hand's cross with a clock round it
      canvas.stroke(arc(c, r * 0.85f, 30, 330), {color, w});
      open({{0, -0.45f}, {0, 0.45f}});
      open({{-0.45f, 0}, {0.45f, 0}});
      break;
    case Icon::question:
      canvas.stroke(circle(c, r * 0.95f), {color, w});
      open({{-0.3f, -0.25f},
            {-0.26f, -0.45f},
            {-0.1f, -0.58f},
            {0.1f, -0.58f},
            {0.28f, -0.42f},
            {0.28f, -0.2f},
            {0.1f, 0.0f},
            {0, 0.12f},
            {0, 0.26f}});
      canvas.fill(circle(at(0, 0.52f), w * 0.75f), {color});
      break;
    case Icon::plus:
      open({{-0.7f, 0}, {0.7f, 0}});
      open({{0, -0.7f}, {0, 0.7f}});
      break;
    case Icon::check:
      open({{-0.7f, 0.05f}, {-0.2f, 0.55f}, {0.75f, -0.5f}});
      break;
    case Icon::close:
      open({{-0.6f, -0.6f}, {0.6f, 0.6f}});
      open({{0.6f, -0.6f}, {-0.6f, 0.6f}});
      break;
    case Icon::search:
      canvas.stroke(circle(at(-0.15f, -0.15f), r * 0.55f), {color, w});
      open({{0.25f, 0.25f}, {0.8f, 0.8f}});
      break;
    case Icon::camera:
      canvas.stroke(rounded({c.x - r * 0.9f, c.y - r * 0.5f, r * 1.8f, r * 1.2f}, r * 0.2f),
                    {color, w});
      canvas.stroke(circle(at(0, 0.1f), r * 0.35f), {color, w});
      open({{-0.4f, -0.5f}, {-0.2f, -0.8f}, {0.2f, -0.8f}, {0.4f, -0.5f}});
      break;
    case Icon::photo:
      canvas.stroke(rounded({c.x - r * 0.85f, c.y - r * 0.65f, r * 1.7f, r * 1.3f}, r * 0.15f),
                    {color, w});
      open({{-0.8f, 0.5f}, {-0.2f, -0.15f}, {0.15f, 0.2f}, {0.4f, -0.05f}, {0.8f, 0.4f}});
      break;
    case Icon::warning: {
      Path triangle{{at(0, -0.8f), at(0.9f, 0.75f), at(-0.9f, 0.75f)}, true};
      canvas.stroke(triangle, {color, w});
      open({{0, -0.25f}, {0, 0.25f}});
      canvas.fill(circle(at(0, 0.5f), w * 0.6f), {color});
      break;
    }
    case Icon::more:
      for (float x : {-0.6f, 0.f, 0.6f}) canvas.fill(circle(at(x, 0), r * 0.15f), {color});
      break;
    case Icon::turn:  // all round, and its arrow
      canvas.stroke(arc(at(0, 0), r * 0.75f, 20, 335), {color, w});
      open({{0.85f, -0.75f}, {0.72f, -0.2f}, {0.2f, -0.35f}});
      break;
    case Icon::undo: {
      canvas.stroke(arc(at(0, 0.1f), r * 0.6f, -60, 190), {color, w});
      open({{-0.75f, -0.65f}, {-0.55f, -0.15f}, {-0.05f, -0.3f}});
      break;
    }
    case Icon::keypad:
      for (int i = 0; i < 9; ++i)
        canvas.fill(circle(at(-0.6f + 0.6f * float(i % 3), -0.6f + 0.6f * float(i / 3)), r * 0.14f),
                    {color});
      break;
    case Icon::sun:
      canvas.stroke(circle(c, r * 0.38f), {color, w});
      for (int i = 0; i < 8; ++i)
        canvas.stroke(line(polar(c, r * 0.6f, float(i) * 45), polar(c, r * 0.9f, float(i) * 45)),
                      {color, w});
      break;
    case Icon::folder:
      canvas.stroke({{at(-0.85f, 0.6f), at(-0.85f, -0.6f), at(-0.25f, -0.6f), at(-0.05f, -0.35f),
                      at(0.85f, -0.35f), at(0.85f, 0.6f)},
                     true},
                    {color, w});
      break;
  }
}

}  // namespace app
