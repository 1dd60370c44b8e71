// app/screens/ground.cpp: soil pits, percolation, slope and notes of the site.
#include <algorithm>
#include <array>

#include "app/lang/words.h"
#include "app/screens/screens.h"

namespace app {
namespace {

constexpr survey::Topic kTopics[] = {survey::Topic::water,    survey::Topic::wind,
                                     survey::Topic::access,   survey::Topic::services,
                                     survey::Topic::cold_air, survey::Topic::snow};
constexpr const char* kTopicNames[] = {"Water", "Wind", "Access", "Services", "Cold air", "Snow"};
constexpr const char* kTopicHints[] = {
    "Spring, stream, wet spots, where the roof's water may go",
    "From where it blows hardest, shelter, drifts",
    "Road, turning place, how near a truck comes in winter",
    "Power, water, drains: how far",
    "Does cold air drain away downhill, or stay behind a wall or hedge?",
    "Depth now, how deep people say it gets, where it drifts"};

void pits(TouchApp& app, Column& rows) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  rows.heading(tr("Soil pits"));
  auto all = session.book().all<survey::SoilPit>();
  if (!all) return rows.text(in_words(all.error()));
  if (all->empty())
    rows.text(tr("One pit where the greenhouse may stand, as deep as the footing will go. Before you "
                 "dig: have buried pipes and cables located."));
  for (const auto& pit : *all) {
    auto layers = session.book().where<survey::SoilLayer>("pit_id", pit.id);
    std::string words = pit.name;
    if (pit.depth_m) words += " · " + depth(*pit.depth_m, session.settings.units);
    if (layers && !layers->empty()) words += " · " + tr("{0} layers", {number(double(layers->size()))});
    if (rows.button(words, ButtonLook::plain)) {
      state = {};
      state.pit_id = pit.id;
      app.go(ScreenId::pit);
    }
  }
  if (rows.button(tr("New pit"), ButtonLook::strong, true, Icon::plus)) {
    survey::SoilPit pit;
    pit.id = survey::new_id();
    pit.name = tr("Pit {0}", {number(double(all->size() + 1))});
    pit.method = "pit";
    pit.time = session.now();
    if (const auto* visit = session.visit()) pit.visit_id = visit->id;
    if (const auto* at = session.station(); at && session.has_position()) pit.position = at->position;
    if (auto put = session.book().put(pit); !put) {
      session.problem = in_words(put.error());
    } else {
      state = {};
      state.pit_id = pit.id;
      app.go(ScreenId::pit);
    }
  }
}

void percolation_and_slope(TouchApp& app, Column& rows) {
  Session& session = app.session();
  rows.heading(tr("How fast water seeps away"));
  auto tests = session.book().all<survey::PercolationTest>();
  auto readings = session.book().all<survey::PercolationReading>();
  if (tests && readings && !tests->empty())
    rows.fact(tests->back().name.empty() ? tr("Test") : tests->back().name,
              tr("{0} readings", {number(double(readings->size()))}));
  if (rows.button(tr("Percolation test"), ButtonLook::strong)) app.go(ScreenId::percolation);
  rows.heading(tr("Slope of the ground"));
  auto all = session.book().all<survey::SoilPit>();
  if (all)
    for (const auto& pit : *all)
      if (pit.slope_deg)
        rows.fact(pit.name, number(*pit.slope_deg, 1) + "°" +
                                (pit.slope_faces_true_deg
                                     ? tr(", falls to ") + compass_point(*pit.slope_faces_true_deg)
                                     : std::string()));
  if (rows.button(tr("Lay the device on the ground"), ButtonLook::strong)) app.go(ScreenId::slope);
}

void notes(TouchApp& app, Column& rows) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  rows.heading(tr("Notes"));
  auto all = session.book().all<survey::SiteNote>();
  if (!all) return;
  for (std::size_t i = 0; i < std::size(kTopics); ++i) {
    auto note = std::find_if(all->begin(), all->end(),
                             [&](const auto& n) { return n.topic == kTopics[i]; });
    const bool open = state.note_id == kTopicNames[i];
    const std::string name = tr(kTopicNames[i]);
    if (open) {
      std::string text = note == all->end() ? std::string() : note->text;
      const bool changed = rows.notes(name, text, tr(kTopicHints[i]));
      if (rows.button(tr("Done"), ButtonLook::plain)) {
        state.note_id.clear();
        app.ui().blur();
      }
      if (!changed) continue;
      survey::SiteNote row;
      if (note != all->end()) row = *note;
      row.topic = kTopics[i];
      row.text = text;
      row.time = session.now();
      if (const auto* visit = session.visit()) row.visit_id = visit->id;
      if (auto put = session.book().put(row); !put) session.problem = in_words(put.error());
    } else {
      const bool empty = note == all->end() || note->text.empty();
      if (!empty) rows.text(note->text);
      if (rows.button(empty ? name : tr("Change: ") + name, ButtonLook::plain))
        state.note_id = kTopicNames[i];
    }
  }
}

}  // namespace

void ground_screen(TouchApp& app, Rect area) {
  Ui& ui = app.ui();
  const auto left = [&](Column& rows) {
    in_card(ui, rows, "pits", [&](Column& c) { pits(app, c); });
    in_card(ui, rows, "seeps", [&](Column& c) { percolation_and_slope(app, c); });
  };
  const auto right = [&](Column& rows) {
    in_card(ui, rows, "notes", [&](Column& c) { notes(app, c); });
  };
  if (area.w > 760) {
    const float half = area.w / 2;
    scrolling(app, "Ground left", {area.x, area.y, half, area.h}, left);
    scrolling(app, "Ground right", {area.x + half, area.y, half, area.h}, right);
  } else {
    scrolling(app, "Ground rows", area, [&](Column& rows) {
      left(rows);
      right(rows);
    });
  }
}

}  // namespace app
