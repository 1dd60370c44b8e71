#include "app/cli/light_text.h"

#include <cmath>
#include <cstdio>
#include <string>

#include "app/words/house_words.h"
#include "app/words/light_words.h"
#include "app/words/ranges.h"
#include "app/words/words.h"
#include "app/words/year_words.h"

namespace app {
namespace {

constexpr const char* kMonths[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                   "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

std::string windows_text(const horizon::SunWindows& windows, double offset_h) {
  std::string text;
  for (const horizon::SunWindow& w : windows)
    text += (text.empty() ? "" : ", ") + horizon::format_clock(w.from_utc_s, offset_h) + "-" +
            horizon::format_clock(w.to_utc_s, offset_h);
  return text.empty() ? "none" : text;
}

std::string clock_text(const std::optional<double>& utc_s, double offset_h) {
  return utc_s ? horizon::format_clock(*utc_s, offset_h) : "  -  ";
}

std::string day_text(int year, int day) {
  const horizon::Date date = horizon::date_of_day(year, day);
  return std::to_string(static_cast<unsigned>(date.day())) + " " +
         kMonths[static_cast<unsigned>(date.month()) - 1];
}

void print_hours(const horizon::StationFindings& f, const horizon::StationInput& input) {
  const auto& hours = f.hours;
  // Where the range does not bear one figure, the range is the answer.
  const auto& day = hours.shortest_day_h;
  const auto& winter = hours.winter_h_a_day;
  std::printf("\n%s: ", horizon::format_date(hours.shortest_day).c_str());
  if (day.bears_a_number(kBearable_h))
    std::printf("%.2f h of direct sun (%.2f to %.2f)", day.value, day.low, day.high);
  else
    std::printf("%.2f to %.2f h of direct sun", day.low, day.high);
  if (winter.bears_a_number())
    std::printf("; winter %.2f h a day (%.2f to %.2f), %.0f %% of a flat horizon\n", winter.value,
                winter.low, winter.high, 100 * hours.winter_share);
  else
    std::printf("; winter %.2f to %.2f h a day: the sums above join open stretches straight\n",
                winter.low, winter.high);
  if (f.headings_disagree)
    std::printf("The heading checks disagree: no bearing was turned; take another\n");
  if (hours.winter_unaimed_h > 0.5)
    std::printf("%.0f of the %.0f winter hours with the sun up cross stretches nobody aimed at\n",
                hours.winter_unaimed_h, hours.winter_flat_h);
  for (const auto& spell : hours.without_direct_sun)
    if (spell.first_low_day)
      std::printf("Without direct sun: first day %s to %s, last day %s to %s\n",
                  day_text(input.year, spell.first_low_day).c_str(),
                  day_text(input.year, spell.first_high_day).c_str(),
                  day_text(input.year, spell.last_low_day).c_str(),
                  day_text(input.year, spell.last_high_day).c_str());
  if (hours.without_direct_sun.empty() ? hours.without_sun_share > 0.05
                                       : hours.without_sun_share < 0.95)
    std::printf("Days without direct sun: %.0f %% likely\n", 100 * hours.without_sun_share);
}

}  // namespace

void print_sun_year(const horizon::SunYear& year, const horizon::Mask& mask, double offset_h) {
  std::printf("Direct sun in %d if no cloud comes (clock: UTC%+g h)\n\n", year.year, offset_h);
  std::printf("        here     flat          a day      on the 21st\n");
  std::printf("month    h        h    share   here h   first    last   windows\n");
  for (int m = 0; m < 12; ++m) {
    const auto& hours = year.months[m];
    int days = 0;
    const horizon::SunYearDay* the_21st = nullptr;
    for (const horizon::SunYearDay& day : year.days) {
      if (static_cast<unsigned>(day.date.month()) != static_cast<unsigned>(m + 1)) continue;
      ++days;
      if (static_cast<unsigned>(day.date.day()) == 21) the_21st = &day;
    }
    std::printf("%s  %7.1f  %7.1f  %4.0f %%  %6.2f    %s   %s   %s\n", kMonths[m], hours.direct_h,
                hours.flat_h, hours.flat_h > 0 ? 100 * hours.direct_h / hours.flat_h : 0,
                hours.direct_h / days,
                clock_text(year.on_the_21st[m].first_utc_s, offset_h).c_str(),
                clock_text(year.on_the_21st[m].last_utc_s, offset_h).c_str(),
                the_21st ? windows_text(the_21st->direct, offset_h).c_str() : "");
  }
  const auto line = [](const char* name, const horizon::SunHoursSum& h) {
    std::printf("%s%7.1f  %7.1f  %4.0f %%", name, h.direct_h, h.flat_h,
                h.flat_h > 0 ? 100 * h.direct_h / h.flat_h : 0);
    if (h.filtered_h > 0.05) std::printf("   and %.1f h filtered by leafy trees", h.filtered_h);
    if (h.open_h > 0.05) std::printf("   (%.1f h of it over open stretches)", h.open_h);
    std::printf("\n");
  };
  std::printf("\n");
  line("winter ", year.winter);
  line("year   ", year.whole);
  for (const horizon::SunlessSpell& spell : year.without_direct_sun)
    std::printf("No direct sun from %s to %s (%d days)\n",
                horizon::format_date(spell.first).c_str(), horizon::format_date(spell.last).c_str(),
                spell.days);
  for (const horizon::OpenStretch& stretch : mask.open_stretches())
    if (stretch.width_deg() >= 360)
      std::printf("Open: all round; a line from one mark, or none, is a guess\n");
    else
      std::printf("Open: %.1f to %.1f degrees, nobody aimed there; its ends were joined\n",
                  stretch.from_deg, stretch.to_deg);
}

void print_findings(const horizon::StationFindings& f, const horizon::StationInput& input) {
  print_hours(f, input);
  const auto& facing = f.facing();
  std::printf("\nLight: %s; glazing: %s\n", sky_words(f).c_str(), input.glazing.name.c_str());
  std::printf(
      "Face %.0f to %.0f degrees true, tilt %.0f to %.0f: within 2 %% of the best, which lies "
      "between %.0f and %.0f, tilt %.0f and %.0f\n",
      facing.within_2.from.degrees(), facing.within_2.to.degrees(), facing.tilt_within_2.from_deg,
      facing.tilt_within_2.to_deg, f.best_facing.low.degrees(), f.best_facing.high.degrees(),
      f.best_tilt_deg.low, f.best_tilt_deg.high);
  std::printf("Loss: solar south %.1f %%, tilt 30 %.1f %%", 100 * facing.solar_south.loss,
              100 * facing.tilt_30.loss);
  if (facing.chosen) std::printf(", your own plane %.1f %%", 100 * facing.chosen->loss);
  std::printf("\nSet out at %.1f degrees true", f.set_out.true_deg.degrees());
  if (f.set_out.compass_deg) std::printf(", %.1f by compass", f.set_out.compass_deg->degrees());
  if (f.set_out.grid_deg) std::printf(", %.1f by grid", f.set_out.grid_deg->degrees());
  std::printf(
      "\n\nmonth  kWh/m2 on the flat: open  here   on the glazing  inside   mol/m2 a day inside\n");
  for (const auto& m : f.months)
    std::printf("%s                       %6.1f %6.1f   %8.1f    %8.1f    %8.1f\n",
                kMonths[m.month - 1], m.open_flat_kwh_m2, m.site_flat_kwh_m2, m.on_plane_kwh_m2,
                m.through_kwh_m2, m.inside_mol_m2_day);
  if (f.years) {
    std::printf("\nInside light from year to year, mol/m2 a day, by %s\n",
                years_from(*f.years).c_str());
    std::printf("month   1 of 10 below   middle year   1 of 10 above\n");
    for (std::size_t m = 0; m < 12; ++m) {
      const auto& month = f.years->inside_mol_m2_day[m];
      std::printf("%s        %8.1f      %8.1f        %8.1f\n", kMonths[m], month.p10, month.p50,
                  month.p90);
    }
  }
  std::printf("\n");
  for (const auto& crop : f.growing.crops) {
    std::printf("%s (%.0f mol/m2 a day): ", crop.need.crop.c_str(), crop.need.mol_m2_day);
    const int year_days = horizon::days_in_year(input.year);
    // The season as the report tells it; days of enough light outside of it are in the count.
    const auto* season = horizon::longest(crop.spells, year_days);
    if (!season)
      std::printf("never\n");
    else if (crop.days >= year_days)
      std::printf("all year\n");
    else
      std::printf("%s to %s, days in all: %d\n", day_text(input.year, season->from_day).c_str(),
                  day_text(input.year, season->to_day).c_str(), crop.days);
    if (season && crop.from_low_day > 0 && crop.to_low_day > 0 && f.draws > 0)
      std::printf("  first day %s to %s, last day %s to %s\n",
                  day_text(input.year, crop.from_low_day).c_str(),
                  day_text(input.year, crop.from_high_day).c_str(),
                  day_text(input.year, crop.to_low_day).c_str(),
                  day_text(input.year, crop.to_high_day).c_str());
    if (const auto* years = crop_years(f, crop))
      std::printf("  from year to year: %s. %s\n", season_of_years(*years, input.year).c_str(),
                  one_in_ten(*years, input.year).c_str());
  }
  std::printf("\nWhat takes the winter sun      takes h   comes back if it went h\n");
  for (const auto& row : f.ledger) {
    const std::string name = row.obstacle < 0    ? "open stretches"
                             : row.label.empty() ? std::string(horizon::name_of(row.kind))
                                                 : row.label;
    std::printf("%-30s %7.1f   %7.1f\n", name.c_str(), row.takes_h, row.returns_h);
  }
  for (const auto& advice : f.aim_next) std::printf("%s\n", horizon::in_words(advice).c_str());
}

void print_house(const horizon::HouseFindings& f, int year) {
  std::printf("\n%s\n%s\n%s\n%s\n\n", house_headline(f).c_str(), house_second(f, year).c_str(),
              house_line(f.house, Units::metric).c_str(), house_source(f).c_str());
  for (const auto& [name, value] : house_facts(f, year, Units::metric))
    std::printf("  %-44s %s\n", name.c_str(), value.c_str());
  std::printf("\n%s\n", tr("house.winter").c_str());
  for (const auto& odds : f.crops)
    std::printf("  %-20s %2s %s%s\n", tr_of("house.crop", odds.crop.crop).c_str(),
                of_ten_short(odds.lives_share).c_str(), tr("house.of_ten").c_str(),
                odds.crop.from_memory ? (" (" + tr("house.from_memory") + ")").c_str() : "");
  if (!f.helps.empty())
    std::printf("\n%s (%s)\n", tr("house.helps").c_str(), tr("house.helps_note").c_str());
  for (const auto& help : f.helps)
    std::printf("  %-44s %s\n", help_words(help, Units::metric).c_str(),
                kelvins(help.lift_k.value, Units::metric).c_str());
  if (const std::string drivers = driver_words(f); !drivers.empty())
    std::printf("\n%s\n", drivers.c_str());
  for (const std::string& caution : house_cautions(f)) std::printf("note: %s\n", caution.c_str());
}

}  // namespace app
