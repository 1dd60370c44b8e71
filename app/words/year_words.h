// app/words/year_words.h: how would a person say that no two winters are alike?
// Units:  days of the year; mol/m2 a day
// Doubt:  a date stands alone only where 8 of 10 winters hold it within kNarrow_d days
#pragma once

#include <string>

#include "horizon/light/light_years.h"

namespace app {

inline constexpr int kNarrow_d = 4;
inline constexpr double kSeason_d = 30;  // fewer days in the middle year are no season to date

// "19 Feb", or "11 Feb – 3 Mar" where 8 of 10 winters spread wider; empty where it never comes or
// never ends.
std::string day_of_years(const horizon::DayOfYears& day, int year);
// What is told in place of dates: never, all year, or some bright spells; empty where dates are.
std::string undated_season(const horizon::CropYears& crop);
// "11 Feb – 3 Mar to 20 Oct – 2 Nov"; "never"; "all year".
std::string season_of_years(const horizon::CropYears& crop, int year);
// In two, where room is short: "from 11 Feb – 3 Mar"; and "until 20 Oct – 2 Nov", empty where there is
// no end.
std::string begin_of_years(const horizon::CropYears& crop, int year);
std::string end_of_years(const horizon::CropYears& crop, int year);
// "In 1 of 10 winters later than 3 Mar, in 1 of 10 over before 20 Oct."; "In 4 of 10 winters never."
std::string one_in_ten(const horizon::CropYears& crop, int year);
// "300 drawn years" or "12 years of the file".
std::string years_from(const horizon::LightYears& years);

}  // namespace app
