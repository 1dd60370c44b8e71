// app/touch/screens/wind_rose.cpp: where a wind comes from, touched on a rose.
#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/touch/screens/ground_parts.h"
#include "app/words/words.h"
#include "horizon/angle.h"

namespace app {

bool wind_rose(TouchApp& app, Column& rows, std::string_view words,
               std::span<const std::string> names, int& chosen) {
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  const int count = int(names.size());
  const float step = 360.f / float(count);
  rows.strong(words);
  const float side = std::min(rows.width(), std::max(250.f, ui.sp(230)));
  const Rect whole = rows.row(side), box{whole.x + (whole.w - side) / 2, whole.y, side, side};
  const Point center{box.x + side / 2, box.y + side / 2};
  const float outer = side / 2 - 2, inner = side * 0.21f;
  Canvas& canvas = ui.figure(box);
  const Gesture g = ui.gesture(words, box);
  bool changed = false;
  if (g.tapped) {
    const float dx = g.at.x - center.x, dy = g.at.y - center.y;
    const double bearing =
        horizon::wrap_360(std::atan2(double(dx), double(-dy)) / horizon::kDegree);
    const int now = std::hypot(dx, dy) < inner ? -1 : int(std::lround(bearing / step)) % count;
    changed = now != chosen;
    chosen = now;
    ui.request_frame();
  }
  for (int i = 0; i < count; ++i) {
    const float middle = float(i) * step;
    const bool here = i == chosen;
    const Path sector = ring_sector(center, inner, outer, middle - step / 2, middle + step / 2);
    canvas.fill(sector, {here ? t.amber_soft : i % 2 ? t.paper : t.card});
    canvas.stroke(sector, {here ? t.ink : t.rule, here ? 2.f : 1.f});
  }
  const std::string known = chosen >= 0 && chosen < count ? names[std::size_t(chosen)] : "–";
  if (chosen >= 0) {  // an arrow blows from the side to the middle
    const float from = float(chosen) * step;
    canvas.stroke(line(polar(center, outer * 0.62f, from), polar(center, inner + 3, from)),
                  {t.ink, 3});
    canvas.fill({{polar(center, inner + 1, from), polar(center, inner + 13, from - 9),
                  polar(center, inner + 13, from + 9)},
                 true},
                {t.ink});
  }
  TextStyle small = ui.style(12.5f, t.ink, Weight::regular, Align::center);
  for (int i = 0; i < count; i += 2) {  // every second side is named
    const Point at = polar(center, outer * 0.83f, float(i) * step);
    small.weight = i == chosen || i % 4 == 0 ? Weight::semibold : Weight::regular;
    const float room = outer * 0.42f;
    const TextStyle fits = ui.fitted(names[std::size_t(i)], small, room, 9);
    canvas.text({at.x, at.y + fits.size * 0.36f}, names[std::size_t(i)], fits);
  }
  const TextStyle big = ui.style(20, t.ink, Weight::semibold, Align::center);
  ui.words({center.x - inner, center.y - ui.sp(14), inner * 2, ui.sp(28)}, known,
           ui.fitted(known, big, inner * 1.8f, 11));
  return changed;
}

bool state_row(TouchApp& app, Column& rows, std::string_view name, std::string_view state,
               double part) {
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  const TextStyle strong = ui.style(16, t.ink, Weight::semibold), quiet = ui.style(14, t.quiet);
  const float ring_room = 40, width = rows.width() - ring_room - 8;
  const bool beside = ui.width(name, strong) + ui.width(state, quiet) + 16 <= width;
  const float text = ui.paragraph_height(width, name, strong),
              below = beside ? 0 : ui.paragraph_height(width, state, quiet);
  const Rect row = rows.row(std::max(kTouch + 4, text + below + 14));
  const bool tapped = ui.tap(name, row);
  if (ui.pressed(name)) ui.canvas().fill(rounded(row, 10), {t.rule});
  ring(ui, {row.x + 16, row.y + row.h / 2}, 12, part, false);
  const float x = row.x + ring_room, y = row.y + (row.h - text - below) / 2;
  ui.paragraph({x, y, beside ? ui.width(name, strong) + 2 : width, text}, name, strong);
  if (beside) {
    TextStyle right = quiet;
    right.align = Align::right;
    ui.words({row.right() - ui.width(state, quiet) - 4, row.y, ui.width(state, quiet) + 4, row.h},
             state, right);
  } else {
    ui.paragraph({x, y + text, width, below}, state, quiet);
  }
  hairline(ui, row.x, row.bottom(), row.w);
  rows.space(-9);  // lines of one list stand close
  return tapped;
}

}  // namespace app
