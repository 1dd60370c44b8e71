#include <algorithm>
#include <cmath>

#include "app/drawing/charts/light_charts.h"
#include "app/drawing/text_layout.h"
#include "app/handover/sections.h"
#include "app/words/ranges.h"
#include "app/words/words.h"
#include "app/words/year_words.h"

namespace app {
namespace {

std::string gain_words(const horizon::PlaneGain& gain, Units units) {
  return tr("report.plane", {degrees(gain.plane.facing.degrees()), degrees(gain.plane.tilt_deg),
                             energy(gain.kwh_m2, units), percent(gain.loss)});
}

void facing_facts(Pages& pages, const StationReport& station, const ReportContext& context) {
  const auto& f = station.findings;
  const auto& finding = f.facing();
  const Units units = context.options.units;
  const bool southern = station.input.place.latitude_deg < 0;
  std::vector<std::pair<std::string, std::string>> rows;
  std::string best = gain_words(finding.best, units) + "; " +
                     off_south(finding.best.plane.facing.degrees(), southern);
  if (f.draws > 0) {
    best += "; " + tr("report.facing_range",
                      {degree_range(f.best_facing.low.degrees(), f.best_facing.high.degrees()),
                       degree_range(f.best_tilt_deg.low, f.best_tilt_deg.high)});
  }
  rows.emplace_back(tr("report.best"), best);
  rows.emplace_back(
      tr("report.bands"),
      tr("report.bands_value", {facing_band(finding.within_2), tilt_band(finding.tilt_within_2),
                                facing_band(finding.within_5), tilt_band(finding.tilt_within_5)}));
  rows.emplace_back(tr(southern ? "report.solar_north" : "report.solar_south"),
                    gain_words(finding.solar_south, units));
  rows.emplace_back(tr("report.tilt_30"), gain_words(finding.tilt_30, units));
  rows.emplace_back(tr("report.best_from_30"), gain_words(finding.best_from_30, units));
  if (finding.chosen) rows.emplace_back(tr("report.chosen"), gain_words(*finding.chosen, units));
  std::string set_out = tr("report.set_out_true", {degrees(f.set_out.true_deg.degrees())});
  if (f.set_out.compass_deg) {
    set_out += " · " + tr(f.set_out.compass_checked ? "report.set_out_compass_checked"
                                                    : "report.set_out_compass",
                          {degrees(f.set_out.compass_deg->degrees())});
  }
  if (f.set_out.grid_deg) {
    set_out += " · " + tr("report.set_out_grid", {degrees(f.set_out.grid_deg->degrees())});
  }
  rows.emplace_back(tr("report.set_out"), set_out);
  pages.facts(rows);
}

void sun_facts(Pages& pages, const StationReport& station, double offset) {
  const auto& f = station.findings;
  std::vector<std::pair<std::string, std::string>> facts;
  const auto& hours = f.hours;
  std::string shortest = hours_minutes(hours.shortest_day_h.value);
  if (const auto range = ranged(hours.shortest_day_h, 1, tr("unit.h")); !range.empty()) {
    shortest += " (" + range + ")";
  }
  const auto windows = windows_in_words(hours.shortest_day_windows, offset);
  if (!windows.empty()) shortest += " · " + windows;
  shortest += " · " + tr("report.flat_would_be", {hours_minutes(hours.shortest_day_flat_h)});
  facts.emplace_back(tr("report.direct_sun_on", {day_month(hours.shortest_day)}), shortest);
  std::string winter = tr("report.winter_value",
                          {number(hours.winter_h.value), hours_decimal(hours.winter_h_a_day.value),
                           percent(hours.winter_share)});
  if (const auto range = ranged(hours.winter_h, 0, tr("unit.h")); !range.empty()) {
    winter += " (" + range + ")";
  }
  facts.emplace_back(tr("report.winter"), winter);
  for (const auto& spell : hours.without_direct_sun) {
    facts.emplace_back(tr("report.no_sun"),
                       spell_with_ranges(spell) + ": " + tr_count("report.day_count", spell.days));
  }
  if (hours.without_direct_sun.empty() ? hours.without_sun_share > 0.05
                                       : hours.without_sun_share < 0.95) {
    facts.emplace_back(tr("report.no_sun_likely"), percent(hours.without_sun_share));
  }
  if (hours.winter_unaimed_h > 0.5) {
    facts.emplace_back(
        tr("report.unaimed"),
        tr("report.unaimed_value", {number(hours.winter_unaimed_h), number(hours.winter_flat_h)}));
  }
  pages.facts(facts);
  pages.small(tr("report.clock",
                 {(offset < 0 ? "" : "+") + number(offset, std::fmod(offset, 1) == 0 ? 0 : 1)}));
}

void crop_table(Pages& pages, const StationReport& station) {
  const int year = station.input.year;
  const int days_of_year = horizon::days_in_year(year);
  std::vector<std::vector<std::string>> rows;
  for (const auto& crop : station.findings.growing.crops) {
    const auto* spell = horizon::longest(crop.spells, days_of_year);
    std::string when = !spell                      ? tr("report.never")
                       : crop.days >= days_of_year ? tr("report.all_year")
                                                   : spell_in_words(*spell, year);
    std::string first, last;
    if (spell && crop.from_low_day > 0 && crop.from_high_day > 0) {
      first = days_in_words(crop.from_low_day, crop.from_high_day, year);
    }
    if (spell && crop.to_low_day > 0 && crop.to_high_day > 0) {
      last = days_in_words(crop.to_low_day, crop.to_high_day, year);
    }
    rows.push_back({tr_of("crop", crop.need.crop), number(crop.need.mol_m2_day), when,
                    std::to_string(crop.days), first, last, tr_of("source", crop.need.source)});
  }
  pages.table({{tr("report.crop"), 2.2f},
               {"mol/m²", 0.8f, Align::right},
               {tr("report.enough_light"), 1.9f},
               {tr("report.days"), 0.6f, Align::right},
               {tr("report.first_day_range"), 1.9f},
               {tr("report.last_day_range"), 1.9f},
               {tr("report.source"), 2.6f}},
              rows, 7.5f);
}

// No two winters are alike: the season and the inside light in 1, 5 and 9 of 10.
void years_tables(Pages& pages, const StationReport& station) {
  const horizon::LightYears& years = *station.findings.years;
  const int year = station.input.year;
  const auto days = [&](const horizon::DayOfYears& d) {
    std::string words;
    for (const auto& one : {d.p10, d.p50, d.p90})
      words += (words.empty() ? "" : " · ") + (one ? day_of_year_in_words(*one, year) : "–");
    return words;
  };
  pages.heading(tr("years.title"), 120);
  std::vector<std::vector<std::string>> rows;
  for (std::size_t i = 0; i < years.crops.size(); ++i) {
    const std::string undated = undated_season(years.crops[i]);
    rows.push_back({tr_of("crop", station.findings.growing.crops[i].need.crop),
                    undated.empty() ? days(years.crops[i].first) : undated,
                    undated.empty() ? days(years.crops[i].last) : std::string(),
                    number(10 * years.crops[i].never_share, 1)});
  }
  pages.table({{tr("years.crop"), 2},
               {tr("years.first"), 2.4f},
               {tr("years.last"), 2.4f},
               {tr("years.never_column"), 0.9f, Align::right}},
              rows, 7.5f);
  std::vector<TableColumn> columns = {{tr("years.mol"), 2.2f}};
  rows = {{tr("years.one_low")}, {tr("years.middle")}, {tr("years.one_high")}};
  for (int m = 0; m < 12; ++m) {
    const auto& light = years.inside_mol_m2_day[static_cast<std::size_t>(m)];
    columns.push_back({month_short(m + 1), 1, Align::right});
    rows[0].push_back(number(light.p10, 1));
    rows[1].push_back(number(light.p50, 1));
    rows[2].push_back(number(light.p90, 1));
  }
  pages.table(columns, rows, 7.5f);
  pages.small(tr("years.note", {years_from(years)}) +
              (years.drawn ? " " + tr("years.drawn_note") : std::string()));
}

std::string spinach_of_ten(const horizon::HouseFindings& house) {
  for (const auto& odds : house.crops)
    if (odds.crop.crop == "spinach") return of_ten_short(odds.lives_share);
  return "–";
}

}  // namespace

void station_section(Pages& pages, const ReportContext& context, std::size_t index) {
  const StationReport& station = context.site.stations[index];
  const auto& f = station.findings;
  const ChartStyle& style = pages.style();
  const Units units = context.options.units;
  const double offset = context.site.utc_offset_h();
  pages.section(tr("report.annex", {tr("report.station", {station.name()})}), 170);
  const auto& place = station.derived.station;
  std::string where = position(place.position.latitude_deg, place.position.longitude_deg) + " · " +
                      height_of(station, units) + " · " +
                      tr("report.closed", {percent(f.closed_fraction)}) + " · " +
                      tr_count("report.marks", static_cast<long>(station.skyline().points.size()));
  pages.text(where, {8.5f, style.theme->quiet});
  if (!place.note.empty()) pages.text(place.note);

  pages.figure(
      90, [&](Canvas& c, Rect r) { draw_skyline(c, r, skyline_chart_of(context, index), style); },
      0.6f);
  pages.figure(
      78,
      [&](Canvas& c, Rect r) {
        draw_sun_year(c, r, context.site.stations[index].sun_year_chart, style);
      },
      0.6f);
  sun_facts(pages, station, offset);
  pages.heading(tr("report.months"), 200);
  const float table =
      draw_month_table(nullptr, {0, 0, pages.width(), 0}, context.months[index], style);
  pages.figure(table,
               [&](Canvas& c, Rect r) { draw_month_table(&c, r, context.months[index], style); });
  const int days = winter_days(station);
  const float ledger = draw_ledger(nullptr, {0, 0, pages.width(), 0}, f.ledger, days, style, 4);
  pages.heading(tr("report.takes_winter_sun"), ledger + 30);
  pages.figure(ledger, [&](Canvas& c, Rect r) { draw_ledger(&c, r, f.ledger, days, style, 4); });
  pages.heading(tr("report.facing_heading"), 90);
  facing_facts(pages, station, context);
}

void growing_section(Pages& pages, const ReportContext& context) {
  const std::size_t index = best_station(context.site);
  const StationReport& station = context.site.stations[index];
  const auto& f = station.findings;
  const ChartStyle& style = pages.style();
  pages.section(tr("report.annex", {tr("report.growing_at", {station.name()})}), 170);
  pages.small(tr("report.skyline_note"));
  pages.small(tr("report.ranges_note"));
  pages.figures(
      215,
      [&](Canvas& c, Rect r) {
        draw_facing(c, r,
                    {.finding = &f.facing(),
                     .center_deg = station.input.place.latitude_deg < 0 ? 0.0 : 180.0},
                    style);
      },
      [&](Canvas& c, Rect r) { draw_sun_paths(c, r, skyline_chart_of(context, index), style); },
      0.55f, 0.3f);
  pages.heading(tr("report.growing"), 165);
  pages.figure(
      135,
      [&](Canvas& c, Rect r) {
        draw_growing_light(c, r, f.growing, station.input.year, style,
                           f.years ? &*f.years : nullptr);
      },
      0.3f);
  pages.small(tr("report.growing_note",
                 {tr(station.input.glazing.name), percent(station.input.frames_and_dirt)}));
  crop_table(pages, station);
  if (f.years) years_tables(pages, station);
  pages.small(tr("report.ledger_note"));
  pages.small(tr("report.months_note",
                 {degrees(f.shown.facing.degrees()), degrees(f.shown.tilt_deg),
                  std::string(horizon::name_of(f.sky) == "clear sky" ? tr("report.sky.clear")
                                                                     : tr("report.sky.typical"))}));
  const int days = winter_days(station);
  std::vector<std::string> lines;
  for (const auto& advice : f.aim_next) {
    if (advice.error_h / days < 0.5 / 60) continue;  // not worth the walk
    lines.push_back(
        tr(advice.open ? "report.advice_open" : "report.advice",
           {degree_range(advice.from_deg, advice.to_deg), hours_minutes(advice.error_h / days)}));
  }
  if (!lines.empty()) pages.note(tr("report.aim_next"), lines, style.theme->amber_soft);
}

void comparison_section(Pages& pages, const ReportContext& context) {
  pages.section(tr("report.comparison"), 250);
  std::vector<std::vector<std::string>> rows;
  for (const auto& station : context.site.stations) {
    const auto& f = station.findings;
    const auto& crops = f.growing.crops;
    rows.push_back(
        {shortened(tr("report.station", {station.name()}), pages.body(), 180),
         hours_headline(f.hours.shortest_day_h),
         hours_a_day_headline(f.hours.winter_h_a_day) +
             (f.hours.winter_h_a_day.bears_a_number() ? " " + ranged(f.hours.winter_h_a_day, 1, "")
                                                      : std::string()),
         percent(f.hours.winter_share), number(f.hours.year_h.value),
         facing_band(f.facing().within_2), tilt_band(f.facing().tilt_within_2),
         energy(f.facing().best.kwh_m2, context.options.units),
         crops.empty() ? "" : std::to_string(crops[crops.size() / 2].days),
         percent(f.closed_fraction),
         station.house ? spinach_of_ten(*station.house) : std::string("–")});
  }
  const auto& crops = context.site.stations.front().findings.growing.crops;
  pages.table(
      {{tr("report.station_name"), 1.5f},
       {tr("report.shortest_day"), 1.3f, Align::right},
       {tr("report.winter_a_day"), 1.7f, Align::right},
       {tr("report.share"), 0.9f, Align::right},
       {tr("report.hours_a_year"), 1, Align::right},
       {tr("report.facing_band"), 1.5f, Align::right},
       {tr("report.tilt_band"), 1.3f, Align::right},
       {tr("report.gain"), 1.6f, Align::right},
       {crops.empty() ? ""
                      : tr("report.days_for", {tr_of("crop", crops[crops.size() / 2].need.crop)}),
        1.2f, Align::right},
       {tr("report.sighted"), 0.9f, Align::right},
       {tr("house.spinach_column"), 1, Align::right}},
      rows);
  for (std::size_t i = 0; i < context.site.stations.size(); ++i) {
    pages.need(86);
    pages.text(tr("report.station", {context.site.stations[i].name()}),
               {9, pages.style().theme->ink, Weight::semibold});
    pages.figure(
        64,
        [&](Canvas& c, Rect r) {
          ChartStyle style = pages.style();
          style.text = 7;
          SkylineChart chart = skyline_chart_of(context, i);
          chart.marks = false;
          draw_skyline(c, r, chart, style);
        },
        1.6f);
  }
}

}  // namespace app
