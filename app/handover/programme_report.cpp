#include "app/handover/programme_report.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/handover/photo_copy.h"
#include "app/handover/programme_map.h"
#include "app/words/letters.h"
#include "app/words/sentence.h"
#include "app/words/words.h"

namespace app {
namespace {

using survey::ProgrammeSite;
using survey::ProgrammeState;

struct Programme {
  const std::string& name;
  const std::vector<ProgrammeState>& sites;
  SortBy by;
  std::vector<Ranked> order;
  const ReportOptions& options;
  const ThumbnailOf& thumbnail;
  int most_pages;
  std::span<const horizon::TerrainGrid> ground;

  std::string title_of(SortBy key) const { return tr("programme.by." + std::string(name_of(key))); }
};

// Ranges one below the other: where bars overlap, the eye sees what cannot be told apart.
void draw_ranges(Canvas& canvas, Rect where, const Programme& of, std::size_t count,
                 const ChartStyle& style) {
  const Theme& theme = *style.theme;
  const auto figure = [&](const ProgrammeSite& site) {
    return of.by == SortBy::shortest_day ? site.shortest_day_h
           : of.by == SortBy::gain       ? site.gain_kwh_m2
           : of.by == SortBy::cold       ? site.coldest_inside_c
                                         : site.winter_sun_h;
  };
  double low = 0, high = 0.1;
  for (std::size_t i = 0; i < count; ++i) {
    const auto f = figure(of.sites[of.order[i].site].site);
    low = std::min(low, f.low.value_or(0));
    high = std::max(high, f.high.value_or(0));
  }
  const float names = where.w * 0.28f, row = where.h / static_cast<float>(count + 1);
  const Scale x{low, high * 1.04, where.x + names, where.right() - 4};
  const double step = step_for(high - low, 8);
  for (double value = std::ceil(low / step) * step; value <= high * 1.04; value += step) {
    canvas.stroke(line({x(value), where.y}, {x(value), where.y + row * static_cast<float>(count)}),
                  {theme.rule, 0.4f});
    canvas.text({x(value), where.bottom() - row * 0.2f}, number(value, step < 1 ? 1 : 0),
                style.quiet(Align::center));
  }
  for (std::size_t i = 0; i < count; ++i) {
    const Ranked& rank = of.order[i];
    const ProgrammeSite& site = of.sites[rank.site].site;
    const float y = where.y + row * (static_cast<float>(i) + 0.5f);
    TextStyle words = style.words();
    canvas.text({where.x, y + style.text * 0.35f},
                shortened(rank_words(rank) + "  " + site.name, words, names - 8), words);
    const auto f = figure(site);
    if (!f.value) continue;
    const double a = f.low.value_or(*f.value), b = f.high.value_or(*f.value);
    canvas.fill(rectangle({x(a), y - row * 0.22f, std::max(1.2f, x(b) - x(a)), row * 0.44f}),
                {theme.amber});
    canvas.stroke(line({x(*f.value), y - row * 0.34f}, {x(*f.value), y + row * 0.34f}),
                  {theme.ink, 1});
  }
}

std::string joined(const std::vector<std::string>& all, const char* between) {
  std::string out;
  for (const std::string& each : all) out += (out.empty() ? "" : between) + each;
  return out;
}

// What speaks for it and against, the heaviest first, two of each.
std::string reasons(const ProgrammeState& state, Units units) {
  std::string out;
  for (const char* stance : {"for", "against"}) {
    std::vector<std::string> texts;
    for (const auto& line : state.verdict)
      if (line.stance == stance && texts.size() < 2) texts.push_back(verdict_text(line, units));
    if (!texts.empty())
      out += (out.empty() ? "" : "\n") + sentence_case(tr_of("stance", stance)) + ": " +
             joined(texts, "; ");
  }
  return out;
}

void ranking_pages(Pages& pages, const Programme& of) {
  pages.section(of.name);
  const Theme& theme = *pages.style().theme;
  pages.text(tr("programme.ranking_about",
                {number(static_cast<double>(of.sites.size())), of.title_of(of.by)}),
             {9, theme.quiet});
  const auto doubts = doubts_of(of.sites, of.by);
  if (!doubts.empty()) pages.note(tr("report.uncertain"), doubts, theme.warning_soft);
  const std::size_t drawn = std::min<std::size_t>(of.order.size(), 24);
  if (drawn > 0 && of.by <= SortBy::cold) {
    pages.heading(of.title_of(of.by), 60);
    pages.figure(static_cast<float>(drawn + 1) * 12.5f, [&](Canvas& c, Rect r) {
      c.begin_figure(of.title_of(of.by));
      draw_ranges(c, r, of, drawn, pages.style());
      c.end_figure();
    });
    pages.small(tr("programme.ranges_note"));
  }
  pages.heading(tr("programme.ranking"), 80);
  std::vector<std::vector<std::string>> rows;
  for (const Ranked& rank : of.order) {
    const ProgrammeState& state = of.sites[rank.site];
    const Units units = of.options.units;
    std::string why = reasons(state, units);
    const std::string like = like_words(of.sites, rank);
    if (!like.empty()) why = like + (why.empty() ? "" : "\n" + why);
    rows.push_back({rank_words(rank), state.site.name,
                    figure_words(state.site, of.by == SortBy::name ? SortBy::hours : of.by, units),
                    why, joined(cost_words(state.site, units), "; ")});
  }
  pages.table({{tr("programme.rank"), 0.7f},
               {tr("programme.site"), 1.5f},
               {of.title_of(of.by == SortBy::name ? SortBy::hours : of.by), 1.3f},
               {tr("programme.reasons"), 4.2f},
               {tr("programme.costs"), 2.2f}},
              rows, 7.5f);
}

void side_by_side(Pages& pages, const Programme& of) {
  pages.heading(tr("programme.side_by_side"), 120);
  std::vector<TableColumn> columns = {{tr("programme.rank"), 0.7f}, {tr("programme.site"), 1.6f}};
  constexpr SortBy kShown[] = {SortBy::hours, SortBy::shortest_day, SortBy::gain,  SortBy::cold,
                               SortBy::crops, SortBy::water,        SortBy::access};
  for (const SortBy key : kShown) columns.push_back({of.title_of(key), 1.25f, Align::right});
  columns.push_back({tr("programme.open_questions"), 0.8f, Align::right});
  std::vector<std::vector<std::string>> rows;
  for (const Ranked& rank : of.order) {
    const ProgrammeSite& site = of.sites[rank.site].site;
    std::vector<std::string> cells = {rank_words(rank), site.name};
    for (const SortBy key : kShown) cells.push_back(figure_words(site, key, of.options.units));
    cells.push_back(number(site.questions));
    rows.push_back(std::move(cells));
  }
  pages.table(columns, rows, 7);
}

void map_page(Pages& pages, const Programme& of) {
  pages.section(tr("programme.map"));
  const ChartStyle style = pages.style();
  constexpr float kHigh = 520, kPixels = 2;  // a point: 144 an inch
  Image relief;
  std::string sources;
  if (const auto window = programme_window(of.sites, {0, 0, pages.width(), kHigh});
      window && !of.ground.empty())
    relief = shaded_ground(of.ground, *window, static_cast<int>(pages.width() * kPixels),
                           static_cast<int>(kHigh * kPixels));
  for (const auto& grid : of.ground) add_listed(sources, grid.source);
  const bool shaded = relief.width > 0;
  pages.figure(kHigh, [&](Canvas& c, Rect r) {
    draw_programme_map(c, r, of.sites, of.order, style, shaded ? &relief : nullptr);
  });
  pages.small(tr("programme.map_note"));
  if (!of.ground.empty())
    pages.small(shaded ? tr("programme.relief_note", {sources}) : tr("programme.relief_elsewhere"));
  pages.note(tr("report.cautions"), {tr("programme.caution"), tr("report.caution.codes")},
             {238, 236, 230});
}

void rank_table(Pages& pages, const Programme& of, std::size_t site,
                const std::vector<std::vector<Ranked>>& orders) {
  std::vector<std::vector<std::string>> rows;
  for (int k = 0; k < kSortByCount; ++k) {
    const auto key = static_cast<SortBy>(k);
    if (key == SortBy::name) continue;
    const auto& order = orders[static_cast<std::size_t>(k)];
    const auto rank = std::ranges::find(order, site, &Ranked::site);
    rows.push_back({of.title_of(key), figure_words(of.sites[site].site, key, of.options.units),
                    rank_words(*rank), like_words(of.sites, *rank)});
  }
  pages.table({{tr("programme.figure"), 2.2f},
               {tr("ground.value"), 2.4f},
               {tr("programme.rank"), 0.9f},
               {tr("programme.told_apart"), 4.6f}},
              rows);
}

void pictures(Pages& pages, const Programme& of, const ProgrammeState& state) {
  std::vector<std::pair<Image, std::string>> found;
  for (const auto& photo : state.photos) {
    if (found.size() >= 3) break;
    const std::string jpeg = of.thumbnail ? of.thumbnail(photo.sha256) : std::string();
    auto image = jpeg.empty() ? horizon::Result<Image>(horizon::fail(horizon::Code::not_found, ""))
                              : photo_copy(jpeg, 1, 320);
    if (image) found.emplace_back(std::move(*image), photo.label);
  }
  if (found.empty()) return;
  pages.gap(6);
  pages.figure(118, [&](Canvas& c, Rect r) {
    float x = r.x;
    for (const auto& [image, label] : found) {
      const float height = 100, width = std::min(height * static_cast<float>(image.width) /
                                                     static_cast<float>(std::max(1, image.height)),
                                                 r.w / 3 - 8);
      c.begin_figure(label.empty() ? tr("programme.photo") : label);
      c.image(image, {x, r.y, width, height});
      c.end_figure();
      const TextStyle quiet = pages.style().quiet();
      c.text({x, r.y + height + 11}, shortened(label, quiet, width), quiet);
      x += r.w / 3;
    }
  });
}

void site_page(Pages& pages, const Programme& of, std::size_t index,
               const std::vector<std::vector<Ranked>>& orders) {
  const ProgrammeState& state = of.sites[index];
  const ProgrammeSite& site = state.site;
  const Units units = of.options.units;
  pages.section(site.name);
  std::vector<std::pair<std::string, std::string>> facts;
  if (site.latitude_deg && site.longitude_deg)
    facts.emplace_back(tr("programme.place"),
                       position(*site.latitude_deg, *site.longitude_deg) +
                           (site.height_m ? " · " + height(*site.height_m, units) : std::string()));
  if (site.last_visit)
    facts.emplace_back(
        tr("programme.visited"),
        full_date(horizon::date_of(site.last_visit->utc_s, site.last_visit->utc_offset_h)) +
            (site.visit_ended ? "" : " · " + tr("programme.visit_open")));
  facts.emplace_back(tr("programme.state"), state_words(site));
  const auto costs = cost_words(site, units);
  if (!costs.empty()) facts.emplace_back(tr("programme.costs"), joined(costs, "; "));
  pages.facts(facts);
  rank_table(pages, of, index, orders);
  if (!state.verdict.empty()) {
    pages.heading(tr("ground.verdict"), 60);
    std::vector<std::vector<std::string>> rows;
    for (const auto& line : state.verdict)
      rows.push_back({tr_of("stance", line.stance), verdict_text(line, units), line.evidence});
    pages.table({{"", 1.2f}, {tr("ground.value"), 4.6f}, {tr("ground.evidence"), 2.2f}}, rows,
                7.5f);
  }
  if (!state.crops.empty()) {
    pages.heading(tr("programme.crops"), 50);
    std::string words;
    for (const auto& crop : state.crops)
      words += (words.empty() ? "" : " · ") + tr_of("house.crop", crop.crop) + " " +
               number(crop.low * 100) + "–" + percent(crop.high);
    pages.text(words);
    pages.small(tr("programme.crops_note", {number(state.crops.front().winters)}));
  }
  if (!state.questions.empty()) {
    pages.heading(tr("programme.open_questions"), 50);
    std::vector<std::string> texts;
    for (const auto& question : state.questions) texts.push_back(question_text(question));
    pages.text(joined(texts, " · "), {8, pages.style().theme->ink});
  }
  pictures(pages, of, state);
}

void draw_all(Pages& pages, const Programme& of) {
  ranking_pages(pages, of);
  side_by_side(pages, of);
  map_page(pages, of);
  std::vector<std::vector<Ranked>> orders;
  for (int k = 0; k < kSortByCount; ++k) orders.push_back(ranked(of.sites, static_cast<SortBy>(k)));
  int page = 0;
  for (const Ranked& rank : of.order)
    if (++page <= of.most_pages) site_page(pages, of, rank.site, orders);
}

}  // namespace

horizon::Result<std::string> programme_report(const std::string& name,
                                              const std::vector<ProgrammeState>& sites, SortBy by,
                                              const ReportOptions& options,
                                              const ThumbnailOf& thumbnail, int most_pages,
                                              std::span<const horizon::TerrainGrid> ground) {
  const InLanguage in(options.language);
  const Programme programme{name,    sites,     by,         ranked(sites, by),
                            options, thumbnail, most_pages, ground};
  Pages::Look look;
  look.paper = size_of(options.paper);
  look.style.units = options.units;
  look.style.least = 7;
  look.running = name + " · " + options.software_version + " · " +
                 horizon::format_date(horizon::date_of(options.time_utc_s, 0));
  {
    Pages counting(nullptr, look);
    draw_all(counting, programme);
    look.plan = counting.finish_plan();
  }
  DocumentFacts facts;
  facts.title = tr("programme.title", {name});
  facts.language = options.language;
  facts.time_utc_s = options.time_utc_s;
  PdfDocument document(facts, look.paper.width, look.paper.height);
  Pages pages(&document, look);
  draw_all(pages, programme);
  return document.finish();
}

}  // namespace app
