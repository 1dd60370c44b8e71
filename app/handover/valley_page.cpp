#include "app/handover/valley_page.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/cairo_canvas.h"
#include "app/drawing/charts/chart.h"
#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/words/words.h"
#include "horizon/angle.h"

namespace app {
namespace {

constexpr float kMargin = 36;
constexpr std::size_t kNumbered = 15;

struct Block {  // of cells that become one pixel
  double shade = 0, hours = 0;
  int known = 0;
};

Block block_of(const horizon::ValleySun& sun, int column, int row, int size) {
  Block out;
  for (int r = row; r < std::min(sun.rows, row + size); ++r)
    for (int c = column; c < std::min(sun.columns, column + size); ++c) {
      const std::size_t i = static_cast<std::size_t>(r) * static_cast<std::size_t>(sun.columns) +
                            static_cast<std::size_t>(c);
      if (std::isnan(sun.winter_h[i]) || std::isnan(sun.slope_deg[i])) continue;
      const double slope = sun.slope_deg[i] * horizon::kDegree, high = 45 * horizon::kDegree;
      const double turn = std::isnan(sun.downhill_deg[i])
                              ? 0
                              : std::cos((sun.downhill_deg[i] - 315) * horizon::kDegree);
      out.shade +=
          std::max(0.0, std::sin(high) * std::cos(slope) + std::cos(high) * std::sin(slope) * turn);
      out.hours += sun.winter_h[i];
      ++out.known;
    }
  return out;
}

std::string exact_or_map(const ValleyPage& page, std::size_t i) {
  const auto& t = page.best_first[i];
  if (i < page.exact_winter_h.size() && page.exact_winter_h[i])
    return number(*page.exact_winter_h[i], 1);
  return number(t.winter_h, 1);
}

void paint_legend(Canvas& canvas, Rect where, const ChartStyle& style) {
  const float width = where.w / 9;
  for (int k = 1; k < 10; ++k) {
    const auto& c = kSunClasses[static_cast<std::size_t>(k)];
    const Rect box{where.x + width * static_cast<float>(k - 1), where.y, width, 8};
    canvas.fill(rectangle(box), {{c[0], c[1], c[2], 255}});
    canvas.text({box.x + box.w / 2, where.y + 8 + style.text * 1.1f},
                k == 9 ? tr("valley.and_more", {number(8)}) : number(k - 1) + "–" + number(k),
                style.quiet(Align::center));
  }
  canvas.stroke(rectangle({where.x, where.y, where.w, 8}), {style.theme->rule, 0.5f});
}

void scale_and_north(Canvas& canvas, Rect map, double metres_a_unit, const ChartStyle& style) {
  double length_m = 100;
  for (double each = 100; each < 1e6; each *= 10)
    for (const double step : {1.0, 2.0, 5.0})
      if (each * step / metres_a_unit < map.w * 0.25) length_m = each * step;
  const float width = static_cast<float>(length_m / metres_a_unit);
  const Rect ground{map.right() - width - 22, map.bottom() - 26, width + 16, 20};
  canvas.fill(rounded(ground, 3), {{255, 255, 255, 220}});
  canvas.fill(rectangle({ground.x + 8, ground.bottom() - 6, width / 2, 3}), {style.theme->ink});
  canvas.stroke(rectangle({ground.x + 8, ground.bottom() - 6, width, 3}), {style.theme->ink, 0.6f});
  canvas.text({ground.x + 8 + width / 2, ground.bottom() - 9}, distance(length_m, style.units),
              style.words(Align::center));
  const Point north{map.right() - 20, map.y + 30};
  canvas.fill(rounded({north.x - 12, north.y - 24, 24, 40}, 3), {{255, 255, 255, 220}});
  canvas.fill({{{north.x, north.y - 20}, {north.x - 5, north.y}, {north.x + 5, north.y}}, true},
              {style.theme->ink});
  canvas.text({north.x, north.y + 11}, compass_point(0), style.words(Align::center));
}

Rect paint_map(Canvas& canvas, Rect room, const ValleyPage& page, const ChartStyle& style) {
  const horizon::ValleySun& sun = page.sun;
  const float scale =
      std::min(room.w / static_cast<float>(sun.columns), room.h / static_cast<float>(sun.rows));
  const float across = scale * static_cast<float>(sun.columns);
  const Rect map{room.x + (room.w - across) / 2, room.y, across,
                 scale * static_cast<float>(sun.rows)};
  canvas.begin_figure(tr("valley.map"));
  canvas.image(shaded_relief(sun, 1600), map);
  canvas.stroke(rectangle(map), {style.theme->ink, 0.5f});
  scale_and_north(canvas, map, page.cell_m / scale, style);
  for (std::size_t i = page.best_first.size(); i-- > 0;) {
    const auto& t = page.best_first[i];
    const Rect inside = map.inset(std::min(8.f, map.w / 4));  // a number is never cut by the frame
    const Point at{
        std::clamp(map.x + (static_cast<float>(t.column) + 0.5f) * scale, inside.x, inside.right()),
        std::clamp(map.y + (static_cast<float>(t.row) + 0.5f) * scale, inside.y, inside.bottom())};
    if (i >= kNumbered) {
      canvas.stroke(circle(at, 2), {style.theme->ink, 0.8f});
      continue;
    }
    canvas.fill(circle(at, 7), {{255, 255, 255, 235}});
    canvas.stroke(circle(at, 7), {style.theme->ink, 0.9f});
    canvas.text({at.x, at.y + style.text * 0.36f}, number(t.id),
                style.words(Align::center, Weight::semibold));
  }
  canvas.end_figure();
  return map;
}

float paint_rows(Canvas& canvas, float y, float width, const ValleyPage& page,
                 const ChartStyle& style) {
  const float x[] = {0, 0.06f, 0.34f, 0.48f, 0.62f, 0.74f, 0.87f, 1};
  const auto cell = [&](int column, const std::string& words, const TextStyle& text) {
    const bool right = column >= 2;
    TextStyle placed = text;
    placed.align = right ? Align::right : Align::left;
    canvas.text({kMargin + width * (right ? x[column + 1] : x[column]), y}, words, placed);
  };
  const char* heads[] = {"valley.number", "valley.place", "valley.hours", "valley.shortest",
                         "valley.slope",  "valley.area",  "valley.access"};
  for (int c = 0; c < 7; ++c) cell(c, tr(heads[c]), style.quiet());
  y += 4;
  canvas.stroke(line({kMargin, y}, {kMargin + width, y}), {style.theme->ink, 0.6f});
  for (std::size_t i = 0; i < std::min(kNumbered, page.best_first.size()); ++i) {
    const auto& t = page.best_first[i];
    y += style.text * 1.4f;
    cell(0, number(t.id), style.words(Align::left, Weight::semibold));
    cell(1, position(t.place.latitude_deg, t.place.longitude_deg), style.words());
    cell(2, exact_or_map(page, i), style.words());
    cell(3, number(t.shortest_day_h, 1), style.words());
    cell(4, degrees(t.slope_deg), style.words());
    cell(5,
         t.area_m2 < 1e5 || page.units == Units::imperial ? area(t.area_m2, page.units)
                                                          : number(t.area_m2 / 1e4) + "\u00A0ha",
         style.words());
    cell(6, t.access_m ? distance(*t.access_m, page.units) : tr("programme.not_known"),
         style.words());
  }
  return y;
}

void paint(Canvas& canvas, const ValleyPage& page) {
  const PaperSize paper = size_of(page.paper);
  ChartStyle style;
  style.units = page.units;
  style.least = 7;
  const float width = paper.width - 2 * kMargin;
  float y = kMargin + 16;
  canvas.text({kMargin, y}, tr("valley.title"), {20, style.theme->ink, Weight::semibold});
  y += 8;
  const auto words = [&](const std::string& text, float size) {
    const TextStyle quiet{size, style.theme->quiet};
    for (const std::string& each : wrapped(text, quiet, width)) {
      y += size * 1.32f;
      canvas.text({kMargin, y}, each, quiet);
    }
  };
  words(tr("valley.about", {std::to_string(page.year)}), 9);
  y += 8;
  // The rows and words below have their room first; the map takes what is left.
  const float rows = 26 + static_cast<float>(std::min(kNumbered, page.best_first.size())) * 11.2f;
  const Rect map =
      paint_map(canvas, {kMargin, y, width, paper.height - y - kMargin - rows - 118}, page, style);
  y = map.bottom() + 10;
  paint_legend(canvas, {kMargin, y, std::min(width, 330.f), 20}, style);
  y += 36;
  y = paint_rows(canvas, y, width, page, style) + 6;
  std::string sources;
  for (std::size_t i = 0; i < page.sources.size() && i < 6; ++i)
    sources += (i ? ", " : "") + page.sources[i];
  if (page.sources.size() > 6) sources += ", …";
  const survey::TerraceRule& rule = page.rule;
  words(tr("valley.ranked",
           {number(static_cast<double>(page.best_first.size())), degrees(rule.most_slope_deg),
            number(rule.least_winter_h, 1), area(rule.least_area_m2, page.units),
            number(rule.per_hour, 2), number(rule.per_kwh, 2), number(rule.per_slope_deg, 2),
            number(rule.per_access_km, 2)}),
        7);
  words(tr("valley.limits", {sources, number(page.cell_m, page.cell_m < 10 ? 1 : 0)}), 7);
  words(tr("valley.caution"), 7);
  words(page.software + " · " + horizon::format_date(horizon::date_of(page.time_utc_s, 0)), 7);
}

}  // namespace

int sun_class(float winter_h) {
  return std::isnan(winter_h) ? 0 : 1 + std::min(8, static_cast<int>(winter_h));
}

Image shaded_relief(const horizon::ValleySun& sun, int most_px) {
  const int size = std::max(1, (std::max(sun.columns, sun.rows) + most_px - 1) / most_px);
  Image image;
  image.width = (sun.columns + size - 1) / size;
  image.height = (sun.rows + size - 1) / size;
  image.rgba.reserve(4 * static_cast<std::size_t>(image.width) *
                     static_cast<std::size_t>(image.height));
  for (int r = 0; r < image.height; ++r)
    for (int c = 0; c < image.width; ++c) {
      const Block block = block_of(sun, c * size, r * size, size);
      if (block.known == 0) {
        image.rgba.insert(image.rgba.end(), {255, 255, 255, 255});
        continue;
      }
      const auto& colour = kSunClasses[static_cast<std::size_t>(
          sun_class(static_cast<float>(block.hours / block.known)))];
      // Level ground keeps its colour; slopes are lit or darkened about it.
      const double light = 1 + 0.75 * (block.shade / block.known - std::sin(45 * horizon::kDegree));
      for (const double part : colour)
        image.rgba.push_back(static_cast<std::uint8_t>(std::clamp(part * light, 0.0, 255.0)));
      image.rgba.push_back(255);
    }
  return image;
}

horizon::Result<std::string> valley_page_pdf(const ValleyPage& page) {
  const InLanguage in(page.language);
  const PaperSize paper = size_of(page.paper);
  DocumentFacts facts;
  facts.title = tr("valley.title");
  facts.language = page.language;
  facts.time_utc_s = page.time_utc_s;
  PdfDocument document(facts, paper.width, paper.height);
  document.begin_element("P");
  paint(document.canvas(), page);
  document.end_element();
  return document.finish();
}

horizon::Result<std::string> valley_page_png(const ValleyPage& page) {
  const InLanguage in(page.language);
  const PaperSize paper = size_of(page.paper);
  return png_of(paper.width, paper.height, 150.f / 72, [&](Canvas& canvas) {
    canvas.fill(rectangle({0, 0, paper.width, paper.height}), {{255, 255, 255, 255}});
    paint(canvas, page);
  });
}

}  // namespace app
