#include "horizon/house/house_findings.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <random>

#include "horizon/house/house_draws.h"
#include "horizon/light/solar_terms.h"
#include "tests/horizon/house/cold_valley.h"
#include "tests/horizon/house/denver_year.h"

using namespace horizon;

namespace {

const HouseFindings& reference() {
  static const HouseFindings f = *house_findings(cold_valley());
  return f;
}

double lives(const HouseFindings& f, std::string_view name) {
  for (const CropOdds& c : f.crops)
    if (c.crop.crop == name) return c.lives_share;
  FAIL("no such crop");
  return 0;
}

bool within(const Ranged& r, double v) { return v >= r.low && v <= r.high; }

}  // namespace

TEST_CASE(
    "the reference house holds about -5 C at -35 C, and greens live in it [common practice]") {
  const HouseFindings& f = reference();
  CHECK(f.design.outside_c == -35);
  // "About": the trade's figure is for houses with and without covers at night.
  CHECK(f.design.inside_c.value > -5 - 4);
  CHECK(f.design.inside_c.value < -5 + 4);
  CHECK(lives(f, "spinach") > 0.8);

  HouseInput away = cold_valley();
  away.winters = 40;
  away.house.glazing.facing = TrueAzimuth::degrees(0);
  const auto turned = house_findings(away);
  REQUIRE(turned);
  CHECK(turned->design.inside_c.value < f.design.inside_c.value - 4);
  CHECK(lives(*turned, "spinach") < lives(f, "spinach") - 0.2);

  // The trade says that without boards at the edge it fails. The model agrees in kind, most where
  // the soil freezes: 8 K below the valley's.
  HouseInput kept = cold_valley();
  for (auto* months : {&kept.normals->mean_c, &kept.normals->min_c, &kept.normals->max_c})
    for (auto& c : *months) c = *c - 8;
  kept.winters = 30;
  HouseInput bare = kept;
  bare.house.edge = {};
  const auto boards = house_findings(kept), edgeless = house_findings(bare);
  REQUIRE(boards);
  REQUIRE(edgeless);
  INFO(boards->design.inside_c.value
       << " soil " << boards->coldest_soil_c.value << " bare " << edgeless->design.inside_c.value
       << " soil " << edgeless->coldest_soil_c.value << " " << lives(*boards, "kale") << " "
       << lives(*edgeless, "kale"));
  CHECK(edgeless->design.inside_c.value < boards->design.inside_c.value - 0.8);
  CHECK(edgeless->coldest_soil_c.value < boards->coldest_soil_c.value);
  CHECK(lives(*edgeless, "kale") < lives(*boards, "kale"));
}

TEST_CASE("a cover at night lifts the lowest by kelvins, and trying it by hand agrees [property]") {
  const HouseFindings& f = reference();
  REQUIRE(!f.helps.empty());
  CHECK(f.helps[0].what == "night_cover");
  HouseInput covered = cold_valley();
  covered.winters = 40;
  covered.house.night_m2kw = 1;
  const auto tried = house_findings(covered);
  REQUIRE(tried);
  const double lift = tried->coldest_inside_c.value - f.coldest_inside_c.value;
  CHECK(lift > f.helps[0].lift_k.low - 1);
  CHECK(lift < f.helps[0].lift_k.high + 1);
}

TEST_CASE("the same question has the same answer; the week and the days are whole [property]") {
  HouseInput few = cold_valley();
  few.winters = 12;
  const auto again = house_findings(few), once = house_findings(few);
  REQUIRE(again);
  REQUIRE(once);
  CHECK(again->coldest_inside_c.value == once->coldest_inside_c.value);
  CHECK(again->week.inside_c.size() == 168);
  CHECK(again->days.inside_c.size() == 365);
  const auto& week = again->week;
  CHECK(*std::min_element(week.inside_c.begin(), week.inside_c.end()) <
        again->coldest_inside_c.value + 2);
  for (const CropOdds& c : again->crops) {
    CHECK(c.lives_share >= 0);
    CHECK(c.lives_share <= 1 + 1e-9);
  }
}

TEST_CASE("without weather there is no answer, and it says what to bring [property]") {
  HouseInput input = cold_valley();
  input.light.reset();
  const auto f = house_findings(input);
  REQUIRE(!f);
  CHECK(f.error().where == "weather");
  CHECK(f.error().key == "error.house_needs_weather");
  input = cold_valley();
  input.normals->mean_c[3].reset();
  input.normals->min_c[3].reset();
  CHECK(!house_findings(input));
  input = cold_valley();
  input.house.glazing_m2 = 0;
  CHECK(house_findings(input).error().where == "glazing area");
}

TEST_CASE("files from the other hemisphere, from far below, with holes are said [property]") {
  WeatherYear year;
  year.place = {46.5, 10.2, 1400};
  year.utc_offset_h = 1;
  year.station = "invented";
  year.hours.resize(8760);
  const HouseInput valley = cold_valley();
  const SiteSun sun(sun_steps(valley.place, 2027, 1, 10), Skyline(), Masks{});
  for (int h = 0; h < 8760; ++h) year.hours[h].dry_bulb_c = -10;
  CHECK(std::abs(house_weather(year, sun)->hours[5].air_c + 10 + 0.0065 * 82) < 0.01);
  CHECK(!house_weather(year, sun)->said.empty());
  year.place.height_m = -600;
  CHECK(!house_weather(year, sun));
  year.place = {-46.5, 10.2, 1400};
  CHECK(!house_weather(year, sun));
  year.place = {46.5, 10.2, 1400};
  for (int h = 100; h < 150; ++h) year.hours[h].dry_bulb_c.reset();
  CHECK(house_weather(year, sun)->said.size() > 1);
  for (int h = 100; h < 400; ++h) year.hours[h].dry_bulb_c.reset();
  CHECK(!house_weather(year, sun));
  year.hours.resize(8000);
  CHECK(!house_weather(year, sun));
}

TEST_CASE("nine in ten house-years lie in the stated range [property]") {
  // Fresh winters and fresh houses that the range was not drawn from. All 500 with ADRET_LONG.
  const bool all = std::getenv("ADRET_LONG") != nullptr;
  const HouseInput input = cold_valley();
  const HouseFindings& f = reference();
  const HouseClimate c = *house_climate(input);
  const int count = all ? 500 : 60;
  std::vector<int> inside(4);
  std::vector<DrawnHouse> drawn;
  for (int i = 0; i < count; ++i) drawn.push_back(drawn_house(input, 100000 + i));
  for (const Winter& w : winters_of(drawn, c)) {
    inside[0] += within(f.coldest_inside_c, w.lowest_c);
    inside[1] += within(f.coldest_soil_c, w.lowest_soil_c);
    inside[2] += within(f.below[0].hours, w.hours_below[0]);
    inside[3] += within(f.condensing_h, w.condensing_h);
  }
  for (const int in : inside) {
    const double share = static_cast<double>(in) / count;
    INFO("share " << share);
    CHECK(share >= (all ? 0.87 : 0.78));
    CHECK(share <= (all ? 0.93 : 1.0));
  }
}

namespace {

// Weeks of real hours, each moved by up to fifteen days: no law of ours in them.
HouseWeather of_real_weeks(const HouseWeather& year, int first_day, std::mt19937& random) {
  std::uniform_int_distribution<int> moved(-15, 15);
  HouseWeather out = year;
  out.hours.clear();
  out.first_hour = first_day * 24;
  while (out.hours.size() < kWinterDays * 24) {
    const int day = static_cast<int>(out.hours.size()) / 24;
    const int from = (first_day + day + moved(random) + 365) % 365;
    for (int h = 0; h < 7 * 24 && out.hours.size() < kWinterDays * 24; ++h)
      out.hours.push_back(year.hours[static_cast<size_t>((from * 24 + h) % 8760)]);
  }
  return out;
}

// As far off as the inputs may be, by another law than the draws' and other numbers.
DrawnHouse otherwise_built(const HouseInput& input, std::mt19937& random) {
  std::uniform_real_distribution<double> even(-std::sqrt(3.0), std::sqrt(3.0));
  const InputErrors& e = input.errors;
  DrawnHouse out = drawn_house(input, 1);
  House& h = out.house = input.house;
  h.air_changes_h *= std::exp(e.air_changes_log * even(random));
  for (double* r : {&h.wall_m2kw, &h.roof_m2kw, &h.pane_m2kw, &h.edge.resistance_m2kw})
    *r *= 1 + e.resistance_share * even(random);
  h.soil_w_mk *= 1 + e.soil_share * even(random);
  h.soil_water_share += e.soil_water * even(random);
  h.light_left = std::min(1.0, h.light_left * (1 + e.light_share * even(random)));
  out.warmer_k = e.air_k * even(random);
  return out;
}

}  // namespace

TEST_CASE("winters of a real year's own hours are not colder than the range says [published]") {
  // All 300 with ADRET_LONG. The stated range also holds years unlike this one: it may be wide.
  const bool all = std::getenv("ADRET_LONG") != nullptr;
  HouseInput input;
  input.place = denver::kPlace;
  input.utc_offset_h = -7;
  input.weather = std::make_shared<const WeatherYear>(denver::year());
  input.preview = true;
  input.winters = 100;
  const auto stated = house_findings(input);
  REQUIRE(stated);
  const HouseClimate c = *house_climate(input);
  std::mt19937 random(11);
  std::vector<DrawnHouse> houses;
  std::vector<HouseWeather> weathers;
  for (int i = 0; i < (all ? 300 : 40); ++i) {
    houses.push_back(otherwise_built(input, random));
    weathers.push_back(of_real_weeks(*c.file, c.first_day, random));
  }
  double held = 0, colder = 0, colder_soil = 0;
  for (const Winter& w : winters_of(houses, weathers, c)) {
    const double part = 1.0 / static_cast<double>(houses.size());
    held += part * within(stated->coldest_inside_c, w.lowest_c);
    colder += part * (w.lowest_c < stated->coldest_inside_c.low);
    colder_soil += part * (w.lowest_soil_c < stated->coldest_soil_c.low);
  }
  MESSAGE("held " << held << ", colder " << colder << ", soil colder " << colder_soil);
  CHECK(held >= (all ? 0.87 : 0.75));
  CHECK(colder <= 0.07);
  CHECK(colder_soil <= 0.07);
}

TEST_CASE("drawn months keep the normals' means [property]") {
  const HouseInput input = cold_valley();
  const HouseClimate c = *house_climate(input);
  std::array<double, 12> mean{}, global{}, hours{};
  for (int s = 0; s < 40; ++s) {
    const HouseWeather year = c.draws->draw(s, 0, 365);
    for (int h = 0; h < 8760; ++h) {
      const int m = month_of_hour(h);
      mean[m] += year.hours[h].air_c;
      global[m] += year.hours[h].global;
      ++hours[m];
    }
  }
  const Monthly clearness = monthly_clearness(*input.light, input.place.latitude_deg);
  std::array<double, 12> outside{};
  for (int d = 0; d < 365; ++d)
    outside[month_of_hour(d * 24)] +=
        40 / 3.6e-3 *
        daily_extraterrestrial_mj(input.place.latitude_deg, declination_spencer_deg(d + 1),
                                  kSolarConstant_wm2 * distance_factor(d + 1));
  for (int m = 0; m < 12; ++m) {
    CHECK(std::abs(mean[m] / hours[m] - *input.normals->mean_c[m]) < 1.0);
    CHECK(std::abs(global[m] / outside[m] - clearness[m]) < 0.03);
  }
}

TEST_CASE("a comparison's odds are the card's, figure by figure [property]") {
  HouseInput bare = cold_valley();
  bare.preview = true;
  const auto compared = house_findings(bare);
  REQUIRE(compared);
  CHECK(compared->winters == reference().winters);
  REQUIRE(compared->crops.size() == reference().crops.size());
  for (const CropOdds& c : compared->crops) CHECK(c.lives_share == lives(reference(), c.crop.crop));
}
