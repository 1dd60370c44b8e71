#include "horizon/house/house_run.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "horizon/house/climate_draws.h"

using namespace horizon;

namespace {

const Place kSite{46.6213, 10.3478, 1482};

std::shared_ptr<const SiteSun> open_sun() {
  static const auto sun =
      std::make_shared<const SiteSun>(sun_steps(kSite, 2027, 1, 10), Skyline(), Masks{});
  return sun;
}

ClimateMonths hard_winters() {
  // An invented continental valley: January -14, lows on record -35.
  NormalsEntry n;
  const double mean[] = {-14, -11, -5, 2, 8, 12, 14, 13, 8, 2, -6, -12};
  const double record[] = {-35, -34, -27, -15, -6, -1, 1, 0, -6, -15, -26, -33};
  for (int m = 0; m < 12; ++m) {
    n.mean_c[m] = mean[m];
    n.min_c[m] = mean[m] - 6;
    n.max_c[m] = mean[m] + 6;
    n.coldest_c[m] = record[m];
  }
  MonthlyNormals light;
  light.values.fill(0.55);
  return *climate_of(n, light, kSite);
}

HouseSun sun_of(const House& house) {
  return house_sun(open_sun(), house, Masks{}, {}, kGrassAlbedo, 0.2);
}

double lowest(const HouseRun& run) { return *std::min_element(run.low_c.begin(), run.low_c.end()); }

}  // namespace

TEST_CASE("a year's balance of warmth closes to 1e-9 [property]") {
  House house = reference_house();
  house.water_l = 1000;
  house.night_m2kw = 0.7;
  const ClimateDraws draws(hard_winters(), *open_sun());
  const HouseRun run = run_house(house, sun_of(house), draws.draw(3, 0, 365));
  CHECK(std::abs(run.stored_j - run.received_j) < 1e-9 * run.moved_j);
  CHECK(run.moved_j > 1e10);
}

TEST_CASE("houses side by side live exactly as each alone [property]") {
  const ClimateDraws draws(hard_winters(), *open_sun());
  constexpr int kHouses = 14;
  std::vector<House> houses(kHouses, reference_house());
  std::vector<HouseWeather> weathers;
  for (int i = 0; i < kHouses; ++i) weathers.push_back(draws.draw(20 + i, 244, 240));
  for (int i = 0; i < kHouses; ++i) {
    House& h = houses[i];
    h.air_changes_h *= 1 + 0.3 * (i % 7);
    h.soil_w_mk *= 1 - 0.05 * (i % 7);
    h.night_m2kw = i % 2 ? 1 : 0;     // lanes covered at night and not
    h.vent_m2 = i % 3 ? 0 : 2;        // and with and without vents
    h.water_l = i < 3 ? 1000 : 0;     // another make
    h.clay_kg_m2 = i == 6 ? 0 : 100;  // and a third, alone
  }
  const HouseSun sun = sun_of(houses[0]);
  std::vector<HouseJob> jobs;
  for (int i = 0; i < kHouses; ++i) {
    jobs.push_back({&houses[i], &sun, &weathers[i], {}});
    jobs.back().settings.warmer_k = i % 7 - 9.0;
  }
  const std::vector<HouseRun> together = run_houses(jobs);
  REQUIRE(together.size() == kHouses);
  for (int i = 0; i < kHouses; ++i) {
    const HouseRun alone = run_house(houses[i], sun, weathers[i], jobs[i].settings);
    CHECK(together[i].inside_c == alone.inside_c);
    CHECK(together[i].low_c == alone.low_c);
    CHECK(together[i].soil_c == alone.soil_c);
    CHECK(together[i].bed_wm2 == alone.bed_wm2);
    CHECK(together[i].vent_m3_s == alone.vent_m3_s);
    CHECK(together[i].condenses == alone.condenses);
    CHECK(together[i].nodes_c == alone.nodes_c);
    CHECK(together[i].stored_j == alone.stored_j);
    CHECK(together[i].received_j == alone.received_j);
    CHECK(*std::min_element(alone.soil_c.begin(), alone.soil_c.end()) <
          0);  // soil froze and thawed
  }
}

TEST_CASE("halving the step moves a winter's minimum by less than 0.05 K [property]") {
  const ClimateDraws draws(hard_winters(), *open_sun());
  const HouseWeather weather = draws.draw(3, 244, 240);
  for (const double night : {0.0, 1.0}) {
    House house = reference_house();
    house.night_m2kw = night;
    RunSettings fine;
    fine.steps_an_hour = 12;
    const double at_10 = lowest(run_house(house, sun_of(house), weather));
    const double at_5 = lowest(run_house(house, sun_of(house), weather, fine));
    CHECK(std::abs(at_10 - at_5) < 0.05);
  }
}

TEST_CASE("the site's height and hills reach the house [property]") {
  // In a deep valley the sky is smaller: with the same air and no sun at all, nights are warmer.
  Skyline walls;
  walls.obstacles.push_back({Kind::ridge, "walls"});
  for (int az = 0; az < 360; az += 10) {
    SkylinePoint p;
    p.azimuth = TrueAzimuth::degrees(az);
    p.elevation = Elevation::degrees(50);
    walls.points.push_back(p);
  }
  const House house = reference_house();
  HouseSun open = sun_of(house);
  HouseSun deep = house_sun(open_sun(), house, masks_of(walls), {}, kGrassAlbedo, 0.2);
  CHECK(deep.sky.cover < 0.5 * open.sky.cover);
  HouseWeather night;
  night.pressure_pa = 85000;
  night.first_hour = 0;
  night.hours.assign(24 * 20, {-15, -20, 1, 0, 0, 0, 0, 0, 0});
  const double with_sky = run_house(house, open, night).inside_c.back(),
               with_hills = run_house(house, deep, night).inside_c.back();
  CHECK(with_hills > with_sky + 0.3);
}

TEST_CASE("a cover at night, tighter joints, thicker panes keep the night warmer [property]") {
  const ClimateDraws draws(hard_winters(), *open_sun());
  const HouseWeather weather = draws.draw(5, 243, 150);
  const auto low = [&](auto change) {
    House house = reference_house();
    change(house);
    REQUIRE(check_house(house));
    return lowest(run_house(house, sun_of(house), weather));
  };
  const double as_is = low([](House&) {});
  CHECK(low([](House& h) { h.night_m2kw = 1; }) > as_is + 1);
  CHECK(low([](House& h) { h.air_changes_h = 0.2; }) > as_is);
  CHECK(low([](House& h) { h.air_changes_h = 3; }) < as_is - 1);
  CHECK(low([](House& h) { h.pane_m2kw *= 2; }) > as_is);
  CHECK(low([](House& h) { h.edge = {}; }) < as_is);
  CHECK(low([](House& h) { h.water_l = 1000; }) > as_is);
  CHECK(low([](House& h) { h.wall_m2kw = h.roof_m2kw = 0.5; }) < as_is - 1);
  CHECK(low([](House& h) { h.snow_swept = false; }) <= as_is + 1e-9);
}

TEST_CASE("the vents open above their temperature and hold it while they suffice [property]") {
  const ClimateDraws draws(hard_winters(), *open_sun());
  House house = reference_house();
  RunSettings any;
  any.any_vents = true;
  const HouseWeather summer = draws.draw(5, 181, 40);
  const HouseRun open = run_house(house, sun_of(house), summer, any);
  for (size_t h = 0; h < open.inside_c.size(); ++h)
    if (open.outside_c[h] < house.vent_above_c - 2)
      CHECK(open.inside_c[h] < house.vent_above_c + 2);
  house.vent_m2 = 0;
  const HouseRun shut = run_house(house, sun_of(house), summer);
  CHECK(*std::max_element(shut.inside_c.begin(), shut.inside_c.end()) > 35);
}

TEST_CASE("a house that cannot be is refused by field, with the cure [property]") {
  const auto where = [](auto change) {
    House house = reference_house();
    change(house);
    const auto checked = check_house(house);
    REQUIRE(!checked);
    CHECK(!checked.error().empty());
    return checked.error().where;
  };
  CHECK(where([](House& h) { h.glazing_m2 = 0; }) == "glazing area");
  CHECK(where([](House& h) { h.glazing_m2 = 60; }) == "glazing area");
  CHECK(where([](House& h) { h.glazing.tilt_deg = 85; }) == "ridge");
  CHECK(where([](House& h) { h.wall_m2kw = -1; }) == "wall");
  CHECK(where([](House& h) { h.roof_m2kw = 0; }) == "roof");
  CHECK(where([](House& h) { h.water_l = -5; }) == "water");
  CHECK(where([](House& h) { h.air_changes_h = std::nan(""); }) == "air changes");
  CHECK(where([](House& h) { h.edge.resistance_m2kw = -2; }) == "edge boards");
  CHECK(where([](House& h) { h.length_m = 0; }) == "length");
  CHECK(where([](House& h) { h.pane = no_glazing(); }) == "glazing");
}
