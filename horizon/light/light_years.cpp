#include "horizon/light/light_years.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "horizon/house/climate_draws.h"
#include "horizon/light/findings.h"
#include "horizon/light/uncertainty.h"
#include "horizon/skyline/mask.h"

namespace horizon {
namespace {

constexpr int kDays = 365, kSkies = 25;  // steps of clearness, straight between them
constexpr double kLeastClearness = 0.05, kMostClearness = 0.85;
constexpr double kStep_min = 10;
constexpr double kNever = std::numeric_limits<double>::infinity();

OfYears of_years(const std::vector<double>& values) {
  return {end_of_range(values, 0.1), end_of_range(values, 0.5), end_of_range(values, 0.9)};
}

// As end_of_range, where a year may lie at either end of time.
std::optional<double> end_of_dates(std::vector<double> dates, double share) {
  std::sort(dates.begin(), dates.end());
  const double n = static_cast<double>(dates.size());
  const double at = std::clamp(share * (n + 1) - 1, 0.0, n - 1);
  const auto low = static_cast<size_t>(at);
  const double part = at - static_cast<double>(low);
  const double a = dates[low], b = dates[std::min(low + 1, dates.size() - 1)];
  if (!std::isfinite(a) || (part > 0 && !std::isfinite(b))) return std::nullopt;
  return a + part * (part > 0 ? b - a : 0);
}

int day_round(int day) { return (day - 1 + 4 * kDays) % kDays + 1; }

// Days from one to another, half a year either way.
int away(int day, int from) {
  const int d = day_round(day - from + 1) - 1;
  return d > kDays / 2 ? d - kDays : d;
}

DayOfYears dates_of(const std::vector<double>& offsets, int from) {
  const auto day = [&](double share) -> std::optional<int> {
    const auto off = end_of_dates(offsets, share);
    if (!off) return std::nullopt;
    return day_round(from + static_cast<int>(std::lround(*off)));
  };
  return {day(0.1), day(0.5), day(0.9)};
}

using Seasons = std::vector<DaySpell>;

// Of means of 15 days.
Seasons seasons(const std::vector<double>& smooth, double need) {
  return seasons_of(spells_at_or_above(smooth, need), kDays);
}

const DaySpell* season_about(const Seasons& all, int middle) {
  for (const DaySpell& one : all)
    if (day_round(middle - one.from_day + 1) <= one.days(kDays)) return &one;
  return longest(all, kDays);
}

CropYears crop_years(const std::vector<std::vector<double>>& smooth,
                     const std::vector<double>& mean, double need) {
  CropYears out;
  std::vector<Seasons> years;
  for (const auto& year : smooth) years.push_back(seasons(year, need));
  // Dates are counted from those of the mean year, or of the first that has any.
  Seasons about = seasons(mean, need);
  const auto bounded = [](const Seasons& s) {
    return !s.empty() && longest(s, kDays)->days(kDays) < kDays;
  };
  for (size_t y = 0; !bounded(about) && y < years.size(); ++y)
    if (bounded(years[y])) about = years[y];
  const DaySpell usual = about.empty() ? DaySpell{} : *longest(about, kDays);
  const int middle = day_round(usual.from_day + usual.days(kDays) / 2);
  std::vector<double> first, last, days;
  for (const Seasons& year : years) {
    double sum = 0;
    for (const DaySpell& spell : year) sum += spell.days(kDays);
    days.push_back(sum);
    const DaySpell* season = season_about(year, middle);
    const bool always = season && season->days(kDays) >= kDays;
    out.never_share += !season;
    out.always_share += always;
    first.push_back(!season ? kNever : always ? -kNever : away(season->from_day, usual.from_day));
    last.push_back(!season ? -kNever : always ? kNever : away(season->to_day, usual.to_day));
  }
  out.never_share /= static_cast<double>(years.size());
  out.always_share /= static_cast<double>(years.size());
  out.first = dates_of(first, usual.from_day);
  out.last = dates_of(last, usual.to_day);
  out.days = of_years(days);
  return out;
}

std::vector<double> means_of_window(const std::vector<double>& daily) {
  std::vector<double> out(daily.size());
  constexpr int half = kYearsWindow_d / 2;
  double sum = 0;
  for (int d = -half; d < kDays + half; ++d) {
    sum += daily[static_cast<size_t>((d + kDays) % kDays)];
    if (d < half) continue;
    // Rounded: what was added and taken away again must not make half of the days a hair less.
    out[static_cast<size_t>(d - half)] = std::round(sum / kYearsWindow_d * 1e9) / 1e9;
    sum -= daily[static_cast<size_t>((d - 2 * half + kDays) % kDays)];
  }
  return out;
}

// The bed's photons of a day's hours of light.
class Bed {
 public:
  Bed(const StationInput& input, const Plane& plane, double utc_offset_h)
      : site_(
            sun_steps(input.place, days_in_year(input.year) == kDays ? input.year : input.year + 1,
                      utc_offset_h, kStep_min),
            input.skyline, masks_of(input.skyline), input.slope),
        shares_(site_.bed(plane, PaneAngles(input.glazing))),
        skyline_albedo_(input.skyline_albedo),
        mol_(input.frames_and_dirt * 3600e-6 * kPhotonsPerMegajoule) {}
  const SiteSun& site() const { return site_; }
  double mol_m2(int day, std::span<const HouseHour> hours) const {
    const auto month = static_cast<size_t>(month_of_hour(day * 24));
    double wh = 0;
    for (size_t h = 0; h < 24; ++h) {
      const HouseHour& w = hours[h];
      wh += w.sun_normal * shares_.sun[static_cast<size_t>(day) * 24 + h].through +
            w.isotropic * shares_.sky[month].through +
            skyline_albedo_ * w.global * shares_.skyline[month].through +
            w.band * shares_.band.through;
    }
    return std::max(0.0, wh) * mol_;
  }

 private:
  SiteSun site_;
  PlaneHours shares_;
  double skyline_albedo_, mol_;
};

std::vector<double> of_hours(const Bed& bed, const std::vector<WeatherHour>& hours) {
  std::vector<double> out(kDays);
  std::array<HouseHour, 24> light;
  for (int d = 0; d < kDays; ++d) {
    for (int h = 0; h < 24; ++h) {
      const auto at = static_cast<size_t>(d * 24 + h);
      const SiteSun::Hour& s = bed.site().hours()[at];
      set_light(light[static_cast<size_t>(h)], std::min(hours[at].beam_normal_wm2, 1400.0),
                hours[at].diffuse_horizontal_wm2, hour_sun(s.up, s.sunlit, d + 1));
    }
    out[static_cast<size_t>(d)] = bed.mol_m2(d, light);
  }
  return out;
}

// The month's mean clearness out of a file's hours.
Monthly clearness_of(const WeatherYear& weather, double latitude_deg) {
  MonthlyNormals means{MonthlyNormals::What::global_kwh_m2_day, {}, 0.25, 0.5, {}};
  const auto add = [&](const std::vector<WeatherHour>& hours, double share) {
    for (size_t h = 0; h < hours.size(); ++h) {
      const auto m = static_cast<size_t>(month_of_hour(static_cast<int>(h)));
      constexpr int kLengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
      means.values[m] += hours[h].global_horizontal_wm2 * share / 1000 / kLengths[m];
    }
  };
  if (weather.years.empty()) add(weather.hours, 1);
  for (const auto& year : weather.years) add(year, 1 / static_cast<double>(weather.years.size()));
  return monthly_clearness(means, latitude_deg);
}

std::vector<std::vector<double>> drawn_years(const Bed& bed, const ClimateMonths& climate,
                                             std::uint32_t seed) {
  const ClimateDraws draws(climate, bed.site());
  constexpr double step = (kMostClearness - kLeastClearness) / (kSkies - 1);
  std::vector<std::array<double, kSkies>> by_sky(kDays);
  for (int d = 0; d < kDays; ++d)
    for (int k = 0; k < kSkies; ++k) {
      std::array<HouseHour, 24> light{};
      draws.light_of(d, kLeastClearness + step * k, light);
      by_sky[static_cast<size_t>(d)][static_cast<size_t>(k)] = bed.mol_m2(d, light);
    }
  std::vector<std::vector<double>> out;
  for (int y = 0; y < kDrawnYears; ++y) {
    const auto clear = draws.clearness(seed + static_cast<std::uint32_t>(y), 0, kDays);
    std::vector<double> year(kDays);
    for (size_t d = 0; d < year.size(); ++d) {
      const double x = std::clamp((clear[d] - kLeastClearness) / step, 0.0, kSkies - 1.0);
      const auto i = std::min(static_cast<size_t>(x), static_cast<size_t>(kSkies - 2));
      year[d] = by_sky[d][i] + (x - static_cast<double>(i)) * (by_sky[d][i + 1] - by_sky[d][i]);
    }
    out.push_back(std::move(year));
  }
  return out;
}

// The file's own hours know the level, the draws how far years differ: each month's mean of all drawn
// years becomes that of the file.
void level_to(const std::vector<double>& file, std::vector<std::vector<double>>& drawn) {
  std::array<double, 12> wanted{}, found{};
  for (size_t d = 0; d < file.size(); ++d) {
    const auto m = static_cast<size_t>(month_of_hour(static_cast<int>(d) * 24));
    wanted[m] += file[d];
    for (const auto& year : drawn) found[m] += year[d] / static_cast<double>(drawn.size());
  }
  for (auto& year : drawn)
    for (size_t d = 0; d < year.size(); ++d) {
      const auto m = static_cast<size_t>(month_of_hour(static_cast<int>(d) * 24));
      if (found[m] > 0) year[d] *= wanted[m] / found[m];
    }
}

}  // namespace

LightYears light_years(const std::vector<std::vector<double>>& daily,
                       const std::vector<CropNeed>& needs) {
  LightYears out;
  out.years = static_cast<int>(daily.size());
  out.low_mol.resize(kDays);
  out.high_mol.resize(kDays);
  std::vector<double> mean(kDays);
  std::array<std::vector<double>, 12> months;
  std::vector<std::vector<double>> smooth;
  for (const auto& year : daily) {
    std::array<double, 12> sums{};
    std::array<int, 12> lengths{};
    for (size_t d = 0; d < year.size(); ++d) {
      mean[d] += year[d] / static_cast<double>(daily.size());
      const auto m = static_cast<size_t>(month_of_hour(static_cast<int>(d) * 24));
      sums[m] += year[d];
      ++lengths[m];
    }
    for (size_t m = 0; m < 12; ++m) months[m].push_back(sums[m] / lengths[m]);
    smooth.push_back(means_of_window(year));
  }
  for (size_t m = 0; m < 12; ++m) out.inside_mol_m2_day[m] = of_years(months[m]);
  std::vector<double> day(daily.size());
  for (size_t d = 0; d < kDays; ++d) {
    for (size_t y = 0; y < smooth.size(); ++y) day[y] = smooth[y][d];
    out.low_mol[d] = end_of_range(day, 0.1);
    out.high_mol[d] = end_of_range(day, 0.9);
  }
  const std::vector<double> smooth_mean = means_of_window(mean);
  for (const CropNeed& need : needs)
    out.crops.push_back(crop_years(smooth, smooth_mean, need.mol_m2_day));
  return out;
}

std::optional<LightYears> light_years(const StationInput& input, const Plane& plane) {
  if (input.sky.source == SkySource::clear) return std::nullopt;
  const WeatherYear* weather =
      input.sky.source == SkySource::weather ? input.sky.weather.get() : nullptr;
  const Bed bed(input, plane, weather ? weather->utc_offset_h : input.utc_offset_h);
  if (weather && weather->years.size() >= kYearsThatCount) {
    std::vector<std::vector<double>> daily;
    for (const auto& year : weather->years) daily.push_back(of_hours(bed, year));
    LightYears out = light_years(daily, input.needs);
    out.drawn = false;
    return out;
  }
  ClimateMonths climate;
  climate.clearness = weather ? clearness_of(*weather, input.place.latitude_deg)
                              : monthly_clearness(*input.sky.normals, input.place.latitude_deg);
  auto drawn = drawn_years(bed, climate, input.seed);
  if (weather) level_to(of_hours(bed, weather->hours), drawn);
  return light_years(drawn, input.needs);
}

}  // namespace horizon
