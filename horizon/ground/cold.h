// horizon/ground/cold.h: how cold the nights get, when the frosts end, how much warmth grows crops.
// Units:    degrees Celsius; degree-days (C d); days of the year, 1 to 366
// Frame:    days of local standard time; a cold season is named by the year in which it ends (in
//           the south: the year in which it lies)
// Valid:    air temperatures in a screen; on a still clear night plants on the ground are 2 to 5
//           degrees colder, and a frost hollow more so
// Accuracy: as the record; a typical year holds no extremes: take design figures from a long record
//           or the local code. Probabilities need ten years or more, else none are given
// Errors:   bad_input for records with gaps of more than 5 days in a year
// Source:   definitions as in climatology; quantiles by Weibull's plotting position k / (n + 1)
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "horizon/light/weather_year.h"
#include "horizon/result.h"
#include "horizon/time.h"

namespace horizon {

struct DayTemperature {
  Date date;
  double low_c = 0, high_c = 0, mean_c = 0;
};
// Whole days of the year; hours without a temperature are left out, days with under 18 too.
std::vector<DayTemperature> days_of(const WeatherYear& weather);

// Nights of -5 C are no harm to hardy greens (spinach, corn salad, kale). [common practice]
inline constexpr double kHardyGreensNight_c = -5;

struct ColdSummary {
  double coldest_c = 0;                 // of the whole record
  double mean_yearly_low_c = 0;         // mean of the years' lowest
  std::optional<double> low_1_in_30_c;  // from ten years or more: Gumbel through the years' lowest
  double years = 0;
};
Result<ColdSummary> cold_summary(std::span<const DayTemperature> days);

// Mean number of nights a year whose low is under the limit.
double nights_under(std::span<const DayTemperature> days, double limit_c);
// Mean sum a year of what the daily mean lacks to the base.
double heating_degree_days(std::span<const DayTemperature> days, double base_c = 18);
// Mean sum a year of (high + low) / 2 less the base, high cut at `cut_c`, both not under the base.
// Of one day, its warmth a sine from the low to the high; what is over `cut_c` does not count.
// Baskerville and Emin 1969 (single sine, horizontal cut-off).
double sine_degree_days(double low_c, double high_c, double base_c, double cut_c);
// Of one month, days spread about its mean as they do: Erbs, Klein and Beckman 1983. `year`: the
// twelve means.
double month_heating_degree_days(double mean_c, const std::array<double, 12>& year, double days,
                                 double base_c = 18);
double growing_degree_days(std::span<const DayTemperature> days, double base_c = 10,
                           double cut_c = 30);

// The last frost of spring and the first of autumn, by chance.
struct FrostDates {
  int years = 0;
  double last_spring_day = 0, first_autumn_day = 0;  // medians, or the one year's own
  struct Chance {
    double last_later_than_day = 0;     // one year in ten has a later frost
    double first_earlier_than_day = 0;  // one year in ten has an earlier one
  };
  std::optional<Chance> one_in_ten;  // ten years or more
  double frost_free_d = 0;           // median
};
// limit_c: 0 for tender plants, -2 for a killing frost. Nothing where no year has a frost. Days of
// the year count from 1 January; in the south from 1 July, so that summer is not cut.
std::optional<FrostDates> frost_dates(std::span<const DayTemperature> days, bool southern,
                                      double limit_c = 0);

// Signs that cold air gathers here, to be looked for on the spot.
struct ColdAirSign {
  std::string_view key, question;
  int points = 1;  // 2 for a strong sign; negative: cold air can leave
};
std::span<const ColdAirSign> cold_air_signs();
enum class ColdAir : std::uint8_t { unknown, unlikely, possible, likely };
std::string_view name_of(ColdAir verdict);
// Answers in the order of the signs: yes, no, or not looked at. Unknown with fewer than four.
ColdAir cold_air_verdict(std::span<const std::optional<bool>> answers);

}  // namespace horizon
