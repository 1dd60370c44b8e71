// app/handover/sections.h: the parts of the report, each drawn onto the pages in turn.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "app/drawing/charts/ground_charts.h"
#include "app/drawing/charts/skyline_chart.h"
#include "app/drawing/charts/sun_charts.h"
#include "app/handover/pages.h"
#include "app/handover/report.h"
#include "app/handover/site_report.h"

namespace app {

// A photograph as small as its place on the page asks; wanted by the first run over the pages.
struct PagePhoto {
  int longest_px = 0;  // 0: not on any page
  horizon::Result<Image> copy;
};

struct ReportContext {
  const SiteReport& site;
  const ReportOptions& options;
  const Cancelled& cancelled;
  // Worked out once for both runs over the pages, one for each station.
  std::vector<std::array<MonthRow, 12>> months;
  std::vector<PagePhoto>& photos;  // one for each photograph of the site
};

// The pages that decide.
void plan_section(Pages& pages, const ReportContext& context);
void chosen_section(Pages& pages, const ReportContext& context);
void ground_page(Pages& pages, const ReportContext& context);
void ask_section(Pages& pages, const ReportContext& context);
void at_a_glance(Pages& pages, const ReportContext& context);
void station_section(Pages& pages, const ReportContext& context, std::size_t station);
void growing_section(Pages& pages, const ReportContext& context);
void house_section(Pages& pages, const ReportContext& context, std::size_t station);
void comparison_section(Pages& pages, const ReportContext& context);
void ground_section(Pages& pages, const ReportContext& context);
// Does ground_findings_section() show all of this note as a filled-in form?
bool shown_as_form(const survey::GroundFindings& ground, const survey::SiteNote& note);
void ground_findings_section(Pages& pages, const ReportContext& context);
// Photographs from `first` on, `count` at most; `last`: says how many more the package holds.
void photo_section(Pages& pages, const ReportContext& context, std::size_t first, std::size_t count,
                   bool last);
void method_section(Pages& pages, const ReportContext& context);

// Shared words.
SkylineChart skyline_chart_of(const ReportContext& context, std::size_t station);
std::string ranged(const horizon::Ranged& value, int decimals, const std::string& unit);
std::string off_south(double facing_deg, bool southern);  // "9° east of south"
std::string windows_in_words(const std::vector<horizon::DayWindow>& windows, double utc_offset_h);
std::string spell_in_words(const horizon::DaySpell& spell, int year);
std::string day_of_year_in_words(int day, int year);
std::string days_in_words(int low, int high, int year);  // "24 Jan – 7 Feb"
std::string soil_in_words(const PitReport& pit, Units units);
int winter_days(const StationReport& station);
std::string height_of(const StationReport& station, Units units);  // or that nobody knows it
// Of all stations whose heading checks contradict each other; empty where there is none.
std::string doubt_of_headings(const SiteReport& site);
std::vector<std::string> doubts(const ReportContext& context);
SoilProfileChart soil_chart_of(const PitReport& pit, Units units);
PlotMap plot_map_of(const ReportContext& context);
std::string plan_about(const horizon::SitePlan& plan, int scale, Units units);
std::string unknown_words(const horizon::PlanUnknown& what);

}  // namespace app
