// app/touch/screens/station.cpp: the stations of the site: choose, add, name, height of the eye.
#include <algorithm>

#include "app/touch/screens/guide.h"
#include "app/touch/screens/screens.h"
#include "app/words/form_words.h"
#include "app/words/quantity.h"
#include "app/words/words.h"
#include "survey/book/text.h"

namespace app {

namespace {

// What cannot be is told, and the height from before the typing stays.
bool eye_height(TouchApp& app, Column& rows, survey::Station& station) {
  StationState& state = app.states().station;
  const Units units = app.session().settings.units;
  const std::string of = station.id + (units == Units::metric ? "" : " ft");
  if (state.loaded_for != of)
    state = {number(shown(Measure::length_m, station.eye_height_m, units), 2), of,
             station.eye_height_m};
  const bool changed = rows.field(
      tr(units == Units::metric ? "station.height_eye_above_ground_m" : "station.eye_ft"),
      state.eye);
  auto metres = survey::number_of(state.eye);
  if (metres) metres = stored(Measure::length_m, *metres, units);
  const bool sound = metres && *metres >= 0 && *metres <= 30;
  if (!sound)
    rows.refused(tr(units == Units::metric ? "station.eye_stands_0_30_m" : "station.eye_range_ft"));
  if (!changed) return false;
  station.eye_height_m = sound ? *metres : state.eye_before_m;
  return true;
}

// All that was undone or voided here can come back.
void taken_back_rows(TouchApp& app, Column& rows) {
  Session& session = app.session();
  const auto gone = session.taken_back();
  if (gone.empty()) return;
  rows.heading(tr("station.taken_back_here"));
  rows.text(tr("station.these_readings_file_but_not"));
  constexpr std::size_t kMostShown = 30;
  for (std::size_t i = 0; i < std::min(gone.size(), kMostShown); ++i)
    if (rows.button(tr("station.bring_back", {batch_words(app, gone[i])}), ButtonLook::plain, true,
                    Icon::undo)) {
      if (session.bring_back(gone[i]))
        app.say(tr("station.brought_back", {batch_words(app, gone[i])}));
      return;
    }
  if (gone.size() > kMostShown)
    rows.text(tr("station.older_ones", {number(double(gone.size() - kMostShown))}));
}

}  // namespace

void station_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Rect room = titled(app, area);
  scrolling(app, "Stations list", room, [&](Column& rows) {
    rows.text(tr("station.station_spot_where_you_stand"));
    act_row(app, rows, HowTo::stand);
    const auto* current = session.station();
    const std::vector<survey::Station> stations = session.stations();
    for (const auto& station : stations) {
      const bool here = current && current->id == station.id;
      const Rect row = rows.row(std::max(60.f, ui.sp(52)));
      std::string words = tr("touch.station_named", {station.name});
      if (station.main) words = tr("station.main", {words});
      if (!station.horizontal_sigma_m) words = tr("station.no_position_yet", {words});
      if (choice(ui, tr("touch.station_named", {station.name}), words, row, here) && !here)
        session.select_station(station.id);
    }
    if (rows.button(tr("station.new_station_here"), ButtonLook::strong, true, Icon::plus)) {
      if (session.add_station()) app.go(ScreenId::arrive);
      return;
    }
    if (!current) return;
    in_card(ui, rows, "station", [&](Column& c) {
      survey::Station changed = *current;
      c.heading(tr("touch.station_named", {changed.name}));
      bool any = c.field(tr("touch.name"), changed.name);
      any |= eye_height(app, c, changed);
      if (!changed.main && c.button(tr("station.make_main_station"))) {
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
    taken_back_rows(app, rows);
  });
}

}  // namespace app
