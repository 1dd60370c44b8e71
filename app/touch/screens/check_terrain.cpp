// app/touch/screens/check_terrain.cpp: the skyline against the lie of the land, from a height grid that
// the user has brought: best turn, what stands nearer, and open stretches filled if asked.
#include <algorithm>
#include <cmath>

#include "app/drawing/charts/skyline_chart.h"
#include "app/touch/screens/check_parts.h"
#include "app/words/words.h"
#include "horizon/terrain/terrain.h"

namespace app {
namespace {

void turn_rows(TouchApp& app, Column& rows, const FarSkyline& far) {
  Session& session = app.session();
  const auto& at = *session.skyline();
  std::vector<horizon::SkylinePoint> aimed;
  std::optional<survey::Sighting> one;
  for (const auto& point : at.skyline().points) {
    if (point.computed || point.source < 0) continue;
    auto row = session.book().get<survey::Sighting>(at.sightings[std::size_t(point.source)]);
    if (!row || row->instrument != session.instrument_name()) continue;
    aimed.push_back(point);
    one = std::move(*row);
  }
  const auto turn = horizon::terrain_turn(aimed, far.skyline);
  if (!turn) return rows.text(in_words(turn.error()));
  const double t = turn->clockwise_deg;
  rows.strong(tr(t >= 0 ? "check.turned_clockwise_your_skyline_fits"
                        : "check.turned_anticlockwise_your_skyline_fits",
                 {number(std::fabs(t), 1), number(turn->sigma_deg, 1)}));
  rows.text(tr("check.marks_fit_within_stand_nearer",
               {number(turn->fitting), number(double(aimed.size())), number(turn->spread_deg, 1),
                number(double(turn->nearer.size())), number(double(turn->below.size()))}));
  if (!rows.button(tr("check.use_heading_check"), ButtonLook::main)) return;
  survey::HeadingCheckRow row;
  row.kind = horizon::CheckKind::terrain;
  row.reference = one->reference;
  row.bearing_deg = 180;
  const double added =
      row.reference == horizon::Reference::magnetic ? session.declination_deg() : 0;
  row.known_true_deg =
      horizon::wrap_360(row.bearing_deg + added + session.heading_offset_deg() + t);
  row.bearing_sigma_deg = 0.05;
  row.known_sigma_deg = turn->sigma_deg;
  row.label = tr("check.terrain_14", {far.source});
  if (session.add_check(row)) app.say(tr("check.saved_heading_check_skyline_turned"));
}

void nearer_rows(TouchApp& app, Column& rows, const FarSkyline& far) {
  const auto nearer = horizon::nearer_than_terrain(app.session().mask(), far.skyline);
  if (nearer.empty()) return;
  rows.heading(tr("check.nearer_than_land_own_skyline"));
  for (const auto& each : nearer)
    rows.fact(degree_range(each.from_deg, each.to_deg),
              tr("check.up_above", {number(each.highest_above_deg, 1)}));
  rows.text(tr("check.trees_buildings_knoll_hide_sun"));
}

// What trees and houses take, once the winter sun's whole way is marked.
void light_rows(TouchApp& app, Column& rows, const FarSkyline& far) {
  const LiveResults* marked = app.session().live();
  if (!far.light) return;
  const auto range = [](double low, double high) {
    return number(low) + "–" + number(high) + " " + tr("unit.h");
  };
  const horizon::Ranged& land = far.light->winter_range_h;
  rows.fact(tr("visit.land_hours"), range(land.low, land.high));
  if (!marked || !marked->live ||
      std::ranges::any_of(marked->live->aim_next, [](const auto& a) { return a.open; }))
    return;
  const horizon::Ranged& mine = marked->live->winter_range_h;
  rows.fact(tr("visit.marked_hours"), range(mine.low, mine.high));
  if (mine.high < land.low)
    rows.strong(tr("visit.takes_more", {range(land.low - mine.high, land.high - mine.low)}));
  else if (mine.low > land.high)
    rows.caution(tr("visit.takes_less", {range(mine.low - land.high, mine.high - land.low)}));
  else
    rows.text(tr("visit.alike"));
}

void fill_rows(TouchApp& app, Column& rows, const FarSkyline& far) {
  Session& session = app.session();
  const auto& at = *session.skyline();
  std::vector<survey::Id> computed;
  for (const auto& point : at.skyline().points)
    if (point.computed && point.source >= 0)
      computed.push_back(at.sightings[std::size_t(point.source)]);
  if (!computed.empty()) {
    rows.fact(tr("check.computed_points_not_aimed"), number(double(computed.size())));
    if (rows.button(tr("check.take_computed_stretches_out"))) {
      const auto done =
          session.book().change(tr("check.computed_stretches_out"), [&]() -> horizon::Result<void> {
            for (const auto& id : computed)
              if (auto gone =
                      session.book().void_sighting(id, "computed, taken out", session.now());
                  !gone)
                return gone;
            return {};
          });
      if (!done) app.say(in_words(done.error()));
      session.changed();
    }
    return;
  }
  const auto open = session.mask().open_stretches();
  if (open.empty() || session.marks() == 0) return;
  rows.heading(tr("check.open_stretches"));
  for (const auto& each : open) rows.text(degree_range(each.from_deg, each.to_deg));
  rows.text(tr("check.land_skyline_can_stand_where"));
  if (!rows.button(tr("check.fill_open_stretches_from_land"))) return;
  const auto filled = horizon::filled_from_terrain(at.skyline(), far.skyline);
  const survey::Moment now = session.now();
  int count = 0;
  const auto done =
      session.book().change(tr("check.open_stretches_filled"), [&]() -> horizon::Result<void> {
        for (const auto& point : filled.points) {
          if (!point.computed) continue;
          survey::Sighting s;
          s.station_id = at.station.id;
          s.time = now;
          s.reference = horizon::Reference::true_north;
          s.bearing_deg = point.azimuth.degrees();
          s.elevation_deg = point.elevation.degrees();
          s.bearing_sigma_deg = std::max(0.05, point.azimuth_sigma_deg);
          s.elevation_sigma_deg = std::hypot(point.elevation_sigma_deg, point.level_sigma_deg);
          s.instrument = survey::kTerrainInstrument;
          s.distance_m = point.distance_m;
          s.note = far.source;
          if (auto put = session.book().put(std::move(s)); !put) return tl::unexpected(put.error());
          ++count;
        }
        return {};
      });
  if (!done) return app.say(in_words(done.error()));
  session.changed();
  app.say(tr("check.computed_points_added", {number(count)}));
}

}  // namespace

void terrain_rows(TouchApp& app, Column& rows) {
  Session& session = app.session();
  while (auto file = session.devices().files->picked())
    if (auto brought = session.terrain.bring(*session.devices().files, *file); !brought)
      app.say(in_words(brought.error()));
  session.want_terrain();
  rows.text(tr("check.grid_land_heights_shows_where"));
  const FarSkyline* far = session.terrain.far();
  if (rows.button(tr("check.bring_height_grid"), far ? ButtonLook::plain : ButtonLook::main, true,
                  Icon::folder) &&
      !session.devices().files->pick("hgt,tif,tiff,asc,agr,prj"))
    app.bring_from_folder();
  if (session.terrain.working()) return rows.strong(tr("check.working_out_far_skyline"));
  if (!session.terrain.problem().empty()) rows.caution(session.terrain.problem());
  if (!far || !session.skyline()) return;
  rows.text(tr("check.heights_from") + ": " + far->source);
  rows.fact(tr("check.ground_here_grid"), height(far->skyline.ground_m, session.settings.units));
  if (std::any_of(far->skyline.points.begin(), far->skyline.points.end(),
                  [](const auto& p) { return p.cut_short; }))
    rows.text(tr("check.grid_ends_before_farthest_ridges"));
  SkylineChart chart;
  chart.skyline = &session.skyline()->skyline();
  chart.mask = &session.mask();
  chart.far_skyline = far_line(*far);
  const Rect where = rows.row(std::clamp(rows.width() * 0.45f, 170.f, 260.f));
  draw_skyline(app.ui().figure(where), where, chart, chart_style(app));
  rows.text(tr("check.dashed_land_own_skyline"));
  light_rows(app, rows, *far);
  if (session.marks() > 0) {
    turn_rows(app, rows, *far);
    nearer_rows(app, rows, *far);
  }
  fill_rows(app, rows, *far);
}

std::vector<SkyPoint> far_line(const FarSkyline& far) {
  std::vector<SkyPoint> line;
  for (std::size_t i = 0; i < far.skyline.points.size(); i += 5)
    line.push_back(
        {far.skyline.points[i].azimuth.degrees(), far.skyline.points[i].elevation.degrees()});
  return line;
}

}  // namespace app
