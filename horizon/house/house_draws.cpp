#include "horizon/house/house_draws.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "horizon/light/uncertainty.h"
#include "horizon/time.h"

namespace horizon {
namespace {

constexpr double kStepMin = 10;

int plain_year(int year) { return days_in_year(year) == 366 ? year + 1 : year; }

GroundSlope slope_of(const HouseInput& input) { return input.slope; }

HouseSun sun_for(const std::shared_ptr<const SiteSun>& site, const HouseInput& input) {
  return house_sun(site, input.house, masks_of(input.skyline), slope_of(input), input.albedo,
                   input.skyline_albedo);
}

}  // namespace

// The soil has found its warmth.
void live_to_autumn(std::span<const Autumn> autumns) {
  std::map<std::pair<const ClimateDraws*, std::uint32_t>, HouseWeather> years;
  std::vector<HouseJob> jobs;
  for (const auto& [input, climate] : autumns) {
    const std::uint32_t seed = input->seed + 9001;
    const auto [at, fresh] = years.try_emplace({climate->draws.get(), seed});
    HouseWeather& year = at->second;
    if (fresh) year = climate->draws->draw(seed, climate->first_day, 365);
    double mean = 0;
    for (const HouseHour& h : year.hours) mean += h.air_c / static_cast<double>(year.hours.size());
    RunSettings settings;
    settings.start_c = mean + 6;
    jobs.push_back({&input->house, &climate->sun, &year, settings});
  }
  const std::vector<HouseRun> runs = run_houses(jobs);
  for (size_t i = 0; i < runs.size(); ++i) autumns[i].climate->autumn_c = runs[i].nodes_c;
}

Result<HouseClimate> house_climate(const HouseInput& input) {
  auto climate = climate_before_autumn(input);
  if (climate) live_to_autumn(std::array{Autumn{&input, &*climate}});
  return climate;
}

Result<HouseClimate> climate_before_autumn(const HouseInput& input) {
  HouseClimate c;
  const bool south = input.place.latitude_deg < 0;
  c.first_day = south ? 59 : 243;
  const double offset = input.weather ? input.weather->utc_offset_h : input.utc_offset_h;
  const SunSteps steps = sun_steps(input.place, plain_year(input.year), offset, kStepMin);
  c.site =
      std::make_shared<SiteSun>(steps, input.skyline, masks_of(input.skyline), slope_of(input));
  if (input.weather) {
    auto weather = house_weather(*input.weather, *c.site);
    if (!weather) return tl::unexpected(weather.error());
    c.said = weather->said;
    c.file = std::make_shared<HouseWeather>(std::move(*weather));
    ClimateMonths months = climate_of(*c.file, *c.site);
    c.source = c.file->source;
    c.draws = std::make_shared<ClimateDraws>(months, *c.site);
  } else {
    auto months = climate_of(*input.normals, *input.light, input.place);
    if (!months) return tl::unexpected(months.error());
    c.said = months->said;
    c.source = months->source;
    c.draws = std::make_shared<ClimateDraws>(*months, *c.site);
  }
  c.sun = sun_for(c.site, input);
  return c;
}

HouseClimate for_house(const HouseClimate& climate, const HouseInput& input) {
  HouseClimate c = climate;
  c.sun = sun_for(c.site, input);
  return c;
}

DrawnHouse drawn_house(const HouseInput& input, std::uint32_t seed) {
  Gauss gauss(seed * 2654435761u + 17);
  const InputErrors& e = input.errors;
  DrawnHouse d;
  d.weather_seed = seed;
  House& h = d.house = input.house;
  const auto factor = [&](double share) { return std::clamp(1 + share * gauss.next(), 0.3, 2.0); };
  h.air_changes_h *= std::exp(e.air_changes_log * gauss.next());
  h.wall_m2kw *= factor(e.resistance_share);
  h.roof_m2kw *= factor(e.resistance_share);
  h.pane_m2kw *= factor(e.resistance_share);
  h.edge.resistance_m2kw *= factor(e.resistance_share);
  h.night_m2kw *= factor(e.night_share);
  h.soil_w_mk = std::clamp(h.soil_w_mk * factor(e.soil_share), 0.3, 4.0);
  h.soil_water_share = std::clamp(h.soil_water_share + e.soil_water * gauss.next(), 0.05, 0.5);
  h.light_left = std::clamp(h.light_left * factor(e.light_share), 0.3, 1.0);
  d.warmer_k = e.air_k * gauss.next();
  for (const CropCold& crop : crops_in_the_cold())
    d.crop_off_k.push_back(crop.spread_k * gauss.next());
  return d;
}

std::vector<HouseRun> run_drawn(std::span<const DrawnRun> runs, const HouseClimate& c) {
  std::vector<HouseJob> jobs;
  for (const auto& [drawn, weather] : runs) {
    RunSettings settings;
    settings.start = &c.autumn_c;
    settings.start_c = 10;
    settings.warmer_k = drawn->warmer_k;
    jobs.push_back({&drawn->house, &c.sun, weather, settings});
  }
  return run_houses(jobs);
}

namespace {

Winter told(const DrawnHouse& drawn, const HouseRun& run) {
  Winter w;
  w.drawn = drawn;
  w.lowest_c = w.lowest_soil_c = w.outside_c = 99;
  w.day_mean_c.resize(kWinterDays);
  w.day_mol.resize(kWinterDays);
  w.day_low_c.assign(kWinterDays, 99);
  for (size_t h = 0; h < run.inside_c.size(); ++h) {
    const size_t d = h / 24;
    w.lowest_c = std::min<double>(w.lowest_c, run.low_c[h]);
    w.lowest_soil_c = std::min<double>(w.lowest_soil_c, run.soil_c[h]);
    w.outside_c = std::min<double>(w.outside_c, run.outside_c[h]);
    w.condensing_h += run.condenses[h];
    for (size_t i = 0; i < kColdLimits_c.size(); ++i)
      w.hours_below[i] += run.inside_c[h] < kColdLimits_c[i];
    w.day_mean_c[d] += run.inside_c[h] / 24;
    w.day_low_c[d] = std::min(w.day_low_c[d], run.low_c[h]);
    w.day_mol[d] += static_cast<float>(run.bed_wm2[h] * 3600e-6 * kPhotonsPerMegajoule);
  }
  for (const float low : w.day_low_c)
    for (size_t i = 0; i < kColdLimits_c.size(); ++i) w.nights_below[i] += low < kColdLimits_c[i];
  const auto crops = crops_in_the_cold();
  for (size_t i = 0; i < crops.size(); ++i)
    w.fates.push_back(fate_of(crops[i], w.day_low_c, drawn.crop_off_k[i]));
  return w;
}

}  // namespace

std::vector<HouseWeather> weathers_of(std::span<const DrawnHouse> drawn, const HouseClimate& c) {
  std::vector<HouseWeather> out;
  for (const DrawnHouse& one : drawn)
    out.push_back(c.draws->draw(one.weather_seed, c.first_day, kWinterDays));
  return out;
}

std::vector<Winter> winters_of(std::span<const DrawnHouse> drawn, const HouseClimate& c) {
  return winters_of(drawn, weathers_of(drawn, c), c);
}

std::vector<Winter> winters_of(std::span<const DrawnHouse> drawn,
                               std::span<const HouseWeather> weathers, const HouseClimate& c) {
  std::vector<DrawnRun> runs;
  for (size_t i = 0; i < drawn.size(); ++i) runs.push_back({&drawn[i], &weathers[i]});
  const std::vector<HouseRun> lived = run_drawn(runs, c);
  std::vector<Winter> out;
  for (size_t i = 0; i < drawn.size(); ++i) out.push_back(told(drawn[i], lived[i]));
  return out;
}

void shift_to_low(HouseWeather& weather, double low_c) {
  const auto coldest =
      std::min_element(weather.hours.begin(), weather.hours.end(),
                       [](const HouseHour& a, const HouseHour& b) { return a.air_c < b.air_c; });
  const double by = low_c - coldest->air_c;
  const auto at = coldest - weather.hours.begin();
  constexpr double kReach_h = 120;
  for (std::ptrdiff_t i = 0; i < static_cast<std::ptrdiff_t>(weather.hours.size()); ++i) {
    const double x = std::abs(static_cast<double>(i - at)) / kReach_h;
    if (x >= 1) continue;
    const float k = static_cast<float>(by * (1 + std::cos(x * std::numbers::pi)) / 2);
    weather.hours[i].air_c += k;
    weather.hours[i].dew_c += k;
  }
}

}  // namespace horizon
