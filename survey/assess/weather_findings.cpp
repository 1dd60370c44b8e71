#include "survey/assess/weather_findings.h"

#include <algorithm>
#include <cmath>

#include "horizon/ground/ground_year.h"
#include "survey/assess/station_skyline.h"
#include "survey/book/forms.h"
#include "survey/book/text.h"

namespace survey {
namespace {

using horizon::Result;

constexpr double kDepths_m[] = {0.3, 0.6, 1.2, 2.4};
constexpr double kNightLimits_c[] = {0, horizon::kHardyGreensNight_c, -10, -20};

std::optional<std::array<double, 12>> whole_year(const MonthValues& values) {
  std::array<double, 12> out{};
  for (std::size_t m = 0; m < 12; ++m) {
    if (!values[m]) return std::nullopt;
    out[m] = *values[m];
  }
  return out;
}

std::optional<double> number_in(const SiteNote* note, std::string_view key) {
  const auto text = note ? answer_to(*note, key) : std::nullopt;
  return text ? text->number() : std::nullopt;
}

// The layers of the first pit that has some, moist; else a plain loam.
std::vector<horizon::ThermalLayer> ground_layers(const GroundFindings& out) {
  std::vector<horizon::FrostSoilLayer> profile;
  for (const auto& pit : out.pits) {
    if (!profile.empty()) break;
    for (const auto& layer : pit.layers)
      profile.push_back(
          {layer.top_m, layer.bottom_m, layer.soil, layer.water, layer.coarse_percent});
  }
  if (profile.empty())
    profile.push_back({0, 2, horizon::typical_of(horizon::Texture::loam),
                       horizon::typical_soil_water(horizon::Texture::loam), 0});
  return horizon::thermal_layers(profile, true);
}

// How deep snow lies on a day: the form's depth, as often as the month's row says; without the row
// in every month below freezing.
std::function<double(double)> snow_through(const ClimateNormals& climate,
                                           const std::array<double, 12>& means, double snow_m) {
  std::array<double, 12> lies{};
  const bool known =
      std::any_of(climate.snow_cover_fraction.begin(), climate.snow_cover_fraction.end(),
                  [](const auto& m) { return m.has_value(); });
  for (std::size_t m = 0; m < 12; ++m)
    lies[m] = snow_m * (known ? climate.snow_cover_fraction[m].value_or(0) : means[m] < 0);
  return horizon::air_of(lies);  // straight between the months, as the air
}

void temperatures(const ClimateNormals& climate, GroundFindings& out) {
  const auto means = whole_year(climate.mean_c);
  if (!means) return;
  out.temperatures_from = {"ground.from.normals", {climate.name}};
  const double snow_m = out.frost ? out.frost->snow_m : 0;
  horizon::GroundCover cover{horizon::air_of(*means), {}, out.frost ? out.frost->n_factor : 1, 0};
  const auto layers = ground_layers(out);
  const auto bare = horizon::ground_year(cover, layers, kDepths_m);
  if (!bare) return;
  auto under = bare;
  if (snow_m > 0) {
    cover.snow_m = snow_through(climate, *means, snow_m);
    under = horizon::ground_year(cover, layers, kDepths_m);
  }
  if (!under) return;
  for (std::size_t i = 0; i < under->at.size(); ++i) {
    const auto& at = under->at[i];
    GroundTemperature one{at.depth_m, at.coldest_c, at.warmest_c, {}, at.coldest_day};
    if (snow_m > 0) one.bare_coldest_c = bare->at[i].coldest_c;
    out.temperatures.push_back(one);
  }
}

void cold_from_months(const ClimateNormals& climate, GroundFindings& out) {
  constexpr double kDays[] = {31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  const horizon::Sentence from{"ground.from.normals", {climate.name}};
  if (const auto mean = whole_year(climate.mean_c)) {
    double sum = 0;
    for (std::size_t m = 0; m < 12; ++m)
      sum += horizon::month_heating_degree_days((*mean)[m], *mean, kDays[m]);
    out.cold.heating_degree_days = {{sum, from}};
    out.cold.from_months = true;
  }
  const auto low = whole_year(climate.min_c), high = whole_year(climate.max_c);
  if (low && high) {
    double sum = 0;
    for (std::size_t m = 0; m < 12; ++m)
      sum += kDays[m] * horizon::sine_degree_days((*low)[m], (*high)[m], 10, 30);
    out.cold.growing_degree_days = {{sum, from}};
    out.cold.from_months = true;
  }
  if (!out.cold.design_low_c) {
    std::optional<double> coldest;
    for (const auto& month : climate.coldest_c)
      if (month) coldest = std::min(coldest.value_or(*month), *month);
    if (coldest) out.cold.design_low_c = {{*coldest, {"ground.from.coldest", {climate.name}}}};
  }
}

void cold_from_weather(const horizon::WeatherYear& weather, bool southern, GroundFindings& out) {
  const auto days = horizon::days_of(weather);
  const horizon::Sentence from{"ground.from.weather", {weather.station}};
  const auto summary = horizon::cold_summary(days);
  if (!summary) {
    out.missing.push_back({"error.at_place", {from, summary.error().sentence()}});
    return;
  }
  out.cold.record = {{*summary, from}};
  for (const double limit : kNightLimits_c)
    out.cold.nights.push_back({limit, horizon::nights_under(days, limit)});
  out.cold.heating_degree_days = {{horizon::heating_degree_days(days), from}};
  out.cold.growing_degree_days = {{horizon::growing_degree_days(days), from}};
  out.cold.from_months = false;
  out.cold.frost = horizon::frost_dates(days, southern, 0);
  out.cold.killing_frost = horizon::frost_dates(days, southern, -2);
}

void cold_air(GroundFindings& out) {
  const auto* note = out.form(Topic::cold_air);
  std::vector<std::optional<bool>> answers;
  for (const auto& sign : horizon::cold_air_signs()) {
    const auto answer = note ? answer_to(*note, sign.key) : std::nullopt;
    answers.push_back(answer ? std::optional(answer->is("yes")) : std::nullopt);
    if (answer && answer->is("yes")) out.cold.signs_seen.emplace_back(sign.key);
  }
  const auto looked_at =
      std::count_if(answers.begin(), answers.end(), [](const auto& a) { return a.has_value(); });
  const auto verdict = horizon::cold_air_verdict(answers);
  if (verdict == horizon::ColdAir::unknown) {
    out.missing.push_back("ground.missing.cold_air");
    return;
  }
  out.cold.cold_air = {{verdict, {"ground.from.signs", {looked_at}}}};
}

std::optional<Evidence<int>> sector_in(const SiteNote* note, std::string_view key) {
  const auto text = note ? answer_to(*note, key) : std::nullopt;
  if (!text) return std::nullopt;
  for (int sector = 0; sector < horizon::kWindSectors; ++sector)
    if (text->is(horizon::sector_name(sector)))
      return Evidence<int>{sector, "ground.from.wind_form"};
  return std::nullopt;
}

void wind(const FieldBook& book, const GroundOptions& options, const DesignChoices& choices,
          bool southern, GroundFindings& out) {
  WindFinding& wind = out.wind;
  const auto* note = out.form(Topic::wind);
  // Signs on the spot outrank a record from elsewhere.
  wind.prevailing = sector_in(note, "prevailing_from");
  wind.storm = sector_in(note, "storm_from");
  wind.summer = sector_in(note, "summer_from");
  wind.strongest_ms = number_in(note, "strongest_ms");
  if (options.weather) {
    wind.record = horizon::wind_summary(*options.weather);
    const horizon::Sentence from{"ground.from.weather", {options.weather->station}};
    if (!wind.prevailing && wind.record->prevailing)
      wind.prevailing = {*wind.record->prevailing, from};
    if (!wind.storm && wind.record->storm) wind.storm = {*wind.record->storm, from};
    const auto summer =
        horizon::wind_summary(*options.weather, southern ? 0b110000000001u : 0b11100000u);
    if (!wind.summer && summer.prevailing) wind.summer = {*summer.prevailing, from};
  }
  if (!wind.prevailing && !wind.storm) out.missing.push_back("ground.missing.wind");
  if (note)
    for (const auto& sign : horizon::drift_signs())
      if (auto seen = answer_to(*note, sign.key))
        wind.drift_signs.push_back({std::string(sign.key), seen->text()});
  std::optional<Assessment> own;
  if (!options.site)
    if (auto made = assess(book)) own = std::move(*made);
  const Assessment* site = own ? &*own : options.site;
  const StationSkyline* main = site ? site->main() : nullptr;
  if (main && !main->skyline().points.empty())
    wind.shelter = {horizon::shelter_of(horizon::Mask(main->skyline()), main->skyline()),
                    {"ground.from.skyline", {main->station.name}}};
  const auto& through = wind.summer ? wind.summer : wind.prevailing;
  if (!through) return;
  const auto facing =
      options.facing
          ? *options.facing
          : horizon::TrueAzimuth::degrees(choices.facing_true_deg.value_or(southern ? 0 : 180));
  const auto from = horizon::TrueAzimuth::degrees(through->value * 360.0 / horizon::kWindSectors);
  wind.breeze = {horizon::cross_breeze(facing, from),
                 {"ground.from.and",
                  {through->from, horizon::Sentence(choices.facing_true_deg ? "ground.from.facing"
                                                    : options.facing        ? "ground.from.best"
                                                                            : "ground.from.noon",
                                                    {horizon::Arg::figure(facing.degrees(), 0)})}}};
}

void snow(const GroundOptions& options, const DesignChoices& choices, GroundFindings& out) {
  const auto* note = out.form(Topic::snow);
  const auto load = number_in(note, "ground_snow_kn_m2");
  if (!load) return out.missing.push_back("ground.missing.snow");
  SnowFinding snow;
  snow.ground_kn_m2 = {*load, source_in(*note, "snow_code", "ground.from.snow_form")};
  const auto assume = [&](const char* key) {
    snow.assumed = snow.assumed.empty()
                       ? horizon::Sentence(key)
                       : horizon::Sentence("list.pair", {snow.assumed, horizon::Sentence(key)});
  };
  if (options.tilt_deg)
    snow.tilt_deg = *options.tilt_deg;
  else if (choices.tilt_deg)
    snow.tilt_deg = *choices.tilt_deg;
  else
    assume("ground.assumed.tilt");
  if (const auto foot = number_in(note, "glazing_foot_m"))
    snow.foot_m = *foot;
  else
    assume("ground.assumed.foot");
  // The glazing rises from its foot to the ridge, and reaches no further back than the building.
  if (choices.height_m && *choices.height_m > snow.foot_m && snow.tilt_deg > 1) {
    snow.run_m = (*choices.height_m - snow.foot_m) / std::tan(snow.tilt_deg * horizon::kDegree);
    if (choices.depth_m) snow.run_m = std::min(snow.run_m, *choices.depth_m);
  } else {
    assume("ground.assumed.run");
  }
  snow.held = text_of(answer_to(*note, "snow_held")) == "yes";
  snow.mu1 = horizon::en1991_mu1(snow.tilt_deg, snow.held);
  snow.roof_kn_m2 = horizon::roof_snow_kn_m2(*load, snow.tilt_deg, snow.held);
  snow.cs_slippery = horizon::asce7_cs(snow.tilt_deg, horizon::RoofSurface::slippery);
  snow.cs_other = horizon::asce7_cs(snow.tilt_deg, horizon::RoofSurface::other);
  if (const auto slid = horizon::slid_snow(*load, snow.tilt_deg, snow.run_m, snow.foot_m))
    snow.slid = *slid;
  out.snow = snow;
}

}  // namespace

horizon::Sentence source_in(const SiteNote& note, std::string_view key, const char* otherwise) {
  if (const auto typed = answer_to(note, key)) return {"ground.as_said", {typed->text()}};
  return otherwise;
}

Result<void> weather_findings(const FieldBook& book, const GroundOptions& options,
                              const std::optional<ClimateNormals>& climate, GroundFindings& out) {
  const auto site = book.site();
  if (!site) return tl::unexpected(site.error());
  const auto choices = book.design();
  if (!choices) return tl::unexpected(choices.error());
  const bool southern = site->position.latitude_deg < 0;
  if (climate) {
    temperatures(*climate, out);
    cold_from_months(*climate, out);
  }
  if (options.weather)
    cold_from_weather(*options.weather, southern, out);
  else
    out.missing.push_back("ground.missing.weather");
  if (!out.cold.design_low_c) out.missing.push_back("ground.missing.design_low");
  cold_air(out);
  wind(book, options, *choices, southern, out);
  snow(options, *choices, out);
  return {};
}

}  // namespace survey
