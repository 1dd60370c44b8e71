#include "app/drawing/charts/plot_chart.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/words/words.h"

namespace app {
namespace {

constexpr double kNinety = 2.146;

Color between(Color a, Color b, double part) {
  const auto mix = [&](int x, int y) {
    return static_cast<std::uint8_t>(std::lround(x + (y - x) * part));
  };
  return {mix(a.r, b.r), mix(a.g, b.g), mix(a.b, b.b)};
}

struct Frame {
  Rect plot;
  double west = 0, north = 0, metres = 1;  // a unit of the canvas
  Point at(double e, double n) const {
    return {plot.x + static_cast<float>((e - west) / metres),
            plot.y + static_cast<float>((north - n) / metres)};
  }
  float wide(double m) const { return static_cast<float>(m / metres); }
};

Path ellipse(Point center, float major, float minor, double azimuth_deg) {
  Path path;
  path.closed = true;
  for (int i = 0; i < 36; ++i) {
    const double t = i * 10 * horizon::kDegree, turn = azimuth_deg * horizon::kDegree;
    const double along = major * std::cos(t), across = minor * std::sin(t);
    path.points.push_back(
        {center.x + static_cast<float>(along * std::sin(turn) + across * std::cos(turn)),
         center.y - static_cast<float>(along * std::cos(turn) - across * std::sin(turn))});
  }
  return path;
}

class Labels {
 public:
  Labels(Canvas& canvas, Rect where, const ChartStyle& style)
      : canvas_(canvas), where_(where), style_(style) {}
  void keep_free(Rect box) { taken_.push_back(box); }
  void put(Point p, const std::string& text, const TextStyle& words) {
    const float u = style_.text, width = text_width(text, words);
    const Point tries[] = {{p.x + u, p.y + u * 0.35f},
                           {p.x - u - width, p.y + u * 0.35f},
                           {p.x - width / 2, p.y - u},
                           {p.x - width / 2, p.y + u * 1.9f}};
    for (const Point& t : tries) {
      const Rect box{t.x - u * 0.2f, t.y - u, width + u * 0.4f, u * 1.35f};
      if (box.x < where_.x || box.right() > where_.right() || box.y < where_.y ||
          box.bottom() > where_.bottom())
        continue;
      const bool hit = std::any_of(taken_.begin(), taken_.end(), [&](const Rect& o) {
        return box.x < o.right() && o.x < box.right() && box.y < o.bottom() && o.y < box.bottom();
      });
      if (hit) continue;
      Color behind = style_.theme->card;
      behind.a = 215;
      canvas_.fill(rounded(box, u * 0.3f), {behind});
      canvas_.text(t, text, words);
      taken_.push_back(box);
      return;
    }
  }

 private:
  Canvas& canvas_;
  Rect where_;
  const ChartStyle& style_;
  std::vector<Rect> taken_;
};

}  // namespace

void draw_sun_map(Canvas& canvas, Rect where, const survey::PlotFindings& plot,
                  const ChartStyle& style, const survey::PlotFindings::Later* later) {
  const Theme& theme = *style.theme;
  const auto& map = later ? later->map : plot.map;
  const auto& things = later ? later->things : plot.things;
  const auto best_h = [&](std::size_t i) {
    return (later && i < later->best.size() ? later->best[i].mean_h : plot.best[i].mean_h) /
           plot.winter_days;
  };
  const auto& grid = map.grid;
  const float u = style.text;
  canvas.begin_figure(tr("ground.map_words", {number(plot.best.empty() ? 0 : best_h(0), 1)}));
  if (grid.columns < 1 || grid.rows < 1) return canvas.end_figure();
  const float foot = u * 3.4f;
  Frame frame;
  const double wide = grid.columns * grid.step_m, tall = grid.rows * grid.step_m;
  frame.metres = std::max(wide / where.w, tall / (where.h - foot));
  frame.plot = {where.x + (where.w - frame.wide(wide)) / 2, where.y, frame.wide(wide),
                frame.wide(tall)};
  frame.west = grid.west_m - grid.step_m / 2;
  frame.north = grid.south_m + (grid.rows - 0.5) * grid.step_m;
  double least = 1e9, most = 0;
  for (const auto& spot : map.spots) {
    if (spot.occupied || spot.unknown) continue;
    least = std::min(least, spot.direct_h);
    most = std::max(most, spot.direct_h);
  }
  if (least > most) least = most = 0;
  const double span = std::max(1e-6, most - least);
  const Color dark = theme.ridge, light = theme.amber_soft;
  canvas.push_clip(frame.plot);
  for (int row = 0; row < grid.rows; ++row)
    for (int column = 0; column < grid.columns; ++column) {
      const auto& spot = map.at(column, row);
      const Point corner = frame.at(grid.west_m + (column - 0.5) * grid.step_m,
                                    grid.south_m + (row + 0.5) * grid.step_m);
      const float side = frame.wide(grid.step_m);
      const double part = std::clamp((spot.direct_h - least) / span, 0.0, 1.0);
      canvas.fill(rectangle({corner.x, corner.y, side + 0.3f, side + 0.3f}),
                  {spot.occupied  ? theme.quiet
                   : spot.unknown ? theme.rule
                                  : between(dark, light, part)});
      // A dot in every fourth: grey is told from a shade without its colour too.
      if (spot.unknown && row % 2 == 0 && column % 2 == 0)
        canvas.fill(circle({corner.x + side / 2, corner.y + side / 2},
                           std::clamp(side * 0.25f, u * 0.06f, u * 0.14f)),
                    {theme.quiet});
    }
  // Lines of equal hours a day.
  const double step = step_for(span / plot.winter_days, 6);
  Labels labels(canvas, frame.plot, style);
  const auto hours = [&](int c, int r) { return map.at(c, r).direct_h / plot.winter_days; };
  std::vector<std::pair<Point, std::string>> on_lines;
  if (grid.columns > 2 && grid.rows > 2 && span / plot.winter_days > 0.05)
    for (double level = std::ceil(least / plot.winter_days / step) * step;
         level < most / plot.winter_days; level += step)
      for (const Path& found : contour(grid.columns, grid.rows, hours, level)) {
        Path path;
        path.closed = found.closed;
        for (const Point& p : found.points)
          path.points.push_back(
              frame.at(grid.west_m + p.x * grid.step_m, grid.south_m + p.y * grid.step_m));
        canvas.stroke(path, {theme.quiet, u * 0.09f, {}});
        if (path.points.size() > 12)
          on_lines.emplace_back(path.points[path.points.size() / 2],
                                number(level, step < 0.1 ? 2 : 1));
      }
  if (!plot.boundary.empty()) {
    Path path;
    path.closed = true;
    for (const auto& corner : plot.boundary)
      path.points.push_back(frame.at(corner.x(), corner.y()));
    canvas.stroke(path, {theme.ink, u * 0.14f, {u, u * 0.5f}});
  }
  const auto known = [](const survey::PlacedThing& thing) {
    return thing.placing != horizon::Placing::direction;
  };
  for (const auto& thing : things) {
    if (!known(thing)) continue;
    const Point p = frame.at(thing.east_m, thing.north_m);
    const Color color = paint_of(thing.kind, theme).color;
    bool likeliest = true;
    for (const auto& [shape, weight] : thing.choices) {
      if (shape.form == horizon::ShapeForm::round) {
        const Path crown = circle(frame.at(shape.middle.x(), shape.middle.y()),
                                  std::max(u * 0.45f, frame.wide(shape.length_m / 2)));
        likeliest ? canvas.fill(crown, {color})
                  : canvas.stroke(crown, {color, u * 0.12f, {u * 0.2f, u * 0.3f}});
      } else {
        const auto corners = horizon::corners_of(shape);
        Path plan;
        plan.closed = true;
        for (std::size_t c = 0; c < 4; ++c)
          plan.points.push_back(frame.at(corners.at[c].x(), corners.at[c].y()));
        // A wall is thinner than a line.
        if (likeliest) canvas.fill(plan, {color});
        canvas.stroke(plan,
                      {color, u * 0.12f,
                       likeliest ? std::vector<float>{} : std::vector<float>{u * 0.2f, u * 0.3f}});
      }
      likeliest = false;
    }
    canvas.stroke(
        ellipse(p, frame.wide(kNinety * thing.ellipse.major_m),
                frame.wide(kNinety * thing.ellipse.minor_m), thing.ellipse.major_azimuth.degrees()),
        {theme.ink, u * 0.1f, {u * 0.4f, u * 0.3f}});
  }
  int rank = 0;
  for (const auto& best : plot.best) {
    const double turn = plot.footprint.facing.radians();
    const double l = plot.footprint.length_m / 2, d = plot.footprint.depth_m / 2;
    Path box;
    box.closed = true;
    for (const auto& [along, ahead] : {std::pair(-l, -d), {l, -d}, {l, d}, {-l, d}})
      box.points.push_back(
          frame.at(best.east_m + along * std::cos(turn) + ahead * std::sin(turn),
                   best.north_m - along * std::sin(turn) + ahead * std::cos(turn)));
    const bool first = rank++ == 0;
    if (first) canvas.fill(box, {theme.amber});
    canvas.stroke(box, {theme.ink, u * (first ? 0.25f : 0.12f)});
  }
  canvas.pop_clip();
  canvas.stroke(rectangle(frame.plot), {theme.rule, u * 0.08f});
  const TextStyle strong = style.words(Align::left, Weight::semibold), plain = style.words();
  for (const auto& station : plot.plot.survey.stations) {
    const Point p = frame.at(station.eye.x(), station.eye.y());
    canvas.fill(circle(p, u * 0.5f), {theme.ink});
    canvas.fill(circle(p, u * 0.28f), {theme.amber});
    labels.keep_free({p.x - u * 0.5f, p.y - u * 0.5f, u, u});
  }
  rank = 0;
  for (const auto& best : plot.best) {
    ++rank;
    labels.put(frame.at(best.east_m, best.north_m),
               spot_number(static_cast<std::size_t>(rank) - 1) + ": " +
                   hours_decimal(best_h(static_cast<std::size_t>(rank) - 1)),
               rank == 1 ? strong : plain);
  }
  for (const auto& station : plot.plot.survey.stations)
    labels.put(frame.at(station.eye.x(), station.eye.y()), station.name, strong);
  for (const auto& thing : things)
    if (known(thing)) labels.put(frame.at(thing.east_m, thing.north_m), thing.name, plain);
  for (const auto& [p, text] : on_lines) labels.put({p.x - u, p.y}, text, style.quiet());
  // Scale bar, shades, north.
  const float base = frame.plot.bottom() + u * 2.2f;
  const double bar = step_for(wide * 0.3, 2);
  canvas.stroke(line({frame.plot.x, base}, {frame.plot.x + frame.wide(bar), base}),
                {theme.ink, u * 0.18f});
  canvas.text({frame.plot.x, base - u * 0.5f}, distance(bar, style.units), style.words());
  const float x = frame.plot.x + frame.plot.w * 0.44f, block = frame.plot.w * 0.17f / 8;
  for (int i = 0; i < 8; ++i)
    canvas.fill(
        rectangle({x + static_cast<float>(i) * block, base - u * 0.5f, block + 0.3f, u * 0.7f}),
        {between(dark, light, i / 7.0)});
  canvas.text({x - u * 0.4f, base + u * 0.1f}, number(least / plot.winter_days, 1),
              style.words(Align::right));
  const Point up{frame.plot.right() - u, base + u * 0.3f};
  const TextStyle letter = style.words(Align::right, Weight::semibold);
  const std::string most_h = hours_decimal(most / plot.winter_days);
  TextStyle beside = style.words();  // as large as the room before the north allows
  const float from = x + 8 * block + u * 0.4f,
              room = up.x - u * 1.2f - text_width(tr("compass.0"), letter) - from;
  beside.size *= std::clamp(room / text_width(most_h, beside), 0.6f, 1.f);
  canvas.text({from, base + u * 0.1f}, most_h, beside);
  canvas.stroke(line(up, {up.x, up.y - u * 1.3f}), {theme.ink, u * 0.15f});
  canvas.fill({{{up.x, up.y - u * 2},
                {up.x + u * 0.4f, up.y - u * 1.2f},
                {up.x - u * 0.4f, up.y - u * 1.2f}},
               true},
              {theme.ink});
  canvas.text({up.x - u * 0.7f, up.y}, tr("compass.0"), letter);
  canvas.end_figure();
}

}  // namespace app
