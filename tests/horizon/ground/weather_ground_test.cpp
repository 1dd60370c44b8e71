#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "horizon/ground/cold.h"
#include "horizon/ground/snow.h"
#include "horizon/ground/wind.h"
#include "tests/near.h"

using namespace horizon;

namespace {

// One year of hours: a daily swing of 5 degrees on a yearly one.
WeatherYear year_of_hours(double mean_c, double swing_c) {
  WeatherYear weather;
  weather.place = {46.6, 10.3, 1482};
  for (int d = 1; d <= 365; ++d) {
    const Date date = date_of_day(2023, d);
    for (int h = 1; h <= 24; ++h) {
      WeatherHour hour{2023, static_cast<int>(static_cast<unsigned>(date.month())),
                       static_cast<int>(static_cast<unsigned>(date.day())), h};
      hour.dry_bulb_c = mean_c - swing_c * std::cos(2 * 3.14159265358979 * (d - 15) / 365) -
                        5 * std::cos(2 * 3.14159265358979 * (h - 3) / 24);
      hour.wind_speed_ms = h <= 6 ? 0.2 : h == 18 && d % 20 == 0 ? 14.0 : 3.0;
      hour.wind_from_deg = h == 18 && d % 20 == 0 ? 315.0 : h < 12 ? 45.0 : 225.0;
      weather.hours.push_back(hour);
    }
  }
  return weather;
}

std::vector<DayTemperature> many_years(int count, double offset_days) {
  std::mt19937 random(7);
  std::normal_distribution<double> shift(0, 8), cold(0, 2);
  std::vector<DayTemperature> days;
  for (int y = 2000; y < 2000 + count; ++y) {
    const double by = shift(random), colder = cold(random);
    for (int d = 1; d <= days_in_year(y); ++d) {
      const double mean =
          6 + colder - 12 * std::cos(2 * 3.14159265358979 * (d - 15 - by - offset_days) / 365.25);
      days.push_back({date_of_day(y, d), mean - 5, mean + 5, mean});
    }
  }
  return days;
}

}  // namespace

TEST_CASE("[property] days of hours, degree-days and nights") {
  const WeatherYear weather = year_of_hours(5, 0);
  const auto days = days_of(weather);
  REQUIRE(days.size() == 365);
  CHECK_NEAR(days[100].low_c, 0, 1e-9);
  CHECK_NEAR(days[100].high_c, 10, 1e-9);
  CHECK_NEAR(days[100].mean_c, 5, 1e-9);
  // 13 degrees short of 18 on every day of 365.25; (10 + 5) / 2 - 5 = 2.5 above base 5.
  CHECK_NEAR(heating_degree_days(days, 18), 13 * 365.25, 1e-6);
  CHECK_NEAR(growing_degree_days(days, 5, 30), 2.5 * 365.25, 1e-6);
  CHECK_NEAR(growing_degree_days(days, 5, 8), 1.5 * 365.25, 1e-6);
  CHECK_NEAR(nights_under(days, 0.001), 365.25, 1e-6);
  CHECK_NEAR(nights_under(days, 0), 0, 1e-6);
  CHECK_NEAR(nights_under({}, 0), 0, 0);
}

TEST_CASE("[property] frost dates: one year gives its own, ten give chances, the south is turned") {
  const auto one = frost_dates(days_of(year_of_hours(6, 12)), false);
  REQUIRE(one.has_value());
  CHECK(one->years == 1);
  CHECK_FALSE(one->one_in_ten.has_value());
  // Lows are 1 - 12 cos: under 0 until cos = 1/12, 85.2 degrees or 86.4 days after day 15.
  CHECK_NEAR(one->last_spring_day, 101, 1);
  CHECK_NEAR(one->first_autumn_day, 294, 1.5);
  const auto many = frost_dates(many_years(30, 0), false);
  REQUIRE(many.has_value());
  REQUIRE(many->one_in_ten.has_value());
  CHECK(many->years == 30);
  // Shifts of 8 days and 2 degrees (about 10 days) together: one in ten lies 1.28 x 12.5 later.
  CHECK_NEAR(many->one_in_ten->last_later_than_day - many->last_spring_day, 16, 7);
  CHECK(many->one_in_ten->first_earlier_than_day < many->first_autumn_day);
  // Half a year later, in the south: the same dates counted from 1 July.
  const auto south = frost_dates(many_years(30, 182.5), true);
  REQUIRE(south.has_value());
  CHECK_NEAR(south->last_spring_day, many->last_spring_day, 3);
  CHECK_NEAR(south->frost_free_d, many->frost_free_d, 3);
  CHECK_FALSE(frost_dates(days_of(year_of_hours(25, 5)), false).has_value());
}

TEST_CASE("[property] the coldest nights of a record") {
  CHECK_FALSE(cold_summary({}).has_value());
  const auto one = cold_summary(days_of(year_of_hours(0, 15)));
  REQUIRE(one.has_value());
  CHECK_NEAR(one->coldest_c, -20, 0.01);
  CHECK_FALSE(one->low_1_in_30_c.has_value());
  const auto many = cold_summary(many_years(40, 0));
  REQUIRE(many->low_1_in_30_c.has_value());
  // Gumbel at 30 years lies 2.19 standard deviations (here 2 degrees) below the mean of the lows.
  CHECK_NEAR(*many->low_1_in_30_c - many->mean_yearly_low_c, -4.4, 1.2);
}

TEST_CASE("[property] a typical year joined from months of several years is one year") {
  WeatherYear weather = year_of_hours(2, 12);
  for (WeatherHour& hour : weather.hours) hour.year = 1990 + hour.month * 2 % 7;
  const auto days = days_of(weather);
  CHECK(cold_summary(days).has_value());
  CHECK(frost_dates(days, false)->years == 1);
}

// [common practice] spinach and kale stand nights of -5 C unprotected.
TEST_CASE("[common practice] hardy greens stand nights of -5 C") {
  CHECK_NEAR(kHardyGreensNight_c, -5, 0);
  const auto days = days_of(year_of_hours(4, 6));  // lows -7 in January
  CHECK(nights_under(days, kHardyGreensNight_c) > 0);
  CHECK(nights_under(days, kHardyGreensNight_c) < nights_under(days, 0));
}

TEST_CASE("[common practice] signs of a frost hollow") {
  const auto signs = cold_air_signs();
  std::vector<std::optional<bool>> answers(signs.size());
  CHECK(cold_air_verdict(answers) == ColdAir::unknown);
  for (size_t i = 0; i < signs.size(); ++i) answers[i] = signs[i].points > 0;
  CHECK(cold_air_verdict(answers) == ColdAir::likely);
  for (size_t i = 0; i < signs.size(); ++i) answers[i] = signs[i].points < 0;
  CHECK(cold_air_verdict(answers) == ColdAir::unlikely);
}

TEST_CASE("[property] wind by sector: prevailing is frequent, storm is strong") {
  const WindSummary wind = wind_summary(year_of_hours(0, 10));
  CHECK(wind.hours == 8760);
  CHECK_NEAR(wind.calm_share, 0.25, 1e-9);
  REQUIRE(wind.prevailing.has_value());
  CHECK(sector_name(*wind.prevailing) == "SW");
  REQUIRE(wind.storm.has_value());
  CHECK(wind.sectors[14].strong_hours == 18);
  double share = wind.calm_share;
  for (const WindSector& sector : wind.sectors) share += sector.share;
  CHECK_NEAR(share, 1, 1e-9);
  CHECK(sector_of(TrueAzimuth::degrees(348.75)) == 0);
  CHECK(sector_of(TrueAzimuth::degrees(11.24)) == 0);
  CHECK(sector_of(TrueAzimuth::degrees(11.26)) == 1);
  CHECK_FALSE(wind_summary({}).prevailing.has_value());
}

TEST_CASE("[common practice] a wood within five of its heights shelters, a ridge does not") {
  Skyline skyline;
  skyline.obstacles = {{Kind::ridge, "far"}, {Kind::evergreen, "wood"}};
  for (int az = 0; az < 360; az += 10) {
    SkylinePoint point;
    const bool wood = az >= 290 && az <= 340;
    point.azimuth = TrueAzimuth::degrees(az);
    point.elevation = Elevation::degrees(wood ? 15 : 20);
    point.obstacle = wood;
    skyline.points.push_back(point);
  }
  const auto shelter = shelter_of(Mask(skyline), skyline);
  CHECK(shelter[14].shelter == Shelter::good);  // NW
  CHECK_NEAR(shelter[14].height_deg, 15, 1e-6);
  CHECK(shelter[8].shelter == Shelter::open);  // S: the ridge alone
}

TEST_CASE("[property] the cross breeze goes along the house where wind and long walls agree") {
  const CrossBreeze west = cross_breeze(TrueAzimuth::degrees(180), TrueAzimuth::degrees(270));
  CHECK_NEAR(west.axis.degrees(), 90, 1e-9);
  CHECK_NEAR(west.angle_deg, 0, 1e-9);
  CHECK(west.through);
  const CrossBreeze south = cross_breeze(TrueAzimuth::degrees(180), TrueAzimuth::degrees(190));
  CHECK_NEAR(south.angle_deg, 80, 1e-9);
  CHECK_FALSE(south.through);
}

// EN 1991-1-3, 5.3: 0.8 to 30 degrees, 0 from 60; snow fences keep 0.8.
TEST_CASE("[published] snow shape factor of EN 1991-1-3") {
  CHECK_NEAR(en1991_mu1(0), 0.8, 1e-12);
  CHECK_NEAR(en1991_mu1(30), 0.8, 1e-12);
  CHECK_NEAR(en1991_mu1(45), 0.4, 1e-12);
  CHECK_NEAR(en1991_mu1(60), 0, 1e-12);
  CHECK_NEAR(en1991_mu1(75), 0, 1e-12);
  CHECK_NEAR(en1991_mu1(50, true), 0.8, 1e-12);
  CHECK_NEAR(roof_snow_kn_m2(3, 45), 1.2, 1e-12);
}

// ASCE 7, slope factor; thermal factor 1.2 for unheated buildings.
TEST_CASE("[published] snow slope factor of ASCE 7") {
  using enum RoofSurface;
  CHECK_NEAR(asce7_cs(5, slippery, 1.0), 1, 1e-12);
  CHECK_NEAR(asce7_cs(37.5, slippery, 1.0), 0.5, 1e-12);
  CHECK_NEAR(asce7_cs(50, other, 1.0), 0.5, 1e-12);
  CHECK_NEAR(asce7_cs(10, slippery, 1.1), 1, 1e-12);
  CHECK_NEAR(asce7_cs(40, slippery, 1.1), 0.5, 1e-12);
  CHECK_NEAR(asce7_cs(37.5, other, 1.1), 1, 1e-12);
  CHECK_NEAR(asce7_cs(15, slippery), 1, 1e-12);
  CHECK_NEAR(asce7_cs(42.5, slippery), 0.5, 1e-12);
  CHECK_NEAR(asce7_cs(45, other), 1, 1e-12);
  CHECK_NEAR(asce7_cs(57.5, other), 0.5, 1e-12);
  CHECK_NEAR(asce7_cs(70, slippery), 0, 1e-12);
  CHECK_NEAR(asce7_cs(80, other), 0, 1e-12);
}

TEST_CASE("[property] snow that slid lies in front, and its volume is what the slope lost") {
  const auto bank = slid_snow(4, 60, 3, 1);
  REQUIRE(bank.has_value());
  // 0.8 x 4 kN/m2 x 3 m at 4 kN/m3 are 2.4 m2; on top of a metre of lying snow.
  CHECK_NEAR((bank->height_m - 1) * bank->reach_m / 2, 2.4, 1e-9);
  CHECK(bank->blocks);
  CHECK_NEAR(slid_snow(4, 20, 3, 1)->reach_m, 0, 1e-12);
  CHECK_FALSE(slid_snow(-1, 60, 3, 1).has_value());
}
