#include "app/handover/programme_map.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/words/words.h"
#include "horizon/angle.h"

namespace app {
namespace {

// The same classes as the layer style of the programme's GeoPackage.
void sign(Canvas& canvas, Point at, const std::optional<double>& hours, const Theme& theme) {
  if (!hours) return canvas.stroke(circle(at, 3), {theme.quiet, 1});
  if (*hours < 2) {
    canvas.fill(rectangle({at.x - 3, at.y - 3, 6, 6}), {theme.ridge});
  } else if (*hours < 4) {
    canvas.fill(circle(at, 4), {theme.leafy});
    canvas.stroke(circle(at, 4), {theme.ink, 0.6f});
  } else {
    Path star{{}, true};
    for (int i = 0; i < 10; ++i)
      star.points.push_back(polar(at, i % 2 ? 2.6f : 6.2f, 36.f * static_cast<float>(i)));
    canvas.fill(star, {theme.amber});
    canvas.stroke(star, {theme.ink, 0.7f});
  }
}

void scale_bar(Canvas& canvas, Rect where, double metres_a_unit, const ChartStyle& style) {
  double length_m = 1;
  for (double each = 1; each * 5 / metres_a_unit < where.w * 0.3; each *= 10)
    for (const double step : {1.0, 2.0, 5.0})
      if (each * step / metres_a_unit < where.w * 0.3) length_m = each * step;
  const float width = static_cast<float>(length_m / metres_a_unit), y = where.bottom() - 14,
              x = where.right() - 14 - width;
  canvas.fill(rectangle({x, y, width / 2, 3}), {style.theme->ink});
  canvas.stroke(rectangle({x, y, width, 3}), {style.theme->ink, 0.6f});
  canvas.text({x + width, y - 4}, distance(length_m, style.units), style.words(Align::right));
  const Point north{where.right() - 22, where.y + 34};
  canvas.fill({{{north.x, north.y - 22}, {north.x - 5, north.y}, {north.x + 5, north.y}}, true},
              {style.theme->ink});
  canvas.text({north.x, north.y + 11}, compass_point(0), style.words(Align::center));
}

void map_legend(Canvas& canvas, Rect where, const ChartStyle& style) {
  const std::pair<std::optional<double>, const char*> rows[] = {{5, "programme.class.4"},
                                                                {3, "programme.class.2"},
                                                                {1, "programme.class.0"},
                                                                {{}, "programme.class.none"}};
  float y = where.bottom() - 14 - 13 * 3;
  for (const auto& [hours, key] : rows) {
    sign(canvas, {where.x + 14, y}, hours, *style.theme);
    canvas.text({where.x + 26, y + 3}, tr(key), style.words());
    y += 13;
  }
}

// The middle of what is placed, and how many metres a unit of the box is.
struct Layout {
  double first_lon = 0, middle_lat = 0, middle_lon = 0, across_m = 1, up_m = 1, metres_a_unit = 1;
  double longitude(const survey::ProgrammeSite& site) const {  // beside the first, not across 180°
    return first_lon + horizon::wrap_180(*site.longitude_deg - first_lon);
  }
};
bool placed(const survey::ProgrammeSite& site) { return site.latitude_deg && site.longitude_deg; }

std::optional<Layout> layout_of(std::span<const survey::ProgrammeState> sites, Rect where) {
  Layout out;
  double west = 1e9, east = -1e9, south = 1e9, north = -1e9;
  bool any = false;
  for (const auto& state : sites) {
    if (!placed(state.site)) continue;
    if (!any) out.first_lon = *state.site.longitude_deg;
    any = true;
    west = std::min(west, out.longitude(state.site));
    east = std::max(east, out.longitude(state.site));
    south = std::min(south, *state.site.latitude_deg);
    north = std::max(north, *state.site.latitude_deg);
  }
  if (!any) return std::nullopt;
  out.middle_lat = (north + south) / 2;
  out.middle_lon = (east + west) / 2;
  out.across_m = 111320 * std::cos(out.middle_lat * horizon::kDegree);
  out.up_m = 110574 + 1120 * std::abs(out.middle_lat) / 90;
  const Rect room = where.inset(46);
  out.metres_a_unit = std::max(
      {(east - west) * out.across_m / room.w, (north - south) * out.up_m / room.h, 200.0 / room.w});
  return out;
}

}  // namespace

std::optional<GeoWindow> programme_window(std::span<const survey::ProgrammeState> sites,
                                          Rect where) {
  const auto l = layout_of(sites, where);
  if (!l) return std::nullopt;
  const double half_lat = where.h / 2 * l->metres_a_unit / l->up_m,
               half_lon = where.w / 2 * l->metres_a_unit / l->across_m;
  return GeoWindow{l->middle_lat - half_lat, l->middle_lon - half_lon, l->middle_lat + half_lat,
                   l->middle_lon + half_lon};
}

void draw_programme_map(Canvas& canvas, Rect where, std::span<const survey::ProgrammeState> sites,
                        std::span<const Ranked> order, const ChartStyle& style,
                        const Image* relief) {
  canvas.begin_figure(tr("programme.map"));
  const Theme& theme = *style.theme;
  canvas.fill(rectangle(where), {theme.sky});
  if (relief && relief->width > 0) canvas.image(*relief, where);
  canvas.stroke(rectangle(where), {theme.rule, 0.6f});
  if (const auto l = layout_of(sites, where)) {
    std::vector<Rect> taken;
    int number_in_order = 0;
    for (const Ranked& rank : order) {
      ++number_in_order;
      const auto& site = sites[rank.site].site;
      if (!placed(site)) continue;
      const Point at{where.x + where.w / 2 +
                         static_cast<float>((l->longitude(site) - l->middle_lon) * l->across_m /
                                            l->metres_a_unit),
                     where.y + where.h / 2 -
                         static_cast<float>((*site.latitude_deg - l->middle_lat) * l->up_m /
                                            l->metres_a_unit)};
      sign(canvas, at, site.winter_sun_h.value, theme);
      // Its number beside it, and its name where there is room for both.
      const std::string tag = number(number_in_order);
      for (const std::string& words : {tag + " " + site.name, tag}) {
        const TextStyle text = style.words();
        const Rect box{at.x + 8, at.y - style.text * 0.8f, text_width(words, text),
                       style.text * 1.15f};
        const bool free = box.right() < where.right() && std::ranges::none_of(taken, [&](Rect r) {
                            const Rect both = overlap(r, box);
                            return both.w > 0 && both.h > 0;
                          });
        if (!free) continue;
        taken.push_back(box);
        if (relief) canvas.fill(rounded(box.inset(-1.5f), 2), {faded(theme.sky, 0.8f)});
        canvas.text({box.x, at.y + style.text * 0.3f}, words, text);
        break;
      }
    }
    scale_bar(canvas, where, l->metres_a_unit, style);
  }
  map_legend(canvas, where, style);
  canvas.end_figure();
}

}  // namespace app
