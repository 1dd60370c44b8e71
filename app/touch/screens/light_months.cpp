// app/touch/screens/light_months.cpp: the months of the Light stop.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "app/drawing/charts/sun_charts.h"
#include "app/drawing/shapes.h"
#include "app/touch/screens/light_parts.h"
#include "app/words/words.h"

namespace app {
namespace {

std::array<MonthRow, 12> months_of(const StationResults& r) {
  std::array<MonthRow, 12> months;
  for (int m = 0; m < 12; ++m) {
    const auto& from = r.findings.months[std::size_t(m)];
    MonthRow& to = months[std::size_t(m)];
    const double days = std::max(1, from.days);
    to.sun_h_day = from.direct_sun_h.value / days;
    to.sun_low_h_day = from.direct_sun_h.low / days;
    to.sun_high_h_day = from.direct_sun_h.high / days;
    to.flat_h_day = from.flat_sun_h / days;
    to.flat_kwh_m2 = from.site_flat_kwh_m2;
    to.glazing_kwh_m2 = from.on_plane_kwh_m2;
    to.light_mol_day = from.inside_mol_m2_day;
    if (r.findings.years) {
      to.light_low_mol_day = r.findings.years->inside_mol_m2_day[std::size_t(m)].p10;
      to.light_high_mol_day = r.findings.years->inside_mol_m2_day[std::size_t(m)].p90;
    }
    const int day = horizon::day_of_year(std::chrono::year{r.input.year} / (m + 1) / 21) - 1;
    if (day < int(r.sun_year.days.size())) {
      float first = 25, last = -1;
      for (const auto& band : r.sun_year.days[std::size_t(day)])
        if (band.state == SunState::in_view) {
          first = std::min(first, band.from_h);
          last = std::max(last, band.to_h);
        }
      const auto clock = [](float hours) {
        char text[8];
        const int minutes = int(std::lround(hours * 60));
        std::snprintf(text, sizeof text, "%02d:%02d", minutes / 60 % 24, minutes % 60);
        return std::string(text);
      };
      if (last > 0) {
        to.first_sun = clock(first);
        to.last_sun = clock(last);
      }
    }
  }
  return months;
}

// Name, bar, hours with their range, light: as many as the words leave room for.
void month_line(Ui& ui, Rect row, int m, const MonthRow& month, bool open) {
  const Theme& t = ui.theme();
  const TextStyle name = ui.style(15, t.ink, open ? Weight::semibold : Weight::regular),
                  strong = ui.style(15, t.ink, Weight::semibold, Align::right),
                  quiet = ui.style(13.5f, t.quiet, Weight::regular, Align::right);
  const auto room = [&](const std::string& widest, const TextStyle& style) {
    return ui.width(widest, style) + 8;
  };
  const std::string range = number(month.sun_low_h_day, 1) + "–" + number(month.sun_high_h_day, 1);
  float names = 0;
  for (int i = 1; i <= 12; ++i) names = std::max(names, room(month_short(i), name));
  float right = row.right();
  const float hours = room(hours_decimal(22.2), strong), ranges = room("22.2–22.2", quiet),
              light = room("22.2 mol", quiet), least = 36;
  const auto put = [&](float width, const std::string& words, const TextStyle& style) {
    ui.words({right - width, row.y, width, row.h}, words, style);
    right -= width;
  };
  if (row.w - names - hours - ranges - light > least)
    put(light, number(month.light_mol_day, 1) + " mol", quiet);
  if (row.w - names - hours - ranges > least) put(ranges, range, quiet);
  put(hours, hours_decimal(month.sun_h_day), strong);
  ui.words({row.x, row.y, names, row.h}, month_short(m + 1), name);
  const Rect bar{row.x + names, row.y + row.h / 2 - 7, std::max(8.f, right - row.x - names - 4),
                 14};
  // The whole bar is the open horizon of June: what is lost against it shows from month to month.
  constexpr double kLongest_h = 17;
  const auto part = [&](double h) { return bar.w * float(std::clamp(h / kLongest_h, 0.0, 1.0)); };
  ui.canvas().fill(rectangle({bar.x, bar.y, part(month.flat_h_day), bar.h}), {t.rule});
  ui.canvas().fill(rectangle({bar.x, bar.y, part(month.sun_h_day), bar.h}), {t.amber});
  ui.canvas().stroke(rectangle({bar.x, bar.y, part(month.sun_h_day), bar.h}), {t.amber_deep, 1});
}

void whole_month(TouchApp& app, Column& rows, int m, const MonthRow& month) {
  const Units units = app.session().settings.units;
  std::string words = tr("light.month_open", {month_name(m + 1), hours_minutes(month.sun_h_day),
                                              hours_minutes(month.flat_h_day)});
  words +=
      " " + (month.first_sun.empty() ? tr("light.month_none")
                                     : tr("light.month_first", {month.first_sun, month.last_sun}));
  words += " " + tr("light.month_energy",
                    {energy(month.flat_kwh_m2, units), energy(month.glazing_kwh_m2, units)});
  if (month.light_high_mol_day > 0)
    words += " " + tr("years.month",
                      {number(month.light_low_mol_day, 1), number(month.light_high_mol_day, 1)});
  rows.text(words);
}

}  // namespace

void month_rows(TouchApp& app, Column& rows, const StationResults& r) {
  Ui& ui = app.ui();
  LightState& state = app.states().light;
  const auto months = months_of(r);
  const ChartStyle style = chart_style(app);
  if (rows.width() > style.text * 44) {
    const Rect where = rows.row(0);
    rows.space(draw_month_table(&ui.figure(where), where, months, style));
    return;
  }
  rows.text(tr("light.month_touch"));
  for (int m = 0; m < 12; ++m) {
    const Rect row = rows.row(std::max(kTouch, ui.sp(30)));
    rows.space(-10);  // one line after the other
    const bool open = state.month == m;
    if (ui.tap(month_name(m + 1), row)) state.month = open ? -1 : m;
    month_line(ui, row, m, months[std::size_t(m)], open);
    if (open) whole_month(app, rows, m, months[std::size_t(m)]);
    hairline(ui, row.x, rows.y() - 1, row.w);
  }
  rows.space(10);
}

}  // namespace app
