// app/handover/decide_sections.cpp: the pages that decide, beside the plan: the sun of the chosen spot, the
// ground in one table, and what is uncertain with whom to ask.
#include <algorithm>

#include "app/drawing/charts/light_charts.h"
#include "app/handover/sections.h"
#include "app/words/ground_facts.h"
#include "app/words/ranges.h"
#include "app/words/sentence.h"
#include "app/words/words.h"

namespace app {
namespace {

std::string hours(const horizon::PlanRange& range) {
  std::string out = hours_decimal(range.value);
  if (range.high > range.low)
    out += " (" + number(range.low, 1) + "–" + number(range.high, 1) + ")";
  return out;
}

// Every place and station at the heights that matter.
void heights_table(Pages& pages, const ReportContext& context) {
  if (!context.site.plan) return;
  const auto& plan = *context.site.plan;
  const Units units = context.options.units;
  std::vector<std::vector<std::string>> rows;
  std::vector<TableColumn> columns = {{"", 1.6f}};
  const auto row = [&](const std::string& name, const std::vector<horizon::PlanLight>& light) {
    std::vector<std::string> cells = {name};
    for (const auto& each : light) {
      if (rows.empty() && columns.size() <= light.size())
        columns.push_back({tr("report.at." + std::string(each.where)) + ", " +
                               distance(each.above_ground_m, units),
                           1.6f, Align::right});
      cells.push_back(hours(each.winter_h_day));
    }
    rows.push_back(std::move(cells));
  };
  for (const auto& house : plan.houses)
    if (!house.light.empty()) row(tr("report.place_named", {house.name}), house.light);
  for (const auto& station : plan.stations)
    if (!station.light.empty()) row(tr("report.station", {station.name}), station.light);
  if (rows.empty()) return;
  pages.heading(tr("report.heights"),
                40 + 15 * static_cast<float>(std::min<std::size_t>(rows.size(), 8)));
  pages.table(columns, rows);
  pages.small(tr("report.heights_note"));
}

// The snow before the glazing: the same winter with it and without.
void snow_line(Pages& pages, const StationReport& station) {
  const auto& f = station.findings;
  double reflected = 0, all = 0, albedo = 0;
  int months = 0;
  for (const auto& month : f.months) {
    if (!(f.winter_months >> (month.month - 1) & 1)) continue;
    reflected += month.reflected_kwh_m2;
    all += month.on_plane_kwh_m2;
    albedo += month.albedo;
    ++months;
  }
  if (months == 0 || all <= 0 || albedo <= 0) return;
  albedo /= months;
  // What the ground throws back grows with its albedo.
  const auto with = [&](double other) {
    return (all - reflected + reflected * other / albedo) / all;
  };
  pages.small(
      tr("report.snow_light", {number(albedo, 2), percent(with(0.2)), percent(with(0.75))}));
}

std::vector<std::string> first_of(const FactGroup& group, std::size_t count) {
  std::vector<std::string> out;
  for (const auto& row : group.rows) {
    if (out.size() >= count) break;
    out.push_back(row.name + ": " + row.value);
  }
  return out;
}

}  // namespace

void chosen_section(Pages& pages, const ReportContext& context) {
  const std::size_t index = best_station(context.site);
  const StationReport& station = context.site.stations[index];
  const ChartStyle& style = pages.style();
  pages.section(tr("report.chosen_spot", {station.name()}));
  pages.text(tr("report.chosen_about"), {8, style.theme->quiet});
  pages.figure(
      150, [&](Canvas& c, Rect r) { draw_skyline(c, r, skyline_chart_of(context, index), style); },
      0.7f);
  const auto entries = skyline_legend(skyline_chart_of(context, index), style);
  pages.figure(legend(nullptr, {0, 0, pages.width(), 0}, entries, style),
               [&](Canvas& c, Rect r) { legend(&c, r, entries, style); });
  pages.figure(
      150,
      [&](Canvas& c, Rect r) {
        draw_sun_year(c, r, context.site.stations[index].sun_year_chart, style);
      },
      0.7f);
  const auto states = sun_year_legend(context.site.stations[index].sun_year_chart, style);
  pages.figure(legend(nullptr, {0, 0, pages.width(), 0}, states, style),
               [&](Canvas& c, Rect r) { legend(&c, r, states, style); });
  heights_table(pages, context);
  snow_line(pages, station);
}

void ground_page(Pages& pages, const ReportContext& context) {
  const auto& site = context.site;
  const Units units = context.options.units;
  pages.section(tr("report.ground_page"), 170);
  std::vector<std::vector<std::string>> rows;
  const auto add = [&](const std::string& topic, const std::vector<std::string>& values,
                       const std::string& from) {
    std::string all;
    for (const auto& each : values) all += (all.empty() ? "" : "\n") + each;
    rows.push_back({topic, all.empty() ? tr("plan.not_known") : all, from});
  };
  if (site.pits.empty()) add(tr("report.ground_section"), {tr("report.ground.no_pit")}, "");
  for (const auto& pit : site.pits) {
    std::vector<std::string> values = {soil_in_words(pit, units)};
    if (pit.pit.water_m)
      values.push_back(tr("report.water_at") + ": " + depth(*pit.pit.water_m, units));
    for (const auto& found : site.ground.pits)
      if (found.name == pit.pit.name && found.frost_depth)
        values.push_back(tr("ground.frost_depth") + ": " +
                         length(found.frost_depth->shallow_m, units) + " – " +
                         length(found.frost_depth->deep_m, units));
    add(pit.pit.name, values, tr("report.annex_pit"));
  }
  for (const auto& test : site.ground.percolation)
    if (test.result)
      add(test.name, first_of(percolation_facts(test, units), 4), words_of(test.from));
  for (const auto& group : weather_facts(site.ground, units))
    add(group.title, first_of(group, 3), group.from);
  for (const auto topic : {survey::Topic::access, survey::Topic::water, survey::Topic::services,
                           survey::Topic::permission, survey::Topic::neighbour}) {
    const auto* form = site.ground.form(topic);
    std::vector<std::string> values;
    if (form) {
      values = first_of(form_facts(*form, units), 5);
      if (!form->text.empty()) values.push_back(form->text);
    }
    add(tr("ground.topic." + std::string(name_of(topic))), values, "");
  }
  pages.table(
      {{tr("ground.item"), 1.5f}, {tr("ground.value"), 4.6f}, {tr("ground.evidence"), 1.8f}}, rows);
}

void ask_section(Pages& pages, const ReportContext& context) {
  const auto& site = context.site;
  pages.section(tr("report.ask"), 170);
  std::vector<std::vector<std::string>> rows;
  for (const auto& person : site.people) {
    std::string reached = person.telephone;
    if (!person.mail.empty()) add_listed(reached, person.mail);
    rows.push_back(
        {tr("role." + std::string(name_of(person.role))), person.name, reached, person.consent});
  }
  pages.heading(tr("people.title"), 50);
  if (rows.empty()) {
    pages.text(tr("report.no_people"));
  } else {
    pages.table({{tr("people.role"), 1},
                 {tr("people.name"), 1.6f},
                 {tr("report.reach"), 2.2f},
                 {tr("people.consent"), 2.6f}},
                rows);
    pages.small(tr("report.personal_data"));
  }
  std::vector<std::string> lines = doubts(context);
  if (site.plan)
    for (const auto& each : site.plan->unknown) lines.push_back(unknown_words(each));
  for (const auto& what : site.ground.missing) lines.push_back(words_of(what));
  pages.heading(tr("report.uncertain"), 60);
  for (const auto& words : lines) pages.bullet(words);
  std::vector<std::string> cautions;
  for (const auto& hazard : site.hazards)
    cautions.push_back(tr("hazard." + std::string(name_of(hazard.kind))) +
                       (hazard.text.empty() ? "" : ": " + hazard.text) + " (" +
                       tr("severity." + std::to_string(std::clamp(hazard.severity, 1, 3))) + ")");
  for (const char* key : {"codes", "dig", "bearing", "slope", "snow"})
    cautions.push_back(tr(std::string("report.caution.") + key));
  cautions.push_back(tr("report.limit.4"));
  pages.note(tr("report.cautions"), cautions, {238, 236, 230});
}

}  // namespace app
