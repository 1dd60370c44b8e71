#include "app/drawing/charts/skyline_chart.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/words/words.h"

namespace app {
namespace {

using horizon::wrap_180;
using horizon::wrap_360;

struct Frame {
  Rect plot;
  double start_deg, span_deg, bottom_deg, top_deg;

  // Degrees right of the window's left edge, the nearest way round to the window.
  double right_of_start(double azimuth_deg) const {
    return wrap_180(azimuth_deg - start_deg - span_deg / 2) + span_deg / 2;
  }
  float x_right_of_start(double u) const {
    return plot.x + static_cast<float>(u / span_deg) * plot.w;
  }
  float x(double azimuth_deg) const { return x_right_of_start(right_of_start(azimuth_deg)); }
  float y(double elevation_deg) const {
    return plot.bottom() -
           static_cast<float>((elevation_deg - bottom_deg) / (top_deg - bottom_deg)) * plot.h;
  }
};

Frame frame_of(const SkylineChart& chart, Rect where, const ChartStyle& style) {
  double top = chart.top_deg;
  if (top <= 0) {
    top = chart.mask->highest_deg() + 4;
    for (const auto& path : chart.paths) {
      for (const auto& p : path.points) top = std::max(top, p.elevation_deg + 5);
    }
    top = std::min(90.0, std::max(20.0, std::ceil(top / 5) * 5));
  }
  Rect plot = where;
  if (chart.axes) {
    const float left = style.text * 2.6f;
    plot.x += left;
    plot.w -= left;
    plot.h -= style.text * 2;
  }
  return {plot, chart.center_deg - chart.span_deg / 2, chart.span_deg, chart.bottom_deg, top};
}

struct Stretch {
  int obstacle;
  bool open, computed;
  std::vector<std::pair<double, double>> line;  // degrees right of start, elevation
};

bool computed_near(const horizon::Skyline& skyline, double azimuth_deg) {
  double nearest = 360;
  bool computed = false;
  for (const auto& point : skyline.points) {
    const double away = std::abs(wrap_180(point.azimuth.degrees() - azimuth_deg));
    if (away < nearest) {
      nearest = away;
      computed = point.computed;
    }
  }
  return computed;
}

// The mask's pieces in window order, joined where one thing goes on.
std::vector<Stretch> stretches(const SkylineChart& chart, const Frame& frame) {
  struct Part {
    double from, to;  // right of start; whole pieces, some begin left of the window
    const horizon::MaskPiece* piece;
    double shift;  // azimuth = right of start + shift
  };
  std::vector<Part> parts;
  for (const auto& piece : chart.mask->pieces()) {
    for (int turn = -1; turn <= 1; ++turn) {
      const double shift = frame.start_deg + 360.0 * turn;
      const double from = piece.from_deg - shift, to = piece.to_deg - shift;
      if (to > 0 && from < frame.span_deg) {
        parts.push_back({std::max(from, 0.0), std::min(to, frame.span_deg), &piece, shift});
      }
    }
  }
  std::stable_sort(parts.begin(), parts.end(),
                   [](const Part& a, const Part& b) { return a.from < b.from; });
  const bool any_computed = std::any_of(chart.skyline->points.begin(), chart.skyline->points.end(),
                                        [](const auto& p) { return p.computed; });
  std::vector<Stretch> out;
  for (const Part& part : parts) {
    const double middle = (part.from + part.to) / 2 + part.shift;
    const bool computed = any_computed && computed_near(*chart.skyline, middle);
    if (out.empty() || out.back().obstacle != part.piece->obstacle ||
        out.back().open != part.piece->open || out.back().computed != computed) {
      out.push_back({part.piece->obstacle, part.piece->open, computed, {}});
    }
    const bool curved = part.piece->edge == horizon::Edge::great_circle;
    const int steps = curved ? std::max(2, static_cast<int>((part.to - part.from) / 0.5)) : 1;
    for (int i = 0; i <= steps; ++i) {
      const double u = part.from + (part.to - part.from) * i / steps;
      // Inside the piece even where rounding would step over its end.
      const double azimuth = std::clamp(u + part.shift, part.piece->from_deg, part.piece->to_deg);
      out.back().line.emplace_back(u, part.piece->elevation_deg(azimuth));
    }
  }
  return out;
}

Paint paint_for(const SkylineChart& chart, const Stretch& stretch, const Theme& theme) {
  if (stretch.open) return paint_of_open(theme);
  if (stretch.computed) return {theme.ridge, Hatch::computed, theme.hatch};
  const auto& obstacles = chart.skyline->obstacles;
  if (stretch.obstacle < 0 || stretch.obstacle >= static_cast<int>(obstacles.size())) {
    return paint_of_open(theme);
  }
  return paint_of(obstacles[stretch.obstacle].kind, theme);
}

void draw_axes(Canvas& canvas, const SkylineChart& chart, const Frame& frame,
               const ChartStyle& style) {
  const Rect plot = frame.plot;
  double up = frame.top_deg - frame.bottom_deg > 50 ? 20 : 10;
  while (plot.h * up / (frame.top_deg - frame.bottom_deg) < style.text * 1.3 && up < 80) up *= 2;
  for (double el = std::ceil(frame.bottom_deg / up) * up; el <= frame.top_deg; el += up) {
    const float y = frame.y(el);
    canvas.stroke(line({plot.x, y}, {plot.right(), y}), {style.theme->rule, style.hair()});
    if (chart.axes) {
      canvas.text({plot.x - style.text * 0.4f, y + style.text * 0.36f}, degrees(el),
                  style.quiet(Align::right));
    }
  }
  if (!chart.axes) return;
  const double step = frame.span_deg > 200 ? 45 : frame.span_deg > 80 ? 22.5 : 10;
  const float y = plot.bottom() + style.text * 1.35f;
  const float room = plot.w * static_cast<float>(step / frame.span_deg);
  float last_right = -1e6f;
  for (double az = std::ceil(frame.start_deg / step) * step;
       az <= frame.start_deg + frame.span_deg + 1e-6; az += step) {
    const float x = frame.x_right_of_start(az - frame.start_deg);
    canvas.stroke(line({x, plot.bottom()}, {x, plot.bottom() + style.text * 0.3f}),
                  {style.theme->quiet, style.hair() * 1.5f});
    std::string name;
    if (step == 10) {
      name = degrees(wrap_360(az));
    } else {
      name = compass_point(az);
      const std::string both = name + " " + degrees(wrap_360(az));
      // At an edge all of it stands on one side.
      const bool edge = std::min(x - plot.x, plot.right() - x) < room / 2;
      const float width = text_width(both, style.quiet()) * (edge ? 1.5f : 1);
      if (std::fmod(wrap_360(az), 45) == 0 && width < room * 0.9f) name = both;
    }
    const float half = text_width(name, style.quiet()) / 2;
    TextStyle words = style.quiet(Align::center);
    float at = x;
    if (x - half < plot.x - style.text * 2) at = plot.x - style.text * 2 + half;
    if (x + half > plot.right() + style.text * 0.2f) at = plot.right() + style.text * 0.2f - half;
    if (at - half < last_right + style.text * 0.2f) continue;
    canvas.text({at, y}, name, words);
    last_right = at + half;
  }
}

// On a ground of its own, over what passes behind.
void label_on_sky(Canvas& canvas, Point at, const std::string& label, const TextStyle& words,
                  const ChartStyle& style) {
  const float half = text_width(label, words) / 2 + style.text * 0.15f;
  canvas.fill(rectangle({at.x - half, at.y - style.text * 0.78f, 2 * half, style.text * 0.98f}),
              {faded(style.theme->sky, 0.9f)});
  canvas.text(at, label, words);
}

// Under each hour of a strong path that the skyline leaves.
struct HourLabel {
  Point at;
  std::string hour;
};
std::vector<HourLabel> hour_labels(const SkylineChart& chart, const Frame& frame,
                                   const DayPath& path, const ChartStyle& style) {
  std::vector<HourLabel> labels;
  if (!path.strong || !chart.labels) return labels;
  for (const auto& mark : path.hours) {
    const Point at{frame.x(mark.at.azimuth_deg), frame.y(mark.at.elevation_deg)};
    if (frame.plot.contains(at) &&
        mark.at.elevation_deg >= chart.mask->elevation_deg(mark.at.azimuth_deg))
      labels.push_back({{at.x, at.y + style.text * 1.2f}, std::to_string(mark.hour)});
  }
  return labels;
}

void draw_path(Canvas& canvas, const SkylineChart& chart, const Frame& frame, const DayPath& path,
               const ChartStyle& style) {
  const Color color = style.theme->amber_deep;
  const float width = style.text * (path.strong ? 0.26f : 0.15f);
  const auto draw = [&](std::vector<Point>& points, bool hidden) {
    if (points.size() > 1) {
      canvas.stroke({points, false}, hidden ? Stroke{faded(color, 0.5f), width * 0.6f, {1.5f, 2.5f}}
                                            : Stroke{color, width, {}});
    }
    points.clear();
  };
  std::vector<Point> points;
  bool hidden_before = false;
  double u_before = 0;
  for (std::size_t i = 0; i < path.points.size(); ++i) {
    const SkyPoint& p = path.points[i];
    const double u = frame.right_of_start(p.azimuth_deg);
    const bool hidden = p.elevation_deg < chart.mask->elevation_deg(p.azimuth_deg);
    const Point at{frame.x_right_of_start(u), frame.y(p.elevation_deg)};
    if (i > 0 && std::abs(u - u_before) > 180) {
      draw(points, hidden_before);  // over the edge of the window
    } else if (i > 0 && hidden != hidden_before) {
      points.push_back(at);
      draw(points, hidden_before);
    }
    points.push_back(at);
    hidden_before = hidden;
    u_before = u;
  }
  draw(points, hidden_before);
  for (const auto& mark : path.hours) {
    const Point at{frame.x(mark.at.azimuth_deg), frame.y(mark.at.elevation_deg)};
    if (!frame.plot.contains(at)) continue;
    const bool hidden = mark.at.elevation_deg < chart.mask->elevation_deg(mark.at.azimuth_deg);
    canvas.fill(circle(at, style.text * (path.strong ? 0.3f : 0.2f)),
                {hidden ? faded(color, 0.5f) : color});
  }
  TextStyle small = style.words(Align::center);
  small.size = style.part(0.85f);
  for (const auto& label : hour_labels(chart, frame, path, style))
    label_on_sky(canvas, label.at, label.hour, small, style);
}

void label_paths(Canvas& canvas, const SkylineChart& chart, const Frame& frame,
                 const ChartStyle& style) {
  for (const auto& path : chart.paths) {
    if (path.label.empty() || path.points.empty()) continue;
    const auto top = std::max_element(
        path.points.begin(), path.points.end(),
        [](const SkyPoint& a, const SkyPoint& b) { return a.elevation_deg < b.elevation_deg; });
    TextStyle words = style.words(Align::center, path.strong ? Weight::semibold : Weight::regular);
    words.size = style.part(0.9f);
    // The strong path has its hours below, and its name below them.
    const float down = style.text * (path.strong ? 2.3f : -0.45f);
    const Point at{frame.x(top->azimuth_deg), frame.y(top->elevation_deg) + down};
    const float line_y = frame.y(chart.mask->elevation_deg(top->azimuth_deg));
    if (path.strong && at.y + style.text * 0.3f > line_y) continue;
    if (!frame.plot.contains({at.x, at.y - style.text})) continue;
    label_on_sky(canvas, at, path.label, words, style);
  }
}

// Inside the shape, where its line is highest above the label; hours come first.
void label_obstacles(Canvas& canvas, const SkylineChart& chart, const Frame& frame,
                     const std::vector<Stretch>& all, const ChartStyle& style) {
  float last_right = frame.plot.x - 1;
  std::vector<HourLabel> hours;
  for (const auto& path : chart.paths)
    for (auto& label : hour_labels(chart, frame, path, style)) hours.push_back(std::move(label));
  for (const auto& stretch : all) {
    std::string name;
    TextStyle words{style.part(0.9f), style.theme->on_ink, Weight::semibold, Align::center};
    if (stretch.open) {
      name = tr("kind.open");
      words.color = style.theme->warning;
    } else if (stretch.obstacle >= 0) {
      const auto& obstacle = chart.skyline->obstacles[stretch.obstacle];
      name = obstacle.label;
      if (obstacle.kind == horizon::Kind::leafy) words.color = kDaylight.ink;
    }
    if (name.empty() || stretch.line.empty()) continue;
    const float left = frame.x_right_of_start(stretch.line.front().first);
    const float right = frame.x_right_of_start(stretch.line.back().first);
    const float half = text_width(name, words) / 2 + style.text * 0.3f;
    const float y = frame.plot.bottom() - style.text * 0.6f;
    const float middle = (left + right) / 2;
    if (right - left < half * 2 || middle - half < last_right) continue;
    if (std::any_of(hours.begin(), hours.end(), [&](const HourLabel& hour) {
          return std::abs(hour.at.x - middle) < half + style.text * 0.7f &&
                 std::abs(hour.at.y - y) < style.text;
        }))
      continue;
    float lowest = frame.plot.h;
    for (const auto& [u, el] : stretch.line) {
      const float x = frame.x_right_of_start(u);
      if (x > middle - half && x < middle + half) {
        lowest = std::min(lowest, frame.plot.bottom() - frame.y(el));
      }
    }
    if (!stretch.open && lowest < style.text * 1.9f) continue;
    canvas.text({middle, y}, name, words);
    last_right = middle + half;
  }
}

std::string in_words(const SkylineChart& chart) {
  double highest = 0, where = 0;
  for (const auto& piece : chart.mask->pieces()) {
    for (const auto& [az, el] :
         {std::pair{piece.from_deg, piece.from_el_deg}, std::pair{piece.to_deg, piece.to_el_deg}}) {
      if (el > highest) {
        highest = el;
        where = az;
      }
    }
  }
  std::string words = tr("chart.skyline.words", {degrees(highest, 1), degrees(where)});
  for (const auto& open : chart.mask->open_stretches()) {
    words += " " + tr("chart.skyline.open", {degree_range(open.from_deg, open.to_deg)});
  }
  return words;
}

}  // namespace

Point skyline_point(const SkylineChart& chart, Rect where, const ChartStyle& style, SkyPoint at) {
  const Frame frame = frame_of(chart, where, style);
  return {frame.x(at.azimuth_deg), frame.y(at.elevation_deg)};
}

SkyPoint skyline_direction(const SkylineChart& chart, Rect where, const ChartStyle& style,
                           Point at) {
  const Frame frame = frame_of(chart, where, style);
  const double u = (at.x - frame.plot.x) / frame.plot.w * frame.span_deg;
  const double up = (frame.plot.bottom() - at.y) / frame.plot.h;
  return {wrap_360(frame.start_deg + u),
          frame.bottom_deg + up * (frame.top_deg - frame.bottom_deg)};
}

namespace {

// Over what was marked, too: where it stands below a mark, something nearer hides it.
void draw_far(Canvas& canvas, const SkylineChart& chart, const Frame& frame,
              const ChartStyle& style) {
  const Stroke dashed{style.theme->ink, style.text * 0.14f, {4, 3}};
  Path far;
  for (const auto& p : chart.far_skyline) {
    const Point next{frame.x(p.azimuth_deg), frame.y(p.elevation_deg)};
    if (!far.points.empty() && std::abs(next.x - far.points.back().x) > frame.plot.w / 2) {
      canvas.stroke(far, dashed);
      far.points.clear();
    }
    far.points.push_back(next);
  }
  canvas.stroke(far, dashed);
}

}  // namespace

void draw_skyline(Canvas& canvas, Rect where, const SkylineChart& chart, const ChartStyle& style) {
  const Frame frame = frame_of(chart, where, style);
  const Theme& theme = *style.theme;
  canvas.begin_figure(in_words(chart));
  canvas.fill(rectangle(frame.plot), {theme.sky});
  draw_axes(canvas, chart, frame, style);
  canvas.push_clip(frame.plot);
  const auto all = stretches(chart, frame);
  for (const auto& stretch : all) {
    if (stretch.open) {  // nobody knows how high: the whole height
      const float left = frame.x_right_of_start(stretch.line.front().first);
      const float right = frame.x_right_of_start(stretch.line.back().first);
      canvas.fill(rectangle({left, frame.plot.y, right - left, frame.plot.h}),
                  paint_of_open(theme));
    }
  }
  for (const auto& stretch : all) {
    Path shape;
    shape.closed = true;
    shape.points.push_back(
        {frame.x_right_of_start(stretch.line.front().first), frame.plot.bottom() + 1});
    for (const auto& [u, el] : stretch.line) {
      shape.points.push_back({frame.x_right_of_start(u), frame.y(el)});
    }
    shape.points.push_back(
        {frame.x_right_of_start(stretch.line.back().first), frame.plot.bottom() + 1});
    if (!stretch.open) {
      canvas.fill(shape, paint_for(chart, stretch, theme));
    } else {
      shape.points.erase(shape.points.begin());
      shape.points.pop_back();
      shape.closed = false;
      canvas.stroke(shape, {theme.warning, style.text * 0.12f, {3, 2}});
    }
  }
  if (!chart.far_skyline.empty()) draw_far(canvas, chart, frame, style);
  for (const auto& path : chart.paths) draw_path(canvas, chart, frame, path, style);
  if (chart.labels) label_obstacles(canvas, chart, frame, all, style);
  if (chart.marks) {
    const float radius = style.text * 0.28f;
    for (std::size_t i = 0; i < chart.skyline->points.size(); ++i) {
      const auto& point = chart.skyline->points[i];
      if (point.computed) continue;
      const bool selected = static_cast<int>(i) == chart.selected_point;
      const Point at{frame.x(point.azimuth.degrees()), frame.y(point.elevation.degrees())};
      const Path dot = circle(at, selected ? radius * 1.8f : radius);
      canvas.fill(dot, {selected ? theme.amber : theme.mark});
      canvas.stroke(dot, {theme.ink, style.text * 0.11f});
    }
  }
  if (chart.aim_deg) {
    const float x = frame.x(*chart.aim_deg);
    canvas.stroke(line({x, frame.plot.y}, {x, frame.plot.bottom()}), {theme.ink, 1.5f, {4, 3}});
  }
  if (chart.labels) label_paths(canvas, chart, frame, style);
  canvas.pop_clip();
  canvas.end_figure();
}

std::vector<LegendEntry> skyline_legend(const SkylineChart& chart, const ChartStyle& style) {
  bool shown[horizon::kKindCount] = {};
  bool open = false, computed = false;
  for (const auto& piece : chart.mask->pieces()) {
    if (piece.open || piece.obstacle < 0) {
      open = true;
    } else {
      shown[static_cast<int>(chart.skyline->obstacles[piece.obstacle].kind)] = true;
    }
  }
  for (const auto& point : chart.skyline->points) computed = computed || point.computed;
  std::vector<LegendEntry> entries;
  for (int i = 0; i < horizon::kKindCount; ++i) {
    const auto kind = static_cast<horizon::Kind>(i);
    if (!shown[i]) continue;
    entries.push_back(
        {paint_of(kind, *style.theme), tr("kind." + std::string(horizon::name_of(kind)))});
  }
  if (open) entries.push_back({paint_of_open(*style.theme), tr("kind.open")});
  if (computed) {
    entries.push_back(
        {{style.theme->ridge, Hatch::computed, style.theme->hatch}, tr("kind.computed")});
  }
  return entries;
}

}  // namespace app
