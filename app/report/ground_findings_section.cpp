// app/report/ground_findings_section.cpp: what follows from the ground: soil, frost, cold, wind,
// snow, services, the plot's sun map and the page of the verdict.
#include "app/ground/ground_facts.h"
#include "app/ground/plot_chart.h"
#include "app/lang/words.h"
#include "app/report/sections.h"

namespace app {
namespace {

void group(Pages& pages, const FactGroup& one, bool with_cautions) {
  if (one.rows.empty()) return;
  pages.heading(one.from.empty() ? one.title : one.title + " (" + one.from + ")", 60, false);
  bool any_from = false;
  for (const auto& row : one.rows) any_from = any_from || !row.from.empty();
  std::vector<std::vector<std::string>> rows;
  for (const auto& row : one.rows) {
    rows.push_back({row.name, row.value});
    if (any_from) rows.back().push_back(row.from);
  }
  std::vector<TableColumn> columns = {{tr("ground.item"), 2.2f}, {tr("ground.value"), 4}};
  if (any_from) columns.push_back({tr("ground.evidence"), 2.6f});
  pages.table(columns, rows);
  for (const auto& note : one.notes) pages.small(note);
  if (with_cautions && !one.cautions.empty())
    pages.note(tr("report.cautions"), one.cautions, {246, 226, 219});
}

void verdict(Pages& pages, const PlotFindings& plot, const horizon::Weights& weights, Units units) {
  pages.section(tr("ground.verdict"));
  pages.small(tr("ground.verdict_note"));
  std::string list;
  for (int i = 0; i < horizon::kCriterionCount; ++i)
    list += (i ? ", " : "") +
            tr("criterion." + std::string(name_of(static_cast<horizon::Criterion>(i)))) + " " +
            number(weights[static_cast<std::size_t>(i)], 0);
  pages.small(tr("ground.weights", {list}));
  for (const auto& spot : plot.verdicts) {
    pages.heading(tr("ground.verdict_spot", {spot.name}), 80);
    std::vector<std::vector<std::string>> rows;
    for (const auto& line : spot.lines)
      rows.push_back({tr("criterion." + std::string(name_of(line.criterion))),
                      tr("stance." + std::string(name_of(line.stance))), verdict_words(line, units),
                      line.evidence});
    pages.table({{"", 1.2f}, {"", 1.4f}, {tr("ground.value"), 4.6f}, {tr("ground.evidence"), 2.4f}},
                rows, 7.5f);
  }
}

}  // namespace

void ground_findings_section(Pages& pages, const ReportContext& context) {
  const Units units = context.options.units;
  const GroundFindings& ground = context.site.ground;
  pages.section(tr("ground.derived"));
  for (const auto& pit : ground.pits) group(pages, pit_facts(pit, units), &pit == &ground.pits[0]);
  for (const auto& test : ground.percolation) group(pages, percolation_facts(test, units), true);
  for (const auto& one : weather_facts(ground, units)) group(pages, one, true);
  bool any = false;
  for (const auto topic : {survey::Topic::water, survey::Topic::services, survey::Topic::access,
                           survey::Topic::neighbour, survey::Topic::permission}) {
    const auto* form = ground.form(topic);
    if (!form) continue;
    if (!any) pages.section(tr("ground.site_services"));
    any = true;
    group(pages, form_facts(*form, units), true);
  }
  if (!ground.missing.empty()) {
    pages.heading(tr("ground.missing"), 40);
    for (const auto& words : ground.missing) pages.bullet(words);
  }
  if (!context.site.plot) return;
  const PlotFindings& plot = *context.site.plot;
  pages.section(tr("ground.map"));
  pages.figure(330, [&](Canvas& c, Rect r) { draw_sun_map(c, r, plot, pages.style()); });
  pages.small(tr("ground.map_note"));
  group(pages, places_facts(plot, units), false);
  group(pages, things_facts(plot, units), false);
  verdict(pages, plot, context.site.weights, units);
}

}  // namespace app
