#include "survey/assess/light_json.h"

#include <cmath>

namespace survey {
namespace {

// A whole second either way; the arithmetic is finer than the sightings will ever be.
Json windows_json(const horizon::SunWindows& windows) {
  Json list = Json::array();
  for (const horizon::SunWindow& w : windows)
    list.push_back({horizon::format_utc(w.from_utc_s), horizon::format_utc(w.to_utc_s)});
  return list;
}

void add_hours(Json& json, const horizon::SunHoursSum& hours) {
  json["direct_sun_h"] = hours.direct_h;
  json["flat_sun_h"] = hours.flat_h;
  json["share"] = hours.flat_h > 0 ? Json(hours.direct_h / hours.flat_h) : Json(nullptr);
  json["filtered_sun_h"] = hours.filtered_h;
  json["filtered_light_h"] = hours.filtered_light_h;
  json["open_sun_h"] = hours.open_h;
}

Json instant(const std::optional<double>& utc_s) {
  return utc_s ? Json(horizon::format_utc(*utc_s)) : Json(nullptr);
}

Json ranged(const horizon::Ranged& value, int decimals) {
  return {{"value", rounded(value.value, decimals)},
          {"low_5_percent", rounded(value.low, decimals)},
          {"high_95_percent", rounded(value.high, decimals)}};
}

Json plane_json(const horizon::PlaneGain& gain) {
  return {{"facing_true_deg", rounded(gain.plane.facing.degrees(), 2)},
          {"tilt_deg", rounded(gain.plane.tilt_deg, 2)},
          {"gain_kwh_m2", rounded(gain.kwh_m2, 2)},
          {"loss_fraction", rounded(gain.loss, 4)}};
}

Json month_light_json(const horizon::StationFindings& findings) {
  auto list = Json::array();
  for (const auto& month : findings.months) {
    list.push_back({{"month", month.month},
                    {"days", month.days},
                    {"direct_sun_h", ranged(month.direct_sun_h, 3)},
                    {"flat_sun_h", rounded(month.flat_sun_h, 3)},
                    {"open_flat_kwh_m2", rounded(month.open_flat_kwh_m2, 3)},
                    {"site_flat_kwh_m2", rounded(month.site_flat_kwh_m2, 3)},
                    {"on_plane_kwh_m2", rounded(month.on_plane_kwh_m2, 3)},
                    {"through_glazing_kwh_m2", rounded(month.through_kwh_m2, 3)},
                    {"inside_mol_m2_day", rounded(month.inside_mol_m2_day, 3)}});
  }
  return list;
}

Json of_years(const horizon::OfYears& v, int decimals) {
  return {{"p10", rounded(v.p10, decimals)},
          {"p50", rounded(v.p50, decimals)},
          {"p90", rounded(v.p90, decimals)}};
}

Json day_of_years(const horizon::DayOfYears& day) {
  const auto one = [](const std::optional<int>& d) { return d ? Json(*d) : Json(nullptr); };
  return {{"p10", one(day.p10)}, {"p50", one(day.p50)}, {"p90", one(day.p90)}};
}

Json years_json(const horizon::LightYears& years, const horizon::StationFindings& findings) {
  Json out;
  out["years"] = years.years;
  out["drawn"] = years.drawn;
  auto months = Json::array();
  for (std::size_t m = 0; m < 12; ++m)
    months.push_back(
        {{"month", m + 1}, {"inside_mol_m2_day", of_years(years.inside_mol_m2_day[m], 3)}});
  out["months"] = months;
  auto crops = Json::array();
  for (std::size_t c = 0; c < years.crops.size(); ++c) {
    const auto& crop = years.crops[c];
    crops.push_back({{"crop", findings.growing.crops[c].need.crop},
                     {"need_mol_m2_day", findings.growing.crops[c].need.mol_m2_day},
                     {"never_share", rounded(crop.never_share, 4)},
                     {"all_year_share", rounded(crop.always_share, 4)},
                     {"first_day_of_year", day_of_years(crop.first)},
                     {"last_day_of_year", day_of_years(crop.last)},
                     {"days", of_years(crop.days, 1)}});
  }
  out["crops"] = crops;
  return out;
}

}  // namespace

double rounded(double value, int decimals) {
  const double scale = std::pow(10, decimals);
  const double out = std::round(value * scale) / scale;
  return out == 0 ? 0 : out;
}

Json json_of(const horizon::Place& place) {
  return {{"latitude_deg", place.latitude_deg},
          {"longitude_deg", place.longitude_deg},
          {"height_m", place.height_m}};
}

Json months_json(unsigned months) {
  Json list = Json::array();
  for (int m = 0; m < 12; ++m)
    if (months >> m & 1) list.push_back(m + 1);
  return list;
}

void add_sun_year(Json& json, const horizon::SunYear& year) {
  Json days = Json::array();
  for (const horizon::SunYearDay& day : year.days) {
    Json row;
    row["date"] = horizon::format_date(day.date);
    row["direct_sun_h"] = day.hours.direct_h;
    row["flat_sun_h"] = day.hours.flat_h;
    row["windows_utc"] = windows_json(day.direct);
    row["windows_upper_limb_utc"] = windows_json(day.upper);
    row["windows_lower_limb_utc"] = windows_json(day.lower);
    row["filtered_sun_h"] = day.hours.filtered_h;
    row["filtered_light_h"] = day.hours.filtered_light_h;
    row["open_sun_h"] = day.hours.open_h;
    days.push_back(std::move(row));
  }
  json["days"] = std::move(days);

  Json months = Json::array();
  for (int m = 0; m < 12; ++m) {
    Json row;
    row["month"] = m + 1;
    add_hours(row, year.months[m]);
    row["first_sun_on_21st_utc"] = instant(year.on_the_21st[m].first_utc_s);
    row["last_sun_on_21st_utc"] = instant(year.on_the_21st[m].last_utc_s);
    months.push_back(std::move(row));
  }
  json["months"] = std::move(months);

  json["winter"]["months"] = months_json(year.winter_months);
  add_hours(json["winter"], year.winter);
  add_hours(json["whole_year"], year.whole);
  Json spells = Json::array();
  for (const horizon::SunlessSpell& spell : year.without_direct_sun)
    spells.push_back({{"first", horizon::format_date(spell.first)},
                      {"last", horizon::format_date(spell.last)},
                      {"days", spell.days}});
  json["without_direct_sun"] = std::move(spells);
}

void add_mask(Json& json, const horizon::Mask& mask) {
  Json open = Json::array();
  for (const horizon::OpenStretch& stretch : mask.open_stretches())
    open.push_back({{"from_azimuth_true_deg", stretch.from_deg},
                    {"to_azimuth_true_deg", stretch.to_deg},
                    {"width_deg", stretch.width_deg()}});
  json["open_stretches"] = std::move(open);
  json["closed_fraction"] = mask.closed_fraction();
}

Json findings_json(const horizon::StationFindings& f, const horizon::StationInput& input) {
  Json out;
  out["year"] = input.year;
  out["sky"] = horizon::name_of(f.sky);
  out["sky_source"] = f.sky_source;
  out["shortest_day"] = {{"date", horizon::format_date(f.hours.shortest_day)},
                         {"direct_sun_h", ranged(f.hours.shortest_day_h, 3)},
                         {"flat_sun_h", rounded(f.hours.shortest_day_flat_h, 3)}};
  auto windows = Json::array();
  for (const auto& w : f.hours.shortest_day_windows) {
    windows.push_back({horizon::format_utc(w.from_utc_s), horizon::format_utc(w.to_utc_s)});
  }
  out["shortest_day"]["windows_utc"] = windows;
  out["winter"] = {{"direct_sun_h", ranged(f.hours.winter_h, 3)},
                   {"direct_sun_h_a_day", ranged(f.hours.winter_h_a_day, 4)},
                   {"flat_sun_h", rounded(f.hours.winter_flat_h, 3)},
                   {"over_open_stretches_h", rounded(f.hours.winter_unaimed_h, 3)},
                   {"share_of_flat", rounded(f.hours.winter_share, 5)}};
  out["heading_checks_disagree"] = f.headings_disagree;
  out["year_direct_sun_h"] = ranged(f.hours.year_h, 3);
  out["year_flat_sun_h"] = rounded(f.hours.year_flat_h, 3);
  auto spells = Json::array();
  for (const auto& spell : f.hours.without_direct_sun) {
    spells.push_back({{"first", horizon::format_date(spell.first)},
                      {"last", horizon::format_date(spell.last)},
                      {"days", spell.days}});
    if (spell.first_low_day) {
      spells.back()["first_day_of_year_low"] = spell.first_low_day;
      spells.back()["first_day_of_year_high"] = spell.first_high_day;
      spells.back()["last_day_of_year_low"] = spell.last_low_day;
      spells.back()["last_day_of_year_high"] = spell.last_high_day;
    }
  }
  out["without_direct_sun"] = spells;
  out["without_direct_sun_share"] = rounded(f.hours.without_sun_share, 3);
  out["months"] = month_light_json(f);
  const auto& facing = f.facing();
  out["facing"] = {{"best", plane_json(facing.best)},
                   {"best_facing_low_true_deg", rounded(f.best_facing.low.degrees(), 2)},
                   {"best_facing_high_true_deg", rounded(f.best_facing.high.degrees(), 2)},
                   {"best_tilt_low_deg", rounded(f.best_tilt_deg.low, 1)},
                   {"best_tilt_high_deg", rounded(f.best_tilt_deg.high, 1)},
                   {"within_2_percent_from_true_deg", rounded(facing.within_2.from.degrees(), 2)},
                   {"within_2_percent_to_true_deg", rounded(facing.within_2.to.degrees(), 2)},
                   {"tilt_within_2_percent_from_deg", rounded(facing.tilt_within_2.from_deg, 2)},
                   {"tilt_within_2_percent_to_deg", rounded(facing.tilt_within_2.to_deg, 2)},
                   {"solar_south", plane_json(facing.solar_south)},
                   {"tilt_30", plane_json(facing.tilt_30)},
                   {"best_from_30", plane_json(facing.best_from_30)}};
  if (facing.chosen) out["facing"]["chosen"] = plane_json(*facing.chosen);
  auto crops = Json::array();
  for (const auto& crop : f.growing.crops) {
    auto days = Json::array();
    for (const auto& spell : crop.spells) days.push_back({spell.from_day, spell.to_day});
    crops.push_back({{"crop", crop.need.crop},
                     {"need_mol_m2_day", crop.need.mol_m2_day},
                     {"days", crop.days},
                     {"spells_day_of_year", days}});
  }
  out["crops"] = crops;
  out["year_to_year"] = f.years ? years_json(*f.years, f) : Json(nullptr);
  auto ledger = Json::array();
  for (const auto& row : f.ledger) {
    ledger.push_back({{"label", row.label},
                      {"kind", row.obstacle < 0 ? "open" : horizon::name_of(row.kind)},
                      {"from_true_deg", rounded(row.from_deg, 3)},
                      {"to_true_deg", rounded(row.to_deg, 3)},
                      {"takes_h", rounded(row.takes_h, 3)},
                      {"would_come_back_h", rounded(row.returns_h, 3)},
                      {"takes_kwh_m2", rounded(row.takes_kwh_m2, 3)}});
  }
  out["winter_ledger"] = ledger;
  return out;
}

}  // namespace survey
