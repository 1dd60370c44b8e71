// app/touch/screens/light.cpp: what the sun is worth at this station, which way to face, what takes it.
#include <algorithm>
#include <array>
#include <bit>
#include <cmath>

#include "app/drawing/charts/light_charts.h"
#include "app/drawing/charts/sun_charts.h"
#include "app/drawing/shapes.h"
#include "app/touch/screens/light_parts.h"
#include "app/touch/screens/screens.h"
#include "app/words/light_words.h"
#include "app/words/ranges.h"
#include "app/words/words.h"
#include "app/words/year_words.h"

namespace app {
namespace {

struct Headline {
  std::string name, value, below;
};

std::vector<Headline> headlines(TouchApp& app, const StationResults& r) {
  const auto& f = r.findings;
  const auto& h = f.hours;
  std::vector<Headline> all;
  std::string windows;
  for (const auto& w : h.shortest_day_windows)
    windows += (windows.empty() ? "" : " " + tr("light.and") + " ") +
               clock_text(app, w.from_utc_s) + "–" + clock_text(app, w.to_utc_s);
  const std::string spread = hours_spread(h.shortest_day_h);
  all.push_back({tr("light.direct_sun", {day_month(h.shortest_day)}),
                 hours_headline(h.shortest_day_h),
                 spread + (spread.empty() || windows.empty() ? "" : " · ") + windows});
  all.push_back({tr("light.winter_day"), hours_a_day_headline(h.winter_h_a_day),
                 h.winter_h_a_day.bears_a_number()
                     ? tr("light.flat_horizon", {percent(h.winter_share)})
                     : tr("light.marked_so_far", {hours_decimal(h.winter_h_a_day.value)})});
  const auto& facing = f.facing();
  all.push_back({tr("light.facing_within_2_best"), facing_band(facing.within_2),
                 tr("light.best_lies_between",
                    {degree_range(f.best_facing.low.degrees(), f.best_facing.high.degrees())})});
  all.push_back({tr("light.tilt_within_2_best"), tilt_band(facing.tilt_within_2),
                 tr("light.30_keeps_snow_slides_from", {percent(1 - facing.tilt_30.loss)})});
  if (const auto* leaf = leaf_crop(f.growing)) {
    const auto& crop = *leaf;
    std::string value = tr("light.never");
    if (const auto* longest = horizon::longest(crop.spells, 365)) {
      value = crop.days >= 365
                  ? tr("light.all_year")
                  : day_month(horizon::date_of_day(r.input.year, longest->from_day)) + " – " +
                        day_month(horizon::date_of_day(r.input.year, longest->to_day));
    }
    std::string below = tr("light.days_mol_m_more_inside",
                           {tr_of("crop", crop.need.crop), number(crop.need.mol_m2_day)}) +
                        " · " + sky_words(f);
    if (const auto* years = crop_years(f, crop)) {
      value = begin_of_years(*years, r.input.year);
      const std::string end = end_of_years(*years, r.input.year);
      below = (end.empty() ? end : end + " · ") + below + " · " + one_in_ten(*years, r.input.year);
    }
    all.push_back({tr("light.light_crops"), value, below});
  }
  return all;
}

void numbers(TouchApp& app, Column& rows, const StationResults& r) {
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  const auto all = headlines(app, r);
  const int columns = std::clamp(int(rows.width() / ui.sp(205)), 1, 5);
  const int lines = (int(all.size()) + columns - 1) / columns;
  const float gap = 18, width = (rows.width() - gap * float(columns - 1)) / float(columns);
  const TextStyle small = ui.style(13.5f, t.quiet);
  for (int l = 0; l < lines; ++l) {
    float tallest = 0;
    for (int c = 0; c < columns && l * columns + c < int(all.size()); ++c) {
      const auto& each = all[std::size_t(l * columns + c)];
      const float x = rows.x() + float(c) * (width + gap);
      float y = rows.y();
      ui.words({x, y, width, ui.sp(19)}, each.name, small);
      y += ui.sp(19);
      const TextStyle big = ui.fitted(each.value, ui.style(27, t.ink, Weight::semibold), width, 17);
      ui.words({x, y, width, ui.sp(36)}, each.value, big);
      y += ui.sp(36);
      y += ui.paragraph({x, y, width, 0}, each.below, small);
      tallest = std::max(tallest, y - rows.y());
    }
    rows.space(tallest + (l + 1 < lines ? 14 : 2));
  }
}

void notes_on(TouchApp& app, Column& rows, const StationResults& r) {
  Session& session = app.session();
  std::string words = r.findings.sky == horizon::SkySource::clear
                          ? tr("light.clear_sky_values_no_weather")
                          : tr("light.typical_weather_from", {r.findings.sky_source});
  words += " " + tr("light.horizon_marked_bearings",
                    {percent(r.findings.closed_fraction), number(session.heading_sigma_deg(), 1)});
  rows.text(words);
  const auto& h = r.findings.hours;
  if (r.findings.headings_disagree) rows.caution(tr("light.heading_checks_disagree_no_bearing"));
  if (h.winter_unaimed_h > 0.5)
    rows.caution(tr("light.winter_hours_sun_up_cross",
                    {number(h.winter_unaimed_h), number(h.winter_flat_h)}));
  for (const auto& spell : h.without_direct_sun)
    if (spell.days > 1) {
      rows.strong(tr("light.no_direct_sun_days", {spell_with_ranges(spell), number(spell.days)}));
      break;
    }
  if (h.without_direct_sun.empty() ? h.without_sun_share > 0.05 : h.without_sun_share < 0.95)
    rows.caution(tr("light.days_without_direct_sun_likely", {percent(h.without_sun_share)}));
}

void setting_out(TouchApp& app, Column& rows, const StationResults& r) {
  (void)app;
  const auto& f = r.findings;
  rows.fact(tr("light.set_out_true_bearing"), degrees(f.set_out.true_deg.degrees(), 1));
  if (f.set_out.compass_deg)
    rows.fact(tr(f.set_out.compass_checked ? "light.checked_compass_today"
                                           : "light.compass_without_error_today"),
              degrees(f.set_out.compass_deg->degrees(), 1));
  if (f.set_out.grid_deg)
    rows.fact(tr("light.map_grid"), degrees(f.set_out.grid_deg->degrees(), 1));
  rows.fact(tr("light.facing_noon_sun_loses"), percent(f.facing().solar_south.loss));
}

// When each crop has light enough, and how far one winter differs from another.
void growing_card(TouchApp& app, Column& c, const StationResults& r) {
  const auto& years = r.findings.years;
  c.heading(tr("light.light_for_crops"));
  draw_growing_light(app.ui().figure({c.x(), 0, c.width(), 0}),
                     c.row(std::clamp(c.width() * 0.5f, 210.f, 320.f)), r.findings.growing,
                     r.input.year, chart_style(app), years ? &*years : nullptr);
  if (!years) return;
  for (const auto& crop : r.findings.growing.crops)
    if (const auto* dates = crop_years(r.findings, crop))
      c.fact(tr_of("crop", crop.need.crop),
             season_of_years(*dates, r.input.year) + ". " + one_in_ten(*dates, r.input.year));
  c.text(tr("years.note", {years_from(*years)}) +
         (years->drawn ? " " + tr("years.drawn_note") : std::string()));
}

}  // namespace

void light_part(TouchApp& app, Column& rows, const StationResults& r, LightPart part) {
  Ui& ui = app.ui();
  Session& session = app.session();
  const ChartStyle style = chart_style(app);
  switch (part) {
    case LightPart::numbers:
      in_card(
          ui, rows, "sentence",
          [&](Column& c) {
            c.title(light_sentence(r.findings, r.input.year));
            c.strong(light_rest(r.findings, r.input.place.latitude_deg));
            if (const auto doubt = light_doubt(r.findings); !doubt.empty()) c.caution(doubt);
          },
          true);
      in_card(ui, rows, "numbers", [&](Column& c) {
        numbers(app, c, r);
        c.space(8);
        notes_on(app, c, r);
      });
      break;
    case LightPart::sun_year:
      in_card(ui, rows, "sun year", [&](Column& c) {
        c.heading(tr("light.sun_year"));
        c.text(tr("light.when_direct_sun_reaches_station", {session.station()->name}));
        draw_sun_year(ui.figure({c.x(), 0, c.width(), 0}),
                      c.row(std::clamp(c.width() * 0.55f, 230.f, 420.f)), r.sun_year, style);
        const auto entries = sun_year_legend(r.sun_year, style);
        const Rect where = c.row(0);
        c.space(legend(&ui.figure(where), where, entries, style));
      });
      break;
    case LightPart::facing:
      in_card(ui, rows, "facing", [&](Column& c) {
        c.heading(tr("light.which_way_face_how_steep"));
        FacingChart chart{&r.findings.facing()};
        if (r.input.place.latitude_deg < 0) chart.center_deg = 0;
        draw_facing(ui.figure({c.x(), 0, c.width(), 0}),
                    c.row(std::clamp(c.width() * 0.6f, 210.f, 330.f)), chart, style);
        setting_out(app, c, r);
      });
      break;
    case LightPart::ledger:
      in_card(ui, rows, "ledger", [&](Column& c) {
        c.heading(tr("light.what_takes_winter_sun"));
        double days = 0;
        for (int m = 0; m < 12; ++m)
          if (r.findings.winter_months >> m & 1) days += r.findings.months[std::size_t(m)].days;
        const Rect where = c.row(0);
        c.space(draw_ledger(&ui.figure(where), where, r.findings.ledger, std::max(days, 1.0), style,
                            8));
      });
      break;
    case LightPart::paths:
      in_card(ui, rows, "paths", [&](Column& c) {
        c.heading(tr("light.sun_paths_over_skyline"));
        SkylineChart chart;
        chart.skyline = &r.input.skyline;
        chart.mask = &r.mask;
        chart.paths = r.paths;
        if (r.input.place.latitude_deg < 0) chart.center_deg = 0;
        draw_sun_paths(ui.figure({c.x(), 0, c.width(), 0}), c.row(std::min(c.width(), 420.f)),
                       chart, style);
      });
      break;
    case LightPart::growing:
      in_card(ui, rows, "growing", [&](Column& c) { growing_card(app, c, r); });
      break;
    case LightPart::months:
      in_card(ui, rows, "months", [&](Column& c) {
        c.heading(tr("light.month_month"));
        month_rows(app, c, r);
      });
      break;
  }
}

void light_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  session.want_results();
  const auto* at = session.station();
  const StationResults* r = at ? session.results_of(at->id) : nullptr;
  if (!r) {
    scrolling(app, "Light rows", area, [&](Column& rows) {
      if (!session.has_position()) {
        rows.heading(tr("light.position_comes_first"));
        rows.text(tr("light.then_skyline_then_light_worked"));
        if (rows.button(tr("light.position"), ButtonLook::main)) app.go(ScreenId::arrive);
      } else if (session.marks() == 0) {
        rows.heading(tr("light.no_skyline_yet_station"));
        if (rows.button(tr("touch.aim_skyline"), ButtonLook::main)) app.go(ScreenId::skyline);
      } else {
        rows.heading(tr("light.working_out"));
        rows.text(tr("light.sun_hours_best_facing_light"));
      }
    });
    return;
  }
  const auto compare = [&](Column& rows) {
    if (rows.button(tr("touch.building_weather"))) app.go(ScreenId::design);
    if (rows.button(tr("light.compare_stations_sites"), ButtonLook::strong))
      app.go(ScreenId::compare);
  };
  if (area.w > 860) {
    scrolling(
        app, "Light rows", area,
        [&](Column& rows) {
          light_part(app, rows, *r, LightPart::numbers);
          const float gap = 16, left = (rows.width() - gap) * 0.6f,
                      right = rows.width() - gap - left;
          Column a(app.ui(), {rows.x(), rows.y(), left, 1e5f}),
              b(app.ui(), {rows.x() + left + gap, rows.y(), right, 1e5f});
          light_part(app, a, *r, LightPart::sun_year);
          light_part(app, a, *r, LightPart::months);
          house_card(app, b);
          light_part(app, b, *r, LightPart::facing);
          light_part(app, b, *r, LightPart::ledger);
          light_part(app, b, *r, LightPart::growing);
          light_part(app, a, *r, LightPart::paths);
          compare(b);
          rows.space(std::max(a.used(), b.used()));
        },
        1400);
    return;
  }
  scrolling(app, "Light rows", area, [&](Column& rows) {
    light_part(app, rows, *r, LightPart::numbers);
    house_card(app, rows);
    for (const LightPart part : {LightPart::sun_year, LightPart::ledger, LightPart::facing,
                                 LightPart::growing, LightPart::months, LightPart::paths})
      light_part(app, rows, *r, part);
    compare(rows);
  });
}

}  // namespace app
