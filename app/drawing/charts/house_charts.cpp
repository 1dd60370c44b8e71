#include "app/drawing/charts/house_charts.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/words/house_words.h"
#include "app/words/words.h"

namespace app {
namespace {

using horizon::HouseFindings;

struct Span {
  double low = 0, high = 0;
  void take(const std::vector<float>& values) {
    for (const float v : values) {
      low = std::min<double>(low, v);
      high = std::max<double>(high, v);
    }
  }
};

// Lines of temperature at the left of the plot; returns the scale.
Scale warmth_axis(Canvas& canvas, Rect plot, Span span, const ChartStyle& style) {
  const HouseUnit unit = house_unit("_c", style.units);
  const double low = unit.shown(span.low), high = unit.shown(span.high);
  const double step = std::max(unit.offset > 0 ? 10.0 : 5.0, step_for(high - low, 5));
  const double from = std::floor(low / step) * step, to = std::ceil(high / step) * step;
  const Scale y{unit.stored(from), unit.stored(std::max(to, from + step)), plot.bottom(), plot.y};
  for (double v = from; v <= to + 1e-6; v += step) {
    const float at = y(unit.stored(v));
    canvas.stroke(line({plot.x, at}, {plot.right(), at}),
                  {style.theme->rule,
                   std::abs(v - unit.shown(0)) < 1e-6 ? style.hair() * 2.5f : style.hair()});
    canvas.text({plot.x - style.text * 0.4f, at + style.text * 0.36f}, degrees(v),
                style.quiet(Align::right));
  }
  return y;
}

Path curve_of(const std::vector<float>& values, const Scale& x, const Scale& y) {
  Path path;
  for (std::size_t i = 0; i < values.size(); ++i)
    path.points.push_back({x(static_cast<double>(i) + 0.5), y(values[i])});
  return path;
}

// Names beside the ends of their curves, pushed apart; all within the plot.
struct Named {
  float at = 0;
  std::string words;
  Color color;
};
void name_curves(Canvas& canvas, Rect plot, std::vector<Named> names, const ChartStyle& style) {
  std::sort(names.begin(), names.end(), [](const auto& a, const auto& b) { return a.at < b.at; });
  const float pitch = style.text * 1.25f;
  for (std::size_t i = 0; i < names.size(); ++i) {
    names[i].at = std::max(names[i].at, plot.y + style.text);
    if (i > 0) names[i].at = std::max(names[i].at, names[i - 1].at + pitch);
  }
  for (std::size_t i = names.size(); i-- > 0;) {
    const float floor = i + 1 < names.size() ? names[i + 1].at - pitch : plot.bottom();
    names[i].at = std::min(names[i].at, floor);
    canvas.text({plot.right() + style.text * 0.5f, names[i].at + style.text * 0.3f}, names[i].words,
                {style.text, names[i].color, Weight::semibold});
  }
}

float widest_name(const ChartStyle& style, std::initializer_list<const char*> keys) {
  float w = 0;
  for (const char* key : keys)
    w = std::max(w, text_width(tr(key), {style.text, style.theme->ink, Weight::semibold}));
  return w + style.text * 0.9f;
}

Rect plot_in(Rect where, const ChartStyle& style, float names) {
  return {where.x + style.text * 3.2f, where.y + style.text * 0.8f,
          where.w - style.text * 3.2f - names, where.h - style.text * 3.0f};
}

}  // namespace

void draw_coldest_week(Canvas& canvas, Rect where, const HouseFindings& f, int year,
                       const ChartStyle& style) {
  const auto& week = f.week;
  if (week.inside_c.empty()) return;
  const Theme& theme = *style.theme;
  const Rect plot =
      plot_in(where, style, widest_name(style, {"house.inside", "house.outside", "house.soil"}));
  canvas.begin_figure(
      tr("house.week.words", {temperature(week.inside_c[week.lowest], style.units)}));
  Span span;
  for (const auto* values : {&week.low_c, &week.high_c, &week.outside_c, &week.soil_c})
    span.take(*values);
  const Scale y = warmth_axis(canvas, plot, span, style);
  const Scale x{0, 168, plot.x, plot.right()};
  Path band = curve_of(week.high_c, x, y);
  const Path low = curve_of(week.low_c, x, y);
  band.points.insert(band.points.end(), low.points.rbegin(), low.points.rend());
  band.closed = true;
  canvas.push_clip(plot);
  canvas.fill(band, {theme.amber_soft});
  canvas.stroke(curve_of(week.outside_c, x, y), {theme.ridge, style.text * 0.16f});
  canvas.stroke(curve_of(week.soil_c, x, y), {theme.quiet, style.text * 0.14f, {4, 3}});
  canvas.stroke(curve_of(week.inside_c, x, y), {theme.amber_deep, style.text * 0.22f});
  canvas.pop_clip();
  float last_right = 0;
  for (int day = 0; day < 7; ++day) {
    const int of_year = (week.first_hour / 24 + day) % 365 + 1;
    const auto date = horizon::date_of_day(year, of_year);
    const std::string words = day == 0 || static_cast<unsigned>(date.day()) == 1
                                  ? day_month(date)
                                  : number(static_cast<unsigned>(date.day()));
    const float half = text_width(words, style.quiet()) / 2;
    if (day == 0 || x(day * 24 + 12) - half > last_right + style.text * 0.3f) {
      canvas.text({x(day * 24 + 12), plot.bottom() + style.text * 1.5f}, words,
                  style.quiet(Align::center));
      last_right = x(day * 24 + 12) + half;
    }
    if (day > 0)
      canvas.stroke(
          line({x(day * 24), plot.bottom()}, {x(day * 24), plot.bottom() + style.text * 0.3f}),
          {theme.quiet, style.hair() * 1.5f});
  }
  name_curves(canvas, plot,
              {{y(week.inside_c.back()), tr("house.inside"), theme.ink},
               {y(week.outside_c.back()), tr("house.outside"), theme.ink},
               {y(week.soil_c.back()), tr("house.soil"), theme.quiet}},
              style);
  canvas.end_figure();
}

void draw_house_year(Canvas& canvas, Rect where, const HouseFindings& f, int year,
                     const ChartStyle& style) {
  const auto& days = f.days;
  if (days.inside_c.empty()) return;
  const Theme& theme = *style.theme;
  const Rect plot =
      plot_in(where, style,
              widest_name(style, {"house.inside", "house.outside", "house.soil", "house.light"}));
  canvas.begin_figure(tr("house.year.words"));
  Span span;
  for (const auto* values : {&days.inside_c, &days.lowest_c, &days.outside_c, &days.soil_c})
    span.take(*values);
  const Scale y = warmth_axis(canvas, plot, span, style);
  const Scale x{0, 365, plot.x, plot.right()};
  float brightest = 1;
  for (const float v : days.mol_m2) brightest = std::max(brightest, v);
  const Scale light{0, brightest * 2.2, plot.bottom(), plot.y};
  Path area = curve_of(days.mol_m2, x, light);
  area.points.insert(area.points.begin(), {plot.x, plot.bottom()});
  area.points.push_back({plot.right(), plot.bottom()});
  area.closed = true;
  canvas.push_clip(plot);
  canvas.fill(area, {theme.amber_soft});
  canvas.stroke(curve_of(days.outside_c, x, y), {theme.ridge, style.text * 0.1f});
  canvas.stroke(curve_of(days.soil_c, x, y), {theme.quiet, style.text * 0.12f, {4, 3}});
  canvas.stroke(curve_of(days.inside_c, x, y), {theme.amber_deep, style.text * 0.16f});
  canvas.pop_clip();
  month_axis(canvas, plot, horizon::days_in_year(year) == 366 ? year + 1 : year, style, false);
  name_curves(canvas, plot,
              {{y(days.inside_c.back()), tr("house.inside"), theme.ink},
               {y(days.outside_c.back()), tr("house.outside"), theme.ink},
               {y(days.soil_c.back()), tr("house.soil"), theme.quiet},
               {plot.bottom(), tr("house.light"), theme.quiet}},
              style);
  canvas.end_figure();
}

float draw_helps(Canvas* canvas, Rect where, const HouseFindings& f, const ChartStyle& style,
                 int most) {
  const Theme& theme = *style.theme;
  std::vector<const horizon::WhatHelps*> shown;
  for (const auto& help : f.helps)
    if (help.lift_k.value > 0.05 && static_cast<int>(shown.size()) < most) shown.push_back(&help);
  const float pitch = style.text * 3.0f;
  const float height = pitch * static_cast<float>(shown.size());
  if (!canvas || shown.empty()) return height;
  std::string list;
  double longest = 0.1;
  for (const auto* help : shown) {
    add_listed(list,
               help_words(*help, style.units) + " " + kelvins(help->lift_k.value, style.units));
    longest = std::max({longest, help->lift_k.value, help->lift_k.high});
  }
  canvas->begin_figure(tr("house.helps.words", {list}));
  float top = where.y;
  for (const auto* help : shown) {
    const std::string lift = kelvins(help->lift_k.value, style.units);
    const TextStyle strong{style.text, theme.ink, Weight::semibold, Align::right};
    canvas->text({where.x, top + style.text},
                 shortened(help_words(*help, style.units), style.words(),
                           where.w - text_width(lift, strong) - style.text),
                 style.words());
    canvas->text({where.right(), top + style.text}, lift, strong);
    const Scale x{0, longest, where.x, where.right()};
    const Rect bar{where.x, top + style.text * 1.5f, std::max(2.f, x(help->lift_k.value) - where.x),
                   style.text * 0.7f};
    canvas->fill(rounded(bar, bar.h / 2), {theme.evergreen});
    const float middle = bar.y + bar.h / 2;
    canvas->stroke(
        line({x(std::max(0.0, help->lift_k.low)), middle}, {x(help->lift_k.high), middle}),
        {theme.ink, style.text * 0.12f});
    top += pitch;
  }
  canvas->end_figure();
  return height;
}

float draw_odds(Canvas* canvas, Rect where, const HouseFindings& f, const ChartStyle& style,
                int most) {
  const Theme& theme = *style.theme;
  const int count = std::min<int>(most, static_cast<int>(f.crops.size()));
  const float pitch = style.text * 2.1f;
  const float height = pitch * static_cast<float>(count);
  if (!canvas) return height;
  canvas->begin_figure(tr("house.odds.words"));
  const float number_room = style.text * 2;
  const float pips = std::min(where.w * 0.5f, style.text * 13);
  const float step = pips / 10;
  for (int i = 0; i < count; ++i) {
    const auto& odds = f.crops[i];
    const float base = where.y + pitch * static_cast<float>(i) + style.text * 1.3f;
    canvas->text({where.x, base},
                 shortened(tr_of("house.crop", odds.crop.crop), style.words(),
                           where.w - pips - number_room - style.text),
                 style.words());
    const float left = where.right() - number_room - pips;
    // The tenth only where no winter drawn kills it.
    const int full = static_cast<int>(
        std::min(std::lround(odds.lives_share * 10), odds.lives_share < 1 ? 9L : 10L));
    for (int p = 0; p < 10; ++p) {
      const Path pip = rounded({left + step * static_cast<float>(p), base - style.text * 0.95f,
                                step * 0.78f, style.text * 1.15f},
                               style.text * 0.25f);
      if (p < full)
        canvas->fill(pip, {theme.evergreen});
      else
        canvas->stroke(pip, {theme.quiet, style.hair() * 1.5f});
    }
    canvas->text({where.right(), base}, of_ten_short(odds.lives_share),
                 {style.text, theme.ink, Weight::semibold, Align::right});
  }
  canvas->end_figure();
  return height;
}

}  // namespace app
