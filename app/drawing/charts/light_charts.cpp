#include "app/drawing/charts/light_charts.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/words/words.h"

namespace app {
namespace {

using horizon::kFacings;
using horizon::kTilts;
using horizon::wrap_180;

Color mixed(Color a, Color b, double t) {
  const auto one = [t](std::uint8_t from, std::uint8_t to) {
    return static_cast<std::uint8_t>(std::lround(from + (to - from) * t));
  };
  return {one(a.r, b.r), one(a.g, b.g), one(a.b, b.b)};
}

}  // namespace

void draw_facing(Canvas& canvas, Rect where, const FacingChart& chart, const ChartStyle& style) {
  const auto& finding = *chart.finding;
  const Theme& theme = *style.theme;
  Rect plot = where;
  plot.x += style.text * 2.6f;
  plot.w -= style.text * 2.6f;
  plot.y += style.text * 0.5f;
  plot.h -= style.text * 3.9f;
  const double from = chart.center_deg - chart.span_deg / 2;
  const Scale x{0, chart.span_deg, plot.x, plot.right()};
  const Scale y{0, 90, plot.bottom(), plot.y};
  const double best = std::max(finding.best.kwh_m2, 1e-9);
  const auto gain = [&](double facing, double tilt) {
    return finding.surface.interpolated({horizon::TrueAzimuth::degrees(facing), tilt}) / best;
  };
  canvas.begin_figure(tr("chart.facing.words", {degrees(finding.best.plane.facing.degrees()),
                                                degrees(finding.best.plane.tilt_deg)}));
  // A smooth picture: small rectangles side by side would show seams.
  Image picture;
  picture.width = 160;
  picture.height = 90;
  picture.rgba.reserve(static_cast<std::size_t>(picture.width) * picture.height * 4);
  double least = 1;
  for (int i = 0; i < picture.width; i += 8) {
    for (int j = 0; j < picture.height; j += 6) {
      least = std::min(least, gain(from + (i + 0.5) * chart.span_deg / picture.width,
                                   90 - (j + 0.5) * 90.0 / picture.height));
    }
  }
  for (int j = 0; j < picture.height; ++j) {
    for (int i = 0; i < picture.width; ++i) {
      const double g = gain(from + (i + 0.5) * chart.span_deg / picture.width,
                            90 - (j + 0.5) * 90.0 / picture.height);
      const double t = std::clamp((g - least) / (1 - least + 1e-9), 0.0, 1.0);
      const Color c = mixed(theme.night, theme.amber, std::pow(t, 1.6));
      picture.rgba.insert(picture.rgba.end(), {c.r, c.g, c.b, 255});
    }
  }
  canvas.image(picture, plot);
  canvas.push_clip(plot);
  const int columns = static_cast<int>(chart.span_deg / 2.5) + 1;
  const auto ring_pen = [&](double level) {
    return level > 0.96 ? Stroke{theme.card, style.text * 0.2f, {}}
                        : Stroke{theme.card, style.text * 0.13f, {3, 2}};
  };
  for (const double level : {0.95, 0.98}) {
    const auto rings = contour(
        columns, kTilts, [&](int c, int r) { return gain(from + c * 2.5, r * 2.5); }, level);
    for (Path ring : rings) {
      for (Point& p : ring.points) p = {x(p.x * 2.5), y(p.y * 2.5)};
      canvas.stroke(ring, ring_pen(level));
    }
  }
  // What the rings mean, in the upper corner away from them.
  const bool at_right = wrap_180(finding.best.plane.facing.degrees() - chart.center_deg) < 0;
  float base = plot.y + style.text * 1.5f;
  for (const double level : {0.98, 0.95}) {
    const std::string words = tr("chart.facing.within", {level > 0.96 ? "2" : "5"});
    const TextStyle small{style.part(0.85f), theme.on_ink};
    const float sample = style.text * 1.8f;
    const float left = at_right
                           ? plot.right() - style.text * 1.2f - sample - text_width(words, small)
                           : plot.x + style.text * 0.5f;
    const float middle = base - style.text * 0.3f;
    canvas.stroke(line({left, middle}, {left + sample, middle}), ring_pen(level));
    canvas.text({left + sample + style.text * 0.5f, base}, words, small);
    base += style.text * 1.4f;
  }
  canvas.stroke(line({plot.x, y(30)}, {plot.right(), y(30)}),
                {faded(theme.on_ink, 0.8f), style.text * 0.09f, {1.5f, 2}});
  // On a ground of its own: the colours below may be light.
  const TextStyle snow{style.part(0.85f), theme.on_ink};
  const std::string slides = tr("chart.facing.snow");
  canvas.fill(rectangle({plot.x + style.text * 0.3f, y(30) - style.text * 1.35f,
                         text_width(slides, snow) + style.text * 0.4f, style.text * 1.2f}),
              {faded(theme.ink, 0.6f)});
  canvas.text({plot.x + style.text * 0.5f, y(30) - style.text * 0.4f}, slides, snow);
  const auto dot = [&](const horizon::Plane& plane, Color color, float size) {
    const double u = wrap_180(plane.facing.degrees() - chart.center_deg) + chart.span_deg / 2;
    const Path ring = circle({x(u), y(plane.tilt_deg)}, style.text * size);
    canvas.fill(ring, {color});
    canvas.stroke(ring, {kDaylight.ink, style.text * 0.14f});
  };
  if (finding.chosen) dot(finding.chosen->plane, theme.ridge, 0.4f);
  dot(finding.best.plane, {255, 255, 255}, 0.45f);
  canvas.pop_clip();
  for (int tilt = 0; tilt <= 90; tilt += 15) {
    if (tilt % 30 == 0 || plot.h > style.text * 14) {
      canvas.text({plot.x - style.text * 0.4f, y(tilt) + style.text * 0.36f}, degrees(tilt),
                  style.quiet(Align::right));
    }
  }
  const double step = plot.w < style.text * 30 ? 45 : 30;
  for (double az = std::ceil(from / step) * step; az <= from + chart.span_deg + 0.1; az += step) {
    const float at = x(az - from);
    canvas.stroke(line({at, plot.bottom()}, {at, plot.bottom() + style.text * 0.3f}),
                  {theme.quiet, style.hair() * 1.5f});
    canvas.text({at, plot.bottom() + style.text * 1.4f}, degrees(horizon::wrap_360(az)),
                style.quiet(Align::center));
  }
  canvas.text({plot.x + plot.w / 2, plot.bottom() + style.text * 2.9f}, tr("chart.facing.axis"),
              style.quiet(Align::center));
  canvas.end_figure();
}

float draw_ledger(Canvas* canvas, Rect where, const std::vector<horizon::LedgerRow>& rows,
                  double days, const ChartStyle& style, int most) {
  const Theme& theme = *style.theme;
  std::vector<const horizon::LedgerRow*> shown;
  for (const auto& row : rows) {
    if (row.takes_h >= days * 0.5 / 60) shown.push_back(&row);
  }
  std::stable_sort(shown.begin(), shown.end(),
                   [](const auto* a, const auto* b) { return a->takes_h > b->takes_h; });
  if (most > 0 && static_cast<int>(shown.size()) > most) shown.resize(most);
  const float pitch = style.text * 3.1f, head = style.text * 1.9f;
  const float height = head + pitch * static_cast<float>(shown.size());
  if (canvas && shown.empty()) {
    canvas->text({where.x, where.y + style.text}, tr("chart.ledger.nothing"), style.quiet());
  }
  if (!canvas || shown.empty()) return height;

  double longest = 1e-9;
  for (const auto* row : shown) longest = std::max(longest, row->takes_h);
  canvas->begin_figure(tr("chart.ledger.words", {shown[0]->label}));
  TextStyle small = style.quiet(Align::right);
  small.size = style.part(0.9f);
  const auto per_day = [&](double hours) {
    return days > 0 ? hours_minutes(hours / days) : number(hours, 1);
  };
  const TextStyle strong = style.words(Align::right, Weight::semibold);
  float takes_room = 0, back_room = text_width(tr("chart.ledger.back"), small);
  for (const auto* row : shown) {
    takes_room = std::max(takes_room, text_width(per_day(row->takes_h), strong) + style.text);
    back_room = std::max(back_room, text_width(per_day(row->returns_h), style.words()));
  }
  const float back_right = where.right(), takes_right = back_right - back_room - style.text * 1.2f;
  canvas->text({takes_right, where.y + style.text}, tr("chart.ledger.takes"), small);
  canvas->text({back_right, where.y + style.text}, tr("chart.ledger.back"), small);
  canvas->stroke(line({where.x, where.y + head * 0.85f}, {where.right(), where.y + head * 0.85f}),
                 {theme.rule, style.hair() * 1.5f});
  for (std::size_t i = 0; i < shown.size(); ++i) {
    const auto& row = *shown[i];
    const float top = where.y + head + pitch * static_cast<float>(i);
    const bool open = row.obstacle < 0;
    const Paint paint = open ? paint_of_open(theme) : paint_of(row.kind, theme);
    canvas->fill(rounded({where.x, top + style.text * 0.35f, style.text * 1.1f, style.text * 1.1f},
                         style.text * 0.2f),
                 paint);
    std::string name = open ? tr("kind.open") : row.label;
    if (name.empty()) name = tr("kind." + std::string(horizon::name_of(row.kind)));
    const float left = where.x + style.text * 1.7f;
    std::string range = "  " + degree_range(row.from_deg, row.to_deg);
    const float width = takes_right - takes_room - left;
    if (text_width(name, style.words()) + text_width(range, style.quiet()) > width) range.clear();
    name = shortened(name, style.words(), width);
    canvas->text({left, top + style.text * 1.25f}, name, style.words());
    canvas->text({left + text_width(name, style.words()), top + style.text * 1.25f}, range,
                 style.quiet());
    canvas->text({takes_right, top + style.text * 1.25f}, per_day(row.takes_h), strong);
    canvas->text({back_right, top + style.text * 1.25f}, per_day(row.returns_h),
                 style.words(Align::right));
    const float full = takes_right - left;
    const float bar = full * static_cast<float>(row.takes_h / longest);
    const float back = full * static_cast<float>(std::min(row.returns_h, longest) / longest);
    const float y = top + style.text * 1.75f, thick = style.text * 0.62f;
    canvas->fill(rectangle({left, y, bar, thick}), {paint.color});
    if (open) canvas->fill(rectangle({left, y, bar, thick}), paint);
    canvas->fill(rectangle({left, y, back, thick}), {theme.amber});
  }
  canvas->end_figure();
  return height;
}

namespace {

void band_of_years(Canvas& canvas, const horizon::LightYears& years, const Scale& x, const Scale& y,
                   Color color) {
  Path band;
  for (std::size_t d = 0; d < years.low_mol.size(); ++d)
    band.points.push_back({x(1.5 + static_cast<double>(d)), y(years.low_mol[d])});
  for (std::size_t d = years.high_mol.size(); d-- > 0;)
    band.points.push_back({x(1.5 + static_cast<double>(d)), y(years.high_mol[d])});
  band.closed = true;
  canvas.fill(band, {color});
}

}  // namespace

void draw_growing_light(Canvas& canvas, Rect where, const horizon::GrowingLight& light, int year,
                        const ChartStyle& style, const horizon::LightYears* years) {
  const Theme& theme = *style.theme;
  Rect plot = where;
  plot.x += style.text * 2.6f;
  plot.w -= style.text * 2.6f;
  plot.y += style.text * 1.6f;
  plot.h -= style.text * 3.6f;
  double most = 10;
  for (double v : light.daily_mol_m2) most = std::max(most, v);
  if (years)
    for (double v : years->high_mol) most = std::max(most, v);
  for (const auto& crop : light.crops) most = std::max(most, crop.need.mol_m2_day * 1.1);
  const double step = step_for(most, 5);
  most = std::ceil(most / step) * step;
  auto crops = light.crops;
  std::stable_sort(crops.begin(), crops.end(), [](const auto& a, const auto& b) {
    return a.need.mol_m2_day < b.need.mol_m2_day;
  });
  const TextStyle crop_style{style.part(0.9f), theme.good, Weight::semibold};
  const float widest = std::min(plot.w * 0.3f, style.text * 20);
  const auto crop_words = [&](const horizon::CropSeason& crop) {
    const std::string need = " " + number(crop.need.mol_m2_day);
    return shortened(tr_of("crop", crop.need.crop), crop_style,
                     widest - text_width(need, crop_style)) +
           need;
  };
  float names = 0;
  for (const auto& crop : crops) names = std::max(names, text_width(crop_words(crop), crop_style));
  plot.w -= names + style.text * 1.2f;
  const Scale x = day_scale(plot, year);
  const Scale y{0, most, plot.bottom(), plot.y};
  canvas.begin_figure(tr("chart.growing.words"));
  canvas.fill(rectangle(plot), {theme.sky});
  for (const auto& spell : light.under_10_h) {
    const auto shade = [&](double from, double to) {
      canvas.fill(rectangle({x(from), plot.y, x(to) - x(from), plot.h}),
                  {faded(theme.night, 0.16f)});
    };
    if (spell.from_day <= spell.to_day) {
      shade(spell.from_day, spell.to_day + 1);
    } else {
      shade(spell.from_day, x.to);
      shade(1, spell.to_day + 1);
    }
  }
  Path area, curve;
  area.points.push_back({plot.x, plot.bottom()});
  for (std::size_t d = 0; d < light.daily_mol_m2.size(); ++d) {
    curve.points.push_back({x(1.5 + static_cast<double>(d)), y(light.daily_mol_m2[d])});
  }
  area.points.insert(area.points.end(), curve.points.begin(), curve.points.end());
  area.points.push_back({plot.right(), plot.bottom()});
  area.closed = true;
  canvas.push_clip(plot);
  canvas.fill(area, {theme.amber_soft});
  for (double v = step; v < most; v += step) {
    canvas.stroke(line({plot.x, y(v)}, {plot.right(), y(v)}), {theme.rule, style.hair()});
  }
  if (years) band_of_years(canvas, *years, x, y, faded(theme.amber_deep, 0.35f));
  canvas.stroke(curve, {theme.amber_deep, style.text * 0.2f});
  Path outside;
  for (int month = 0; month < 12; ++month) {
    outside.points.push_back({x(15.5 + 30.44 * month), y(light.outside_mol_m2_day[month])});
  }
  canvas.stroke(outside, {theme.quiet, style.text * 0.1f, {2, 2}});
  for (const auto& crop : crops) {
    const float at = y(crop.need.mol_m2_day);
    canvas.stroke(line({plot.x, at}, {plot.right(), at}), {theme.good, style.text * 0.12f, {4, 2}});
  }
  canvas.pop_clip();
  for (double v = 0; v <= most + 1e-6; v += step) {
    canvas.text({plot.x - style.text * 0.4f, y(v) + style.text * 0.36f}, number(v),
                style.quiet(Align::right));
  }
  TextStyle left = style.quiet(), right = style.quiet(Align::right);
  const std::string shade = tr(years ? "chart.growing.shade_years" : "chart.growing.shade");
  const float both =
      text_width(tr("chart.growing.axis"), left) + text_width(shade, right) + style.text;
  left.size = right.size *= std::min(1.f, where.w / both);
  canvas.text({where.x, where.y + style.text * 0.8f}, tr("chart.growing.axis"), left);
  canvas.text({where.right(), where.y + style.text * 0.8f}, shade, right);
  month_axis(canvas, plot, year, style, false);
  // The needs' names beside their lines, pushed apart where those are close.
  float lowest = plot.bottom() + style.text * 0.3f;
  for (const auto& crop : crops) {
    const float at = y(crop.need.mol_m2_day);
    const float base = std::min(at + style.text * 0.3f, lowest);
    canvas.stroke(
        {{{plot.right(), at}, {plot.right() + style.text * 0.8f, base - style.text * 0.3f}}, false},
        {theme.good, style.hair()});
    canvas.text({plot.right() + style.text * 1.1f, base}, crop_words(crop), crop_style);
    lowest = base - style.text * 1.1f;
  }
  canvas.end_figure();
}

}  // namespace app
