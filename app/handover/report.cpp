#include "app/handover/report.h"

#include <algorithm>
#include <cmath>

#include "app/handover/photo_copy.h"
#include "app/handover/sections.h"
#include "app/words/words.h"
#include "horizon/parallel.h"

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
    if (const auto& years = station.findings.years) {
      row.light_low_mol_day = years->inside_mol_m2_day[m].p10;
      row.light_high_mol_day = years->inside_mol_m2_day[m].p90;
    }
  }
  return rows;
}

void draw_all(Pages& pages, const ReportContext& context) {
  constexpr std::size_t kPhotosThatDecide = 6, kMostPhotos = 120;
  at_a_glance(pages, context);
  plan_section(pages, context);
  chosen_section(pages, context);
  if (context.site.stations.size() > 1) comparison_section(pages, context);
  ground_page(pages, context);
  photo_section(pages, context, 0, kPhotosThatDecide, false);
  ask_section(pages, context);
  // The annex.
  for (std::size_t i = 0; i < context.site.stations.size(); ++i) station_section(pages, context, i);
  growing_section(pages, context);
  house_section(pages, context, best_station(context.site));
  ground_section(pages, context);
  ground_findings_section(pages, context);
  photo_section(pages, context, kPhotosThatDecide, kMostPhotos - kPhotosThatDecide, true);
  method_section(pages, context);
}

// Small copies of all that the pages want, a few at a time so that the originals need little room.
// The photographs are read on this thread.
void copy_photos(std::vector<PagePhoto>& copies, const SiteReport& site, const PhotoBytes& photos,
                 const Cancelled& cancelled) {
  constexpr std::size_t kAtOnce = 8;
  std::vector<std::size_t> wanted;
  for (std::size_t i = 0; i < copies.size(); ++i)
    if (copies[i].longest_px > 0) wanted.push_back(i);
  for (std::size_t from = 0; from < wanted.size(); from += kAtOnce) {
    const std::size_t count = std::min(kAtOnce, wanted.size() - from);
    std::vector<horizon::Result<std::string>> originals;
    for (std::size_t k = 0; k < count; ++k)
      originals.push_back(photos(site.photos[wanted[from + k]]));
    horizon::in_parallel(static_cast<int>(count), [&](int k) {
      if (cancelled && cancelled()) return;
      const auto at = static_cast<std::size_t>(k);
      const auto& original = originals[at];
      PagePhoto& to = copies[wanted[from + at]];
      to.copy = original ? photo_copy(*original, site.photos[wanted[from + at]].orientation,
                                      to.longest_px)
                         : horizon::Result<Image>(tl::unexpected(original.error()));
    });
  }
}

}  // namespace

horizon::Result<std::string> make_report(const SiteReport& site, const ReportOptions& options,
                                         const PhotoBytes& photos, const Progress& progress,
                                         const Cancelled& cancelled) {
  const InLanguage in(options.language);
  std::vector<PagePhoto> copies(site.photos.size());
  ReportContext context{site, options, cancelled, {}, copies};
  for (const auto& station : site.stations)
    context.months.push_back(month_rows(station, site.utc_offset_h()));
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
  copy_photos(copies, site, photos, cancelled);
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
