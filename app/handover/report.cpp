#include "app/handover/report.h"

#include <cmath>

#include "app/drawing/charts/sun_values.h"
#include "app/handover/sections.h"
#include "app/words/words.h"

namespace app {
namespace {

std::array<MonthRow, 12> month_rows(const StationReport& station, double utc_offset_h) {
  std::array<MonthRow, 12> rows;
  for (std::size_t m = 0; m < 12; ++m) {
    const auto& month = station.findings.months[m];
    MonthRow& row = rows[m];
    row.days = month.days;
    row.sun_h_day = month.direct_sun_h.value / month.days;
    row.sun_low_h_day = month.direct_sun_h.low / month.days;
    row.sun_high_h_day = month.direct_sun_h.high / month.days;
    row.flat_h_day = month.flat_sun_h / month.days;
    const auto& ends = station.year.on_the_21st[m];
    if (ends.first_utc_s && ends.last_utc_s) {
      row.first_sun = horizon::format_clock(*ends.first_utc_s, utc_offset_h);
      row.last_sun = horizon::format_clock(*ends.last_utc_s, utc_offset_h);
    }
    row.flat_kwh_m2 = month.site_flat_kwh_m2;
    row.glazing_kwh_m2 = month.on_plane_kwh_m2;
    row.light_mol_day = month.inside_mol_m2_day;
  }
  return rows;
}

void draw_all(Pages& pages, const ReportContext& context) {
  constexpr std::size_t kPhotosThatDecide = 6;
  at_a_glance(pages, context);
  plan_section(pages, context);
  chosen_section(pages, context);
  if (context.site.stations.size() > 1) comparison_section(pages, context);
  ground_page(pages, context);
  photo_section(pages, context, 0, kPhotosThatDecide);
  ask_section(pages, context);
  // The annex.
  for (std::size_t i = 0; i < context.site.stations.size(); ++i) station_section(pages, context, i);
  growing_section(pages, context);
  house_section(pages, context, best_station(context.site));
  ground_section(pages, context);
  ground_findings_section(pages, context);
  photo_section(pages, context, kPhotosThatDecide, 1000);
  method_section(pages, context);
}

}  // namespace

horizon::Result<std::string> make_report(const SiteReport& site, const ReportOptions& options,
                                         const PhotoBytes& photos, const Progress& progress,
                                         const Cancelled& cancelled) {
  const InLanguage in(options.language);
  ReportContext context{site, options, photos, cancelled, {}, {}, {}};
  for (const auto& station : site.stations) {
    context.day_paths.push_back(day_paths(*station.path));
    context.sun_years.push_back(sun_year_chart(*station.path, station.masks, station.skyline()));
    context.months.push_back(month_rows(station, site.utc_offset_h()));
  }
  Pages::Look look;
  look.paper = size_of(options.paper);
  look.style.units = options.units;
  look.style.least = 7;
  look.running = site.site().name + " · " + options.software_version + " · " +
                 horizon::format_date(horizon::date_of(options.time_utc_s, site.utc_offset_h()));
  {
    Pages counting(nullptr, look);
    draw_all(counting, context);
    look.plan = counting.finish_plan();
  }
  if (cancelled && cancelled()) return tl::unexpected(cancelled_error());
  if (progress) progress(0.3, tr("report.drawing"));
  DocumentFacts facts;
  facts.title = tr("report.title", {site.site().name});
  facts.subject = tr("report.subject");
  facts.language = options.language;
  facts.time_utc_s = options.time_utc_s;
  PdfDocument document(facts, look.paper.width, look.paper.height);
  document.bookmark(0, tr("report.at_a_glance"));
  Pages pages(&document, look);
  draw_all(pages, context);
  if (cancelled && cancelled()) return tl::unexpected(cancelled_error());
  return document.finish();
}

}  // namespace app
