#include "horizon/house/climate_draws.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "horizon/house/air.h"
#include "horizon/house/sky_temperature.h"
#include "horizon/light/clear_sky.h"
#include "horizon/light/decomposition.h"
#include "horizon/light/sky_steps.h"
#include "horizon/light/solar_terms.h"
#include "horizon/light/uncertainty.h"

namespace horizon {
namespace {

constexpr int kDays = 365, kRanks = 101;
constexpr double kClearnessMemory = 0.29, kLeastClearness = 0.05, kClearDay = 0.75;
// Lowest night of 30 winters below the mean minimum, in standard deviations of daily means that
// remember one another (some 25 free days a winter): the expected extreme of 750.
constexpr double kRecordSigmas = 3.1;
constexpr double kWetDays = 0.3;
constexpr double kClearTurbidity =
    2;  // of Linke; the same limit as of the mean sky (sky_steps.cpp)
// In three typical years -0.3 to 0.3 in winter, 0.4 to 0.7 in summer.
constexpr double kWarmWhenClearInSummer = 0.5;

// Bendt's distribution: F(K) = (e^(g Kmin) - e^(g K)) / (e^(g Kmin) - e^(g Kmax)).
std::vector<double> clearness_ranks(double mean) {
  mean = std::clamp(mean, 0.12, 0.78);
  const double least = kLeastClearness;
  const double most = std::clamp(
      0.6313 + 0.267 * mean - 11.9 * std::pow(std::max(0.0, mean - 0.75), 8), mean + 0.03, 0.85);
  const auto at = [&](double g, double f) {
    if (std::abs(g) < 1e-6) return least + f * (most - least);
    // e^(g least) - f (e^(g least) - e^(g most)), kept from running over.
    return g > 0 ? most + std::log((1 - f) * std::exp(g * (least - most)) + f) / g
                 : least + std::log((1 - f) + f * std::exp(g * (most - least))) / g;
  };
  double low = -80, high = 80;
  for (int i = 0; i < 60; ++i) {
    const double g = (low + high) / 2;
    double sum = 0;
    for (int k = 0; k < 200; ++k) sum += at(g, (k + 0.5) / 200) / 200;
    (sum < mean ? low : high) = g;
  }
  std::vector<double> ranks(kRanks);
  for (int k = 0; k < kRanks; ++k) ranks[k] = at((low + high) / 2, k / (kRanks - 1.0));
  return ranks;
}

double normal_share(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

void standardise(std::vector<double>& values) {
  if (values.size() < 2) return values.clear();
  const double n = static_cast<double>(values.size());
  double mean = 0, square = 0;
  for (const double v : values) mean += v / n;
  for (const double v : values) square += (v - mean) * (v - mean) / n;
  if (!(square > 0)) return values.clear();
  for (double& v : values) v = (v - mean) / std::sqrt(square);
  std::sort(values.begin(), values.end());
}

double rank_of(const std::vector<double>& ranks, double share) {
  const double x = std::clamp(share, 0.0, 1.0) * (kRanks - 1);
  const int i = std::min(static_cast<int>(x), kRanks - 2);
  return ranks[i] + (x - i) * (ranks[i + 1] - ranks[i]);
}

Monthly filled(const std::array<std::optional<double>, 12>& values, double otherwise, bool& any) {
  Monthly out{};
  for (int m = 0; m < 12; ++m) {
    out[m] = values[m].value_or(otherwise);
    any = any || !values[m];
  }
  return out;
}

}  // namespace

Result<ClimateMonths> climate_of(const NormalsEntry& normals, const MonthlyNormals& light,
                                 const Place& site) {
  ClimateMonths out;
  out.source = light.source;
  const auto said = [&](Sentence message) {
    out.said.push_back({Code::bad_input, std::move(message), "monthly normals"});
  };
  const double higher = normals.height_m ? site.height_m - *normals.height_m : 0;
  if (std::abs(higher) > 2000)
    return fail(Code::bad_input, "error.normals_too_far_in_height", "monthly normals");
  bool no_swing = false, no_record = false, no_wind = false, no_snow = false;
  for (int m = 0; m < 12; ++m) {
    std::optional<double> mean = normals.mean_c[m];
    if (!mean && normals.min_c[m] && normals.max_c[m])
      mean = (*normals.min_c[m] + *normals.max_c[m]) / 2;
    if (!mean) return fail(Code::bad_input, "error.house_needs_temperatures", "monthly normals");
    if (!(*mean > -70 && *mean < 50))
      return fail(Code::bad_input, "error.month_mean_range", "monthly normals");
    out.mean_c[m] = *mean - kLapse_k_m * higher;
    out.warm_when_clear[m] = *mean > 10 ? kWarmWhenClearInSummer : 0;
    out.swing_k[m] = 10;
    if (normals.min_c[m] && normals.max_c[m] && *normals.max_c[m] > *normals.min_c[m])
      out.swing_k[m] = *normals.max_c[m] - *normals.min_c[m];
    else
      no_swing = true;
    const double low = *mean - out.swing_k[m] / 2;
    if (normals.coldest_c[m] && *normals.coldest_c[m] < low) {
      out.day_sd_k[m] = std::clamp((low - *normals.coldest_c[m]) / kRecordSigmas, 1.5, 8.0);
    } else {
      const bool cold = *mean < 5;
      out.day_sd_k[m] = cold ? 5 : 3.5;
      no_record = true;
    }
  }
  out.clearness = monthly_clearness(light, site.latitude_deg);
  out.wind_ms = filled(normals.wind_ms, 2, no_wind);
  out.snow_mm = filled(normals.precipitation_mm, 0, no_snow);
  if (std::abs(higher) > 10) {
    said({"error.temperatures_brought",
          {Arg::figure(higher, 0), Arg::figure(-kLapse_k_m * higher, 1)}});
  }
  if (no_swing) said("error.assumed_swing");
  // [common practice] Days of cold winters spread by 4 to 8 K about their month; a record is of some
  // years, few or many.
  out.sd_log = no_record ? 0.25 : 0.1;
  if (no_record) said("error.assumed_record");
  if (no_wind) said("error.assumed_wind");
  if (no_snow) said("error.assumed_no_snow");
  return out;
}

ClimateMonths climate_of(const HouseWeather& year, const SiteSun& sun) {
  ClimateMonths out;
  out.source = year.source;
  std::array<double, 12> days{}, outside{}, global{};
  std::vector<double> mean(kDays), clear(kDays);
  for (int d = 0; d < kDays; ++d) {
    const int m = month_of_hour(d * 24);
    double low = 99, high = -99, wind = 0;
    for (int h = d * 24; h < d * 24 + 24; ++h) {
      const HouseHour& w = year.hours[h];
      mean[d] += w.air_c / 24;
      low = std::min<double>(low, w.air_c);
      high = std::max<double>(high, w.air_c);
      wind += w.wind_ms / 24;
      global[m] += w.global;
      out.snow_mm[m] += w.snowfall_mm;
    }
    const double most =
        daily_extraterrestrial_mj(sun.steps().place.latitude_deg, declination_spencer_deg(d + 1),
                                  kSolarConstant_wm2 * distance_factor(d + 1)) /
        3.6e-3;
    outside[m] += most;
    for (int h = d * 24; h < d * 24 + 24 && most > 0; ++h) clear[d] += year.hours[h].global / most;
    out.mean_c[m] += mean[d];
    out.swing_k[m] += high - low;
    out.wind_ms[m] += wind;
    ++days[m];
  }
  for (int m = 0; m < 12; ++m) {
    out.mean_c[m] /= days[m];
    out.swing_k[m] /= days[m];
    out.wind_ms[m] /= days[m];
    out.clearness[m] = outside[m] > 0 ? std::clamp(global[m] / outside[m], 0.0, 0.85) : 0;
  }
  const std::vector<double> smooth = smooth_days(out.mean_c, sun.steps());
  std::array<double, 12> square{};
  double yearly = 0;
  for (const double m : out.mean_c) yearly += m / 12;
  double both = 0, alone = 0;
  for (int d = 0; d < kDays; ++d) {
    const int m = month_of_hour(d * 24);
    const double off = mean[d] - smooth[d];
    square[m] += off * off;
    if (d > 0) both += off * (mean[d - 1] - smooth[d - 1]);
    alone += off * off;
  }
  for (int m = 0; m < 12; ++m) {
    // Three months together: thirty days alone say little.
    const int a = (m + 11) % 12, b = (m + 1) % 12;
    out.day_sd_k[m] =
        std::sqrt((square[a] + square[m] + square[b]) / (days[a] + days[m] + days[b]));
  }
  // By half years: a season's ninety days are few enough.
  out.warm_after_clear.emplace();
  for (const bool warm : {false, true}) {
    double t2 = 0, c2 = 0, tc = 0, next = 0;
    std::vector<double>& departures = out.departures[warm];
    for (int d = 0; d < kDays; ++d) {
      const int m = month_of_hour(d * 24), e = (d + 1) % kDays;
      if ((out.mean_c[m] > yearly) != warm) continue;
      const double t = mean[d] - smooth[d], c = clear[d] - out.clearness[m];
      t2 += t * t;
      c2 += c * c;
      tc += t * c;
      next += (mean[e] - smooth[e]) * c;
      departures.push_back(t / std::max(0.1, out.day_sd_k[m]));
    }
    standardise(departures);
    for (int m = 0; m < 12; ++m) {
      if ((out.mean_c[m] > yearly) != warm || !(t2 > 0 && c2 > 0)) continue;
      out.warm_when_clear[m] = std::clamp(tc / std::sqrt(t2 * c2), -0.8, 0.8);
      (*out.warm_after_clear)[m] = std::clamp(next / std::sqrt(t2 * c2), -0.8, 0.8);
    }
  }
  // Some sixty free days in half a year tell a spread to a tenth, and years differ more than that.
  out.sd_log = 0.15;
  out.memory = alone > 0 ? std::clamp(both / alone, 0.4, 0.9) : 0.65;
  return out;
}

// Where an hour's end stands between the day's turning points.
void ClimateDraws::set_way(double at, float sunset_deg, Hour& hour) {
  const double sunrise = 12 - sunset_deg / 15, warmest = 14.5;
  double share;
  if (at <= sunrise) {
    hour.part = Hour::Part::before_dawn;
    share = (at + 24 - warmest) / (sunrise + 24 - warmest);
  } else if (at <= warmest) {
    hour.part = Hour::Part::warming;
    share = (at - sunrise) / (warmest - sunrise);
  } else {
    hour.part = Hour::Part::cooling;
    share = (at - warmest) / (sunrise + 24 - warmest);
  }
  hour.way = 1 - std::cos(share * M_PI);
}

ClimateDraws::ClimateDraws(const ClimateMonths& climate, const SiteSun& sun)
    : climate_(climate),
      sun_(&sun),
      hours_(8760),
      most_(8760),
      outside_wh_(kDays),
      sunset_deg_(kDays),
      mean_(smooth_days(climate.mean_c, sun.steps())),
      swing_(smooth_days(climate.swing_k, sun.steps())),
      sd_(smooth_days(climate.day_sd_k, sun.steps())) {
  const double latitude = sun.steps().place.latitude_deg;
  for (int d = 0; d < kDays; ++d) {
    const double declination = declination_spencer_deg(d + 1);
    const double sunset = sunset_hour_angle_deg(latitude, declination);
    sunset_deg_[d] = static_cast<float>(sunset);
    outside_wh_[d] =
        static_cast<float>(daily_extraterrestrial_mj(latitude, declination,
                                                     kSolarConstant_wm2 * distance_factor(d + 1)) /
                           3.6e-3);
    double global = 0, diffuse = 0;
    for (int h = 0; h < 24; ++h) set_way(h + 1, sunset_deg_[d], hours_[d * 24 + h]);
    for (int h = d * 24; h < d * 24 + 24; ++h) {
      const SiteSun::Hour& s = sun.hours()[h];
      hours_[h].sun = hour_sun(s.up, s.sunlit, d + 1);
      if (!(s.sunlit > 0)) continue;
      most_[h] =
          static_cast<float>(s.sunlit * esra_clear_sky(std::asin(std::min(1.0f, s.up)) / kDegree,
                                                       kClearTurbidity, sun.steps().place.height_m,
                                                       kSolarConstant_wm2 * distance_factor(d + 1))
                                            .beam_normal_wm2);
      // The sun's own clock from its height: before noon and after alike.
      const double phi = latitude * kDegree, dec = declination * kDegree;
      const double c = (s.up - std::sin(phi) * std::sin(dec)) / (std::cos(phi) * std::cos(dec));
      const double angle = std::acos(std::clamp(c, -1.0, 1.0)) / kDegree;
      hours_[h].global_share = static_cast<float>(
          s.sunlit * std::max(0.0, collares_pereira_rabl(std::min(angle, sunset), sunset)));
      hours_[h].diffuse_share = static_cast<float>(
          s.sunlit * std::max(0.0, liu_jordan_diffuse(std::min(angle, sunset), sunset)));
      global += hours_[h].global_share;
      diffuse += hours_[h].diffuse_share;
    }
    for (int h = d * 24; h < d * 24 + 24; ++h) {
      if (global > 0) hours_[h].global_share /= static_cast<float>(global);
      if (diffuse > 0) hours_[h].diffuse_share /= static_cast<float>(diffuse);
    }
  }
  double yearly = 0;
  for (const double m : climate.mean_c) yearly += m / 12;
  for (size_t half = 0; half < 2; ++half)
    set_departures(climate.departures[half], departures_[half]);
  for (size_t m = 0; m < 12; ++m) {
    warm_half_[m] = climate.mean_c[m] > yearly;
    clearness_[m] = clearness_ranks(climate.clearness[m]);
  }
}

// By rank; beyond the coldest and the warmest day of a year the normal law goes on from there.
void ClimateDraws::set_departures(const std::vector<double>& own, std::vector<double>& out) {
  for (int k = 0; k <= kDepartures; ++k) out.push_back(k * kDepartureStep - kDeparturesEnd);
  if (own.empty()) return;
  const double last = static_cast<double>(own.size()) - 1;
  const auto rank = [&](double normal) {
    return normal_share(normal) * static_cast<double>(own.size()) - 0.5;
  };
  double coldest = 0, warmest = 0;  // the normal's values of those days
  while (rank(coldest) > 0) coldest -= kDepartureStep / 10;
  while (rank(warmest) < last) warmest += kDepartureStep / 10;
  for (double& value : out) {
    const double at = rank(value);
    if (at <= 0) {
      value = own.front() + value - coldest;
    } else if (at >= last) {
      value = own.back() + value - warmest;
    } else {
      const auto k = static_cast<size_t>(at);
      value = own[k] + (at - static_cast<double>(k)) * (own[k + 1] - own[k]);
    }
  }
}

double ClimateDraws::departure(double normal, int month) const {
  const double at = std::clamp((normal + kDeparturesEnd) / kDepartureStep, 0.0, kDepartures - 1e-6);
  const auto k = static_cast<size_t>(at);
  const std::vector<double>& table = departures_[warm_half_[static_cast<size_t>(month)]];
  return table[k] + (at - static_cast<double>(k)) * (table[k + 1] - table[k]);
}

std::vector<ClimateDraws::Day> ClimateDraws::days_of(Gauss& gauss, int first_day, int days,
                                                     double spread) const {
  const double memory = climate_.memory, fresh = std::sqrt(1 - memory * memory);
  const double sky_fresh = std::sqrt(1 - kClearnessMemory * kClearnessMemory);
  double warmth = gauss.next(), sky = gauss.next();
  std::vector<std::pair<double, double>> normal;  // of warmth and of clearness
  for (int i = 0; i <= days; ++i) {
    warmth = memory * warmth + fresh * gauss.next();
    sky = kClearnessMemory * sky + sky_fresh * gauss.next();
    normal.emplace_back(warmth, sky);
  }
  normal.emplace_back(memory * warmth, 0);
  std::vector<Day> out(static_cast<size_t>(days) + 1);
  for (size_t i = 0; i < out.size(); ++i) {
    const int d = (first_day + static_cast<int>(i)) % kDays, m = month_of_hour(d * 24);
    const double off = normal[i].first, next = normal[i + 1].first;
    // The regression of clearness on both days' warmth.
    const double same = climate_.warm_when_clear[m], after = climate_.warm_after_clear
                                                                 ? (*climate_.warm_after_clear)[m]
                                                                 : memory * same;
    const double a = (same - memory * after) / (1 - memory * memory),
                 b = (after - memory * same) / (1 - memory * memory);
    const double left = std::sqrt(std::max(0.1, 1 - a * same - b * after));
    const double clear =
        rank_of(clearness_[m], normal_share(a * off + b * next + left * normal[i].second));
    // A clear day swings more than a covered one, the month's mean kept.
    const double swing = swing_[d] * (0.5 + 0.5 * clear / std::max(0.1, climate_.clearness[m]));
    const double mean = mean_[d] + spread * sd_[d] * departure(off, m);
    out[i] = {mean - swing / 2, mean + swing / 2, clear};
  }
  return out;
}

std::vector<double> ClimateDraws::clearness(std::uint32_t seed, int first_day, int days) const {
  Gauss gauss(seed);
  std::vector<double> out;
  for (const Day& day : days_of(gauss, first_day, days, 1)) out.push_back(day.clearness);
  out.pop_back();
  return out;
}

void ClimateDraws::light_of(int d, double k, std::span<HouseHour> hours) const {
  const double day_wh = k * outside_wh_[d];
  const double diffuse_wh = day_wh * erbs_daily_diffuse_fraction(k, sunset_deg_[d]);
  for (int h = 0; h < 24; ++h) {
    const int hour = d * 24 + h;
    const SiteSun::Hour& s = sun_->hours()[hour];
    if (!(s.sunlit > 0)) continue;
    const double global = day_wh * hours_[hour].global_share;
    const double diffuse = std::min(global, diffuse_wh * hours_[hour].diffuse_share);
    const double beam = std::min<double>((global - diffuse) / std::max(0.02f, s.up), most_[hour]);
    set_light(hours[static_cast<size_t>(h)], beam, global - beam * s.up, hours_[hour].sun);
  }
}

HouseWeather ClimateDraws::draw(std::uint32_t seed, int first_day, int days) const {
  Gauss gauss(seed);
  HouseWeather out;
  out.first_hour = first_day % kDays * 24;
  out.pressure_pa = pressure_at_height_pa(std::clamp(sun_->steps().place.height_m, -400.0, 6000.0));
  out.source = climate_.source;
  out.hours.resize(static_cast<size_t>(days) * 24);
  Gauss apart(seed ^ 0x5eed5u);
  const std::vector<Day> range =
      days_of(gauss, first_day, days, std::exp(climate_.sd_log * apart.next()));
  for (int i = 0; i < days; ++i) {
    const int d = (first_day + i) % kDays, m = month_of_hour(d * 24);
    const double k = range[i].clearness;
    const double cloud = cloud_from_radiation(k / kClearDay);
    const double wind = climate_.wind_ms[m] * std::sqrt(std::abs(gauss.next()) + 0.2);
    const bool wet = normal_share(gauss.next()) < 2 * kWetDays * cloud;
    const std::array<std::pair<double, double>, 3> turning = {
        {{range[i ? i - 1 : 0].high, range[i].low},
         {range[i].low, range[i].high},
         {range[i].high, range[i + 1].low}}};
    for (int h = 0; h < 24; ++h) {
      HouseHour& w = out.hours[static_cast<size_t>(i) * 24 + h];
      const Hour& hour = hours_[d * 24 + h];
      const auto [from, to] = turning[static_cast<size_t>(hour.part)];
      w.air_c = static_cast<float>(from + (to - from) * hour.way / 2);
      w.dew_c = static_cast<float>(std::min<double>(w.air_c, range[i].low));
      w.wind_ms = static_cast<float>(wind);
      w.cloud = static_cast<float>(cloud);
      if (wet && w.air_c < 1)
        w.snowfall_mm = static_cast<float>(climate_.snow_mm[m] / (30.4 * kWetDays) / 24);
    }
    light_of(d, k, std::span(out.hours).subspan(static_cast<size_t>(i) * 24, 24));
  }
  return out;
}

}  // namespace horizon
