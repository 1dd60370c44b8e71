// app/touch/screens/slope.cpp: the slope of the ground, by laying the device on it.
#include <algorithm>
#include <cmath>

#include "app/touch/screens/screens.h"
#include "app/touch/screens/slope_of.h"
#include "app/words/words.h"

namespace app {

// The camera's axis is the inner normal of the ground. Where the ground falls to the east, its outer
// normal leans east, so the inner one points down and west.
GroundLean lean_of(double azimuth_deg, double elevation_deg) {
  return {90 + elevation_deg, horizon::wrap_360(azimuth_deg + 180)};
}

void slope_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Rect room = titled(app, area);
  scrolling(app, "Slope rows", room, [&](Column& rows) {
    rows.text(tr("slope.lay_board_metre_more_ground"));
    const auto aim = session.aim();
    if (!aim) {
      const auto status = session.devices().attitude->status();
      rows.caution(status.problem.empty() ? tr("slope.waiting_level_device") : tr(status.problem));
      return;
    }
    const GroundLean lean = lean_of(session.true_azimuth_deg(*aim), aim->elevation_deg);
    const bool flat = lean.slope_deg < 60;
    const Rect big = rows.row(ui.sp(56));
    ui.words(big, flat ? number(lean.slope_deg, 1) + "°" : "–",
             ui.style(44, ui.theme().ink, Weight::semibold));
    if (flat) {
      rows.fact(tr("slope.that_is"),
                number(100 * std::tan(lean.slope_deg * horizon::kDegree), 0) + " %");
      rows.fact(tr("slope.falls"), lean.slope_deg < 1 ? tr("slope.nowhere_level")
                                                      : compass_point(lean.falls_to_deg) + " · " +
                                                            number(lean.falls_to_deg) + "°");
    } else {
      rows.text(tr("slope.device_not_lying_its_back"));
    }
    auto pits = session.book().all<survey::SoilPit>();
    if (!rows.button(tr("slope.keep_slope"), ButtonLook::main, flat && aim->steady_s > 0.4)) return;
    survey::SoilPit pit;
    if (pits && !pits->empty()) {
      pit = pits->back();
    } else {
      pit.id = survey::new_id();
      pit.name = tr("slope.surface");
      pit.method = "surface";
      pit.time = session.now();
      if (const auto* visit = session.visit()) pit.visit_id = visit->id;
    }
    pit.slope_deg = lean.slope_deg;
    if (lean.slope_deg >= 1) pit.slope_faces_true_deg = lean.falls_to_deg;
    if (auto put = session.book().put(pit); !put)
      session.problem = in_words(put.error());
    else
      app.go(ScreenId::ground);
  });
}

}  // namespace app
