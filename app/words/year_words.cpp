#include "app/words/year_words.h"

#include <cmath>

#include "app/words/quantity.h"
#include "app/words/words.h"

namespace app {
namespace {

std::string day_text(int day, int year) { return day_month(horizon::date_of_day(year, day)); }

constexpr double kTold = 0.05;  // of the years: less is not worth a word

}  // namespace

std::string undated_season(const horizon::CropYears& crop) {
  if (crop.never_share > 0.5) return tr("light.never");
  if (crop.always_share > 0.5) return tr("light.all_year");
  return crop.days.p50 < kSeason_d ? tr("years.spells", {number(crop.days.p50)}) : "";
}

std::string day_of_years(const horizon::DayOfYears& day, int year) {
  if (!day.p50) return "";
  if (!day.p10 || !day.p90) return tr("years.about", {day_text(*day.p50, year)});
  if ((*day.p90 - *day.p10 + 365) % 365 <= kNarrow_d) return day_text(*day.p50, year);
  return day_text(*day.p10, year) + " – " + day_text(*day.p90, year);
}

std::string season_of_years(const horizon::CropYears& crop, int year) {
  if (const std::string other = undated_season(crop); !other.empty()) return other;
  return tr("years.from_to", {day_of_years(crop.first, year), day_of_years(crop.last, year)});
}

std::string begin_of_years(const horizon::CropYears& crop, int year) {
  if (const std::string other = undated_season(crop); !other.empty()) return other;
  return tr("years.from", {day_of_years(crop.first, year)});
}

std::string end_of_years(const horizon::CropYears& crop, int year) {
  return !undated_season(crop).empty() ? "" : tr("years.until", {day_of_years(crop.last, year)});
}

std::string one_in_ten(const horizon::CropYears& crop, int year) {
  std::string words;
  const auto add = [&](const std::string& more) { words += (words.empty() ? "" : " ") + more; };
  const bool dated = crop.days.p50 >= kSeason_d;
  if (dated && crop.first.p90 && crop.last.p10)
    add(tr("years.late_and_early",
           {day_text(*crop.first.p90, year), day_text(*crop.last.p10, year)}));
  else if (dated && crop.first.p90)
    add(tr("years.late", {day_text(*crop.first.p90, year)}));
  if (crop.never_share >= kTold && crop.never_share < 1)
    add(tr("years.never", {of_ten(crop.never_share)}));
  if (crop.always_share >= kTold && crop.always_share < 1)
    add(tr("years.always", {of_ten(crop.always_share)}));
  return words;
}

std::string years_from(const horizon::LightYears& years) {
  return tr(years.drawn ? "years.drawn" : "years.of_file", {number(years.years)});
}

}  // namespace app
