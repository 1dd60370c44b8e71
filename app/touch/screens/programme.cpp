// app/touch/screens/programme.cpp: many sites side by side, of this device or of a programme that was brought in.
#include <algorithm>
#include <filesystem>

#include "app/drawing/shapes.h"
#include "app/handover/programme_map.h"
#include "app/handover/programme_rank.h"
#include "app/touch/screens/screens.h"
#include "app/words/letters.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/book/text.h"

namespace app {
namespace {

constexpr SortBy kOffered[] = {SortBy::hours, SortBy::shortest_day, SortBy::gain,   SortBy::cold,
                               SortBy::crops, SortBy::water,        SortBy::access, SortBy::name};

std::string by_words(SortBy by) { return tr("programme.by." + std::string(name_of(by))); }

// The known figures that the sites are not sorted by.
std::string other_figures(const survey::ProgrammeSite& site, SortBy by, Units units) {
  std::string out;
  for (const SortBy other :
       {SortBy::hours, SortBy::cold, SortBy::crops, SortBy::water, SortBy::access}) {
    if (other == by || (by == SortBy::name && other == SortBy::hours)) continue;
    const std::string figure = figure_words(site, other, units);
    if (figure == tr("programme.not_known")) continue;
    out += (out.empty() ? "" : " · ") + tr("programme.sort." + std::string(name_of(other))) + " " +
           figure;
  }
  return out;
}

// The order and what the search leaves of it: worked out only when list, order or search change.
void bring_order(ProgrammeScreenState& state, const std::string& source,
                 const ProgrammeKeeper::Sites& sites) {
  const std::string key = source + " " + std::to_string(sites.change) + " " +
                          std::to_string(sites.list.size()) + " " + std::to_string(state.by);
  const std::string wanted = survey::lower_ascii(state.search);
  if (key != state.ordered_for) {
    state.order = ranked(sites.list, kOffered[state.by]);
    state.doubts = doubts_of(sites.list, kOffered[state.by]);
    state.names.clear();
    for (const auto& each : sites.list) state.names.push_back(survey::lower_ascii(each.site.name));
  } else if (wanted == state.searched_for) {
    return;
  }
  state.ordered_for = key;
  state.searched_for = wanted;
  state.shown.clear();
  for (std::size_t i = 0; i < state.order.size(); ++i)
    if (wanted.empty() || state.names[state.order[i].site].find(wanted) != std::string::npos)
      state.shown.push_back(i);
}

void row_of(TouchApp& app, Rect row, const ProgrammeKeeper::Sites& sites, const Ranked& rank,
            bool next_to_the_one_above) {
  ProgrammeScreenState& state = app.states().programme;
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  const Units units = app.session().settings.units;
  const survey::ProgrammeSite& site = sites.list[rank.site].site;
  const SortBy by = kOffered[state.by];
  card(ui, row);
  const float left = std::max(74.f, ui.sp(64)), x = row.x + left, width = row.w - left - 14;
  const std::string place = rank_words(rank);
  ui.words({row.x + 12, row.y + 10, left - 18, ui.sp(26)}, place,
           ui.fitted(place, ui.style(18, t.ink, Weight::semibold), left - 18, 10));
  const std::string figure = figure_words(site, by == SortBy::name ? SortBy::hours : by, units);
  const std::string name = site.name.empty() ? tr("touch.without_name") : site.name;
  ui.words({x, row.y + 10, width, ui.sp(24)}, name,
           ui.fitted(name, ui.style(17, t.ink, Weight::semibold), width, 13));
  ui.words({x, row.y + 10 + ui.sp(24), width, ui.sp(20)}, figure,
           ui.fitted(figure, ui.style(15, t.ink), width, 11));
  const std::string like =
      rank.as_the_one_above && next_to_the_one_above ? tr("programme.as_above") : std::string();
  const std::string third = like.empty() ? other_figures(site, by, units) : like;
  const TextStyle quiet = ui.style(13, t.quiet);
  float y = row.y + 10 + ui.sp(45);
  int line = 0;
  for (const auto& words : ui.lines(third, quiet, width)) {
    if (++line > 2) break;
    ui.words({x, y, width, ui.sp(17)}, words, quiet);
    y += ui.sp(17);
  }
  if (ui.tap(name + " " + place, row)) state.open = site.site_id;
}

void about_one(TouchApp& app, Rect page, const std::string& source,
               const ProgrammeKeeper::Sites& sites) {
  ProgrammeScreenState& state = app.states().programme;
  Ui& ui = app.ui();
  const Units units = app.session().settings.units;
  const auto found = std::ranges::find(state.order, state.open, [&](const Ranked& rank) {
    return sites.list[rank.site].site.site_id;
  });
  if (found == state.order.end()) return state.open.clear();
  const survey::ProgrammeState* whole = &sites.list[found->site];
  const survey::ProgrammeSite& site = whole->site;
  if (!source.empty())
    if (const auto* read =
            app.session().programmes.details(*app.session().devices().worker, source, state.open))
      whole = read;
  const Rect sheet = sheet_over(ui, page, page.h * 0.86f, 640);
  bool close = false;
  scrolling(app, "Site rows", sheet.inset(6), [&](Column& rows) {
    rows.heading(site.name.empty() ? tr("touch.without_name") : site.name);
    if (const std::string like = like_words(sites.list, *found); !like.empty()) rows.strong(like);
    if (site.headings_disagree) rows.caution(tr("touch.heading_checks_here_disagree"));
    if (site.conflicts > 0) rows.caution(tr_count("programme.conflicts", site.conflicts));
    for (const SortBy by : kOffered)
      if (by != SortBy::name) rows.fact(by_words(by), figure_words(site, by, units));
    rows.fact(tr("programme.state"), "");
    rows.text(state_words(site));
    const auto costs = cost_words(site, units);
    if (!costs.empty()) {
      rows.heading(tr("programme.costs"));
      for (const std::string& each : costs) rows.text(each);
    }
    if (!whole->verdict.empty()) {
      rows.heading(tr("ground.verdict"));
      for (const auto& line : whole->verdict)
        rows.text(sentence_case(tr_of("stance", line.stance)) + ": " + verdict_text(line, units));
    }
    if (!whole->questions.empty()) {
      rows.heading(tr("programme.open_questions"));
      for (const auto& question : whole->questions) rows.text(question_text(question));
    }
    close = rows.button(tr("touch.close"), ButtonLook::quiet);
  });
  if (close) state.open.clear();
}

// All sites where they lie, over the ground as far as heights are kept in the device.
void map_of(TouchApp& app, Column& rows, const ProgrammeKeeper::Sites& sites) {
  Session& session = app.session();
  ProgrammeScreenState& state = app.states().programme;
  const Rect where = rows.row(std::min(rows.width(), 620.f));
  std::shared_ptr<const Image> relief;
  if (const auto window = programme_window(sites.list, where))
    relief = state.relief.of(*session.devices().worker, *session.devices().files, *window,
                             int(where.w), int(where.h));
  draw_programme_map(app.ui().figure(where), where, sites.list, state.order, chart_style(app),
                     relief.get());
  rows.text(tr("programme.map_note"));
  rows.text(relief ? tr("programme.relief_kept") : tr("programme.relief_bring"));
}

}  // namespace

void programme_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  ProgrammeScreenState& state = app.states().programme;
  Ui& ui = app.ui();
  const Rect room = titled(app, area);
  const std::vector<std::string>& files = session.programme_files();
  state.source = std::min(state.source, int(files.size()));
  const std::string source =
      state.source > 0 ? files[std::size_t(state.source - 1)] : std::string();
  std::vector<std::string> own;
  if (source.empty())
    for (const auto& site : session.sites().sites) own.push_back(site.path);
  platform::Worker& worker = *session.devices().worker;
  const ProgrammeKeeper::Sites& sites =
      source.empty()
          ? session.programmes.own(worker, own, session.settings.language, session.settings.units)
          : session.programmes.of_file(worker, source);
  bring_order(state, source, sites);
  scrolling(app, "Programme rows", room, [&](Column& rows) {
    if (!files.empty()) {
      std::vector<std::string> names = {tr("programme.this_device")};
      for (const std::string& file : files)
        names.push_back(std::filesystem::path(file).stem().string());
      if (rows.choices(tr("programme.which"), names, state.source)) ui.request_frame();
    }
    std::vector<std::string> orders;
    for (const SortBy by : kOffered)
      orders.push_back(tr("programme.sort." + std::string(name_of(by))));
    // One line until it is wanted: eight choices in large words fill a phone.
    bool other = false;
    const bool ordered = state.ordering;
    if (!ordered)
      state.ordering =
          rows.button(tr("programme.sorted_by") + ": " + orders[std::size_t(state.by)]);
    else if (rows.choices(tr("programme.sorted_by"), orders, state.by))
      other = true, state.ordering = false;
    if (state.ordering != ordered) ui.request_frame();
    if (sites.list.size() > 4 || !state.search.empty())
      other |= rows.field(tr("touch.search"), state.search, tr("touch.name_site"));
    if (other) bring_order(state, source, sites);
    if (sites.working > 0) rows.text(tr("touch.working"));
    for (const std::string& problem : sites.problems) rows.caution(problem);
    for (const std::string& doubt : state.doubts) rows.caution(doubt);
    if (!sites.list.empty()) rows.text(tr("programme.rank_about"));
    if (sites.list.empty() && sites.working == 0 && sites.problems.empty())
      rows.text(tr("programme.no_sites"));
    constexpr std::size_t kMostOnMap = 400;
    if (!sites.list.empty() && sites.list.size() <= kMostOnMap) {
      const std::string names[] = {tr("programme.as_list"), tr("programme.as_map")};
      int shown = state.map;
      if (rows.choices(tr("programme.shown_as"), names, shown)) state.map = shown == 1;
      if (state.map) return map_of(app, rows, sites);
    }
    // Only what is in sight is drawn: there may be ten thousand.
    const float height = 20 + ui.sp(45 + 2 * 17);
    for (std::size_t i = 0; i < state.shown.size(); ++i) {
      const Rect row = rows.row(height);
      if (row.bottom() < room.y || row.y > room.bottom()) continue;
      row_of(app, row, sites, state.order[state.shown[i]],
             i > 0 && state.shown[i - 1] + 1 == state.shown[i]);
    }
  });
  if (!state.open.empty()) about_one(app, area, source, sites);
}

}  // namespace app
