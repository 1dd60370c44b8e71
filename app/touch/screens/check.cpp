// app/touch/screens/check.cpp: is the compass right? By the sun's shadow, or by a thing whose place is
// known.
#include <algorithm>
#include <array>
#include <cmath>

#include "app/drawing/charts/skyline_chart.h"
#include "app/touch/screens/check_parts.h"
#include "app/touch/screens/guide.h"
#include "app/touch/screens/screens.h"
#include "app/touch/screens/sight.h"
#include "app/words/words.h"
#include "horizon/bearing/field_check.h"
#include "horizon/bearing/landmark.h"
#include "horizon/bearing/sun_shadow.h"
#include "survey/book/text.h"
#include "survey/exchange/coordinates.h"

namespace app {
namespace {

struct Reading {  // of the instrument, raw
  double bearing_deg = 0;
  horizon::Reference reference = horizon::Reference::magnetic;
  double sigma_deg = 0.5;
  std::optional<double> elevation_deg;
};

horizon::Place place_of(const survey::Station& station) {
  return {station.position.latitude_deg, station.position.longitude_deg,
          station.position.height_m.value_or(0) + station.eye_height_m};
}

std::optional<Reading> reading(TouchApp& app, Column& rows) {
  Session& session = app.session();
  CheckState& state = app.states().check;
  if (session.settings.instrument == Instrument::by_hand) {
    rows.field(tr("check.bearing_read_magnetic_degrees"), state.bearing_text, "221.5");
    const auto value = survey::number_of(state.bearing_text);
    if (!value || *value < 0 || *value > 360) {
      if (!state.bearing_text.empty())
        rows.refused(tr("touch.write_number_from", {number(0), number(360)}));
      return {};
    }
    return Reading{*value, horizon::Reference::magnetic, 0.7, {}};
  }
  const auto aim = session.aim();
  if (!aim) {
    const auto status = session.devices().attitude->status();
    rows.caution(status.problem.empty() ? tr("check.waiting_compass_device") : tr(status.problem));
    return {};
  }
  if (aim->fault != AimFault::none) {
    rows.caution(words_for(aim->fault));
    return {};
  }
  rows.fact(tr("check.now_aimed"), number(session.true_azimuth_deg(*aim), 1) + "°");
  rows.fact(tr("check.held_steady"), number(std::min(aim->steady_s, 9.9), 1) + " s");
  Reading r;
  r.bearing_deg = aim->azimuth_deg;
  r.reference = aim->north == platform::North::true_north ? horizon::Reference::true_north
                : aim->north == platform::North::magnetic ? horizon::Reference::magnetic
                                                          : horizon::Reference::device;
  r.sigma_deg = 0.5;
  r.elevation_deg = aim->elevation_deg;
  return r;
}

// By the instrument: with declination, without any offset.
horizon::TrueAzimuth measured(Session& session, const Reading& r) {
  const double add = r.reference == horizon::Reference::magnetic ? session.declination_deg() : 0;
  return horizon::TrueAzimuth::degrees(r.bearing_deg + add);
}

void field_note(TouchApp& app, Column& rows) {
  Session& session = app.session();
  const auto aim = session.aim();
  const auto model = session.field();
  if (!aim || !model || !aim->field_nt) return;
  horizon::FieldReading now;
  now.total_nt = *aim->field_nt;
  now.inclination_deg = aim->inclination_deg;
  const auto verdict = horizon::field_check(now, *model);
  const auto microtesla = [](double nt) { return number(nt / 1000, 1); };
  rows.fact(
      tr("check.magnetic_field_felt_expected"),
      tr("check.t", {microtesla(now.total_nt), microtesla(now.total_nt - verdict.total_off_nt)}));
  if (now.inclination_deg)
    rows.fact(tr("check.its_dip_felt_expected"),
              tr("check.and", {degrees(*now.inclination_deg, 1),
                               degrees(*now.inclination_deg - verdict.inclination_off_deg, 1)}));
  switch (verdict.state) {
    case horizon::FieldState::clean:
      rows.text(tr("check.should"));
      break;
    case horizon::FieldState::unusable:
      rows.caution(tr("check.compass_no_use_here_work"));
      break;
    default:
      rows.caution(
          tr(verdict.state == horizon::FieldState::disturbed
                 ? "check.iron_near_bearings_wrong_about"
                 : "check.something_magnetic_may_near_bearings",
             {number(verdict.heading_error_deg, 0), number(verdict.worst_heading_error_deg, 0),
              number(verdict.step_back_factor, 1)}));
  }
}

// What no needle is off by: common practice, 20 degrees for a phone, 10 for a hand compass.
double most_off_deg(const Session& session) {
  return session.settings.instrument == Instrument::by_hand ? 10 : 20;
}

void keep(TouchApp& app, const survey::HeadingCheckRow& row, double off_deg) {
  if (!app.session().add_check(row)) return;
  if (app.session().checks_disagree())
    app.say(tr("check.kept_but_checks_disagree_take"));
  else
    app.say_once_kept(tr("check.saved_compass_reads",
                         {number(std::fabs(off_deg), 1),
                          off_deg > 0 ? tr("check.too_little") : tr("check.too_much")}));
  app.states().check = {};
  app.go(ScreenId::arrive);
}

void save(TouchApp& app, survey::HeadingCheckRow row, const Reading& r) {
  Session& session = app.session();
  row.bearing_deg = r.bearing_deg;
  row.reference = r.reference;
  const double off = horizon::wrap_180(row.known_true_deg - measured(session, r).degrees());
  const bool north_known = r.reference != horizon::Reference::device;
  const bool too_far = north_known && std::fabs(off) > most_off_deg(session);
  auto then = session.skyline_with(row);
  if (!then) return app.say(in_words(then.error()));
  bool contradicts = false;
  for (const auto& each : then->instruments)
    if (each.instrument == session.instrument_name())
      contradicts = each.correction.disputed ||
                    std::any_of(each.correction.rejected.begin(), each.correction.rejected.end(),
                                [&](const auto& rejected) {
                                  return rejected.index + 1 == int(each.checks.size());
                                });
  if (!too_far && !contradicts) return keep(app, row, off);
  app.states().check.doubt = DoubtfulCheck{row, std::move(*then), off, too_far};
  app.ui().request_frame();
}

double offset_in(const survey::StationSkyline& at, const std::string& instrument) {
  for (const auto& each : at.instruments)
    if (each.instrument == instrument) return each.correction.offset_deg;
  return 0;
}

// Skyline before and after, and a second answer.
void doubt_rows(TouchApp& app, Column& rows) {
  Session& session = app.session();
  const DoubtfulCheck doubt = *app.states().check.doubt;
  rows.title(doubt.too_far ? tr("check.check_can_hardly_right")
                           : tr("check.check_contradicts_others"));
  rows.caution(doubt.too_far
                   ? tr("check.compass_reads_wrong_such_compass",
                        {number(std::fabs(doubt.off_deg), 0), number(most_off_deg(session), 0)})
                   : tr("check.compass_reads_checks_before_say",
                        {number(std::fabs(doubt.off_deg), 1),
                         doubt.off_deg > 0 ? tr("check.too_little") : tr("check.too_much")}));
  if (session.marks() > 0 && session.skyline()) {
    const horizon::Mask after = horizon::Mask(doubt.then.skyline());
    SkylineChart chart;
    chart.skyline = &doubt.then.skyline();
    chart.mask = &after;
    for (int azimuth = 0; azimuth < 360; ++azimuth)
      if (const double up = session.mask().elevation_deg(azimuth); std::isfinite(up))
        chart.far_skyline.push_back({double(azimuth), up});
    draw_skyline(app.ui().figure({rows.x(), 0, rows.width(), 0}),
                 rows.row(std::clamp(rows.width() * 0.45f, 170.f, 260.f)), chart, chart_style(app));
    rows.text(tr("check.dashed_skyline"));
    const double turn = horizon::wrap_180(offset_in(doubt.then, session.instrument_name()) -
                                          session.heading_offset_deg());
    rows.strong(std::fabs(turn) < 0.05 ? tr("check.turns_nothing_itself_but_puts")
                                       : tr("check.turns_skyline", {number(std::fabs(turn), 1)}));
  }
  if (rows.button(tr("touch.throw_check_away"), ButtonLook::main)) {
    app.states().check.doubt.reset();
    return app.say(tr("check.not_kept_nothing_was_turned"));
  }
  if (rows.button(tr("check.keep_all_same"), ButtonLook::warning))
    keep(app, doubt.row, doubt.off_deg);
}

void shadow(TouchApp& app, Column& rows) {
  Session& session = app.session();
  rows.caution(tr("check.never_look_sun_never_aim"));
  const auto place = place_of(*session.station());
  horizon::ShadowReading guide;
  guide.utc_s = session.now().utc_s;
  const std::array<std::string, 3> methods{tr("check.plumb_line"), tr("check.edge_device"),
                                           tr("check.pinhole")};
  int& method = app.states().check.method;
  rows.choices(tr("check.cast"), methods, method);
  guide.errors = horizon::usual_errors(horizon::ShadowMethod(method));
  guide.errors.position_sigma_m = std::max(1.0, session.station()->horizontal_sigma_m.value_or(20));
  const auto now = horizon::shadow_bearing(place, guide);
  if (!now) {
    rows.text(in_words(now.error()));
    rows.text(tr("check.take_landmark_instead_wait_until"));
    return;
  }
  constexpr const char* kHow[] = {"check.hang_stone_thread", "check.stand_device_its_long_edge",
                                  "check.hold_card_pinhole_over_level"};
  rows.strong(tr(kHow[method]));
  if (session.checks().empty()) {  // later it is known
    if (method == 0) act_row(app, rows, HowTo::plumb);
    act_row(app, rows, HowTo::shadow);
  }
  rows.fact(tr("check.shadow_points"),
            number(now->known.degrees(), 1) + "° ± " +
                number(std::hypot(now->known_sigma_deg, now->measured_sigma_deg), 1) + "°");
  rows.fact(tr("check.turns"), number(std::fabs(now->turn_deg_per_min), 2) + tr("check.minute"));
  field_note(app, rows);
  const auto r = reading(app, rows);
  if (!rows.button(tr("touch.take_check"), ButtonLook::main, r.has_value())) return;
  horizon::ShadowReading taken = guide;
  taken.measured = measured(session, *r);
  const auto known = horizon::shadow_bearing(place, taken);
  if (!known) return app.say(in_words(known.error()));
  survey::HeadingCheckRow row;
  row.kind = horizon::CheckKind::sun_shadow;
  row.known_true_deg = known->known.degrees();
  row.known_sigma_deg = known->known_sigma_deg;
  row.bearing_sigma_deg = std::hypot(r->sigma_deg, known->measured_sigma_deg);
  row.label = tr("check.suns_shadow", {clock_text(app, taken.utc_s)});
  save(app, row, *r);
}

void landmark(TouchApp& app, Column& rows) {
  Session& session = app.session();
  CheckState& state = app.states().check;
  rows.text(tr("check.summit_church_mast_least_half"));
  auto known = session.book().all<survey::Landmark>();
  if (known)  // another station of the site serves as well, with a pole or a person on it
    for (const auto& other : session.stations())
      if (other.id != session.station()->id && other.horizontal_sigma_m) {
        survey::Landmark there;
        there.name = tr("touch.station_named", {other.name});
        there.position = other.position;
        known->push_back(there);
      }
  if (known && !known->empty()) {
    std::vector<std::string> names;
    int chosen = -1;
    for (const auto& each : *known) {
      if (each.name == state.name) chosen = int(names.size());
      names.push_back(each.name);
    }
    if (rows.choices(tr("check.known_here"), names, chosen)) {
      const auto& pick = (*known)[std::size_t(chosen)];
      state.name = pick.name;
      char place[48];  // in every language with a point
      std::snprintf(place, sizeof place, "%.5f %.5f", pick.position.latitude_deg,
                    pick.position.longitude_deg);
      state.position_text = place;
      if (pick.position.height_m)
        state.position_text += " " + std::to_string(int(*pick.position.height_m));
    }
  }
  rows.field(tr("touch.name"), state.name, tr("check.church_village"));
  rows.field(tr("check.its_position_height_if_known"), state.position_text,
             "46.6013 N 10.3101 E 2410");
  const auto where = survey::position_of(state.position_text);
  if (!where) {
    if (!state.position_text.empty()) rows.refused(in_words(where.error()));
    rows.button(tr("touch.take_check"), ButtonLook::main, false);
    return;
  }
  horizon::Landmark mark;
  mark.name = state.name;
  mark.place = where->place;
  mark.height_known = where->has_height;
  horizon::Eye eye;
  eye.place = place_of(*session.station());
  eye.position_sigma_m = std::max(1.0, session.station()->horizontal_sigma_m.value_or(10));
  const auto bearing = horizon::landmark_bearing(eye, mark);
  if (!bearing) {
    rows.caution(in_words(bearing.error()));
    return;
  }
  rows.fact(tr("check.its_true_bearing"),
            number(bearing->known.degrees(), 1) + "° ± " + number(bearing->known_sigma_deg, 1));
  rows.fact(tr("check.distance"), distance(bearing->distance_m, session.settings.units));
  field_note(app, rows);
  const auto r = reading(app, rows);
  if (r && r->elevation_deg) {
    const auto verdict =
        horizon::landmark_verdict(*bearing, horizon::Elevation::degrees(*r->elevation_deg));
    if (verdict.fit == horizon::LandmarkFit::wrong)
      rows.text(tr("check.should_stand_than_you_aim",
                   {number(std::fabs(verdict.off_deg), 1),
                    verdict.off_deg > 0 ? tr("check.lower") : tr("check.higher")}));
  }
  if (!rows.button(tr("touch.take_check"), ButtonLook::main, r.has_value())) return;
  survey::HeadingCheckRow row;
  row.kind = horizon::CheckKind::landmark;
  row.known_true_deg = bearing->known.degrees();
  row.known_sigma_deg = bearing->known_sigma_deg;
  row.bearing_sigma_deg = r->sigma_deg;
  row.label = state.name.empty() ? tr("touch.landmark") : state.name;
  survey::Landmark kept;
  kept.id = survey::new_id();
  kept.name = row.label;
  kept.position = {where->place.latitude_deg, where->place.longitude_deg, {}};
  if (where->has_height) kept.position.height_m = where->place.height_m;
  bool there = false;
  if (known)
    for (const auto& each : *known)
      if (each.name == kept.name) {
        row.landmark_id = each.id;  // empty: a station
        there = true;
      }
  if (!there) {
    if (auto put = session.book().put(kept))
      row.landmark_id = *put;
    else
      session.problem = in_words(put.error());
  }
  save(app, row, *r);
}

}  // namespace

void check_screen(TouchApp& app, Rect area) {
  CheckState& state = app.states().check;
  const Rect room = titled(app, area);
  scrolling(app, "Check rows", room, [&](Column& rows) {
    if (state.doubt) return doubt_rows(app, rows);
    const std::array<std::string, 3> names{tr("check.sun_shadow_13"), tr("touch.landmark"),
                                           tr("check.terrain_13")};
    if (app.session().practice()) sight(app, rows.row(260), app.session().aim());
    rows.choices({}, names, state.kind);
    if (!app.session().has_position())
      rows.caution(tr("check.position_comes_first_bearings_sun"));
    else if (state.kind == 0)
      shadow(app, rows);
    else if (state.kind == 1)
      landmark(app, rows);
    else
      terrain_rows(app, rows);
    if (app.session().has_position())
      in_card(app.ui(), rows, "history", [&](Column& c) { history_rows(app, c); });
  });
}

}  // namespace app
