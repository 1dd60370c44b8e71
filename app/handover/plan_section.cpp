// app/handover/plan_section.cpp: the plan to scale, its three places side by side, and their pegs.
#include <algorithm>
#include <cmath>

#include "app/drawing/charts/site_plan_chart.h"
#include "app/drawing/svg_file.h"
#include "app/handover/sections.h"
#include "app/handover/site_plan.h"
#include "app/words/words.h"

namespace app {
namespace {

using horizon::PlanHouse;
using horizon::SitePlan;

std::string hours(const horizon::PlanRange& range) {
  std::string out = hours_decimal(range.value);
  if (range.high > range.low)
    out += " (" + number(range.low, 1) + "–" + number(range.high, 1) + ")";
  return out;
}
const horizon::PlanLight* at_the(const PlanHouse& house, std::string_view where) {
  for (const auto& light : house.light)
    if (light.where == where) return &light;
  return nullptr;
}

std::string volume(const horizon::PlanRange& m3, Units units) {
  const bool metric = units == Units::metric;
  const double per = metric ? 1 : 1.307950619;  // cubic yards, NIST SP 811
  return number(m3.value * per) + " (" + number(m3.low * per) + "–" + number(m3.high * per) + ") " +
         (metric ? "m³" : "yd³");
}

std::string speaks_for(const PlanHouse& house, const SitePlan& plan) {
  std::string out;
  const std::string key = "plan.for." + std::string(name_of(house.choice));
  if (has_words(key)) out = tr(key);
  for (const auto& other : plan.houses) {
    const double more = house.winter_h_day.value - other.winter_h_day.value;
    if (house.choice == horizon::PlanChoice::most_sun || more < 0.2) continue;
    add_clause(out, tr("plan.for.more_sun", {number(more, 1), other.name}));
    break;
  }
  return out.empty() ? tr("plan.choice." + std::string(name_of(house.choice))) : out;
}

std::string speaks_against(const PlanHouse& house, const SitePlan& plan) {
  std::vector<std::string> all;
  const PlanHouse& best = plan.houses.front();
  const double less = best.winter_h_day.value - house.winter_h_day.value;
  if (less >= 0.1) all.push_back(tr("plan.against.less_sun", {number(less, 1), best.name}));
  if (house.hidden_h_day > 0.1)
    all.push_back(tr("plan.against.takes", {house.hidden_by, hours_minutes(house.hidden_h_day)}));
  const auto most = [&](auto&& value) {
    return value(house) && std::all_of(plan.houses.begin(), plan.houses.end(), [&](const auto& o) {
             // By more than a sixth: else they are the same.
             return &o == &house || (value(o) && *value(o) * 1.17 < *value(house));
           });
  };
  if (most([](const PlanHouse& h) { return h.access_m; })) all.push_back(tr("plan.against.far"));
  if (most([](const PlanHouse& h) {
        return h.digging_m3 ? std::optional(h.digging_m3->value) : std::optional<double>();
      }))
    all.push_back(tr("plan.against.digging"));
  std::string out;
  for (const auto& each : all) add_clause(out, each);
  return out.empty() ? tr("plan.against.none") : out;
}

void options_table(Pages& pages, const SitePlan& plan, Units units) {
  std::vector<TableColumn> columns = {{"", 1.9f}};
  for (const auto& house : plan.houses)
    columns.push_back(
        {house.name + ": " + tr("plan.choice." + std::string(name_of(house.choice))), 2.2f});
  std::vector<std::vector<std::string>> rows;
  const auto row = [&](const char* key, auto&& cell) {
    std::vector<std::string> cells = {tr(key)};
    for (const auto& house : plan.houses) cells.push_back(cell(house));
    rows.push_back(std::move(cells));
  };
  const auto metres = [&](const std::optional<double>& value) {
    return value ? distance(*value, units) : tr("plan.not_known");
  };
  row("plan.row.sun", [&](const PlanHouse& h) { return hours(h.winter_h_day); });
  row("plan.row.shortest", [&](const PlanHouse& h) {
    const auto* bed = at_the(h, "bed");
    return bed ? hours(bed->shortest_day_h) : "";
  });
  row("plan.row.digging", [&](const PlanHouse& h) {
    return h.digging_m3 ? volume(*h.digging_m3, units) : tr("plan.not_known");
  });
  row("plan.row.way", [&](const PlanHouse& h) { return metres(h.access_m); });
  row("plan.row.water", [&](const PlanHouse& h) { return metres(h.water_m); });
  row("plan.row.for", [&](const PlanHouse& h) { return speaks_for(h, plan); });
  row("plan.row.against", [&](const PlanHouse& h) { return speaks_against(h, plan); });
  pages.table(columns, rows, 7.5f);
}

void pegs_table(Pages& pages, const SitePlan& plan, Units units) {
  const PlanHouse& house = plan.houses.front();
  pages.heading(tr("plan.pegs", {house.name}), 90);
  std::vector<std::vector<std::string>> rows;
  for (const auto& peg : house.pegs) {
    const auto fixed = [](double value) {
      char text[40];
      std::snprintf(text, sizeof text, "%.2f", value);
      return std::string(text);
    };
    rows.push_back(
        {peg.name, plan.grid ? fixed(peg.easting) : "", plan.grid ? fixed(peg.northing) : "",
         peg.at.up_m ? (*peg.at.up_m >= 0 ? "+" : "") +
                           number(*peg.at.up_m / (units == Units::metric ? 1 : 0.3048), 2)
                     : tr("plan.not_known"),
         units == Units::metric ? number(peg.from_station_m, 2) + " m"
                                : number(peg.from_station_m / 0.3048, 1) + " ft",
         degrees(peg.bearing.true_deg, 1),
         peg.bearing.grid_deg ? degrees(*peg.bearing.grid_deg, 1) : "",
         peg.bearing.compass_deg ? degrees(*peg.bearing.compass_deg, 1) + " ± " +
                                       number(1.645 * peg.bearing.compass_sigma_deg.value_or(0), 1)
                                 : "",
         peg.at.sigma_m ? "± " + distance(1.645 * *peg.at.sigma_m, units) : ""});
  }
  pages.table({{tr("plan.peg"), 0.6f},
               {tr("plan.easting"), 1.3f, Align::right},
               {tr("plan.northing"), 1.4f, Align::right},
               {tr("plan.level", {units == Units::metric ? "m" : "ft"}), 1.1f, Align::right},
               {tr("plan.from", {plan.origin_station}), 1.1f, Align::right},
               {tr("plan.true"), 0.9f, Align::right},
               {tr("reference.grid"), 0.9f, Align::right},
               {tr("plan.compass"), 1.3f, Align::right},
               {tr("plan.good_to"), 1, Align::right}},
              rows, 7.5f);
  pages.small(tr(plan.compass_off_deg ? "plan.pegs_note" : "plan.pegs_note_unchecked",
                 {plan.origin_station}));
}

}  // namespace

std::string plan_about(const SitePlan& plan, int scale, Units units) {
  const std::string grid = !plan.grid
                               ? tr("plan.no_grid")
                               : tr(plan.grid->chosen ? "plan.grid_chosen" : "plan.grid_zone",
                                    {plan.grid->name, plan.grid->code});
  const bool known = std::none_of(plan.unknown.begin(), plan.unknown.end(), [](const auto& each) {
    return each.key == "plan.unknown.level_datum";
  });
  const bool ellipsoid = plan.height_datum == "ellipsoid";
  const std::string levels = !known
                                 ? tr("plan.levels_unknown", {plan.origin_station})
                                 : tr(ellipsoid ? "plan.levels_ellipsoid" : "plan.levels_sea",
                                      {plan.origin_station, height(plan.origin.height_m, units),
                                       distance(1.645 * plan.height_sigma_m.value_or(4), units)});
  return tr("plan.about", {scale_words(scale), grid, levels});
}

std::string unknown_words(const horizon::PlanUnknown& what) { return tr(what.key, {what.filled}); }

std::string plan_svg(const SiteReport& site, Units units) {
  constexpr float kWidth = 841.89f, kHeight = 595.276f, kMargin = 28;
  const SitePlan& plan = *site.plan;
  const float width = kWidth - 2 * kMargin, height = kHeight - 2 * kMargin - 40;
  const int scale = plan_scale(plan, width, height);
  ChartStyle style;
  style.units = units;
  style.least = 7;
  return svg_in_mm(kWidth, kHeight, site.site().name, [&](Canvas& c) {
    c.text({kMargin, kMargin + 14}, site.site().name, {16, style.theme->ink, Weight::semibold});
    c.text({kMargin, kMargin + 28}, plan_about(plan, scale, units), style.quiet());
    draw_site_plan(c, {kMargin, kMargin + 40, width, height}, plan, scale, style);
  });
}

void plan_section(Pages& pages, const ReportContext& context) {
  if (!context.site.plan) return;
  const SitePlan& plan = *context.site.plan;
  const Units units = context.options.units;
  pages.section(tr("plan.title"));
  const float most = pages.bottom() - pages.y - (plan.houses.empty() ? 160.f : 302.f);
  const int scale = plan_scale(plan, pages.width(), most);
  pages.text(plan_about(plan, scale, units), {8, pages.style().theme->quiet});
  ChartStyle style = pages.style();
  style.text = 7.5f;
  pages.figure(
      std::min(most, plan_height(plan, scale) + 10),
      [&](Canvas& c, Rect r) { draw_site_plan(c, r, plan, scale, style); }, 0.3f);
  if (!plan.unknown.empty())
    pages.small(tr_count("plan.unknown_count", static_cast<long>(plan.unknown.size())));
  if (!plan.houses.empty()) {
    options_table(pages, plan, units);
    pegs_table(pages, plan, units);
  }
}

}  // namespace app
