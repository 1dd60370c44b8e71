#include "horizon/ground/cold.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

namespace horizon {
namespace {

constexpr int kYearsForChances = 10;
constexpr size_t kDaysOfAYear = 360;  // five may be missing

int year_of(const DayTemperature& day) { return static_cast<int>(day.date.year()); }

// The days by the years of the record that are whole enough.
std::map<int, std::vector<const DayTemperature*>> by_year(std::span<const DayTemperature> days,
                                                          bool from_july = false) {
  std::map<int, std::vector<const DayTemperature*>> years;
  for (const DayTemperature& day : days)
    years[year_of(day) - (from_july && static_cast<unsigned>(day.date.month()) < 7)].push_back(
        &day);
  std::erase_if(years, [](const auto& year) { return year.second.size() < kDaysOfAYear; });
  return years;
}

// A typical year joins months of several years; its days then count as one.
std::vector<DayTemperature> of_one_year(std::span<const DayTemperature> days) {
  std::vector<DayTemperature> same(days.begin(), days.end());
  if (days.size() < kDaysOfAYear || days.size() > 366 || !by_year(days).empty()) return same;
  for (DayTemperature& day : same)
    day.date =
        Date(std::chrono::year(2001), day.date.month(),
             std::min(day.date.day(),
                      std::chrono::day(static_cast<unsigned>(day.date.month()) == 2 ? 28 : 31)));
  std::sort(same.begin(), same.end(), [](const auto& a, const auto& b) { return a.date < b.date; });
  return same;
}

template <class F>
double yearly_mean(std::span<const DayTemperature> days, F&& of_day) {
  if (days.empty()) return 0;
  double sum = 0;
  for (const DayTemperature& day : days) sum += of_day(day);
  return sum * 365.25 / static_cast<double>(days.size());
}

// Weibull: the k-th of n stands at k / (n + 1).
double quantile(std::vector<double> values, double p) {
  std::sort(values.begin(), values.end());
  const double n = static_cast<double>(values.size());
  const double k = std::clamp(p * (n + 1), 1.0, n);
  const auto i = static_cast<size_t>(k) - 1;
  const double part = k - std::floor(k);
  return i + 1 < values.size() ? values[i] + part * (values[i + 1] - values[i]) : values[i];
}

constexpr ColdAirSign kSigns[] = {
    {"hollow", "Is the plot the lowest ground around, a hollow or a valley floor?", 2},
    {"dam_below", "Does a wall, hedge, wood or road bank dam the air just below?", 2},
    {"catchment", "Does open ground slope down towards the plot from far above?", 1},
    {"fog_first", "Does mist or hoar frost lie here first, or longest?", 2},
    {"frost_damage", "Do trees show frost damage low down: dead tips, split bark, late leaves?", 2},
    {"tree_line", "Do tender or broadleaf trees stop at a level line above the plot?", 1},
    {"neighbours_say", "Do neighbours say that this is the cold spot?", 2},
    {"snow_stays", "Does snow stay longer here than on the slope above?", 1},
    {"gap_below", "Is there a free gap below through which air can drain away?", -2},
    {"mid_slope", "Does the plot lie part way up a slope, clear of the floor?", -2},
};

}  // namespace

std::vector<DayTemperature> days_of(const WeatherYear& weather) {
  std::vector<DayTemperature> days;
  int count = 0;
  for (size_t i = 0; i <= weather.hours.size(); ++i) {
    const WeatherHour* hour = i < weather.hours.size() ? &weather.hours[i] : nullptr;
    const bool new_day = !hour || i == 0 || hour->day != weather.hours[i - 1].day ||
                         hour->month != weather.hours[i - 1].month;
    if (new_day) {
      if (!days.empty() && count < 18)
        days.pop_back();
      else if (!days.empty())
        days.back().mean_c /= count;
      if (!hour) break;
      days.push_back({Date(std::chrono::year(hour->year),
                           std::chrono::month(static_cast<unsigned>(hour->month)),
                           std::chrono::day(static_cast<unsigned>(hour->day))),
                      1e9, -1e9, 0});
      count = 0;
    }
    if (!hour->dry_bulb_c) continue;
    DayTemperature& day = days.back();
    day.low_c = std::min(day.low_c, *hour->dry_bulb_c);
    day.high_c = std::max(day.high_c, *hour->dry_bulb_c);
    day.mean_c += *hour->dry_bulb_c;
    ++count;
  }
  return days;
}

Result<ColdSummary> cold_summary(std::span<const DayTemperature> given) {
  const std::vector<DayTemperature> days = of_one_year(given);
  const auto years = by_year(days);
  if (years.empty()) return fail(Code::bad_input, "error.whole_year_needed");
  ColdSummary summary;
  summary.coldest_c = 1e9;
  std::vector<double> lows;
  for (const auto& [year, of_year] : years) {
    double low = 1e9;
    for (const DayTemperature* day : of_year) low = std::min(low, day->low_c);
    lows.push_back(low);
    summary.coldest_c = std::min(summary.coldest_c, low);
    summary.mean_yearly_low_c += low / static_cast<double>(years.size());
  }
  summary.years = static_cast<double>(years.size());
  if (lows.size() >= kYearsForChances) {
    double variance = 0;
    for (const double low : lows) variance += std::pow(low - summary.mean_yearly_low_c, 2);
    const double sd = std::sqrt(variance / static_cast<double>(lows.size() - 1));
    // Gumbel by moments; the yearly lowest are its mirror image.
    const double scale = sd * std::sqrt(6.0) / std::numbers::pi;
    const double factor = -std::log(-std::log(1 - 1.0 / 30)) - std::numbers::egamma;
    summary.low_1_in_30_c = summary.mean_yearly_low_c - scale * factor;
  }
  return summary;
}

double nights_under(std::span<const DayTemperature> days, double limit_c) {
  return yearly_mean(days, [&](const auto& day) { return day.low_c < limit_c ? 1.0 : 0.0; });
}

double heating_degree_days(std::span<const DayTemperature> days, double base_c) {
  return yearly_mean(days, [&](const auto& day) { return std::max(0.0, base_c - day.mean_c); });
}

double growing_degree_days(std::span<const DayTemperature> days, double base_c, double cut_c) {
  return yearly_mean(days, [&](const auto& day) {
    const double high = std::clamp(day.high_c, base_c, cut_c);
    const double low = std::clamp(day.low_c, base_c, cut_c);
    return (high + low) / 2 - base_c;
  });
}

double sine_degree_days(double low_c, double high_c, double base_c, double cut_c) {
  const double middle = (low_c + high_c) / 2, swing = std::max(0.0, (high_c - low_c) / 2);
  // The mean of what a sine has above a limit.
  const auto above = [&](double limit) {
    if (low_c >= limit) return middle - limit;
    if (high_c <= limit || swing <= 0) return 0.0;
    const double at = std::asin((limit - middle) / swing);
    return ((middle - limit) * (std::numbers::pi / 2 - at) + swing * std::cos(at)) /
           std::numbers::pi;
  };
  return above(base_c) - above(cut_c);
}

double month_heating_degree_days(double mean_c, const std::array<double, 12>& year, double days,
                                 double base_c) {
  double mean = 0, spread = 0;
  for (const double m : year) mean += m / 12;
  for (const double m : year) spread += (m - mean) * (m - mean) / 11;
  const double sigma =
      std::max(0.5, 1.45 - 0.029 * mean_c + 0.0664 * std::sqrt(spread)) * std::sqrt(days);
  const double h = (base_c - mean_c) / sigma;
  constexpr double a = 1.698;
  const double x = std::clamp(a * h, -300.0, 300.0);
  return sigma * days * (h / 2 + std::log(std::exp(-x) + std::exp(x)) / (2 * a));
}

std::optional<FrostDates> frost_dates(std::span<const DayTemperature> given, bool southern,
                                      double limit_c) {
  const std::vector<DayTemperature> days = of_one_year(given);
  auto years = by_year(days, southern);
  // A southern year cut from a single calendar year: its two halves, joined in summer, serve.
  const bool joined = southern && years.empty();
  if (joined) years = by_year(days);
  constexpr double kMidsummer = 182;
  std::vector<double> last, first, free;
  for (const auto& [year, of_year] : years) {
    double spring = 0, autumn = 366;
    bool any = false;
    for (const DayTemperature* day : of_year) {
      if (day->low_c >= limit_c) continue;
      any = true;
      double n = day_of_year(day->date);
      if (southern) n = n > kMidsummer ? n - 181 : n + 184;  // 1 July is day 1
      if (n <= kMidsummer)
        spring = std::max(spring, n);
      else
        autumn = std::min(autumn, n);
    }
    if (!any) continue;
    last.push_back(spring);
    first.push_back(autumn);
    free.push_back(autumn - spring - 1);
  }
  if (last.empty()) return std::nullopt;
  FrostDates dates;
  dates.years = static_cast<int>(last.size());
  dates.last_spring_day = quantile(last, 0.5);
  dates.first_autumn_day = quantile(first, 0.5);
  dates.frost_free_d = quantile(free, 0.5);
  if (dates.years >= kYearsForChances)
    dates.one_in_ten = FrostDates::Chance{quantile(last, 0.9), quantile(first, 0.1)};
  return dates;
}

std::span<const ColdAirSign> cold_air_signs() { return kSigns; }

std::string_view name_of(ColdAir verdict) {
  constexpr std::string_view names[] = {"not enough looked at", "unlikely", "possible", "likely"};
  return names[static_cast<int>(verdict)];
}

ColdAir cold_air_verdict(std::span<const std::optional<bool>> answers) {
  int answered = 0, points = 0;
  for (size_t i = 0; i < answers.size() && i < std::size(kSigns); ++i) {
    if (!answers[i]) continue;
    ++answered;
    if (*answers[i]) points += kSigns[i].points;
  }
  if (answered < 4) return ColdAir::unknown;
  return points >= 4 ? ColdAir::likely : points >= 2 ? ColdAir::possible : ColdAir::unlikely;
}

}  // namespace horizon
