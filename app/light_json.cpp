#include "app/light_json.h"

#include <cmath>

namespace app {
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

}  // namespace

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

}  // namespace app
