// app/touch/screens/arrive.cpp: where the observer stands, who is there, what may hurt, and whether the
// compass tells the truth.
#include <algorithm>
#include <array>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/touch/screens/guide.h"
#include "app/touch/screens/screens.h"
#include "app/touch/screens/take_out.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/assess/site_clock.h"
#include "survey/exchange/coordinates.h"

namespace app {
namespace {

void place_card(TouchApp& app, Column& rows) {
  Session& session = app.session();
  ArriveState& state = app.states().arrive;
  Ui& ui = app.ui();
  const auto* at = session.station();
  if (!at) return;
  const PositionProgress& progress = session.position();
  rows.heading(tr("touch.position"));
  if (session.has_position()) {
    const TextStyle big = ui.style(20, ui.theme().ink, Weight::semibold);
    const std::string where = position(at->position.latitude_deg, at->position.longitude_deg);
    rows.space(ui.paragraph({rows.x(), rows.y(), rows.width(), 0}, where, big) + 4);
    std::string how;
    if (at->position.height_m) how = height(*at->position.height_m, session.settings.units) + " · ";
    how +=
        "± " + distance(std::max(0.5, at->horizontal_sigma_m.value_or(0)), session.settings.units);
    if (progress.fixes > 0) how += " · " + tr_count("position.fixes", progress.fixes);
    rows.text(how);
  } else if (session.position_wait() == PositionWait::first) {
    rows.text(tr("arrive.waiting_satellites"));
  } else if (session.position_wait() == PositionWait::first_long) {
    rows.caution(tr("arrive.no_position_after_two_minutes"));
  }
  const double clock_h = session.site().created.utc_offset_h;
  const double longitude_deg = at->position.longitude_deg;
  if (session.has_position() &&
      std::fabs(survey::clock_from_sun_h(clock_h, longitude_deg)) > survey::kClockFromSun_h) {
    const double zone_h = horizon::solar_zone_h(longitude_deg);
    rows.caution(words_of(survey::site_clock_off(clock_h, longitude_deg)));
    if (rows.button(tr("arrive.take_zone", {with_sign(zone_h, 0)}))) session.set_site_clock(zone_h);
  }
  if (!progress.status.problem.empty()) rows.caution(tr(progress.status.problem));
  if (session.position_wait() == PositionWait::next_long)
    rows.caution(tr("arrive.no_new_position_half_minute"));
  if (!state.position_open) {
    if (rows.button(session.has_position() ? tr("arrive.put_position_right")
                                           : tr("arrive.type_position")))
      state.position_open = true;
    return;
  }
  rows.text(tr("arrive.degrees_minutes_seconds_utm_grid"));
  rows.field(tr("touch.position_any_notation"), state.position_text, "46.6213 N 10.3478 E 1482");
  const auto read = survey::position_of(state.position_text);
  if (!state.position_text.empty()) {
    if (read)
      rows.strong(survey::format_position(read->place, survey::AngleStyle::decimal) + " (" +
                  read->system + ")");
    else
      rows.refused(in_words(read.error()));
  }
  if (rows.button(tr("arrive.use_position"), ButtonLook::strong, read.has_value())) {
    session.stop_position();
    survey::Station station = *at;
    station.position = {read->place.latitude_deg, read->place.longitude_deg, {}};
    if (read->has_height) station.position.height_m = read->place.height_m;
    station.position_source = survey::PositionSource::entered;
    station.height_datum = survey::HeightDatum::sea_level;
    station.horizontal_sigma_m = 10;
    if (session.put_station(station)) {
      state.position_open = false;
      ui.blur();
    }
  }
}

void compass_card(TouchApp& app, Column& rows) {
  Session& session = app.session();
  rows.heading(tr("arrive.compass"));
  int instrument = int(session.settings.instrument);
  const std::array<std::string, 2> names{tr("arrive.device"), tr("arrive.hand_compass_clinometer")};
  if (rows.choices(tr("arrive.instrument"), names, instrument)) {
    session.settings.instrument = Instrument(instrument);
    session.save_settings();
  }
  if (session.marks() == 0) {  // in nobody's way later
    act_row(app, rows, instrument == 0 ? HowTo::phone : HowTo::compass);
    if (instrument == 1) act_row(app, rows, HowTo::clinometer);
  }
  if (const auto status = session.devices().attitude->status();
      instrument == 0 && !status.problem.empty())
    rows.caution(tr(status.problem));
  if (const auto field = session.field()) {
    const double d = session.declination_deg();
    rows.fact(tr("arrive.declination_here"),
              with_sign(d, 1) + "° ± " + number(field->sigma.declination_deg, 1) + "°");
    rows.text(
        tr(d >= 0 ? "arrive.needle_points_east_true_north" : "arrive.needle_points_west_true_north",
           {number(std::fabs(d), 1)}));
    if (field->zone != horizon::CompassZone::normal)
      rows.caution(tr("arrive.so_near_magnetic_pole_compass"));
  } else if (session.has_position()) {
    rows.caution(tr("arrive.no_declination_date_model"));
  } else {
    rows.text(tr("arrive.declination_follows_from_position"));
  }
  int good = 0;
  for (const auto& check : session.checks()) good += check.voided ? 0 : 1;
  const double sigma = session.heading_sigma_deg();
  rows.fact(tr("arrive.heading_checks"), number(good));
  rows.fact(tr("arrive.bearings_good"), "± " + number(sigma, 1) + "°");
  for (const auto& check : session.checks()) {
    if (check.voided) continue;
    const double off = horizon::wrap_180(
        check.known_true_deg - check.bearing_deg -
        (check.reference == horizon::Reference::magnetic ? session.declination_deg() : 0));
    rows.fact(check.label.empty() ? tr("touch.check") : check.label, with_sign(off, 1) + "°");
  }
  if (good < 2) rows.text(tr("arrive.two_checks_against_sun_shadow"));
  if (rows.button(tr("touch.check_compass"), ButtonLook::strong, session.has_position()))
    app.go(ScreenId::check);
}

struct Caution {
  survey::HazardKind kind;
  const char *name, *words;
};
constexpr Caution kCautions[] = {
    {survey::HazardKind::rockfall, "arrive.rockfall", "arrive.fresh_stones_scars_dust_slope"},
    {survey::HazardKind::avalanche, "arrive.avalanche_path", "arrive.open_slopes_25_55_degrees"},
    {survey::HazardKind::landslide, "arrive.moving_ground",
     "arrive.leaning_trunks_cracks_wet_hollows"},
    {survey::HazardKind::flood, "arrive.stream_flood", "arrive.flood_marks_gravel_fans_heed"},
    {survey::HazardKind::ice, "arrive.ice_snow_underfoot", "arrive.wear_spikes_use_stick_do"},
    {survey::HazardKind::steep_ground, "arrive.steep_ground_drop",
     "arrive.mark_only_while_standing_still"},
    {survey::HazardKind::falling_tree, "arrive.dead_hung_up_trees",
     "arrive.keep_one_half_tree_lengths"},
    {survey::HazardKind::buried_service, "arrive.buried_pipes_cables",
     "arrive.do_not_dig_before_services"},
    {survey::HazardKind::overhead_line, "arrive.overhead_line",
     "arrive.keep_poles_tapes_ladders_well"},
};

void hazards_card(TouchApp& app, Column& rows) {
  Session& session = app.session();
  rows.heading(tr("arrive.what_may_hurt_here"));
  rows.text(tr("arrive.tick_what_you_see"));
  auto known = session.book().all<survey::Hazard>();
  if (!known) return;
  for (const Caution& caution : kCautions) {
    const auto row = std::find_if(known->begin(), known->end(),
                                  [&](const auto& h) { return h.kind == caution.kind; });
    bool seen = row != known->end();
    if (!rows.tick(tr(caution.name), seen, seen ? tr(caution.words) : std::string())) continue;
    if (seen) {
      survey::Hazard hazard;
      hazard.kind = caution.kind;
      hazard.severity = 2;
      hazard.time = session.now();
      if (const auto* visit = session.visit()) hazard.visit_id = visit->id;
      if (auto put = session.book().put(hazard); !put) session.problem = in_words(put.error());
    } else {
      (void)take_out(app, *row, tr(caution.name));
    }
  }
  rows.caution(tr("arrive.never_look_sun_never_aim"));
  if (rows.button(tr("guide.open"))) app.go(ScreenId::guide);
}

void visit_card(TouchApp& app, Column& rows) {
  Session& session = app.session();
  ArriveState& state = app.states().arrive;
  rows.heading(tr("arrive.visit"));
  if (rows.field(tr("arrive.name_site"), state.name)) session.rename_site(state.name);
  const auto* visit = session.visit();
  if (!visit) return;
  if (session.visit_is_over()) {
    rows.text(tr("arrive.last_visit_began",
                 {full_date(horizon::date_of(visit->begun.utc_s, visit->begun.utc_offset_h))}));
    if (rows.button(tr("arrive.begin_visit_today"), ButtonLook::strong)) {
      (void)session.begin_visit();
      state.loaded_for.clear();  // its fields are read again
      return;
    }
  }
  if (rows.button(tr("people.title"))) app.go(ScreenId::people);
  survey::Visit changed = *visit;
  bool any = rows.field(tr("arrive.people_initials"), state.people, "AB, CD");
  any |= rows.field(tr("arrive.weather"), state.weather, tr("arrive.clear_calm_6_c"));
  any |= rows.field(tr("arrive.ground_cover"), state.cover, tr("arrive.snow_40_cm_grass"));
  if (!any) return;
  changed.people = state.people;
  changed.weather = state.weather;
  changed.ground_cover = state.cover;
  (void)session.put_visit(changed);
}

}  // namespace

void arrive_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  ArriveState& state = app.states().arrive;
  if (state.loaded_for != session.site().id) {
    state = {};
    state.loaded_for = session.site().id;
    state.name = session.site().name;
    if (const auto* visit = session.visit()) {
      state.people = visit->people;
      state.weather = visit->weather;
      state.cover = visit->ground_cover;
    }
  }
  Ui& ui = app.ui();
  const bool wide = area.w > 760;
  const float foot = 80;
  const Rect room{area.x, area.y, area.w, area.h - foot};
  const auto cards = [&](Column& rows, int part) {
    if (part != 2) {
      in_card(ui, rows, "place", [&](Column& c) { place_card(app, c); });
      in_card(ui, rows, "compass", [&](Column& c) { compass_card(app, c); });
    }
    if (part != 1) {
      in_card(ui, rows, "visit", [&](Column& c) { visit_card(app, c); });
      in_card(ui, rows, "hazards", [&](Column& c) { hazards_card(app, c); });
    }
  };
  if (wide) {
    const float half = room.w / 2;
    scrolling(app, "Arrive left", {room.x, room.y, half, room.h}, [&](Column& c) { cards(c, 1); });
    scrolling(app, "Arrive right", {room.x + half, room.y, half, room.h},
              [&](Column& c) { cards(c, 2); });
  } else {
    scrolling(app, "Arrive rows", room, [&](Column& c) { cards(c, 0); });
  }
  hairline(ui, area.x, room.bottom(), area.w);
  const float width = std::min(area.w - 32, 520.f);
  if (button(ui, tr("touch.aim_skyline"),
             {area.x + (area.w - width) / 2, room.bottom() + 10, width, 60}, ButtonLook::main))
    app.go(ScreenId::skyline);
}

}  // namespace app
