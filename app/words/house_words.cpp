#include "app/words/house_words.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "app/words/sentence.h"
#include "app/words/words.h"

namespace app {
namespace {

std::string day_of(int day, int year) {
  return day_month(horizon::date_of_day(year, std::clamp(day, 1, 365)));
}

const horizon::CropOdds* odds_of(const horizon::HouseFindings& f, std::string_view crop) {
  for (const auto& odds : f.crops)
    if (odds.crop.crop == crop) return &odds;
  return nullptr;
}

std::string crop_name(const horizon::CropOdds& odds) { return tr_of("house.crop", odds.crop.crop); }

std::string count_of(const horizon::Ranged& r, int decimals = 0) {
  return number(r.value, decimals) + " (" +
         tr("house.range", {number(r.low, decimals), number(r.high, decimals)}) + ")";
}

}  // namespace

HouseUnit house_unit(std::string_view key, Units units) {
  struct Ending {
    std::string_view ending;
    const char *metric, *imperial;
    double factor, offset = 0;
  };
  // The longer ending first.
  static constexpr Ending kEndings[] = {
      {"_m2kw", "m²·K/W", "ft²·°F·h/Btu", 5.678263337},
      {"_kg_m2", "kg/m²", "lb/ft²", 0.2048161436},
      {"_kg_m3", "kg/m³", "lb/ft³", 0.06242796058},
      {"_w_mk", "W/(m·K)", "Btu/(h·ft·°F)", 0.5777893165},
      {"_m2", "m²", "ft²", 10.76391042},
      {"_m", "m", "ft", 1 / 0.3048},
      {"_l", "", "gal", 1 / 3.785411784},
      {"_c", "°C", "°F", 1.8, 32},
  };
  for (const Ending& e : kEndings) {
    if (!key.ends_with(e.ending)) continue;
    if (units == Units::imperial) return {e.imperial, e.factor, e.offset};
    return {*e.metric ? e.metric : tr("house.unit.litres")};
  }
  return {};
}

std::string resistance(double m2kw, Units units) {
  const HouseUnit unit = house_unit("_m2kw", units);
  return number(unit.shown(m2kw), 1) + "\u00A0" + unit.name;
}

std::string kelvins(double k, Units units) {
  const double shown = units == Units::imperial ? k * 1.8 : k;
  return (shown >= 0 ? "+" : "") + number(shown, 1) + (units == Units::imperial ? " °F" : " K");
}

std::string ranged_c(const horizon::Ranged& r, Units units) {
  return temperature(r.value, units) + " (" +
         tr("house.range", {temperature(r.low, units), temperature(r.high, units)}) + ")";
}

std::string house_headline(const horizon::HouseFindings& f) {
  const auto* spinach = odds_of(f, "spinach");
  return spinach ? tr("house.stands", {crop_name(*spinach), of_ten(spinach->lives_share)}) : "";
}

std::string house_second(const horizon::HouseFindings& f, int year) {
  std::string out;
  if (const auto* lettuce = odds_of(f, "small-leaf lettuce"))
    out = tr("house.second", {crop_name(*lettuce), of_ten(lettuce->lives_share)});
  if (!f.still) return out + " " + tr("house.grows_always");
  return out + " " +
         tr(f.still->light_share > 0.5 ? "house.still_dark" : "house.still_cold",
            {day_of(f.still->from_day, year), day_of(f.still->to_day, year)});
}

std::string house_source(const horizon::HouseFindings& f) {
  return tr(f.from_file ? "house.from_file" : "house.from_normals",
            {f.source.empty() ? tr("house.own_entries") : f.source, number(f.winters)});
}

std::string house_line(const horizon::House& house, Units units) {
  return tr("house.line",
            {area(house.length_m * house.width_m, units), tr_of("pane", house.pane.name),
             degrees(house.glazing.facing.degrees()), degrees(house.glazing.tilt_deg)});
}

std::string house_lowest(const horizon::HouseFindings& f, int year, Units units) {
  if (f.week.inside_c.empty()) return {};
  const int hour = f.week.first_hour + f.week.lowest;
  char clock[8];
  std::snprintf(clock, sizeof clock, "%02d:00", hour % 24);
  return tr("house.lowest", {ranged_c(f.coldest_inside_c, units), day_of(hour / 24 % 365 + 1, year),
                             clock, temperature(f.week.outside_c[f.week.lowest], units)});
}

std::string help_words(const horizon::WhatHelps& help, Units units) {
  const std::string key = "house.help." + help.what;
  if (help.what == "spot")  // a place of the plot has no station's name
    return help.detail.empty() ? tr("house.help.place") : tr(key, {help.detail});
  if (help.what == "tilt" || help.what == "facing") return tr(key, {degrees(help.value)});
  if (help.what == "edge_boards") return tr(key, {distance(help.value, units)});
  if (help.what == "water")
    return tr(key, {units == Units::imperial ? number(help.value / 3.785411784) + "\u00A0gal"
                                             : number(help.value) + "\u00A0l"});
  return tr(key);
}

std::string driver_words(const horizon::HouseFindings& f) {
  std::string list;
  int told = 0;
  for (const auto& d : f.drivers) {
    if (told == 2 || d.share < 0.03) break;
    list += (told++ ? ", " : "") + tr("house.driver." + d.what);
  }
  return list.empty() ? std::string() : tr("house.drivers", {list});
}

std::string odds_words(const horizon::HouseFindings& f) {
  std::string list;
  for (const auto& odds : f.crops)
    list +=
        (list.empty() ? "" : " · ") + crop_name(odds) + "\u00A0" + of_ten_short(odds.lives_share);
  return list.empty() ? list : tr("house.odds_line", {list});
}

namespace {

std::string breeze_words(const horizon::HouseFindings& f) {
  if (!f.breeze_angle_deg) return tr("house.breeze_unknown");
  const std::string walls =
      tr(*f.breeze_angle_deg <= 45 ? "house.breeze_ends" : "house.breeze_long");
  return tr(horizon::breeze_is_straight(f.breeze_angle_deg) ? "house.breeze_straight"
                                                            : "house.breeze_aslant",
            {walls});
}

}  // namespace

HouseFacts house_facts(const horizon::HouseFindings& f, int year, Units units) {
  HouseFacts rows;
  rows.emplace_back(tr("house.coldest_inside"), ranged_c(f.coldest_inside_c, units));
  rows.emplace_back(tr("house.outside_low"), ranged_c(f.outside_low_c, units));
  if (f.design.inside_c.value != 0 || f.design.outside_c != 0)
    rows.emplace_back(tr(f.design.drawn ? "house.design_drawn" : "house.design",
                         {temperature(f.design.outside_c, units)}),
                      ranged_c(f.design.inside_c, units));
  rows.emplace_back(tr("house.coldest_soil", {depth(0.1, units)}),
                    ranged_c(f.coldest_soil_c, units));
  for (const auto& b : f.below)
    rows.emplace_back(tr("house.below", {temperature(b.limit_c, units)}),
                      tr("house.nights_hours", {count_of(b.nights), count_of(b.hours)}));
  rows.emplace_back(tr("house.condensing"), tr("house.hours", {count_of(f.condensing_h)}));
  if (f.hot_days)
    rows.emplace_back(tr("house.hot", {temperature(35, units)}),
                      tr("house.days", {count_of(*f.hot_days)}));
  if (f.vents_m2)
    rows.emplace_back(
        tr("house.vents", {temperature(30, units)}),
        area(f.vents_m2->value, units) + " (" +
            tr("house.range", {number(f.vents_m2->low, 1), area(f.vents_m2->high, units)}) + "); " +
            breeze_words(f));
  if (f.still && f.still->from_low_day > 0)
    rows.emplace_back(tr("house.still"),
                      tr("house.still_range",
                         {day_of(f.still->from_low_day, year), day_of(f.still->from_high_day, year),
                          day_of(f.still->to_low_day, year), day_of(f.still->to_high_day, year)}));
  return rows;
}

std::vector<std::string> house_cautions(const horizon::HouseFindings& f) {
  std::vector<std::string> out = {tr("house.caution.design"), tr("house.caution.model")};
  for (const auto& note : f.said) out.push_back(in_words(note));
  return out;
}

}  // namespace app
