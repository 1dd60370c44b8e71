#include "horizon/light/findings.h"

#include <doctest/doctest.h>

#include "tests/near.h"

using namespace horizon;

namespace {

void add(Skyline& skyline, Kind kind, const char* label, int layer,
         std::initializer_list<std::pair<double, double>> az_el) {
  skyline.obstacles.push_back({kind, label});
  for (auto [az, el] : az_el) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(az);
    point.elevation = Elevation::degrees(el);
    point.obstacle = static_cast<int>(skyline.obstacles.size()) - 1;
    point.layer = layer;
    skyline.points.push_back(point);
  }
}

StationInput station() {
  StationInput input;
  input.place = {46.6213, 10.3478, 1482};
  input.utc_offset_h = 1;
  input.year = 2026;
  input.declination_deg = 4.0;
  input.convergence_deg = 1.0;
  Skyline& s = input.skyline;
  s.heading_sigma_deg = 1;
  add(s, Kind::ridge, "east ridge", 0,
      {{0, 12},
       {12, 13},
       {25, 15},
       {38, 18},
       {50, 20},
       {62, 22},
       {75, 24},
       {88, 24},
       {100, 22},
       {112, 18},
       {124, 13},
       {136, 9},
       {148, 7},
       {160, 6},
       {172, 7},
       {184, 8},
       {196, 10}});
  add(s, Kind::evergreen, "spruces", 0, {{204, 20}, {212, 25}, {220, 24}, {228, 21}});
  add(s, Kind::ridge, "west ridge", 0,
      {{236, 19},
       {248, 20},
       {260, 21},
       {272, 20},
       {284, 18},
       {296, 16},
       {308, 15},
       {320, 14},
       {332, 13},
       {344, 12},
       {354, 12}});
  add(s, Kind::ridge, "ridge behind", 1, {{200, 11}, {210, 13}, {220, 15}, {230, 17}});
  return input;
}

}  // namespace

TEST_CASE("the findings of a station agree with each other [property]") {
  StationInput input = station();
  input.draws = 40;
  const StationFindings f = findings_of(input);
  CHECK(f.sky == SkySource::clear);
  CHECK(f.closed_fraction == 1);
  double winter = 0, year = 0;
  for (const MonthLight& m : f.months) {
    year += m.direct_sun_h.value;
    if (f.winter_months >> (m.month - 1) & 1) winter += m.direct_sun_h.value;
    CHECK(m.direct_sun_h.low <= m.direct_sun_h.value);
    CHECK(m.direct_sun_h.value <= m.direct_sun_h.high);
    CHECK(m.direct_sun_h.value <= m.flat_sun_h);
    CHECK(m.through_kwh_m2 < m.on_plane_kwh_m2);
    CHECK(m.site_flat_kwh_m2 < m.open_flat_kwh_m2);
    CHECK_NEAR(m.beam_kwh_m2 + m.sky_kwh_m2 + m.reflected_kwh_m2, m.on_plane_kwh_m2, 1e-9);
    CHECK(m.inside_mol_m2_day < m.outside_mol_m2_day);
  }
  CHECK_NEAR(winter, f.hours.winter_h.value, 0.01);
  CHECK_NEAR(year, f.hours.year_h.value, 0.01);
  CHECK_NEAR(f.hours.winter_share, winter / f.hours.winter_flat_h, 1e-9);
  double windows = 0;
  for (const DayWindow& w : f.hours.shortest_day_windows)
    windows += (w.to_utc_s - w.from_utc_s) / 3600;
  CHECK_NEAR(windows, f.hours.shortest_day_h.value, 1e-6);
  CHECK(f.hours.winter_h.low < f.hours.winter_h.high);

  // The shown plane is the best of the season; set out by compass and grid.
  CHECK(f.shown.facing == f.facing().best.plane.facing);
  CHECK_NEAR(clockwise_deg(f.best_facing.low, f.best_facing.high), 3, 3);
  CHECK_NEAR(f.set_out.compass_deg->degrees(), f.shown.facing.degrees() - 4, 1e-9);
  CHECK_NEAR(f.set_out.grid_deg->degrees(), f.shown.facing.degrees() - 1, 1e-9);
  // The west is hidden by trees: it pays to face east of south.
  CHECK(f.shown.facing.degrees() < 180);
  CHECK(f.facing().open_best_kwh_m2 > f.facing().best.kwh_m2);
  double season = 0;
  for (int m = 0; m < 12; ++m)
    if (f.facing().months >> m & 1) season += f.months[m].through_kwh_m2;
  CHECK_NEAR(season / f.facing().best.kwh_m2, 1, 0.003);

  REQUIRE(f.ledger.size() >= 3);
  double taken = 0;
  for (const LedgerRow& row : f.ledger) taken += row.takes_h;
  CHECK_NEAR(taken + winter, f.hours.winter_flat_h, 1.0);
  CHECK(!f.aim_next.empty());
  CHECK(f.growing.daily_mol_m2.size() == 365);
}

TEST_CASE("while aiming, the live numbers are the findings' [property]") {
  StationInput input = station();
  input.draws = 0;
  const StationFindings f = findings_of(input);
  const LiveStation live(input);
  const LiveStation::Live now = live.update(input.skyline);
  CHECK_NEAR(now.winter_h, f.hours.winter_h.value, 0.003 * f.hours.winter_h.value);
  CHECK_NEAR(now.winter_flat_h, f.hours.winter_flat_h, 0.5);
  CHECK_NEAR(now.shortest_day_h, f.hours.shortest_day_h.value, 0.05);
  CHECK(now.winter_sigma_h > 0);
  CHECK(now.closed_fraction == 1);
  // An empty skyline is where everyone begins.
  const LiveStation::Live first = live.update({});
  CHECK_NEAR(first.winter_h, first.winter_flat_h, 0.01);
  CHECK(first.closed_fraction == 0);
  CHECK(!first.aim_next.empty());
}

TEST_CASE("the user's own plane is the one that months and growing light are for [property]") {
  StationInput input = station();
  input.draws = 0;
  input.chosen = Plane{TrueAzimuth::degrees(200), 40};
  input.season = Season::year;
  const StationFindings f = findings_of(input);
  CHECK(f.shown.facing.degrees() == 200);
  REQUIRE(f.facing().chosen);
  CHECK(f.facing().season == Season::year);
  CHECK(f.facing().chosen->loss > 0);
}

TEST_CASE("what cannot be used is named with its cure [property]") {
  StationInput input = station();
  CHECK(check_station(input));
  input.place.latitude_deg = 123;
  CHECK(check_station(input).error().where == "latitude");
  input = station();
  input.skyline.points[3].obstacle = 17;
  CHECK(check_station(input).error().where == "skyline");
  input = station();
  input.glazing.normal_transmittance = 80;
  CHECK(check_station(input).error().key == "error.transmittance_range");
  input = station();
  input.year = 1800;
  CHECK(!check_station(input));
  input = station();
  input.albedo[4] = std::nan("");
  CHECK(check_station(input).error().where == "albedo");
  input = station();
  input.sky.source = SkySource::weather;
  CHECK(!check_station(input));
}

TEST_CASE("poles, date line and the south are answers [property]") {
  for (const Place& place : {Place{-45, 170, 300}, Place{0, 180, 0}, Place{78, 15, 50}}) {
    StationInput input;
    input.place = place;
    input.draws = 3;
    const StationFindings f = findings_of(input);
    CHECK(f.hours.year_h.value > 4000);
    CHECK(f.hours.year_h.value < 4700);
    CHECK(f.closed_fraction == 0);
    CHECK(!f.set_out.compass_deg);
  }
}
