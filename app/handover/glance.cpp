#include <algorithm>
#include <cmath>

#include "app/drawing/charts/light_charts.h"
#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/handover/sections.h"
#include "app/words/ground_facts.h"
#include "app/words/light_words.h"
#include "app/words/ranges.h"
#include "app/words/words.h"
#include "app/words/year_words.h"
#include "horizon/geodesy.h"

namespace app {
namespace {

struct Headline {
  std::string name, value, detail;
};

std::vector<Headline> headlines(const ReportContext& context) {
  const StationReport& main = context.site.stations[best_station(context.site)];
  const auto& f = main.findings;
  const bool southern = main.input.place.latitude_deg < 0;
  const int year = main.input.year;
  std::vector<Headline> out;
  const auto& hours = f.hours;
  std::string detail = windows_in_words(hours.shortest_day_windows, context.site.utc_offset_h());
  if (const std::string spread = hours_spread(hours.shortest_day_h); !spread.empty()) {
    detail = spread + (detail.empty() ? "" : " · " + detail);
  }
  out.push_back({tr("report.direct_sun_on", {day_month(hours.shortest_day)}),
                 hours_headline(hours.shortest_day_h), detail});
  detail = tr("report.of_flat", {percent(hours.winter_share)});
  if (const std::string range = ranged(hours.winter_h_a_day, 1, tr("unit.h")); !range.empty()) {
    detail += " · " + range;
  }
  out.push_back({tr("report.winter_a_day"), hours_a_day_headline(hours.winter_h_a_day), detail});
  const auto& finding = f.facing();
  detail = tr("report.best_between",
              {degree_range(f.best_facing.low.degrees(), f.best_facing.high.degrees())}) +
           " · " + off_south(f.best_facing.value.degrees(), southern);
  out.push_back({tr("report.facing_band"), facing_band(finding.within_2), detail});
  out.push_back({tr("report.tilt_band"), tilt_band(finding.tilt_within_2),
                 tr("report.tilt_30_keeps", {percent(1 - finding.tilt_30.loss)})});
  // The season of the crop in the middle of the list: leafy greens by default.
  const auto& crops = f.growing.crops;
  if (!crops.empty()) {
    const auto& crop = crops[crops.size() / 2];
    const auto* spell = horizon::longest(crop.spells, horizon::days_in_year(year));
    const std::string when = !spell ? tr("report.never")
                             : crop.days >= horizon::days_in_year(year)
                                 ? tr("report.all_year")
                                 : spell_in_words(*spell, year);
    const auto* years = crop_years(f, crop);
    std::string more = tr("report.light_for_detail", {number(crop.need.mol_m2_day)});
    // What was not aimed at moves the ends too.
    constexpr int kWide_days = 7;
    if (spell && !years && crop.from_low_day > 0 && crop.to_low_day > 0 &&
        std::max(crop.from_high_day - crop.from_low_day, crop.to_high_day - crop.to_low_day) >=
            kWide_days)
      more = tr("report.first_day_range") + " " +
             days_in_words(crop.from_low_day, crop.from_high_day, year) + " · " +
             tr("report.last_day_range") + " " +
             days_in_words(crop.to_low_day, crop.to_high_day, year) + " · " + more;
    if (years) {
      const std::string end = end_of_years(*years, year);
      more = (end.empty() ? end : end + " · ") + more + ". " + one_in_ten(*years, year);
    }
    out.push_back({tr("report.light_for", {tr_of("crop", crop.need.crop)}),
                   years ? begin_of_years(*years, year) : when, more});
  }
  return out;
}

void draw_headlines(Pages& pages, const std::vector<Headline>& rows) {
  Canvas& canvas = pages.canvas();
  const Theme& theme = *pages.style().theme;
  const TextStyle name{7.5f, theme.quiet};
  const float width = pages.width() / static_cast<float>(rows.size());
  const float inner = width - 14;
  std::size_t most = 1, most_names = 1;
  // All values in one size, the largest in which each fits, or breaks into two lines.
  constexpr float kSmallest = 11;
  float size = 15;
  for (const auto& row : rows) {
    most = std::max(most, wrapped(row.detail, name, inner).size());
    most_names = std::max(most_names, wrapped(row.name, name, inner).size());
    while (size > kSmallest && text_width(row.value, {size, theme.ink, Weight::semibold}) > inner) {
      size -= 0.5f;
    }
  }
  const TextStyle value{size, theme.ink, Weight::semibold};
  std::size_t most_values = 1;
  for (const auto& row : rows)
    most_values = std::max(most_values, wrapped(row.value, value, inner).size());
  const float names = static_cast<float>(most_names) * 9.5f,
              values = static_cast<float>(most_values - 1) * size * 1.15f;
  const float height = 14 + names + size * 1.35f + values + static_cast<float>(most) * 9.5f + 4;
  canvas.fill(rounded({pages.left(), pages.y, pages.width(), height}, 7), {theme.amber_soft});
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const float x = pages.left() + width * static_cast<float>(i) + 9;
    float base = pages.y + 15;
    if (i > 0) {
      canvas.stroke(line({x - 8, pages.y + 9}, {x - 8, pages.y + height - 9}),
                    {faded(theme.amber_deep, 0.4f), 0.6f});
    }
    for (const auto& text : wrapped(rows[i].name, name, inner)) {
      canvas.text({x, base}, text, name);
      base += 9.5f;
    }
    base = pages.y + 14 + names + size * 0.85f;
    for (const auto& text : wrapped(rows[i].value, value, inner)) {
      canvas.text({x, base}, text, value);
      base += size * 1.15f;
    }
    base = pages.y + 14 + names + size * 1.2f + values + 9;
    for (const auto& text : wrapped(rows[i].detail, name, inner)) {
      canvas.text({x, base}, text, name);
      base += 9.5f;
    }
  }
  pages.y += height + 10;
}

// The fall between the two stations furthest apart, where their heights bear it: beside the slope
// measured at a pit, which is of that spot.
std::string slope_between(const SiteReport& site) {
  const survey::Station *a = nullptr, *b = nullptr;
  double apart = 10;  // metres; nearer ones tell no slope
  for (const auto& one : site.stations)
    for (const auto& other : site.stations) {
      const auto &p = one.derived.station.position, &q = other.derived.station.position;
      if (!p.height_m || !q.height_m || *p.height_m <= *q.height_m) continue;
      const double away = horizon::geodesic({p.latitude_deg, p.longitude_deg, 0},
                                            {q.latitude_deg, q.longitude_deg, 0})
                              .distance_m;
      if (away > apart) apart = away, a = &one.derived.station, b = &other.derived.station;
    }
  if (!a) return "";
  const double fall = *a->position.height_m - *b->position.height_m;
  const double sigma = std::hypot(a->height_sigma_m.value_or(4), b->height_sigma_m.value_or(4));
  const double doubt_deg = 1.645 * sigma / apart / horizon::kDegree;
  if (doubt_deg > 8) return "";
  return tr("report.ground.slope_between",
            {a->name, b->name, degrees(std::atan2(fall, apart) / horizon::kDegree),
             degrees(std::max(1.0, doubt_deg))});
}

std::vector<std::string> ground_lines(const ReportContext& context) {
  const auto& site = context.site;
  const Units units = context.options.units;
  std::vector<std::string> out;
  if (site.pits.empty()) {
    out.push_back(tr("report.ground.no_pit"));
  } else {
    out.push_back(site.pits.front().pit.name + ": " + soil_in_words(site.pits.front(), units));
  }
  std::string water;
  for (const auto& pit : site.pits) {
    if (pit.pit.water_m) {
      water = tr("report.ground.water", {pit.pit.name, depth(*pit.pit.water_m, units)});
      break;
    }
  }
  for (const auto& test : site.ground.percolation) {
    if (!test.result) continue;
    add_clause(water, tr("report.ground.sinks", {fall_rate(*test.result, units)}));
    break;
  }
  out.push_back(water.empty() ? tr("report.ground.no_water") : water);
  std::string slope =
      site.settings.slope
          ? tr("report.ground.slope", {degrees(site.settings.slope->slope_deg),
                                       compass_point(site.settings.slope->downhill.degrees())})
          : tr("report.ground.no_slope");
  out.push_back(slope);
  if (const std::string between = slope_between(site); !between.empty()) out.push_back(between);
  return out;
}

// The ground and the other stations; returns the height it takes. Draws nothing on a null canvas.
float beside_ledger(Canvas* canvas, Rect r, const ReportContext& context) {
  const Theme& theme = kPrint;
  const TextStyle words{8, theme.ink}, head{10, theme.ink, Weight::semibold};
  float base = r.y + 10;
  const auto put = [&](float x, const std::string& text, const TextStyle& style) {
    if (canvas) canvas->text({x, base}, text, style);
  };
  put(r.x, tr("report.ground"), head);
  base += 14;
  for (const auto& line_of : ground_lines(context)) {
    auto lines = wrapped(line_of, words, r.w);
    if (lines.size() > 3) {
      lines.resize(3);
      lines.back() = shortened(lines.back() + " …………", words, r.w);
    }
    for (const auto& text : lines) {
      put(r.x, text, words);
      base += 11;
    }
    base += 2;
  }
  const auto& stations = context.site.stations;
  if (stations.size() < 2) return base - r.y;
  base += 10;
  put(r.x, tr("report.stations"), head);
  base += 14;
  constexpr std::size_t kMost = 5;
  for (std::size_t i = 0; i < stations.size(); ++i) {
    if (i + 1 == kMost && stations.size() > kMost) {
      put(r.x, tr_count("report.more_stations", static_cast<long>(stations.size() - i)), words);
      base += 11;
      break;
    }
    TextStyle value = words;
    value.weight = Weight::semibold;
    value.align = Align::right;
    const std::string hours = hours_decimal(stations[i].findings.hours.winter_h_a_day.value);
    put(r.x, shortened(stations[i].name(), words, r.w - text_width(hours, value) - 8), words);
    put(r.x + r.w, hours, value);
    base += 11;
  }
  return base - r.y;
}

// The best spot, what it gives, and what speaks against it, as a person would say it.
std::string verdict_words(const ReportContext& context) {
  const SiteReport& site = context.site;
  const StationReport& main = site.stations[best_station(site)];
  const auto& hours = main.findings.hours;
  std::string words;
  if (site.plan && !site.plan->houses.empty()) {
    const auto& house = site.plan->houses.front();
    const horizon::Ranged sun{house.winter_h_day.value, house.winter_h_day.low,
                              house.winter_h_day.high};
    words = tr("report.verdict.place",
               {house.name, hours_a_day_headline(sun), degrees(house.facing_true_deg)});
    if (house.hidden_h_day > 0.1)
      words +=
          " " + tr("report.verdict.takes", {house.hidden_by, hours_minutes(house.hidden_h_day)});
  } else {
    words = tr("report.verdict.station", {main.name(), hours_a_day_headline(hours.winter_h_a_day)});
  }
  if (site.plan && !site.plan->houses.empty() && site.plot && site.plot->boundary.empty())
    words += " " + tr("report.verdict.no_boundary");
  if (main.findings.sky == horizon::SkySource::clear) words += " " + tr("report.verdict.clear_sky");
  return words;
}

}  // namespace

void at_a_glance(Pages& pages, const ReportContext& context) {
  const SiteReport& site = context.site;
  const std::size_t best = best_station(site);
  const StationReport& main = site.stations[best];
  const Theme& theme = *pages.style().theme;
  const Units units = context.options.units;
  Canvas& canvas = pages.canvas();

  TextStyle title{24, theme.ink, Weight::semibold};
  auto rows = wrapped(site.site().name, title, pages.width() - 12);
  if (rows.size() > 1) {
    title.size = 16;
    rows = wrapped(site.site().name, title, pages.width() - 12);
    if (rows.size() > 3) {
      rows.resize(3);
      rows.back() = shortened(rows.back() + "…", title, pages.width() - 12);
    }
  }
  const float step = title.size * 1.25f;
  canvas.fill(rectangle({pages.left(), pages.y + 2, 4, step * static_cast<float>(rows.size()) - 2}),
              {theme.amber});
  for (const auto& row : rows) {
    TextStyle style = title;
    const bool backward = right_to_left(row);
    style.align = backward ? Align::right : Align::left;
    canvas.text({backward ? pages.left() + pages.width() : pages.left() + 12, pages.y + title.size},
                row, style);
    pages.y += step;
  }
  pages.y += 4;
  std::string where = position(main.input.place.latitude_deg, main.input.place.longitude_deg) +
                      " · " + height_of(main, units) + " · " + tr("report.station", {main.name()});
  if (!site.visits.empty()) {
    const auto& visit = site.visits.back();
    where += " · " + tr("report.visited",
                        {full_date(horizon::date_of(visit.begun.utc_s, visit.begun.utc_offset_h))});
    if (!visit.people.empty()) where += " (" + visit.people + ")";
  }
  pages.text(where, {8.5f, theme.quiet});
  pages.gap(3);
  const std::string headings = doubt_of_headings(site);
  if (!headings.empty()) {
    pages.note(tr("report.disputed_title"), {headings}, theme.warning_soft);
    pages.gap(3);
  }
  pages.text(verdict_words(context), {11.5f, theme.ink, Weight::semibold});
  pages.gap(2);
  pages.text(tr("report.measured_at", {main.name()}), {8, theme.quiet});
  draw_headlines(pages, headlines(context));

  auto uncertain = doubts(context);
  std::erase(uncertain, headings);  // stands above
  const std::size_t kMost = 5;
  if (uncertain.size() > kMost) {
    const auto more = static_cast<long>(uncertain.size() - kMost);
    uncertain.resize(kMost);
    uncertain.push_back(tr_count("report.more_doubts", more));
  }
  std::vector<std::string> cautions;
  for (const auto& hazard : site.hazards) {
    if (hazard.severity >= 2 && cautions.size() < 3) {
      cautions.push_back(tr("hazard." + std::string(name_of(hazard.kind))) +
                         (hazard.text.empty() ? "" : ": " + hazard.text));
    }
  }
  cautions.push_back(tr("report.caution.codes"));
  cautions.push_back(tr("report.caution.ground"));

  constexpr float kSkyline = 132, kSunYear = 120, kBetween = 6;
  const ChartStyle style = pages.style();
  const float ledger =
      draw_ledger(nullptr, {0, 0, 0, 0}, main.findings.ledger, winter_days(main), style, 4);
  constexpr float kLedgerShare = 0.58f;
  const float block = std::max(
      {100.f, ledger + 18, beside_ledger(nullptr, {0, 0, pages.width() * 0.4f, 0}, context)});
  const float rest = kSkyline + block + 2 * kBetween + pages.note_height(uncertain) +
                     pages.note_height(cautions) + 16;
  const bool has_sun_year = pages.y + rest + kSunYear + kBetween < pages.bottom();
  ChartStyle small = style;
  small.text = 7.5f;
  pages.figure(
      kSkyline,
      [&](Canvas& c, Rect r) {
        SkylineChart chart = skyline_chart_of(context, best);
        chart.marks = main.skyline().points.size() < 120;
        draw_skyline(c, r, chart, small);
      },
      0.6f);
  if (has_sun_year) {
    pages.figure(
        kSunYear,
        [&](Canvas& c, Rect r) {
          draw_sun_year(c, r, context.site.stations[best].sun_year_chart, small);
        },
        0.6f);
  }
  pages.figures(
      block,
      [&](Canvas& c, Rect r) {
        c.text({r.x, r.y + 10}, tr("report.takes_winter_sun"), {10, theme.ink, Weight::semibold});
        draw_ledger(&c, {r.x, r.y + 18, r.w, r.h - 18}, main.findings.ledger, winter_days(main),
                    style, 4);
      },
      [&](Canvas& c, Rect r) { beside_ledger(&c, r, context); }, kLedgerShare);
  pages.note(tr("report.uncertain"), uncertain, theme.warning_soft);
  pages.note(tr("report.cautions"), cautions, {238, 236, 230});
}

}  // namespace app
