// app/touch/screens/sites.cpp: the list of sites, each with a small skyline.
#include <algorithm>
#include <array>

#include "app/drawing/shapes.h"
#include "app/touch/screens/screens.h"
#include "app/words/words.h"
#include "survey/book/text.h"

namespace app {
namespace {

void small_skyline(Ui& ui, Rect where, const survey::SkylineSketch& sketch) {
  const Theme& t = ui.theme();
  Canvas& canvas = ui.figure(where);
  canvas.fill(rounded(where, 8), {t.sky});
  const int n = int(std::min(sketch.elevation_deg.size(), sketch.kind.size()));
  if (n < 2) return;
  const auto x_of = [&](int i) { return where.x + where.w * float(i) / float(n); };
  for (int i = 0; i < n;) {  // stretches of one kind
    int end = i + 1;
    while (end < n && sketch.kind[std::size_t(end)] == sketch.kind[std::size_t(i)]) ++end;
    Path shape{{{x_of(i), where.bottom()}}, true};
    for (int k = i; k <= end; ++k) {
      const float el = std::clamp(sketch.elevation_deg[std::size_t(k % n)], 0.f, 45.f);
      shape.points.push_back({x_of(k), where.bottom() - where.h * el / 45.f});
    }
    shape.points.push_back({x_of(end), where.bottom()});
    const auto kind = sketch.kind[std::size_t(i)];
    canvas.fill(shape, kind == 255 ? paint_of_open(t) : paint_of(horizon::Kind(kind), t));
    i = end;
  }
}

// Without its position where that leaves no room for the rest.
std::string second_line(TouchApp& app, const survey::SiteSummary& site, bool with_position) {
  std::string words;
  if (site.last_visit)
    words =
        full_date(horizon::date_of(site.last_visit->utc_s, site.last_visit->utc_offset_h)) + " · ";
  // To be walked to yet: what the office expects there.
  if (site.sightings == 0 && !site.site.note.empty()) return words + site.site.note;
  words += tr_count("skyline.marks", site.sightings);
  if (with_position && site.site.position != survey::Position{})
    words += " · " + position(site.site.position.latitude_deg, site.site.position.longitude_deg);
  if (app.session().settings.site_path == site.path) words = tr("sites.open", {words});
  return words;
}

void menu(TouchApp& app, Rect page) {
  SitesState& state = app.states().sites;
  Ui& ui = app.ui();
  const float height = (state.menu_archived ? 2 : 3) * 62 + ui.sp(40) + 32;
  Column rows(ui, sheet_over(ui, page, height).inset(16), 10);
  rows.heading(state.menu_name);
  Session& session = app.session();
  const std::string path = state.menu_path;
  if (state.menu_archived) {
    if (rows.button(tr("sites.bring_back_list"), ButtonLook::strong)) {
      if (session.restore_site(path)) app.say(tr("sites.site_list_again"));
      state.menu_path.clear();
    }
  } else {
    if (rows.button(tr("sites.duplicate"), ButtonLook::plain)) {
      (void)session.duplicate_site(path);
      state.menu_path.clear();
    }
    if (rows.button(tr("sites.put_into_archive"), ButtonLook::plain)) {
      if (session.archive_site(path)) app.say(tr("sites.archive_nothing_deleted"));
      state.menu_path.clear();
    }
  }
  if (rows.button(tr("touch.close"), ButtonLook::quiet)) state.menu_path.clear();
}

// The site that was open when the app gave way: nothing is done with it until it is asked for.
void suspect_card(TouchApp& app, Column& rows) {
  Session& session = app.session();
  const std::string path = session.suspect();
  if (path.empty()) return;
  const std::string name = path.substr(path.rfind('/') + 1);
  rows.caution(tr("sites.app_ended_while_site_was", {name}));
  for (const std::string& line : session.suspect_findings()) rows.text(line);
  if (rows.button(tr("sites.open_all_same"), ButtonLook::plain) && session.open_site(path))
    return app.go(session.has_position() ? ScreenId::skyline : ScreenId::arrive);
  if (rows.button(tr("sites.check_file"), ButtonLook::plain)) session.check_suspect();
  if (rows.button(tr("sites.hand_over"), ButtonLook::plain)) {
    const auto copy = session.hand_over_as_it_is(path);
    app.say(copy ? tr("sites.copy_lies", {*copy}) : in_words(copy.error()));
    if (copy && session.devices().share->available()) (void)session.devices().share->share(*copy);
  }
}

}  // namespace

void sites_screen(TouchApp& app, Rect area) {
  Ui& ui = app.ui();
  Session& session = app.session();
  SitesState& state = app.states().sites;
  const Theme& t = ui.theme();
  const float bar = std::max(60.f, ui.sp(56));
  ui.words({area.x + 20, area.y, area.w - 90, bar}, tr("sites.sites"),
           ui.style(26, t.ink, Weight::semibold));
  if (icon_button(ui, tr("touch.settings"), Icon::settings,
                  {area.right() - 56, area.y + (bar - 48) / 2, 48, 48}))
    return app.go(ScreenId::settings);

  bool practise = false;
  // The main action is where the thumb is.
  const float foot = 84;
  const Rect actions{area.x, area.bottom() - foot, area.w, foot};
  scrolling(
      app, "Sites list", {area.x, area.y + bar, area.w, area.h - bar - foot}, [&](Column& rows) {
        if (state.no_chooser)
          rows.strong(tr("sites.drop_file", {session.devices().files->sites_folder()}));
        const survey::SiteList& list = session.sites();
        if (list.sites.size() > 4 || !state.search.empty())
          rows.field(tr("touch.search"), state.search, tr("touch.name_site"));
        suspect_card(app, rows);
        if (list.sites.empty() && list.errors.empty()) {
          rows.heading(tr("sites.no_site_yet"));
          rows.text(tr("sites.site_plot_may_built"));
          rows.text(tr("practice.offer"));
          practise = rows.button(tr("practice.open"), ButtonLook::strong, true, Icon::sun);
          if (rows.button(tr("guide.open"))) app.go(ScreenId::guide);
        }
        const std::string wanted = survey::lower_ascii(state.search);
        const auto entry = [&](const survey::SiteSummary& site, bool archived) {
          if (!wanted.empty() &&
              survey::lower_ascii(site.site.name).find(wanted) == std::string::npos)
            return;
          const Rect row = rows.row(std::max(92.f, ui.sp(84)));
          card(ui, row);
          const Rect picture{row.x + 10, row.y + 12, std::min(132.f, row.w * 0.32f), row.h - 24};
          small_skyline(ui, picture, site.sketch);
          const float x = picture.right() + 14, width = row.right() - 56 - x;
          const std::string name =
              site.site.name.empty() ? tr("touch.without_name") : site.site.name;
          ui.words({x, row.y + 12, width, ui.sp(26)}, name,
                   ui.fitted(name, ui.style(18, t.ink, Weight::semibold), width, 14));
          const TextStyle quiet = ui.style(13.5f, t.quiet);
          std::string second = second_line(app, site, true);
          if (ui.lines(second, quiet, width).size() > 2) second = second_line(app, site, false);
          float y = row.y + 12 + ui.sp(27);
          int shown = 0;
          for (const auto& line : ui.lines(second, quiet, width)) {
            if (++shown > 2) break;
            ui.words({x, y, width, ui.sp(18)}, line, quiet);
            y += ui.sp(18);
          }
          if (!archived && ui.tap(name, {row.x, row.y, row.w - 56, row.h}) &&
              session.open_site(site.path))
            app.go(session.stands_there() ? ScreenId::skyline : ScreenId::arrive);
          if (icon_button(ui, tr("sites.more_on", {name}), Icon::more,
                          {row.right() - 54, row.y + (row.h - 48) / 2, 48, 48})) {
            state.menu_path = site.path;
            state.menu_name = name;
            state.menu_archived = archived;
          }
        };
        for (const auto& site : list.sites) entry(site, false);
        for (const auto& error : list.errors) rows.caution(in_words(error));
        if ((!list.sites.empty() || !session.programme_files().empty()) &&
            rows.button(tr("programme.open")))
          app.go(ScreenId::programme);
        if (!list.sites.empty()) {
          practise = rows.button(tr("practice.open"), ButtonLook::quiet, true, Icon::sun);
          if (rows.button(tr("guide.open"), ButtonLook::quiet)) app.go(ScreenId::guide);
        }
        if (const auto& archive = session.archived(); !archive.sites.empty()) {
          rows.tick(tr("sites.show_archive"), state.show_archived);
          if (state.show_archived)
            for (const auto& site : archive.sites) entry(site, true);
        }
      });

  const float width = std::min(area.w - 32, 720.f), x = area.x + (area.w - width) / 2;
  const float y = actions.y + 10;
  const bool left = ui.frame().left_handed;
  const float small = std::min(150.f, width * 0.36f);
  const Rect import_at{left ? x + width - small : x, y, small, 64};
  const Rect new_at{left ? x : x + small + 12, y, width - small - 12, 64};
  if (button(ui, tr("sites.bring_file"), import_at, ButtonLook::plain)) {
    state.no_chooser = !session.devices().files->pick("gpkg,zip");
    ui.scroll_to_top("Sites list");
  }
  while (auto file = session.devices().files->picked())
    if (const auto words = session.bring_sites(*file)) app.say(*words);
  if (button(ui, tr("sites.new_site"), new_at, ButtonLook::main, true, Icon::plus)) {
    const auto now = session.now();
    const std::string name =
        tr("sites.site", {full_date(horizon::date_of(now.utc_s, now.utc_offset_h)),
                          horizon::format_clock(now.utc_s, now.utc_offset_h)});
    if (session.new_site(name)) app.go(ScreenId::arrive);
  }
  if (practise && session.start_practice()) {
    app.states().practice = {};
    app.go(ScreenId::arrive);
  }
  if (!state.menu_path.empty()) menu(app, area);
}

}  // namespace app
