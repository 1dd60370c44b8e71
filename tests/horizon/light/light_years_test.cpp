#include "horizon/light/light_years.h"

#include <doctest/doctest.h>

#include <cmath>
#include <memory>

#include "horizon/light/findings.h"
#include "tests/csv_rows.h"
#include "tests/horizon/house/cold_valley.h"
#include "tests/near.h"

using namespace horizon;

namespace {

// Light of 20 between two days, none before and after: with a need of half of it the mean of 15 days
// reaches it on the first day itself, and leaves it on the last.
std::vector<double> lit(int first, int last, double mol = 20) {
  std::vector<double> year(365);
  for (int d = first; d <= last; ++d) year[static_cast<size_t>(d - 1)] = mol;
  return year;
}
const std::vector<CropNeed> kTen = {{"a crop", 10, "invented"}};

}  // namespace

TEST_CASE("crop dates of made years: quantiles as numpy.percentile(method='weibull') [published]") {
  // Years invented; quantiles by numpy 1.24.2, method 'weibull', which is definition 6 of Hyndman &
  // Fan, The American Statistician 50 (1996); dates to the next whole day.
  const int first[] = {70, 64, 81, 77, 59, 90, 66, 73, 85, 62, 68};
  const int last[] = {290, 301, 285, 296, 310, 279, 288, 299, 283, 305, 292};
  std::vector<std::vector<double>> years;
  for (int i = 0; i < 11; ++i) years.push_back(lit(first[i], last[i]));
  const LightYears found = light_years(years, kTen);
  CHECK(found.years == 11);
  const CropYears& crop = found.crops.at(0);
  CHECK(crop.never_share == 0);
  CHECK(*crop.first.p10 == 60);  // 59.6
  CHECK(*crop.first.p50 == 70);
  CHECK(*crop.first.p90 == 89);
  CHECK(*crop.last.p10 == 280);  // 279.8
  CHECK(*crop.last.p50 == 292);
  CHECK(*crop.last.p90 == 309);
  CHECK_NEAR(crop.days.p10, 191.8, 1e-9);
  CHECK_NEAR(crop.days.p50, 223, 1e-9);
  CHECK_NEAR(crop.days.p90, 250.4, 1e-9);
  // June is lit in all of them, January in none; in March 20 x days lit / 31, read off the rank.
  CHECK_NEAR(found.inside_mol_m2_day[5].p10, 20, 1e-9);
  CHECK(found.inside_mol_m2_day[0].p90 == 0);
  CHECK_NEAR(found.inside_mol_m2_day[2].p50, 20 * (90 - 70 + 1) / 31.0, 1e-9);
}

TEST_CASE("a season over New Year, years without one, and years that are all season [property]") {
  std::vector<std::vector<double>> years;
  for (int i = 0; i < 9; ++i) {
    std::vector<double> year(365, 20);
    for (int d = 100; d < 240 + 2 * i; ++d) year[static_cast<size_t>(d - 1)] = 0;
    years.push_back(year);
  }
  const CropYears south = light_years(years, kTen).crops[0];
  CHECK(*south.first.p50 == 248);
  CHECK(*south.first.p90 == 256);
  CHECK(*south.last.p50 == 99);
  // Two of ten never: the date that comes too late in 1 of 10 years is not a date.
  years.clear();
  for (int i = 0; i < 10; ++i) years.push_back(i < 2 ? lit(1, 0) : lit(60 + i, 300));
  const CropYears poor = light_years(years, kTen).crops[0];
  CHECK_NEAR(poor.never_share, 0.2, 1e-12);
  CHECK_FALSE(poor.first.p90.has_value());
  CHECK_FALSE(poor.last.p10.has_value());
  CHECK(poor.first.p10.has_value());
  // Two of ten all year round: the earliest begin is no date either.
  years.clear();
  for (int i = 0; i < 10; ++i)
    years.push_back(i < 2 ? std::vector<double>(365, 20) : lit(60 + i, 300));
  const CropYears rich = light_years(years, kTen).crops[0];
  CHECK_NEAR(rich.always_share, 0.2, 1e-12);
  CHECK_FALSE(rich.first.p10.has_value());
  CHECK(*rich.last.p10 == 300);
  CHECK_FALSE(rich.last.p90.has_value());
  // Never in any.
  const CropYears dark = light_years({lit(1, 0), lit(1, 0)}, kTen).crops[0];
  CHECK(dark.never_share == 1);
  CHECK_FALSE(dark.first.p50.has_value());
}

namespace {

StationInput in_the_valley() {
  StationInput input;
  input.place = {46.6213, 10.3478, 1482};
  input.utc_offset_h = 1;
  input.year = 2027;
  input.draws = 0;
  const int ridge = static_cast<int>(input.skyline.obstacles.size());
  input.skyline.obstacles.push_back({Kind::ridge, "ridge"});
  for (int az = 0; az < 360; az += 15) {
    SkylinePoint p;
    p.azimuth = TrueAzimuth::degrees(az);
    p.elevation = Elevation::degrees(12 + 6 * std::cos(az * kDegree));
    p.obstacle = ridge;
    input.skyline.points.push_back(p);
  }
  return input;
}

}  // namespace

TEST_CASE("the sky that can be has no years; twelve normals are drawn from [property]") {
  StationInput input = in_the_valley();
  CHECK_FALSE(light_years(input, {TrueAzimuth::degrees(180), 50}).has_value());
  input.sky.source = SkySource::normals;
  input.sky.normals = cold_valley().light;
  const StationFindings found = findings_of(input);
  REQUIRE(found.years.has_value());
  CHECK(found.years->drawn);
  CHECK(found.years->years == kDrawnYears);
  for (size_t m = 0; m < 12; ++m) {
    const OfYears& month = found.years->inside_mol_m2_day[m];
    CAPTURE(m);
    CHECK(month.p10 < month.p50);
    CHECK(month.p50 < month.p90);
    // The middle year is the mean sky's month: another arithmetic, hour by hour.
    CHECK(std::abs(month.p50 - found.months[m].inside_mol_m2_day) <
          0.04 * found.months[m].inside_mol_m2_day + 0.1);
  }
  for (const CropYears& crop : found.years->crops)
    if (crop.first.p10 && crop.first.p90)
      CHECK((*crop.first.p90 - *crop.first.p10 + 365) % 365 < 120);
}

TEST_CASE("ten equal years of a file have no spread and are the year itself [property]") {
  StationInput input = in_the_valley();
  auto weather = std::make_shared<WeatherYear>();
  weather->place = input.place;
  weather->utc_offset_h = 1;
  weather->hours.resize(8760);
  for (int h = 0; h < 8760; ++h) {
    WeatherHour& hour = weather->hours[static_cast<size_t>(h)];
    const double decl = 0.409 * std::sin(2 * M_PI * (h / 24 + 1) / 365 - 1.39);
    const double up = std::sin(0.8134) * std::sin(decl) +
                      std::cos(0.8134) * std::cos(decl) * std::cos((h % 24 - 12) * M_PI / 12);
    if (up < 0.05) continue;
    hour.beam_normal_wm2 = (h / 24) % 3 ? 600 : 0;
    hour.diffuse_horizontal_wm2 = 120 * up + 20;
    hour.global_horizontal_wm2 = hour.beam_normal_wm2 * up + hour.diffuse_horizontal_wm2;
  }
  input.sky.source = SkySource::weather;
  input.sky.weather = weather;
  const StationFindings one = findings_of(input);
  REQUIRE(one.years.has_value());
  CHECK(one.years->drawn);  // one year tells of no other
  weather->years.assign(10, weather->hours);
  const StationFindings ten = findings_of(input);
  CHECK_FALSE(ten.years->drawn);
  for (size_t m = 0; m < 12; ++m) {
    const OfYears& month = ten.years->inside_mol_m2_day[m];
    CAPTURE(m);
    CHECK_NEAR(month.p90, month.p10, 1e-9);
    CHECK(std::abs(month.p50 - ten.months[m].inside_mol_m2_day) < 0.01 * month.p50 + 0.02);
  }
}

TEST_CASE("the months of a real typical year lie among those drawn from it [published]") {
  // Weather of ASHRAE Standard 140-2020, 725650 Denver (tests/data/SOURCES.md). A typical month is
  // made to be in the middle of its like; what is drawn knows nothing but the months' means.
  StationInput input;
  input.place = {39.83, -104.65, 1650};
  input.utc_offset_h = -7;
  input.year = 2023;
  input.draws = 0;
  auto weather = std::make_shared<WeatherYear>();
  weather->place = input.place;
  weather->utc_offset_h = -7;
  for (const CsvRow& row : csv_rows("house/denver_hours.csv")) {
    WeatherHour hour;
    hour.beam_normal_wm2 = row["beam_normal_wm2"];
    hour.diffuse_horizontal_wm2 = row["diffuse_wm2"];
    hour.global_horizontal_wm2 = row["global_wm2"];
    weather->hours.push_back(hour);
  }
  input.sky.source = SkySource::weather;
  input.sky.weather = weather;
  const StationFindings by_hours = findings_of(input);
  MonthlyNormals means{MonthlyNormals::What::global_kwh_m2_day, {}, 0.25, 0.5, "the file's means"};
  std::array<int, 12> hours_of{};
  for (size_t h = 0; h < weather->hours.size(); ++h) {
    const auto m = static_cast<size_t>(month_of_hour(static_cast<int>(h)));
    means.values[m] += weather->hours[h].global_horizontal_wm2 / 1000;
    ++hours_of[m];
  }
  for (size_t m = 0; m < 12; ++m) means.values[m] /= hours_of[m] / 24.0;
  input.sky.source = SkySource::normals;
  input.sky.normals = means;
  const StationFindings found = findings_of(input);
  int among = 0;
  for (size_t m = 0; m < 12; ++m) {
    const OfYears& month = found.years->inside_mol_m2_day[m];
    const double real = by_hours.months[m].inside_mol_m2_day;
    CAPTURE(m);
    // Under the file itself the draws stand at its level: two figures of one page must not differ.
    CHECK(std::abs(by_hours.years->inside_mol_m2_day[m].p50 / real - 1) < 0.03);
    among += real > month.p10 && real < month.p90;
    CHECK(std::abs(month.p50 / real - 1) < 0.08);
  }
  CHECK(among >= 10);
}
