// What soil, water, frost and weather of a site file come to, and what is said to be missing.
#include "survey/assess/ground_findings.h"

#include <cmath>

#include "survey/assess/plot_findings.h"
#include "tests/survey/site_fixture.h"

using namespace survey;

namespace {

PercolationReading reading(double utc_s, double level_mm, std::optional<double> boot_s,
                           const std::string& boot) {
  PercolationReading r;
  r.time = {utc_s, 1};
  r.water_depth_mm = level_mm;
  r.since_boot_s = boot_s;
  r.boot = boot;
  return r;
}

FieldBook empty_book(const std::string& path) {
  Site site;
  site.name = "Larkholm";
  site.position = {46.6, 10.3, 1482};
  return must(FieldBook::create(path, site));
}

}  // namespace

TEST_CASE("[property] a percolation test outlives a set clock, and a restart without one") {
  std::vector<PercolationReading> rows;
  for (int i = 0; i < 5; ++i)
    rows.push_back(reading(1000 + 600.0 * i, 300 - 20.0 * i, 50 + 600.0 * i, "b"));
  auto steady = percolation_times(rows);
  REQUIRE(steady.has_value());
  CHECK(steady->checked);
  CHECK(steady->clock_jump_s == 0);
  // The time of day is set back an hour after the second reading: intervals stay.
  for (std::size_t i = 2; i < rows.size(); ++i) rows[i].time.utc_s -= 3600;
  auto jumped = percolation_times(rows);
  REQUIRE(jumped.has_value());
  CHECK(std::abs(jumped->clock_jump_s + 3600) < 1e-6);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    CHECK(std::abs(jumped->readings[i].utc_s - steady->readings[i].utc_s) < 1e-6);
    CHECK(jumped->readings[i].depth_mm == steady->readings[i].depth_mm);
  }
  // A restarted device: the time of day is all there is, and it is not called checked.
  std::vector<PercolationReading> restarted;
  for (int i = 0; i < 4; ++i)
    restarted.push_back(reading(1000 + 600.0 * i, 300 - 20.0 * i,
                                i < 2 ? 900.0 + 600 * i : 30.0 + 600 * i, i < 2 ? "b" : "c"));
  const auto after = percolation_times(restarted);
  REQUIRE(after.has_value());
  CHECK_FALSE(after->checked);
  CHECK(std::abs(after->readings[3].utc_s - after->readings[0].utc_s - 1800) < 1e-6);
}

TEST_CASE("[property] the class of a layer: laboratory first, words for stones left aside") {
  SoilLayer layer;
  layer.bottom_m = 0.3;
  layer.texture = "very gravelly sandy loam";
  auto found = layer_finding(layer);
  REQUIRE(found.has_value());
  CHECK(found->texture == horizon::Texture::sandy_loam);
  CHECK_FALSE(found->from_laboratory);
  layer.sand_percent = 20;
  layer.clay_percent = 20;  // 60 % silt follows
  found = layer_finding(layer);
  REQUIRE(found.has_value());
  CHECK(found->texture == horizon::Texture::silt_loam);
  CHECK(found->from_laboratory);
  layer = {};
  layer.texture = "topsoil";
  CHECK_FALSE(layer_finding(layer).has_value());
}

TEST_CASE("[property] an empty site says all that is missing and invents nothing") {
  const TempFolder folder;
  auto book = empty_book(folder / "site.gpkg");
  const auto findings = must(ground_findings(book));
  CHECK(findings.pits.empty());
  CHECK_FALSE(findings.frost.has_value());
  CHECK_FALSE(findings.snow.has_value());
  CHECK_FALSE(findings.cold.cold_air.has_value());
  CHECK(findings.missing.size() >= 6);
  const auto input = must(plot_input(book, findings));
  CHECK(input.stations.empty());
  CHECK_FALSE(plot_findings(input).has_value());
}

TEST_CASE("[property] an hourly year alone gives frost and ground temperatures, by its own name") {
  const TempFolder folder;
  auto book = empty_book(folder / "site.gpkg");
  // -6 C from November to March, 10 C else: 151 days of 6 K below freezing.
  horizon::WeatherYear year;
  year.station = "Larkholm tower";
  constexpr int kDays[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  for (int m = 1; m <= 12; ++m)
    for (int d = 1; d <= kDays[m - 1]; ++d)
      for (int h = 1; h <= 24; ++h) {
        horizon::WeatherHour hour;
        hour.year = 2001;
        hour.month = m;
        hour.day = d;
        hour.hour = h;
        hour.dry_bulb_c = m <= 3 || m >= 11 ? -6.0 : 10.0;
        year.hours.push_back(hour);
      }
  GroundOptions options;
  options.weather = &year;
  const auto findings = must(ground_findings(book, options));
  REQUIRE(findings.frost.has_value());
  CHECK(findings.frost->air.value.index_cd == doctest::Approx(151 * 6).epsilon(0.02));
  CHECK(said(findings.frost->air.from) == "ground.from.normals Larkholm tower");
  CHECK(findings.frost->average_winter);
  CHECK_FALSE(findings.temperatures.empty());
}

TEST_CASE("[property] weights are kept in the site file, in bounds") {
  const TempFolder folder;
  auto book = empty_book(folder / "site.gpkg");
  CHECK(weights_of(book) == horizon::kDefaultWeights);
  const horizon::Weights wanted = {1, 2, 3, 4, 10};
  must(keep_weights(book, wanted, Moment{1, 0}));
  must(keep_weights(book, wanted, Moment{2, 0}));
  CHECK(weights_of(book) == wanted);
  CHECK(must(book.all<SiteNote>()).size() == 1);
}
