// app/handover/ground_findings_section.cpp: what follows from the ground: soil, frost, cold, wind,
// snow, services, the plot's sun map and the page of the verdict.
#include <algorithm>
#include <array>
#include <map>

#include "app/drawing/charts/plot_chart.h"
#include "app/handover/sections.h"
#include "app/words/ground_facts.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/book/forms.h"

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
  for (const auto& note : one.notes) pages.small(note);  // before: never alone on a page
  pages.table(columns, rows);
  if (with_cautions && !one.cautions.empty())
    pages.note(tr("report.cautions"), one.cautions, {246, 226, 219});
}

void verdict(Pages& pages, const survey::PlotFindings& plot, const horizon::Weights& weights,
             Units units) {
  pages.section(tr("report.annex", {tr("ground.verdict")}), 170);
  pages.small(tr("ground.verdict_note"));
  std::string list;
  for (int i = 0; i < horizon::kCriterionCount; ++i)
    list += (i ? ", " : "") +
            tr("criterion." + std::string(name_of(static_cast<horizon::Criterion>(i)))) + " " +
            number(weights[static_cast<std::size_t>(i)], 0);
  pages.small(tr("ground.weights", {list}));
  using Row = std::vector<std::string>;
  const auto row_of = [units](const horizon::VerdictLine& line) {
    return Row{tr("criterion." + std::string(name_of(line.criterion))),
               tr_of("stance", name_of(line.stance)), verdict_words(line, units),
               words_of(line.evidence)};
  };
  auto table = [&pages, first = true](const std::string& title,
                                      const std::vector<Row>& rows) mutable {
    if (rows.empty()) return;
    pages.heading(title, 60);
    pages.table({{"", 0.9f},
                 {"", 1.3f},
                 {first ? tr("ground.value") : "", 4.5f},
                 {first ? tr("ground.evidence") : "", 2.9f}},
                rows, 7.5f);
    first = false;
  };
  // What is the same everywhere stands once, so that the page shows where the spots differ.
  std::map<Row, std::size_t> spots_with;
  for (const auto& spot : plot.verdicts)
    for (const auto& line : spot.lines) ++spots_with[row_of(line)];
  const auto everywhere = [&](const Row& row) {
    return plot.verdicts.size() > 1 && spots_with[row] == plot.verdicts.size();
  };
  for (const auto& spot : plot.verdicts) {
    std::vector<Row> rows;
    for (const auto& line : spot.lines)
      if (const Row row = row_of(line); !everywhere(row)) rows.push_back(row);
    table(tr("ground.verdict_spot", {spot_name(spot)}), rows);
  }
  std::vector<Row> shared;
  if (!plot.verdicts.empty())
    for (const auto& line : plot.verdicts.front().lines)
      if (const Row row = row_of(line); everywhere(row)) shared.push_back(row);
  table(tr("ground.verdict_everywhere"), shared);
}

constexpr std::array kServices = {survey::Topic::water, survey::Topic::services,
                                  survey::Topic::access, survey::Topic::neighbour,
                                  survey::Topic::permission};

}  // namespace

bool shown_as_form(const survey::GroundFindings& ground, const survey::SiteNote& note) {
  const auto* form = ground.form(note.topic);
  return std::find(kServices.begin(), kServices.end(), note.topic) != kServices.end() && form &&
         form->id == note.id && !note.fields.empty() &&
         std::all_of(note.fields.begin(), note.fields.end(),
                     [&](const auto& field) { return field_of(note.topic, field.key); });
}

void ground_findings_section(Pages& pages, const ReportContext& context) {
  const Units units = context.options.units;
  const survey::GroundFindings& ground = context.site.ground;
  pages.section(tr("report.annex", {tr("ground.derived")}), 170);
  for (const auto& pit : ground.pits) group(pages, pit_facts(pit, units), &pit == &ground.pits[0]);
  for (const auto& test : ground.percolation) group(pages, percolation_facts(test, units), true);
  for (const auto& one : weather_facts(ground, units)) group(pages, one, true);
  bool any = false;
  for (const auto topic : kServices) {
    const auto* form = ground.form(topic);
    const auto facts = form ? form_facts(*form, units) : FactGroup{};
    if (facts.rows.empty()) continue;
    if (!any) pages.section(tr("ground.site_services"), 220);
    any = true;
    group(pages, facts, true);
  }
  if (!ground.missing.empty()) {
    pages.heading(tr("ground.missing"), 40);
    for (const auto& what : ground.missing) pages.bullet(words_of(what));
  }
  if (!context.site.plot) return;
  const survey::PlotFindings& plot = *context.site.plot;
  pages.section(tr("report.annex", {tr("ground.map")}), 130);
  // Where the page has no room for the map, what was found on it comes first.
  const bool map_first = pages.room(250);
  if (!map_first) group(pages, places_facts(plot, units), false);
  // As tall as the page has room for.
  const float tall = std::clamp(pages.bottom() - pages.y - 50, 200.f, 330.f);
  pages.figure(tall, [&](Canvas& c, Rect r) { draw_sun_map(c, r, plot, pages.style()); });
  pages.small(tr("ground.map_note"));
  if (map_first) group(pages, places_facts(plot, units), false);
  if (!plot.later.empty()) group(pages, later_facts(plot), false);
  group(pages, things_facts(plot, units), false);
  verdict(pages, plot, context.site.weights, units);
}

}  // namespace app
