// app/touch/screens/compare.cpp: stations, and sites, side by side.
#include <algorithm>

#include "app/drawing/shapes.h"
#include "app/touch/screens/screens.h"
#include "app/words/house_words.h"
#include "app/words/ranges.h"
#include "app/words/sentence.h"
#include "app/words/words.h"

namespace app {
namespace {

void stations(TouchApp& app, Column& rows) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  rows.heading(tr("compare.stations_site"));
  double most = 0.1;
  for (const auto& [id, r] : session.results())
    most = std::max(most, r.findings.hours.winter_h_a_day.value);
  for (const auto& station : session.stations()) {
    const auto* r = session.results_of(station.id);
    if (!r) {
      rows.fact(tr("touch.station_named", {station.name}),
                session.results_stale() ? tr("touch.working") : tr("compare.no_skyline_yet"));
      continue;
    }
    const auto& h = r->findings.hours;
    rows.fact(tr("touch.station_named", {station.name}),
              tr("compare.winter_day", {hours_a_day_headline(h.winter_h_a_day)}));
    const Rect bar = rows.row(14);
    const auto x = [&](double hours) { return bar.x + bar.w * float(hours / most); };
    ui.canvas().fill(rectangle({bar.x, bar.y, bar.w * float(h.winter_h_a_day.value / most), bar.h}),
                     {t.amber});
    ui.canvas().fill(
        rectangle({x(h.winter_h_a_day.low), bar.y + 5,
                   std::max(1.f, x(h.winter_h_a_day.high) - x(h.winter_h_a_day.low)), 4}),
        {t.ink});
    rows.text(
        tr("compare.facing_horizon_marked",
           {day_month(h.shortest_day), hours_headline(h.shortest_day_h),
            facing_band(r->findings.facing().within_2), percent(r->findings.closed_fraction)}));
    if (const auto* odds = session.odds_of(station.id))
      rows.text(*odds ? odds_words(**odds) : tr("house.odds_none", {in_words(odds->error())}));
    else
      rows.text(tr("house.odds_working"));
    if (r->findings.headings_disagree) rows.caution(tr("touch.heading_checks_here_disagree"));
  }
}

void sites(TouchApp& app, Column& rows) {
  Session& session = app.session();
  rows.heading(tr("compare.other_sites"));
  const survey::SiteList list = session.sites();
  bool any = false;
  for (const auto& site : list.sites) {
    if (site.path == session.settings.site_path) continue;
    any = true;
    const auto& found = session.other_sites.of(*session.devices().worker, site.path);
    if (found.working) {
      rows.fact(site.site.name, tr("touch.working"));
    } else if (!found.main) {
      rows.fact(site.site.name,
                found.problem.empty() ? tr("compare.no_skyline_yet") : found.problem);
    } else {
      const auto& f = *found.main;
      rows.fact(site.site.name,
                tr("compare.winter_day", {hours_a_day_headline(f.hours.winter_h_a_day)}));
      rows.text(tr("compare.facing_horizon_marked",
                   {day_month(f.hours.shortest_day), hours_headline(f.hours.shortest_day_h),
                    facing_band(f.facing().within_2), percent(f.closed_fraction)}));
      if (found.house)
        rows.text(odds_words(*found.house));
      else if (!found.no_house.empty())
        rows.text(tr("house.odds_none", {found.no_house}));
      if (f.headings_disagree) rows.caution(tr("touch.heading_checks_here_disagree"));
    }
  }
  if (!any) rows.text(tr("compare.there_no_other_site_device"));
  if (any && rows.button(tr("programme.open"))) app.go(ScreenId::programme);
}

}  // namespace

void compare_screen(TouchApp& app, Rect area) {
  Ui& ui = app.ui();
  app.session().want_results();
  app.session().want_odds();
  const Rect room = titled(app, area);
  scrolling(app, "Compare rows", room, [&](Column& rows) {
    in_card(ui, rows, "stations", [&](Column& c) { stations(app, c); });
    in_card(ui, rows, "sites", [&](Column& c) { sites(app, c); });
  });
}

}  // namespace app
