#include "horizon/house/house_weather.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "horizon/house/air.h"
#include "horizon/house/sky_temperature.h"
#include "horizon/light/clear_sky.h"
#include "horizon/light/solar_terms.h"
#include "horizon/light/transposition.h"

namespace horizon {
namespace {

constexpr size_t kHours = 8760;

// Cloud of each hour: as observed, else from how much of a clear sky's light the day brought.
void fill_cloud(const WeatherYear& file, const SiteSun& sun, HouseWeather& out) {
  double last = 0.5;
  for (size_t day = 0; day < kHours / 24; ++day) {
    double global = 0, clear = 0;
    for (size_t h = day * 24; h < day * 24 + 24; ++h) {
      global += file.hours[h].global_horizontal_wm2;
      const SiteSun::Hour& s = sun.hours()[h];
      if (s.sunlit > 0.3)
        clear += s.sunlit * esra_clear_sky(std::asin(s.up) / kDegree, 2.5, file.place.height_m,
                                           kSolarConstant_wm2)
                                .global_horizontal_wm2;
    }
    if (clear > 100) last = cloud_from_radiation(global / clear);
    for (size_t h = day * 24; h < day * 24 + 24; ++h) {
      const auto& seen = file.hours[h].sky_cover;
      out.hours[h].cloud = static_cast<float>(seen ? *seen : last);
    }
  }
}

}  // namespace

HourSun hour_sun(double up, double sunlit, int day) {
  HourSun sun{up, sunlit};
  if (!(sunlit > 0) || !(up > 0)) return sun;
  sun.zenith_deg = std::acos(std::min(1.0, up)) / kDegree;
  sun.air_mass = air_mass_kasten_young(sun.zenith_deg);
  sun.outside_wm2 = kSolarConstant_wm2 * distance_factor(std::min(day, 365));
  return sun;
}

void set_light(HouseHour& hour, double beam, double diffuse, const HourSun& sun) {
  hour.sun_normal = hour.isotropic = hour.band = hour.global = 0;
  const double up = sun.up;
  if (!(sun.sunlit > 0) || !(up > 0)) return;
  // The strengths while the sun is up decide how the light is spread.
  const PerezSky perez = perez_sky(beam / sun.sunlit, diffuse / sun.sunlit, sun.outside_wm2,
                                   sun.zenith_deg, sun.air_mass);
  hour.sun_normal =
      static_cast<float>(beam + diffuse * perez.circumsolar / std::max(up, kPerezLowestCosZenith));
  hour.isotropic = static_cast<float>(
      diffuse * (1 - perez.circumsolar * std::min(1.0, up / kPerezLowestCosZenith)));
  hour.band = static_cast<float>(diffuse * perez.horizon);
  hour.global = static_cast<float>(beam * up + diffuse);
}

Result<HouseWeather> house_weather(const WeatherYear& file, const SiteSun& sun) {
  const Place& place = sun.steps().place;
  if (file.hours.size() != kHours)
    return fail(Code::bad_input, "error.weather_not_8760", "weather");
  if (file.place.latitude_deg * place.latitude_deg < 0 &&
      std::abs(file.place.latitude_deg - place.latitude_deg) > 5)
    return fail(Code::bad_input, "error.weather_other_hemisphere", "weather");
  const double higher = place.height_m - file.place.height_m;
  if (std::abs(higher) > 2000)
    return fail(Code::bad_input,
                {"error.weather_height_too_far", {Arg::figure(std::abs(higher), 0)}}, "weather");
  HouseWeather out;
  out.hours.resize(kHours);
  out.pressure_pa = pressure_at_height_pa(std::clamp(place.height_m, -400.0, 6000.0));
  out.source = file.station;
  int cold_missing = 0, damp_missing = 0, wind_missing = 0;
  double air = 0, damp = 0.7, wind = 2;
  for (const WeatherHour& h : file.hours)
    if (h.dry_bulb_c) {
      air = *h.dry_bulb_c;
      break;
    }
  std::optional<double> snow_before;
  for (size_t i = 0; i < kHours; ++i) {
    const WeatherHour& h = file.hours[i];
    HouseHour& to = out.hours[i];
    cold_missing += !h.dry_bulb_c;
    damp_missing += !h.relative_humidity_percent;
    wind_missing += !h.wind_speed_ms;
    air = h.dry_bulb_c.value_or(air);
    damp = h.relative_humidity_percent ? *h.relative_humidity_percent / 100 : damp;
    wind = h.wind_speed_ms.value_or(wind);
    to.air_c = static_cast<float>(air - kLapse_k_m * higher);
    to.dew_c = static_cast<float>(dew_point_c(vapour_pa(to.air_c, std::clamp(damp, 0.02, 1.0))));
    to.wind_ms = static_cast<float>(wind);
    const SiteSun::Hour& s = sun.hours()[i];
    set_light(to, std::min(h.beam_normal_wm2, 1400.0), h.diffuse_horizontal_wm2,
              hour_sun(s.up, s.sunlit, static_cast<int>(i / 24) + 1));
    // Fresh snow of 100 kg/m3: a centimetre is a millimetre of water.
    if (h.snow_depth_cm && snow_before && *h.snow_depth_cm > *snow_before)
      to.snowfall_mm = static_cast<float>(*h.snow_depth_cm - *snow_before);
    snow_before = h.snow_depth_cm;
  }
  fill_cloud(file, sun, out);
  if (cold_missing > 24 * 5)
    return fail(Code::bad_input,
                {"error.weather_temperatures_missing", {Arg::figure(cold_missing, 0)}}, "weather");
  const auto said = [&](Sentence message) {
    out.said.push_back({Code::bad_input, std::move(message), "weather"});
  };
  if (cold_missing) said({"error.borrowed_temperature", {Arg::figure(cold_missing, 0)}});
  if (damp_missing) said({"error.borrowed_humidity", {Arg::figure(damp_missing, 0)}});
  if (wind_missing) said({"error.borrowed_wind", {Arg::figure(wind_missing, 0)}});
  if (std::abs(higher) > 10)
    said({"error.temperatures_brought",
          {Arg::figure(higher, 0), Arg::figure(-kLapse_k_m * higher, 1)}});
  return out;
}

}  // namespace horizon
