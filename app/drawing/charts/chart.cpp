#include "app/drawing/charts/chart.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"

namespace app {

double step_for(double span, int most) {
  const double rough = std::max(span / std::max(most, 1), 1e-9);
  const double ten = std::pow(10, std::floor(std::log10(rough)));
  for (double factor : {1.0, 2.0, 5.0}) {
    if (factor * ten >= rough * (1 - 1e-9)) return factor * ten;
  }
  return 10 * ten;
}

float legend(Canvas* canvas, Rect where, std::span<const LegendEntry> entries,
             const ChartStyle& style) {
  const TextStyle words = style.words();
  const float box = style.text * 1.15f, line = style.text * 1.7f;
  float x = where.x, y = where.y + box;
  for (const auto& entry : entries) {
    const float width = box * 1.5f + text_width(entry.words, words);
    if (x > where.x && x + width > where.right()) {
      x = where.x;
      y += line;
    }
    if (canvas) {
      canvas->fill(rounded({x, y - box * 0.88f, box, box}, box * 0.2f), entry.paint);
      canvas->text({x + box * 1.4f, y}, entry.words, words);
    }
    x += width + style.text * 1.4f;
  }
  return entries.empty() ? 0 : y - where.y + style.text * 0.5f;
}

Scale day_scale(Rect plot, int year) {
  return {1, 1.0 + horizon::days_in_year(year), plot.x, plot.right()};
}

void month_axis(Canvas& canvas, Rect plot, int year, const ChartStyle& style, bool lines) {
  const Scale x = day_scale(plot, year);
  const auto start = [&](int month) {
    if (month > 12) return x.to;
    const horizon::Date first{std::chrono::year{year},
                              std::chrono::month{static_cast<unsigned>(month)},
                              std::chrono::day{1}};
    return static_cast<double>(horizon::day_of_year(first));
  };
  const TextStyle words = style.quiet(Align::center);
  const float room = plot.w / 12;
  float widest = 0;
  for (int month = 1; month <= 12; ++month) {
    widest = std::max(widest, text_width(month_short(month), words));
  }
  for (int month = 1; month <= 12; ++month) {
    const float from = x(start(month)), to = x(start(month + 1));
    std::string name = month_short(month);
    if (widest > room * 0.94f) name = name.substr(0, 1);
    canvas.text({(from + to) / 2, plot.bottom() + style.text * 1.5f}, name, words);
    if (lines && month > 1) {
      canvas.stroke(line({from, plot.y}, {from, plot.bottom()}),
                    {faded(style.theme->card, 0.35f), style.hair()});
    }
  }
}

std::vector<Path> contour(int columns, int rows, const std::function<double(int, int)>& at,
                          double level) {
  // Each cell gives one or two short lines; chained afterwards by their ends.
  struct Segment {
    Point a, b;
    bool used = false;
  };
  std::vector<Segment> segments;
  for (int c = 0; c + 1 < columns; ++c) {
    for (int r = 0; r + 1 < rows; ++r) {
      const double v[4] = {at(c, r), at(c + 1, r), at(c + 1, r + 1), at(c, r + 1)};
      const Point p[4] = {{static_cast<float>(c), static_cast<float>(r)},
                          {static_cast<float>(c + 1), static_cast<float>(r)},
                          {static_cast<float>(c + 1), static_cast<float>(r + 1)},
                          {static_cast<float>(c), static_cast<float>(r + 1)}};
      std::vector<Point> crossings;
      for (int i = 0; i < 4; ++i) {
        const int j = (i + 1) % 4;
        if ((v[i] >= level) == (v[j] >= level)) continue;
        const auto t = static_cast<float>((level - v[i]) / (v[j] - v[i]));
        crossings.push_back({p[i].x + (p[j].x - p[i].x) * t, p[i].y + (p[j].y - p[i].y) * t});
      }
      for (std::size_t i = 0; i + 1 < crossings.size(); i += 2) {
        segments.push_back({crossings[i], crossings[i + 1]});
      }
    }
  }
  const auto same = [](Point a, Point b) {
    return std::abs(a.x - b.x) < 1e-4f && std::abs(a.y - b.y) < 1e-4f;
  };
  std::vector<Path> out;
  for (auto& first : segments) {
    if (first.used) continue;
    first.used = true;
    Path path{{first.a, first.b}, false};
    for (int side = 0; side < 2; ++side) {
      for (bool grown = true; grown;) {
        grown = false;
        for (auto& next : segments) {
          if (next.used) continue;
          const Point end = path.points.back();
          if (!same(next.a, end) && !same(next.b, end)) continue;
          path.points.push_back(same(next.a, end) ? next.b : next.a);
          next.used = grown = true;
        }
      }
      std::reverse(path.points.begin(), path.points.end());
    }
    path.closed = path.points.size() > 3 && same(path.points.front(), path.points.back());
    out.push_back(std::move(path));
  }
  return out;
}

}  // namespace app
