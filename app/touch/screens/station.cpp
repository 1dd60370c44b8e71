// app/touch/screens/station.cpp: the stations of the site: choose, add, name, height of the eye.
#include <algorithm>

#include "app/touch/screens/screens.h"
#include "app/words/words.h"
#include "survey/book/text.h"

namespace app {

void station_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Rect room = titled(app, area, tr("Stations"), ScreenId::arrive);
  scrolling(app, "Stations list", room, [&](Column& rows) {
    rows.text(
        tr("A station is a spot where you stand and aim. Two or three over the plot show where "
           "the greenhouse stands best."));
    const auto* current = session.station();
    const std::vector<survey::Station> stations = session.stations();
    for (const auto& station : stations) {
      const bool here = current && current->id == station.id;
      const Rect row = rows.row(std::max(60.f, ui.sp(52)));
      std::string words = tr("Station ") + station.name;
      if (station.main) words += tr(" · main");
      if (!station.horizontal_sigma_m) words += tr(" · no position yet");
      if (choice(ui, tr("Station ") + station.name, words, row, here) && !here)
        session.select_station(station.id);
    }
    if (rows.button(tr("New station here"), ButtonLook::strong, true, Icon::plus)) {
      if (session.add_station()) app.go(ScreenId::arrive);
      return;
    }
    if (!current) return;
    in_card(ui, rows, "station", [&](Column& c) {
      survey::Station changed = *current;
      c.heading(tr("Station ") + changed.name);
      bool any = c.field(tr("Name"), changed.name);
      std::string eye = number(changed.eye_height_m, 2);
      const std::string before = eye;
      if (c.field(tr("Height of the eye above the ground, m"), eye) && eye != before) {
        const auto metres = survey::number_of(eye);
        if (metres && *metres >= 0 && *metres <= 30) {
          changed.eye_height_m = *metres;
          any = true;
        }
      }
      if (!changed.main && c.button(tr("Make it the main station"))) {
        for (survey::Station other : stations)
          if (other.main) {
            other.main = false;
            (void)session.put_station(other);
          }
        changed.main = true;
        any = true;
      }
      if (any && !changed.name.empty()) (void)session.put_station(changed);
    });
  });
}

}  // namespace app
