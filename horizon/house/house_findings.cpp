#include "horizon/house/house_findings.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <iterator>

#include "horizon/house/house_draws.h"
#include "horizon/house/ventilation.h"
#include "horizon/light/uncertainty.h"
#include "horizon/parallel.h"
#include "horizon/time.h"

namespace horizon {
namespace {

constexpr double kLow = 0.05, kHigh = 0.95;
constexpr int kPreviewBand = 4, kBandDraws = 12, kSummers = 3, kSummerRunIn_h = 45 * 24;

Ranged ranged(const std::vector<double>& values) {
  if (values.empty()) return {};
  return {quantile(values, 0.5), end_of_range(values, kLow), end_of_range(values, kHigh)};
}

template <class Get>
std::vector<double> each(const std::vector<Winter>& winters, Get get) {
  std::vector<double> out;
  for (const Winter& w : winters) out.push_back(get(w));
  return out;
}

int day_after(const HouseClimate& c, int index) { return (c.first_day + index) % 365 + 1; }

// How much of the lowest inside's spread goes with each thing that was drawn.
std::vector<Driver> drivers_of(const std::vector<Winter>& winters) {
  std::vector<Driver> out;
  const auto add = [&](const char* what, auto get) {
    double mx = 0, my = 0;
    const double n = static_cast<double>(winters.size());
    for (const Winter& w : winters) mx += get(w) / n, my += w.lowest_c / n;
    double xx = 0, yy = 0, xy = 0;
    for (const Winter& w : winters) {
      const double x = get(w) - mx, y = w.lowest_c - my;
      xx += x * x;
      yy += y * y;
      xy += x * y;
    }
    if (xx > 0 && yy > 0) out.push_back({what, xy * xy / (xx * yy)});
  };
  add("winter", [](const Winter& w) { return w.outside_c - w.drawn.warmer_k; });
  add("air_changes", [](const Winter& w) { return std::log(w.drawn.house.air_changes_h + 1e-9); });
  add("pane", [](const Winter& w) { return w.drawn.house.pane_m2kw; });
  add("walls", [](const Winter& w) { return w.drawn.house.wall_m2kw; });
  add("night_cover", [](const Winter& w) { return w.drawn.house.night_m2kw; });
  add("ground", [](const Winter& w) { return w.drawn.house.soil_w_mk; });
  add("light", [](const Winter& w) { return w.drawn.house.light_left; });
  add("site_air", [](const Winter& w) { return w.drawn.warmer_k; });
  std::sort(out.begin(), out.end(),
            [](const Driver& a, const Driver& b) { return a.share > b.share; });
  return out;
}

void count_cold(const std::vector<Winter>& winters, HouseFindings& out) {
  out.coldest_inside_c = ranged(each(winters, [](const Winter& w) { return w.lowest_c; }));
  out.coldest_soil_c = ranged(each(winters, [](const Winter& w) { return w.lowest_soil_c; }));
  out.outside_low_c = ranged(each(winters, [](const Winter& w) { return w.outside_c; }));
  out.condensing_h = ranged(each(winters, [](const Winter& w) { return w.condensing_h; }));
  for (int i = 0; i < 3; ++i) {
    out.below[i].limit_c = kColdLimits_c[i];
    out.below[i].hours = ranged(each(winters, [i](const Winter& w) { return w.hours_below[i]; }));
    out.below[i].nights = ranged(each(winters, [i](const Winter& w) { return w.nights_below[i]; }));
  }
}

// Seven days round each day, the row's ends shorter.
std::vector<double> week_means(const std::vector<float>& daily) {
  const int n = static_cast<int>(daily.size());
  std::vector<double> out(n);
  for (int d = 0; d < n; ++d) {
    double sum = 0;
    int count = 0;
    for (int k = std::max(0, d - 3); k <= std::min(n - 1, d + 3); ++k) sum += daily[k], ++count;
    out[d] = sum / count;
  }
  return out;
}

std::vector<float> mean_of(const std::vector<Winter>& winters, std::vector<float> Winter::*part) {
  std::vector<float> out((winters[0].*part).size());
  for (const Winter& w : winters)
    for (size_t d = 0; d < out.size(); ++d)
      out[d] += (w.*part)[d] / static_cast<float>(winters.size());
  return out;
}

struct Spell {
  int from = 0, days = 0;
};
template <class Test>
Spell longest_run(int n, Test test) {
  Spell best;
  int from = 0;
  for (int d = 0; d <= n; ++d) {
    if (d < n && test(d)) continue;
    if (d - from > best.days) best = {from, d - from};
    from = d + 1;
  }
  return best;
}

void crops_of(const HouseClimate& c, const std::vector<Winter>& winters, HouseFindings& out) {
  const std::vector<double> light = week_means(mean_of(winters, &Winter::day_mol)),
                            warmth = week_means(mean_of(winters, &Winter::day_mean_c));
  const int n = static_cast<int>(light.size());
  const auto crops = crops_in_the_cold();
  for (size_t i = 0; i < crops.size(); ++i) {
    CropOdds odds;
    odds.crop = crops[i];
    std::vector<double> margins;
    for (const Winter& w : winters) {
      odds.lives_share += w.fates[i].lives / static_cast<double>(winters.size());
      margins.push_back(w.fates[i].nearest_k);
    }
    odds.margin_k = ranged(margins);
    int from = -1;
    for (int d = 0; d <= n; ++d) {
      const bool grows =
          d < n && light[d] >= odds.crop.light_mol && warmth[d] >= odds.crop.grows_from_c;
      if (grows && from < 0) from = d;
      if (!grows && from >= 0) {
        odds.grows.push_back({day_after(c, from), day_after(c, d - 1)});
        odds.growing_days += d - from;
        from = -1;
      }
    }
    out.crops.push_back(odds);
  }
  const auto still = [&](const std::vector<double>& l, const std::vector<double>& t) {
    return longest_run(n, [&](int d) {
      return std::none_of(crops.begin(), crops.end(), [&](const CropCold& crop) {
        return l[d] >= crop.light_mol && t[d] >= crop.grows_from_c;
      });
    });
  };
  const Spell spell = still(light, warmth);
  if (spell.days == 0) return;
  StillSpell s;
  s.days = spell.days;
  s.from_day = day_after(c, spell.from);
  s.to_day = day_after(c, spell.from + spell.days - 1);
  double least = 1e9;
  for (const CropCold& crop : crops) least = std::min(least, crop.light_mol);
  for (int d = spell.from; d < spell.from + spell.days; ++d)
    s.light_share += (light[d] < least) / static_cast<double>(spell.days);
  std::vector<double> from, to;
  for (const Winter& w : winters) {
    const Spell one = still(week_means(w.day_mol), week_means(w.day_mean_c));
    if (one.days == 0) continue;
    from.push_back(one.from);
    to.push_back(one.from + one.days - 1);
  }
  if (!from.empty()) {
    const auto day = [&](const std::vector<double>& v, double share) {
      return day_after(c, static_cast<int>(std::lround(quantile(v, share))));
    };
    s.from_low_day = day(from, kLow);
    s.from_high_day = day(from, kHigh);
    s.to_low_day = day(to, kLow);
    s.to_high_day = day(to, kHigh);
  }
  out.still = s;
}

// What `some` makes of `count` things, as many a time as live side by side, on several threads.
template <class Made, class Some>
std::vector<Made> by_lanes(size_t count, Some some) {
  constexpr size_t kTogether = Lanes::kCount;
  std::vector<std::vector<Made>> parts((count + kTogether - 1) / kTogether);
  in_parallel(static_cast<int>(parts.size()), [&](int p) {
    const size_t from = static_cast<size_t>(p) * kTogether;
    parts[static_cast<size_t>(p)] = some(from, std::min(count, from + kTogether));
  });
  std::vector<Made> out;
  for (auto& part : parts) std::move(part.begin(), part.end(), std::back_inserter(out));
  return out;
}

// The coldest week of the winter in the middle of all, with the band of the house's own errors.
void coldest_week(const HouseInput& input, const HouseClimate& c,
                  const std::vector<Winter>& winters, HouseFindings& out) {
  const double middle = out.coldest_inside_c.value;
  const auto at =
      std::min_element(winters.begin(), winters.end(), [&](const auto& a, const auto& b) {
        return std::abs(a.lowest_c - middle) < std::abs(b.lowest_c - middle);
      });
  // Not beyond the week: its coldest hour lies in the winter's coldest day.
  constexpr int kHours = kWinterDays * 24;
  const auto& daily = at->day_low_c;
  const auto coldest = std::min_element(daily.begin(), daily.end()) - daily.begin();
  const int lived = std::max(168, std::min(kHours, (static_cast<int>(coldest) + 4) * 24));
  HouseWeather weather = c.draws->draw(at->drawn.weather_seed, c.first_day, kWinterDays);
  weather.hours.resize(static_cast<size_t>(lived));
  std::vector<DrawnHouse> drawn = {at->drawn};
  for (int i = 0; i < (input.preview ? kPreviewBand : kBandDraws); ++i) {
    drawn.push_back(drawn_house(input, input.seed + 7000 + i));
    drawn.back().warmer_k = at->drawn.warmer_k;
  }
  std::vector<DrawnRun> all;
  for (const DrawnHouse& one : drawn) all.push_back({&one, &weather});
  const std::vector<HouseRun> runs = run_drawn(all, c);
  const auto& lows = runs[0].low_c;
  const int lowest = static_cast<int>(std::min_element(lows.begin(), lows.end()) - lows.begin());
  const int from = std::clamp(lowest / 24 * 24 - 72, 0, kHours - 168);
  out.week.first_hour = (c.first_day * 24 + from) % 8760;
  out.week.lowest = lowest - from;
  for (int h = from; h < from + 168; ++h) {
    std::vector<double> band;
    for (const HouseRun& run : runs) band.push_back(run.inside_c[h]);
    out.week.inside_c.push_back(runs[0].inside_c[h]);
    out.week.low_c.push_back(static_cast<float>(end_of_range(band, kLow)));
    out.week.high_c.push_back(static_cast<float>(end_of_range(band, kHigh)));
    out.week.outside_c.push_back(runs[0].outside_c[h]);
    out.week.soil_c.push_back(runs[0].soil_c[h]);
  }
}

// The coldest spell of a drawn winter brought to the design low.
void design_winter(const HouseInput& input, const HouseClimate& c,
                   const std::vector<Winter>& winters, HouseFindings& out) {
  out.design.drawn = !input.design_low_c;
  out.design.outside_c = input.design_low_c.value_or(
      quantile(each(winters, [](const Winter& w) { return w.outside_c; }), 1.0 / 30));
  std::vector<const Winter*> near;
  for (const Winter& w : winters) near.push_back(&w);
  std::sort(near.begin(), near.end(), [&](const Winter* a, const Winter* b) {
    return std::abs(a->outside_c - out.design.outside_c) <
           std::abs(b->outside_c - out.design.outside_c);
  });
  std::vector<double> inside, soil;
  std::vector<DrawnHouse> drawn;
  for (size_t i = 0; i < std::min<size_t>(near.size(), kBandDraws); ++i)
    drawn.push_back(near[i]->drawn);
  std::vector<HouseWeather> weathers = weathers_of(drawn, c);
  std::vector<DrawnRun> all;
  for (size_t i = 0; i < drawn.size(); ++i) {
    shift_to_low(weathers[i], out.design.outside_c - drawn[i].warmer_k);
    all.push_back({&drawn[i], &weathers[i]});
  }
  for (const HouseRun& run : run_drawn(all, c)) {
    inside.push_back(*std::min_element(run.low_c.begin(), run.low_c.end()));
    soil.push_back(*std::min_element(run.soil_c.begin(), run.soil_c.end()));
  }
  out.design.inside_c = ranged(inside);
  out.design.soil_c = ranged(soil);
}

void whole_year(const HouseInput& input, const HouseClimate& c, HouseFindings& out) {
  HouseWeather year = c.file ? *c.file : c.draws->draw(input.seed + 31, 0, 365);
  const size_t n = year.hours.size();
  year.hours.insert(year.hours.end(), year.hours.begin(), year.hours.begin() + n);
  RunSettings settings;
  settings.run_in_h = static_cast<int>(n);
  const HouseRun run = run_house(input.house, c.sun, year, settings);
  const auto days = [&](const std::vector<float>& hours, double factor) {
    std::vector<float> daily(365);
    for (size_t h = 0; h < n; ++h) daily[h / 24] += static_cast<float>(hours[h] * factor);
    return daily;
  };
  out.days.inside_c = days(run.inside_c, 1 / 24.0);
  out.days.outside_c = days(run.outside_c, 1 / 24.0);
  out.days.soil_c = days(run.soil_c, 1 / 24.0);
  out.days.mol_m2 = days(run.bed_wm2, 3600e-6 * kPhotonsPerMegajoule);
  out.days.lowest_c.assign(365, 99);
  for (size_t h = 0; h < n; ++h)
    out.days.lowest_c[h / 24] = std::min(out.days.lowest_c[h / 24], run.low_c[h]);
}

struct Summer {
  double hot_days = 0, area_m2 = 0;
  int no_vents_help_h = 0;
};
Summer summer_of(const HouseInput& input, const HouseWeather& weather, const HouseRun& as_is,
                 const HouseRun& free) {
  Summer out;
  for (size_t d = 0; d + 24 <= as_is.inside_c.size(); d += 24)
    out.hot_days +=
        *std::max_element(as_is.inside_c.begin() + d, as_is.inside_c.begin() + d + 24) > 35;
  std::vector<double> needed;
  for (size_t h = 0; h < free.vent_m3_s.size(); ++h) {
    const double outside = free.outside_c[h];
    if (outside > 28) {
      ++out.no_vents_help_h;
      continue;
    }
    if (free.vent_m3_s[h] > 0)
      needed.push_back(vent_area_m2(free.vent_m3_s[h], 0.7 * input.house.ridge_m, 30, outside,
                                    weather.hours[h + kSummerRunIn_h].wind_ms,
                                    breeze_is_straight(input.breeze_angle_deg)));
  }
  out.area_m2 = needed.empty() ? 0 : quantile(needed, 0.98);
  return out;
}

void summers(const HouseInput& input, const HouseClimate& c, HouseFindings& out) {
  const int from = c.first_day == 243 ? 59 : 243;
  House open = input.house;
  open.vent_above_c = 30;
  RunSettings settings;
  settings.run_in_h = kSummerRunIn_h;
  RunSettings free = settings;
  free.any_vents = true;
  std::array<HouseWeather, kSummers> weathers;
  std::vector<HouseJob> jobs;
  for (size_t i = 0; i < kSummers; ++i) {
    weathers[i] = c.draws->draw(input.seed + 500 + static_cast<std::uint32_t>(i), from, 230);
    jobs.push_back({&input.house, &c.sun, &weathers[i], settings});
    jobs.push_back({&open, &c.sun, &weathers[i], free});
  }
  const std::vector<HouseRun> runs = run_houses(jobs);
  std::vector<double> hot, area;
  for (size_t i = 0; i < kSummers; ++i) {
    const Summer one = summer_of(input, weathers[i], runs[2 * i], runs[2 * i + 1]);
    hot.push_back(one.hot_days);
    area.push_back(one.area_m2);
    out.no_vents_help_h += one.no_vents_help_h / static_cast<double>(kSummers);
  }
  const auto spread = [](const std::vector<double>& v) {
    return Ranged{quantile(v, 0.5), *std::min_element(v.begin(), v.end()),
                  *std::max_element(v.begin(), v.end())};
  };
  out.hot_days = spread(hot);
  out.vents_m2 = spread(area);
}

}  // namespace

bool breeze_is_straight(std::optional<double> angle_deg) {
  constexpr double kSquare_deg = 22.5;
  return angle_deg && std::min(*angle_deg, 90 - *angle_deg) <= kSquare_deg;
}

Result<void> check_house_input(const HouseInput& input) {
  if (auto ok = check_house(input.house); !ok) return ok;
  if (!input.weather && (!input.normals || !input.light))
    return fail(Code::bad_input, "error.house_needs_weather", "weather");
  if (input.winters < 1 || input.winters > 5000)
    return fail(Code::bad_input, "error.winters_range", "winters");
  if (input.design_low_c && !(*input.design_low_c > -80 && *input.design_low_c < 30))
    return fail(Code::bad_input, "error.design_low_range", "design low");
  return {};
}

Result<HouseFindings> house_findings(const HouseInput& input) {
  if (auto ok = check_house_input(input); !ok) return tl::unexpected(ok.error());
  auto climate = house_climate(input);
  if (!climate) return tl::unexpected(climate.error());
  const HouseClimate& c = *climate;
  HouseFindings out;
  out.house = input.house;
  out.shape = shape_of(input.house);
  out.source = c.source;
  out.breeze_angle_deg = input.breeze_angle_deg;
  out.from_file = c.file != nullptr;
  out.said = c.said;
  if (!input.height_known)
    out.said.insert(out.said.begin(), {Code::bad_input, "error.house_height_unknown", "weather"});
  out.winters = input.winters;
  const double whole = out.winters * (input.preview ? 1.0 : 1.8) + 1;
  const auto told = [&](double done) {
    return !input.progress || input.progress(std::min(1.0, done / whole));
  };
  const auto stopped = fail(Code::failed, "error.cancelled", "house");

  std::vector<DrawnHouse> drawn;
  for (int i = 0; i < out.winters; ++i) drawn.push_back(drawn_house(input, input.seed + 1 + i));
  // Only the caller's own thread tells how far it is, and hears that it is to stop.
  const auto caller = std::this_thread::get_id();
  std::atomic<int> lived{0};
  std::atomic<bool> stop{false};
  const auto winters = by_lanes<Winter>(drawn.size(), [&](size_t from, size_t to) {
    if (std::this_thread::get_id() == caller && !told(lived)) stop = true;
    if (stop) return std::vector<Winter>();
    auto some = winters_of(std::span(drawn).subspan(from, to - from), c);
    lived += static_cast<int>(some.size());
    return some;
  });
  if (stop || !told(out.winters)) return stopped;
  count_cold(winters, out);
  crops_of(c, winters, out);
  out.drivers = drivers_of(winters);
  if (input.preview) {
    coldest_week(input, c, winters, out);
    return out;
  }
  // Each fills its own part.
  HelpTrials trials(input, c, winters);
  const std::array<std::function<void()>, 4> parts = {
      [&] { whole_year(input, c, out); },
      [&] { coldest_week(input, c, winters, out); },
      [&] { design_winter(input, c, winters, out); },
      [&] { summers(input, c, out); },
  };
  const int first = static_cast<int>(parts.size()), all = first + trials.count();
  std::atomic<int> done{0};
  in_parallel(all, [&](int i) {
    if (std::this_thread::get_id() == caller &&
        !told(out.winters * (1 + 0.8 * done / static_cast<double>(all))))
      stop = true;
    if (stop) return;
    if (i < first)
      parts[static_cast<size_t>(i)]();
    else
      trials.run(i - first);
    ++done;
  });
  if (stop) return stopped;
  out.helps = trials.most_first();
  told(whole);
  return out;
}

}  // namespace horizon
