#include "app/drawing/charts/house_charts.h"
#include "app/handover/sections.h"
#include "app/words/house_words.h"
#include "app/words/words.h"

namespace app {
namespace {

void crop_table(Pages& pages, const horizon::HouseFindings& f, Units units) {
  std::vector<std::vector<std::string>> rows;
  for (const auto& odds : f.crops)
    rows.push_back({tr_of("house.crop", odds.crop.crop), of_ten_short(odds.lives_share),
                    temperature(odds.crop.hard_c, units) +
                        (odds.crop.from_memory ? ", " + tr("house.from_memory") : ""),
                    kelvins(odds.margin_k.value, units) + " (" +
                        tr("house.range", {kelvins(odds.margin_k.low, units),
                                           kelvins(odds.margin_k.high, units)}) +
                        ")",
                    std::to_string(odds.growing_days)});
  pages.table({{tr("house.crop_column"), 1.6f},
               {tr("house.lives_column"), 1.3f, Align::right},
               {tr("house.killed_column"), 2.2f},
               {tr("house.spare_column"), 2.2f},
               {tr("house.grows_column"), 1.5f, Align::right}},
              rows, 7.5f);
}

}  // namespace

void house_section(Pages& pages, const ReportContext& context, std::size_t index) {
  const StationReport& station = context.site.stations[index];
  const Units units = context.options.units;
  const ChartStyle& style = pages.style();
  pages.section(tr("report.annex", {tr("report.house_at", {station.name()})}), 170);
  if (!station.house) {
    pages.text(station.house_missing);
    return;
  }
  const auto& f = *station.house;
  const int year = station.input.year;
  pages.text(house_headline(f), {14, style.theme->ink, Weight::semibold});
  pages.text(house_second(f, year));
  pages.small(house_line(f.house, units) + " · " + house_source(f));
  pages.heading(tr("house.week"), 190);
  pages.figure(
      150, [&](Canvas& c, Rect r) { draw_coldest_week(c, r, f, year, style); }, 0.5f);
  pages.small(house_lowest(f, year, units));
  const float helps = draw_helps(nullptr, {0, 0, pages.width(), 0}, f, style);
  if (helps > 0) {
    pages.heading(tr("house.helps"), helps + 30);
    pages.figure(helps, [&](Canvas& c, Rect r) { draw_helps(&c, r, f, style); });
    pages.small(tr("house.helps_how"));
  }
  pages.heading(tr("house.winter"), 150);
  crop_table(pages, f, units);
  pages.heading(tr("house.year"), 190);
  pages.figure(
      150, [&](Canvas& c, Rect r) { draw_house_year(c, r, f, year, style); }, 0.5f);
  pages.small(tr("house.year.axis", {house_unit("_c", units).name}));
  auto facts = house_facts(f, year, units);
  pages.facts(facts);
  if (const std::string drivers = driver_words(f); !drivers.empty()) pages.small(drivers);
  pages.note(tr("house.title"), house_cautions(f), style.theme->amber_soft);
}

}  // namespace app
