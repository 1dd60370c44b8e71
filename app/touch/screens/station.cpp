// app/touch/screens/station.cpp: the stations of the site: choose, add, name, height of the eye.
#include <algorithm>

#include "app/ground/forms.h"
#include "app/touch/screens/guide.h"
#include "app/touch/screens/screens.h"
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
      tr(units == Units::metric ? "Height of the eye above the ground, m" : "station.eye_ft"),
      state.eye);
  auto metres = survey::number_of(state.eye);
  if (metres) metres = stored(Measure::length_m, *metres, units);
  const bool sound = metres && *metres >= 0 && *metres <= 30;
  if (!sound)
    rows.caution(tr(units == Units::metric ? "The eye stands 0 to 30 m above the ground; not kept."
                                           : "station.eye_range_ft"));
  if (!changed) return false;
  station.eye_height_m = sound ? *metres : state.eye_before_m;
  return true;
}

// All that was undone or voided here can come back.
void taken_back_rows(TouchApp& app, Column& rows) {
  Session& session = app.session();
  const auto gone = session.taken_back();
  if (gone.empty()) return;
  rows.heading(tr("Taken back here"));
  rows.text(tr("These readings are in the file, but are not used."));
  constexpr std::size_t kMostShown = 30;
  for (std::size_t i = 0; i < std::min(gone.size(), kMostShown); ++i)
    if (rows.button(tr("Bring back: {0}", {batch_words(app, gone[i])}), ButtonLook::plain, true,
                    Icon::undo)) {
      if (session.bring_back(gone[i]))
        app.say(tr("Brought back: {0}.", {batch_words(app, gone[i])}));
      return;
    }
  if (gone.size() > kMostShown)
    rows.text(tr("and {0} older ones", {number(double(gone.size() - kMostShown))}));
}

}  // namespace

void station_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Rect room = titled(app, area, tr("Stations"), ScreenId::arrive);
  scrolling(app, "Stations list", room, [&](Column& rows) {
    rows.text(
        tr("A station is a spot where you stand and aim. Two or three over the plot show where "
           "the greenhouse stands best."));
    act_row(app, rows, HowTo::stand);
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
      any |= eye_height(app, c, changed);
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
    taken_back_rows(app, rows);
  });
}

}  // namespace app
