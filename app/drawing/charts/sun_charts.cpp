#include "app/drawing/charts/sun_charts.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/words/words.h"

namespace app {
namespace {

Paint paint_of_state(SunState state, const Theme& theme) {
  switch (state) {
    case SunState::in_view:
      return {theme.amber};
    case SunState::open:
      return paint_of_open(theme);
    default:
      return paint_of(static_cast<horizon::Kind>(static_cast<int>(state) - 1), theme);
  }
}

std::string clock(double hour) {
  char text[16];
  std::snprintf(text, sizeof text, "%02d:00", static_cast<int>(std::lround(hour)));
  return text;
}

// A band that goes on from day to day, as one shape.
struct Growing {
  SunState state;
  float from_h, to_h;  // of its last day
  std::vector<Point> upper, lower;
  bool grown = false;
};

}  // namespace

void draw_sun_year(Canvas& canvas, Rect where, const SunYearChart& chart, const ChartStyle& style) {
  const Theme& theme = *style.theme;
  float first = 24, last = 0;
  double hours = 0;
  for (const auto& day : chart.days) {
    for (const auto& band : day) {
      first = std::min(first, band.from_h);
      last = std::max(last, band.to_h);
      if (band.state == SunState::in_view) hours += band.to_h - band.from_h;
    }
  }
  if (first >= last) first = 6, last = 18;
  first = std::max(0.f, std::floor(first - 0.25f));
  last = std::min(24.f, std::ceil(last + 0.25f));
  Rect plot = where;
  plot.x += style.text * 3.2f;
  plot.w -= style.text * 3.2f;
  plot.h -= style.text * 2;
  const Scale y{first, last, plot.y, plot.bottom()};
  const Scale x = day_scale(plot, chart.year);

  canvas.begin_figure(tr("chart.sun_year.words", {number(hours)}));
  canvas.fill(rectangle(plot), {theme.night});
  canvas.push_clip(plot);
  const auto finish = [&](Growing& shape) {
    Path path{shape.upper, true};
    path.points.insert(path.points.end(), shape.lower.rbegin(), shape.lower.rend());
    canvas.fill(path, paint_of_state(shape.state, theme));
  };
  std::vector<Growing> growing;
  for (std::size_t d = 0; d < chart.days.size(); ++d) {
    const float left = x(1.0 + static_cast<double>(d)), right = x(2.0 + static_cast<double>(d));
    for (auto& shape : growing) shape.grown = false;
    std::vector<Growing> begun;
    for (const auto& band : chart.days[d]) {
      auto before = std::find_if(growing.begin(), growing.end(), [&](const Growing& shape) {
        return !shape.grown && shape.state == band.state && shape.from_h < band.to_h &&
               shape.to_h > band.from_h;
      });
      Growing* shape = before != growing.end() ? &*before : nullptr;
      if (!shape) {
        begun.push_back({band.state, 0, 0, {}, {}, true});
        shape = &begun.back();
        shape->upper.push_back({left, y(band.from_h)});
        shape->lower.push_back({left, y(band.to_h)});
      }
      // Where a band is joined by another or cut by a third, its edge jumps, upright.
      constexpr float kJump_h = 0.17f;
      constexpr float kOver = 0.2f;  // what is left is begun by another: no seam between
      if (shape->upper.size() > 1) {
        if (std::abs(band.from_h - shape->from_h) > kJump_h) {
          const float at = left + (band.from_h > shape->from_h ? kOver : 0);
          shape->upper.push_back({at, y(shape->from_h)});
          shape->upper.push_back({at, y(band.from_h)});
        }
        if (std::abs(band.to_h - shape->to_h) > kJump_h) {
          const float at = left + (band.to_h < shape->to_h ? kOver : 0);
          shape->lower.push_back({at, y(shape->to_h)});
          shape->lower.push_back({at, y(band.to_h)});
        }
      }
      const float middle = (left + right) / 2;
      shape->upper.push_back({middle, y(band.from_h)});
      shape->lower.push_back({middle, y(band.to_h)});
      shape->from_h = band.from_h;
      shape->to_h = band.to_h;
      shape->grown = true;
    }
    for (auto it = growing.begin(); it != growing.end();) {
      if (it->grown) {
        ++it;
        continue;
      }
      constexpr float kOver = 0.2f;
      it->upper.push_back({left + kOver, it->upper.back().y});
      it->lower.push_back({left + kOver, it->lower.back().y});
      finish(*it);
      it = growing.erase(it);
    }
    for (auto& shape : begun) growing.push_back(std::move(shape));
  }
  for (auto& shape : growing) {
    shape.upper.push_back({plot.right(), shape.upper.back().y});
    shape.lower.push_back({plot.right(), shape.lower.back().y});
    finish(shape);
  }
  const double step = last - first > 12 ? 2 : 1;
  for (double hour = std::ceil(first / step) * step; hour <= last; hour += step) {
    canvas.stroke(line({plot.x, y(hour)}, {plot.right(), y(hour)}),
                  {faded(theme.card, 0.22f), style.hair()});
  }
  canvas.pop_clip();
  for (double hour = std::ceil(first / step) * step; hour <= last; hour += step) {
    canvas.text({plot.x - style.text * 0.5f, y(hour) + style.text * 0.36f}, clock(hour),
                style.quiet(Align::right));
  }
  month_axis(canvas, plot, chart.year, style);
  if (chart.selected_day) {
    const float at = x(*chart.selected_day + 0.5);
    canvas.stroke(line({at, plot.y}, {at, plot.bottom()}), {theme.ink, style.text * 0.15f, {}});
    canvas.stroke(line({at, plot.y}, {at, plot.bottom()}), {theme.card, style.text * 0.07f, {}});
  }
  canvas.end_figure();
}

std::vector<LegendEntry> sun_year_legend(const SunYearChart& chart, const ChartStyle& style) {
  bool shown[kSunStates] = {};
  for (const auto& day : chart.days) {
    for (const auto& band : day) shown[static_cast<int>(band.state)] = true;
  }
  constexpr const char* kNames[kSunStates] = {"in_view",  "ridge", "evergreen", "leafy",
                                              "building", "pole",  "open"};
  std::vector<LegendEntry> entries;
  for (int i = 0; i < kSunStates; ++i) {
    if (!shown[i]) continue;
    entries.push_back({paint_of_state(static_cast<SunState>(i), *style.theme),
                       tr(std::string("chart.sun_year.") + kNames[i])});
  }
  entries.push_back({{style.theme->night}, tr("chart.sun_year.down")});
  return entries;
}

void draw_sun_paths(Canvas& canvas, Rect where, const SkylineChart& chart,
                    const ChartStyle& style) {
  const Theme& theme = *style.theme;
  const float radius = std::min(where.w, where.h) / 2 - style.text * 1.8f;
  const Point center{where.x + where.w / 2, where.y + where.h / 2};
  const auto at = [&](double azimuth, double elevation) {
    const auto part = static_cast<float>(std::clamp(1 - elevation / 90, 0.0, 1.0));
    return polar(center, radius * part, static_cast<float>(azimuth));
  };
  canvas.begin_figure(tr("chart.sun_paths.words"));
  canvas.fill(circle(center, radius), {theme.sky});
  const auto pieces = chart.mask->pieces();
  for (std::size_t i = 0; i < pieces.size();) {
    Path shape;
    shape.closed = true;
    const bool open = pieces[i].open || pieces[i].obstacle < 0;
    const std::size_t first = i;
    for (; i < pieces.size() && pieces[i].obstacle == pieces[first].obstacle &&
           pieces[i].open == pieces[first].open;
         ++i) {
      const auto& piece = pieces[i];
      const int steps = std::max(1, static_cast<int>(std::ceil(piece.to_deg - piece.from_deg)));
      for (int k = 0; k <= steps; ++k) {
        const double az = piece.from_deg + (piece.to_deg - piece.from_deg) * k / steps;
        shape.points.push_back(at(az, piece.elevation_deg(az)));
      }
    }
    const Path rim = arc(center, radius, static_cast<float>(pieces[i - 1].to_deg),
                         static_cast<float>(pieces[first].from_deg));
    shape.points.insert(shape.points.end(), rim.points.begin(), rim.points.end());
    canvas.fill(shape,
                open ? paint_of_open(theme)
                     : paint_of(chart.skyline->obstacles[pieces[first].obstacle].kind, theme));
  }
  for (int elevation = 15; elevation < 90; elevation += 15) {
    canvas.stroke(circle(center, radius * static_cast<float>(90 - elevation) / 90),
                  {theme.quiet, style.hair() * 0.7f, {1, 2}});
  }
  for (int azimuth = 0; azimuth < 360; azimuth += 30) {
    canvas.stroke(line(polar(center, radius * 0.06f, static_cast<float>(azimuth)),
                       polar(center, radius, static_cast<float>(azimuth))),
                  {theme.quiet, style.hair() * 0.7f, {1, 2}});
  }
  canvas.stroke(circle(center, radius), {theme.ink, style.text * 0.1f});
  for (const auto& path : chart.paths) {
    Path seen;
    for (std::size_t i = 0; i <= path.points.size(); ++i) {
      const bool shows =
          i < path.points.size() &&
          path.points[i].elevation_deg >= chart.mask->elevation_deg(path.points[i].azimuth_deg);
      if (shows)
        seen.points.push_back(at(path.points[i].azimuth_deg, path.points[i].elevation_deg));
      if (!shows && !seen.points.empty()) {
        canvas.stroke(seen, {theme.amber_deep, style.text * (path.strong ? 0.26f : 0.15f)});
        seen.points.clear();
      }
    }
    Path whole;
    for (const auto& p : path.points) whole.points.push_back(at(p.azimuth_deg, p.elevation_deg));
    canvas.stroke(whole, {faded(theme.amber_deep, 0.6f), style.text * 0.08f, {1.5f, 2}});
    for (const auto& mark : path.hours) {
      const Point p = at(mark.at.azimuth_deg, mark.at.elevation_deg);
      canvas.fill(circle(p, style.text * (path.strong ? 0.26f : 0.17f)), {theme.amber_deep});
    }
  }
  TextStyle small = style.quiet(Align::center);
  small.size = style.part(0.85f);
  for (int elevation = 30; elevation < 90; elevation += 30) {
    const Point p = at(0, elevation);
    canvas.text({p.x, p.y + style.text * 0.3f}, degrees(elevation), small);
  }
  for (int azimuth = 0; azimuth < 360; azimuth += 45) {
    const Point p = polar(center, radius + style.text * 0.9f, static_cast<float>(azimuth));
    canvas.text({p.x, p.y + style.text * 0.36f}, compass_point(azimuth),
                style.words(Align::center, azimuth % 90 ? Weight::regular : Weight::semibold));
  }
  canvas.end_figure();
}

float draw_month_table(Canvas* canvas, Rect where, const std::array<MonthRow, 12>& months,
                       const ChartStyle& style) {
  struct Column {
    const char* key;
    float share;  // of the width
    Align align;
  };
  constexpr Column kColumns[] = {
      {"chart.months.month", 0.10f, Align::left},  {"chart.months.sun", 0.12f, Align::right},
      {"chart.months.range", 0.12f, Align::right}, {"chart.months.flat", 0.09f, Align::right},
      {"chart.months.share", 0.16f, Align::left},  {"chart.months.first", 0.13f, Align::right},
      {"chart.months.level", 0.09f, Align::right}, {"chart.months.glazing", 0.09f, Align::right},
      {"chart.months.light", 0.10f, Align::right}};
  const Theme& theme = *style.theme;
  const float pad = style.text * 0.45f, row = style.text * 1.75f;
  TextStyle head = style.quiet();
  head.size = style.part(0.9f);
  std::size_t lines = 1;
  for (const auto& column : kColumns) {
    lines = std::max(lines, wrapped(tr(column.key), head, where.w * column.share - pad).size());
  }
  const float head_height = static_cast<float>(lines) * head.size * 1.25f + pad;
  const float height = head_height + row * 13 + pad;
  if (!canvas) return height;

  const std::string unit = style.units == Units::metric ? "kWh/m²" : "kBtu/ft²";
  const double unit_size = style.units == Units::metric ? 1 : 3.6e6 / 11356.53 / 1000;
  const int unit_decimals = style.units == Units::metric ? 0 : 1;
  const auto cell_at = [&](int column, float y, const std::string& words, TextStyle text) {
    float left = where.x;
    for (int i = 0; i < column; ++i) left += where.w * kColumns[i].share;
    const float width = where.w * kColumns[column].share;
    text.align = kColumns[column].align;
    canvas->text({text.align == Align::right ? left + width - pad : left + pad, y}, words, text);
  };
  for (int i = 0; i < 9; ++i) {
    const auto rows = wrapped(tr(kColumns[i].key, {unit}), head, where.w * kColumns[i].share - pad);
    for (std::size_t k = 0; k < rows.size(); ++k) {
      const float up = static_cast<float>(rows.size() - 1 - k) * head.size * 1.25f;
      cell_at(i, where.y + head_height - pad - up, rows[k], head);
    }
  }
  canvas->stroke(line({where.x, where.y + head_height}, {where.right(), where.y + head_height}),
                 {theme.ink, style.text * 0.09f});
  double flat_total = 0, level_total = 0, glazing_total = 0, sun_total = 0;
  for (int month = 0; month < 12; ++month) {
    const MonthRow& m = months[static_cast<std::size_t>(month)];
    const float top = where.y + head_height + row * static_cast<float>(month);
    const float base = top + row * 0.68f;
    cell_at(0, base, month_name(month + 1), style.words());
    cell_at(1, base, hours_minutes(m.sun_h_day), style.words(Align::right, Weight::semibold));
    if (m.sun_high_h_day > m.sun_low_h_day) {
      cell_at(2, base, number(m.sun_low_h_day, 1) + "–" + hours_decimal(m.sun_high_h_day),
              style.quiet());
    }
    cell_at(3, base, hours_decimal(m.flat_h_day), style.words());
    const double share = m.flat_h_day > 0 ? m.sun_h_day / m.flat_h_day : 0;
    float left = where.x + pad;
    for (int i = 0; i < 4; ++i) left += where.w * kColumns[i].share;
    const float bar = where.w * kColumns[4].share - pad - style.text * 3.4f;
    canvas->fill(rectangle({left + pad, top + row * 0.26f, bar, row * 0.48f}), {theme.night});
    canvas->fill(rectangle({left + pad, top + row * 0.26f,
                            bar * static_cast<float>(std::min(1.0, share)), row * 0.48f}),
                 {theme.amber});
    canvas->text({left + pad + bar + style.text * 3.1f, base}, percent(share),
                 style.words(Align::right));
    cell_at(5, base, m.first_sun.empty() ? "–" : m.first_sun + "–" + m.last_sun, style.words());
    cell_at(6, base, number(m.flat_kwh_m2 * unit_size, unit_decimals), style.words());
    cell_at(7, base, number(m.glazing_kwh_m2 * unit_size, unit_decimals), style.words());
    cell_at(8, base, number(m.light_mol_day, 1), style.words());
    canvas->stroke(line({where.x, top + row}, {where.right(), top + row}),
                   {theme.rule, style.hair()});
    sun_total += m.sun_h_day * m.days;
    flat_total += m.flat_h_day * m.days;
    level_total += m.flat_kwh_m2;
    glazing_total += m.glazing_kwh_m2;
  }
  const float base = where.y + head_height + row * 12.74f;
  const TextStyle strong = style.words(Align::left, Weight::semibold);
  cell_at(0, base, tr("chart.months.year"), strong);
  cell_at(1, base, number(sun_total) + "\u00A0" + tr("unit.h"), strong);
  cell_at(3, base, number(flat_total) + "\u00A0" + tr("unit.h"), strong);
  cell_at(4, base, "  " + percent(flat_total > 0 ? sun_total / flat_total : 0), strong);
  cell_at(6, base, number(level_total * unit_size), strong);
  cell_at(7, base, number(glazing_total * unit_size), strong);
  return height;
}

}  // namespace app
