// app/touch/screens/results.cpp: all that follows from the ground, with its evidence, on one screen.
#include "app/touch/screens/ground_parts.h"
#include "app/words/sentence.h"
#include "app/words/words.h"

namespace app {

void results_screen(TouchApp& app, Rect area) {
  const Rect room = titled(app, area);
  const Units units = app.session().settings.units;
  const survey::GroundFindings& ground = ground_of(app);
  Ui& ui = app.ui();
  const auto soil = [&](Column& rows) {
    for (const auto& pit : ground.pits)
      in_card(ui, rows, "pit " + pit.name, [&](Column& c) { facts(c, pit_facts(pit, units)); });
    for (const auto& test : ground.percolation)
      in_card(ui, rows, "test " + test.name,
              [&](Column& c) { facts(c, percolation_facts(test, units)); });
    if (ground.missing.empty()) return;
    rows.heading(tr("ground.missing"));
    for (const auto& what : ground.missing) rows.text("· " + words_of(what));
  };
  const auto weather = [&](Column& rows) {
    for (const auto& group : weather_facts(ground, units))
      in_card(ui, rows, "facts " + group.title, [&](Column& c) { facts(c, group); });
  };
  if (area.w > 760) {
    const float half = room.w / 2;
    scrolling(app, "Results left", {room.x, room.y, half, room.h}, soil);
    scrolling(app, "Results right", {room.x + half, room.y, half, room.h}, weather);
  } else {
    scrolling(app, "Results rows", room, [&](Column& rows) {
      soil(rows);
      weather(rows);
    });
  }
}

}  // namespace app
