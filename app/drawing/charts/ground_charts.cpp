#include "app/drawing/charts/ground_charts.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/words/words.h"

namespace app {
namespace {

Color color_of(SoilFill fill) {
  switch (fill) {
    case SoilFill::topsoil:
      return {92, 72, 54};
    case SoilFill::sand:
      return {222, 200, 150};
    case SoilFill::loam:
      return {164, 128, 92};
    case SoilFill::silt:
      return {196, 178, 150};
    case SoilFill::clay:
      return {170, 108, 78};
    case SoilFill::gravel:
      return {186, 182, 172};
    case SoilFill::rock:
      return {128, 134, 140};
    case SoilFill::peat:
      return {66, 56, 48};
    case SoilFill::other:
      break;
  }
  return {200, 194, 184};
}

// Each sort of soil has its own grain, so that colour is never the only sign.
void grain(Canvas& canvas, Rect r, SoilFill fill, const ChartStyle& style) {
  const bool dark = fill == SoilFill::topsoil || fill == SoilFill::peat;
  const Color ink = dark ? Color{255, 255, 255, 110} : Color{40, 34, 28, 120};
  const float u = style.text;
  canvas.push_clip(r);
  // Scattered by a fixed rule: the same picture each time.
  unsigned dice = 12345u + static_cast<unsigned>(fill) * 977u;
  const auto next = [&] {
    dice = dice * 1664525u + 1013904223u;
    return static_cast<float>(dice >> 8) / 16777216.0f;
  };
  const auto scatter = [&](float spacing, auto&& draw) {
    for (float y = r.y; y < r.bottom() + spacing; y += spacing) {
      for (float x = r.x; x < r.right() + spacing; x += spacing) {
        draw(Point{x + (next() - 0.5f) * spacing, y + (next() - 0.5f) * spacing});
      }
    }
  };
  switch (fill) {
    case SoilFill::sand:
      scatter(u * 0.6f, [&](Point p) { canvas.fill(circle(p, u * 0.08f), {ink}); });
      break;
    case SoilFill::loam:
      scatter(u * 0.95f, [&](Point p) {
        canvas.fill(circle(p, u * 0.08f), {ink});
        canvas.stroke(line({p.x + u * 0.3f, p.y + u * 0.2f}, {p.x + u * 0.6f, p.y + u * 0.2f}),
                      {ink, u * 0.07f});
      });
      break;
    case SoilFill::silt:
      scatter(u * 0.8f, [&](Point p) {
        canvas.stroke(line(p, {p.x + u * 0.3f, p.y}), {ink, u * 0.07f});
      });
      break;
    case SoilFill::clay:
      for (float y = r.y + u * 0.4f; y < r.bottom(); y += u * 0.6f) {
        canvas.stroke(line({r.x, y}, {r.right(), y}), {ink, u * 0.06f});
      }
      break;
    case SoilFill::gravel:
      scatter(u * 1.3f, [&](Point p) {
        canvas.stroke(circle(p, u * (0.25f + 0.25f * next())), {ink, u * 0.09f});
      });
      break;
    case SoilFill::rock:
      for (const Path& stroke : hatch_lines(Hatch::building, r)) {
        canvas.stroke(stroke, {ink, u * 0.09f});
      }
      break;
    case SoilFill::topsoil:
    case SoilFill::peat:
      scatter(u * 0.9f, [&](Point p) {
        canvas.stroke(line(p, {p.x + u * 0.15f, p.y + u * 0.35f}), {ink, u * 0.07f});
      });
      break;
    case SoilFill::other:
      break;
  }
  canvas.pop_clip();
}

bool meets_any(const Rect& box, const std::vector<Rect>& others) {
  return std::any_of(others.begin(), others.end(), [&](const Rect& o) {
    return box.x < o.right() && o.x < box.right() && box.y < o.bottom() && o.y < box.bottom();
  });
}

}  // namespace

void draw_soil_profile(Canvas& canvas, Rect where, const SoilProfileChart& chart,
                       const ChartStyle& style) {
  const Theme& theme = *style.theme;
  double deepest = 0.1;
  for (const auto& layer : chart.layers) deepest = std::max(deepest, layer.to_m);
  if (chart.water_m) deepest = std::max(deepest, *chart.water_m + 0.05);
  Rect plot = where;
  plot.x += style.text * 4.2f;
  plot.w = std::min(where.w * 0.3f, style.text * 9);
  plot.y += style.text;
  plot.h -= style.text * 2;
  const Scale y{0, deepest, plot.y, plot.bottom()};
  canvas.begin_figure(tr("chart.soil.words", {depth(deepest, style.units)}));
  float text_from = plot.y - style.text;
  for (const auto& layer : chart.layers) {
    const Rect r{plot.x, y(layer.from_m), plot.w, y(layer.to_m) - y(layer.from_m)};
    canvas.fill(rectangle(r), {color_of(layer.fill)});
    grain(canvas, r, layer.fill, style);
    canvas.stroke(line({r.x, r.bottom()}, {r.right(), r.bottom()}),
                  {theme.ink, style.text * 0.08f});
    canvas.text({plot.x - style.text * 0.5f, r.bottom() + style.text * 0.36f},
                depth(layer.to_m, style.units), style.quiet(Align::right));
    const float left = plot.right() + style.text * 1.6f, width = where.right() - left;
    float base = std::max(r.y + std::min(r.h / 2, style.text * 1.6f) + style.text * 0.36f,
                          text_from + style.line());
    canvas.stroke(
        line({plot.right(), r.y + r.h / 2}, {left - style.text * 0.3f, base - style.text * 0.3f}),
        {theme.quiet, style.hair()});
    std::string words = layer.name;
    for (const auto& row : wrapped(words, style.words(Align::left, Weight::semibold), width)) {
      canvas.text({left, base}, row, style.words(Align::left, Weight::semibold));
      base += style.line();
    }
    if (!layer.notes.empty()) {
      for (const auto& row : wrapped(layer.notes, style.quiet(), width)) {
        canvas.text({left, base}, row, style.quiet());
        base += style.line();
      }
    }
    text_from = base - style.line();
  }
  canvas.text({plot.x - style.text * 0.5f, plot.y + style.text * 0.36f}, depth(0, style.units),
              style.quiet(Align::right));
  canvas.stroke(rectangle(plot), {theme.ink, style.text * 0.1f});
  // Grass on top.
  for (float x = plot.x; x < plot.right(); x += style.text * 0.5f) {
    canvas.stroke(line({x, plot.y}, {x + style.text * 0.12f, plot.y - style.text * 0.4f}),
                  {theme.evergreen, style.text * 0.1f});
  }
  if (chart.water_m) {
    const float at = y(*chart.water_m);
    canvas.fill(rectangle({plot.x, at, plot.w, plot.bottom() - at}), {{70, 120, 170, 90}});
    canvas.stroke(line({plot.x, at}, {plot.right(), at}), {{40, 90, 150}, style.text * 0.18f});
    canvas.text({plot.x + plot.w / 2, at - style.text * 0.35f}, tr("chart.soil.water"),
                {style.part(0.9f), theme.ink, Weight::semibold, Align::center});
  }
  if (chart.frost_m && *chart.frost_m <= deepest) {
    const float at = y(*chart.frost_m);
    canvas.stroke(line({plot.x, at}, {plot.right(), at}),
                  {theme.ink, style.text * 0.14f, {4, 2, 1, 2}});
    canvas.text({plot.x + plot.w / 2, at - style.text * 0.35f}, tr("chart.soil.frost"),
                {style.part(0.9f), theme.ink, Weight::semibold, Align::center});
  }
  canvas.end_figure();
}

void draw_percolation(Canvas& canvas, Rect where, const PercolationChart& chart,
                      const ChartStyle& style) {
  const Theme& theme = *style.theme;
  Rect plot = where;
  plot.x += style.text * 4.2f;
  plot.w -= style.text * 4.6f;
  plot.y += style.text * 0.8f;
  plot.h -= style.text * 3.6f;
  double longest = 10, highest = 0.05;
  for (const auto& r : chart.readings) {
    longest = std::max(longest, r.minutes);
    highest = std::max(highest, r.level_m);
  }
  const double step_x = step_for(longest, 6), step_y = step_for(highest * 100, 4) / 100;
  highest = std::ceil(highest / step_y - 1e-9) * step_y;
  const Scale x{0, longest, plot.x, plot.right()}, y{0, highest, plot.bottom(), plot.y};
  canvas.begin_figure(tr("chart.percolation.words"));
  for (double v = 0; v <= highest + 1e-9; v += step_y) {
    canvas.stroke(line({plot.x, y(v)}, {plot.right(), y(v)}), {theme.rule, style.hair()});
    canvas.text({plot.x - style.text * 0.4f, y(v) + style.text * 0.36f}, depth(v, style.units),
                style.quiet(Align::right));
  }
  for (double v = 0; v <= longest + 1e-9; v += step_x) {
    canvas.text({x(v), plot.bottom() + style.text * 1.4f}, number(v), style.quiet(Align::center));
  }
  canvas.text({plot.x + plot.w / 2, plot.bottom() + style.text * 2.7f},
              tr("chart.percolation.axis"), style.quiet(Align::center));
  Path curve;
  for (const auto& r : chart.readings) curve.points.push_back({x(r.minutes), y(r.level_m)});
  canvas.stroke(curve, {{40, 90, 150}, style.text * 0.18f});
  for (const Point& p : curve.points) {
    canvas.fill(circle(p, style.text * 0.28f), {theme.mark});
    canvas.stroke(circle(p, style.text * 0.28f), {{40, 90, 150}, style.text * 0.12f});
  }
  if (chart.rate_m_h && !chart.readings.empty()) {
    const auto& last = chart.readings.back();
    const double back = std::min(last.minutes, 60.0);
    canvas.push_clip(plot);
    canvas.stroke(line({x(last.minutes - back), y(last.level_m + *chart.rate_m_h * back / 60)},
                       {x(last.minutes), y(last.level_m)}),
                  {theme.amber_deep, style.text * 0.16f, {4, 2}});
    canvas.pop_clip();
  }
  canvas.end_figure();
}

void draw_texture_triangle(Canvas& canvas, Rect where, const std::vector<TexturePoint>& points,
                           const ChartStyle& style) {
  const Theme& theme = *style.theme;
  const float room = style.text * 2.6f;
  const float side = std::min(where.w - 2 * room, (where.h - room * 1.6f) / 0.8660254f);
  const Point low_left{where.x + (where.w - side) / 2, where.y + room * 0.5f + side * 0.8660254f};
  // Clay upwards, sand towards the lower left corner, silt towards the lower right.
  const auto at = [&](double sand, double clay) {
    const auto s = static_cast<float>(1 - sand / 100 - clay / 200);
    return Point{low_left.x + side * s,
                 low_left.y - side * 0.8660254f * static_cast<float>(clay / 100)};
  };
  struct Class {
    const char* key;
    std::vector<std::pair<double, double>> corners;  // sand, clay
  };
  // Soil Survey Manual (USDA Handbook 18), chapter 3, figure of the textural triangle.
  static const Class kClasses[] = {
      {"sand", {{100, 0}, {90, 10}, {85, 0}}},
      {"loamy_sand", {{85, 0}, {90, 10}, {85, 15}, {70, 0}}},
      {"sandy_loam", {{70, 0}, {85, 15}, {80, 20}, {52, 20}, {52, 7}, {43, 7}, {50, 0}}},
      {"loam", {{43, 7}, {52, 7}, {52, 20}, {45, 27}, {23, 27}}},
      {"silt_loam", {{50, 0}, {23, 27}, {0, 27}, {0, 12}, {8, 12}, {20, 0}}},
      {"silt", {{20, 0}, {8, 12}, {0, 12}, {0, 0}}},
      {"sandy_clay_loam", {{80, 20}, {65, 35}, {45, 35}, {45, 27}, {52, 20}}},
      {"clay_loam", {{45, 27}, {45, 40}, {20, 40}, {20, 27}}},
      {"silty_clay_loam", {{20, 27}, {20, 40}, {0, 40}, {0, 27}}},
      {"sandy_clay", {{65, 35}, {45, 55}, {45, 35}}},
      {"silty_clay", {{20, 40}, {0, 60}, {0, 40}}},
      {"clay", {{45, 40}, {45, 55}, {0, 100}, {0, 60}, {20, 40}}},
  };
  canvas.begin_figure(tr("chart.texture.words"));
  TextStyle small = style.quiet(Align::center);
  small.size = style.part(0.72f);
  // A class is named where neither a point's name nor another class's stands.
  const TextStyle point_name = style.words(Align::left, Weight::semibold);
  std::vector<Rect> taken;
  for (const auto& point : points) {
    const Point p = at(point.sand, point.clay);
    taken.push_back({p.x - style.text * 0.5f, p.y - style.text * 0.7f,
                     text_width(point.label, point_name) + style.text * 1.5f, style.text * 1.5f});
  }
  for (const auto& one : kClasses) {
    Path shape;
    shape.closed = true;
    Point middle{0, 0};
    for (const auto& [sand, clay] : one.corners) {
      shape.points.push_back(at(sand, clay));
      middle.x += shape.points.back().x;
      middle.y += shape.points.back().y;
    }
    const auto n = static_cast<float>(one.corners.size());
    canvas.stroke(shape, {theme.quiet, style.hair() * 1.2f});
    const auto rows = wrapped(tr(std::string("soil.") + one.key), small, side * 0.17f);
    float base = middle.y / n - static_cast<float>(rows.size() - 1) * small.size * 0.55f;
    float widest = 0;
    for (const auto& row : rows) widest = std::max(widest, text_width(row, small));
    const Rect box{middle.x / n - widest / 2, base - small.size * 0.6f, widest,
                   static_cast<float>(rows.size()) * small.size * 1.1f};
    if (meets_any(box, taken)) continue;
    taken.push_back(box);
    for (const auto& row : rows) {
      canvas.text({middle.x / n, base + small.size * 0.3f}, row, small);
      base += small.size * 1.1f;
    }
  }
  canvas.stroke({{at(100, 0), at(0, 100), at(0, 0)}, true}, {theme.ink, style.text * 0.12f});
  for (int v = 20; v < 100; v += 20) {
    const std::string words = std::to_string(v);
    TextStyle axis = style.quiet(Align::right);
    axis.size = style.part(0.85f);
    const Point clay = at(100 - v, v);
    canvas.text({clay.x - style.text * 0.4f, clay.y + style.text * 0.3f}, words, axis);
    axis.align = Align::center;
    const Point sand = at(v, 0);
    canvas.text({sand.x, sand.y + style.text * 1.2f}, words, axis);
    axis.align = Align::left;
    const Point silt = at(0, 100 - v);
    canvas.text({silt.x + style.text * 0.4f, silt.y + style.text * 0.3f}, words, axis);
  }
  const Point left = at(75, 50), bottom = at(50, 0), right = at(-25, 50);
  canvas.text({left.x - style.text * 0.6f, left.y}, tr("chart.texture.clay"),
              style.words(Align::center));
  canvas.text({right.x + style.text * 0.6f, right.y}, tr("chart.texture.silt"),
              style.words(Align::center));
  canvas.text({bottom.x, bottom.y + style.text * 2.4f}, tr("chart.texture.sand"),
              style.words(Align::center));
  for (const auto& point : points) {
    const Point p = at(point.sand, point.clay);
    canvas.fill(circle(p, style.text * 0.4f), {theme.amber});
    canvas.stroke(circle(p, style.text * 0.4f), {theme.ink, style.text * 0.13f});
    canvas.fill(
        rounded({p.x + style.text * 0.6f, p.y - style.text * 0.6f,
                 text_width(point.label, point_name) + style.text * 0.4f, style.text * 1.3f},
                style.text * 0.3f),
        {faded(theme.card, 0.95f)});
    canvas.text({p.x + style.text * 0.8f, p.y + style.text * 0.4f}, point.label, point_name);
  }
  canvas.end_figure();
}

void draw_plot_map(Canvas& canvas, Rect where, const PlotMap& map, const ChartStyle& style) {
  const Theme& theme = *style.theme;
  canvas.begin_figure(tr("chart.map.words", {std::to_string(map.places.size())}));
  canvas.fill(rounded(where, style.text * 0.6f), {theme.sky});
  double west = 1e9, east = -1e9, south = 1e9, north = -1e9;
  const auto reach = [&](double e, double n) {
    west = std::min(west, e);
    east = std::max(east, e);
    south = std::min(south, n);
    north = std::max(north, n);
  };
  for (const auto& place : map.places) reach(place.east_m, place.north_m);
  for (const auto& outline : map.outlines) {
    for (const Point& p : outline) reach(p.x, p.y);
  }
  if (west > east) {
    canvas.end_figure();
    return;
  }
  const Rect plot{where.x + style.text * 4, where.y + style.text * 3, where.w - style.text * 12,
                  where.h - style.text * 7};
  const double metres = std::max({(east - west) / plot.w, (north - south) / plot.h, 4.0 / plot.w});
  const Point middle{plot.x + plot.w / 2, plot.y + plot.h / 2};
  const auto at = [&](double e, double n) {
    return Point{middle.x + static_cast<float>((e - (west + east) / 2) / metres),
                 middle.y - static_cast<float>((n - (south + north) / 2) / metres)};
  };
  for (const auto& outline : map.outlines) {
    Path path;
    path.closed = outline.size() > 2;
    for (const Point& p : outline) path.points.push_back(at(p.x, p.y));
    if (path.closed) canvas.fill(path, {theme.card});
    canvas.stroke(path, {theme.quiet, style.text * 0.12f, {4, 2}});
  }
  // The signs, the north arrow and the scale keep names off.
  std::vector<Rect> taken{{where.right() - style.text * 3, where.y, style.text * 3, style.text * 6},
                          {where.x, where.bottom() - style.text * 3.5f,
                           where.w * 0.2f + style.text * 3, style.text * 3.5f}};
  for (const auto& place : map.places) {
    const Point p = at(place.east_m, place.north_m);
    taken.push_back({p.x - style.text * 0.5f, p.y - style.text * 0.5f, style.text, style.text});
  }
  bool first_station = true;
  for (const auto& place : map.places) {
    const Point p = at(place.east_m, place.north_m);
    const float u = style.text;
    switch (place.sign) {
      case PlotSign::station:
        if (first_station && map.facing_deg) {
          const auto bearing = static_cast<float>(*map.facing_deg);
          const Point tip = polar(p, u * 4, bearing);
          canvas.stroke(line(p, tip), {theme.amber_deep, u * 0.25f});
          canvas.fill({{tip, polar(tip, u, bearing + 155), polar(tip, u, bearing - 155)}, true},
                      {theme.amber_deep});
        }
        first_station = false;
        canvas.fill(circle(p, u * 0.65f), {theme.amber});
        canvas.stroke(circle(p, u * 0.65f), {theme.ink, u * 0.15f});
        break;
      case PlotSign::landmark:
        canvas.fill({{{p.x, p.y - u * 0.6f},
                      {p.x + u * 0.6f, p.y + u * 0.5f},
                      {p.x - u * 0.6f, p.y + u * 0.5f}},
                     true},
                    {theme.ridge});
        break;
      case PlotSign::pit:
        canvas.fill(rectangle({p.x - u * 0.5f, p.y - u * 0.5f, u, u}), {color_of(SoilFill::loam)});
        canvas.stroke(rectangle({p.x - u * 0.5f, p.y - u * 0.5f, u, u}), {theme.ink, u * 0.1f});
        break;
      case PlotSign::water:
        canvas.fill(circle(p, u * 0.5f), {{70, 120, 170}});
        break;
      default:
        canvas.fill(circle(p, u * 0.35f), {theme.quiet});
        break;
    }
    TextStyle words = style.words(
        Align::left, place.sign == PlotSign::station ? Weight::semibold : Weight::regular);
    const std::string label = shortened(
        place.value.empty() ? place.label : place.label + "  " + place.value, words, u * 16);
    const float width = text_width(label, words);
    // Right of the sign, else left, above, below: the first that is free.
    const Point tries[] = {{p.x + u, p.y + u * 0.35f},
                           {p.x - u - width, p.y + u * 0.35f},
                           {p.x - width / 2, p.y - u},
                           {p.x - width / 2, p.y + u * 1.8f}};
    for (const Point& t : tries) {
      const Rect box{t.x, t.y - u, width, u * 1.3f};
      if (box.x < where.x || box.right() > where.right()) continue;
      if (meets_any(box, taken)) continue;
      canvas.text(t, label, words);
      taken.push_back(box);
      break;
    }
  }
  const double bar = step_for(metres * where.w * 0.12, 1);
  const float length = static_cast<float>(bar / metres);
  const Point from{where.x + style.text * 1.5f, where.bottom() - style.text * 1.2f};
  canvas.stroke(line(from, {from.x + length, from.y}), {theme.ink, style.text * 0.2f});
  canvas.text({from.x + length / 2, from.y - style.text * 0.5f}, distance(bar, style.units),
              style.words(Align::center));
  const Point up{where.right() - style.text * 2, where.y + style.text * 4.2f};
  canvas.stroke(line(up, {up.x, up.y - style.text * 2.2f}), {theme.ink, style.text * 0.15f});
  canvas.fill({{{up.x, up.y - style.text * 2.9f},
                {up.x + style.text * 0.45f, up.y - style.text * 2},
                {up.x - style.text * 0.45f, up.y - style.text * 2}},
               true},
              {theme.ink});
  canvas.text({up.x, up.y + style.text * 1.1f}, tr("compass.0"),
              style.words(Align::center, Weight::semibold));
  canvas.end_figure();
}

}  // namespace app
