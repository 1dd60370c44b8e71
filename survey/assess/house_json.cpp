#include "survey/assess/house_json.h"

#include "survey/assess/house_input.h"

namespace survey {
namespace {

Json ranged_json(const horizon::Ranged& r, int decimals) {
  return {{"value", rounded(r.value, decimals)},
          {"low", rounded(r.low, decimals)},
          {"high", rounded(r.high, decimals)}};
}

Json hours_json(const std::vector<float>& values, int decimals) {
  Json list = Json::array();
  for (const float v : values) list.push_back(rounded(v, decimals));
  return list;
}

}  // namespace

Json house_json(const horizon::HouseFindings& f) {
  Json out;
  Json house;
  house["facing_true_deg"] = rounded(f.house.glazing.facing.degrees(), 2);
  house["tilt_deg"] = rounded(f.house.glazing.tilt_deg, 2);
  house["glazing"] = f.house.pane.name;
  for (const HouseKey& key : house_keys())
    house[std::string(key.key)] = rounded(key.get(f.house), 3);
  out["house"] = house;
  out["weather"] = f.from_file ? "hourly file" : "monthly normals";
  out["weather_source"] = f.source;
  out["winters"] = f.winters;
  out["coldest_inside_c"] = ranged_json(f.coldest_inside_c, 2);
  out["coldest_soil_c"] = ranged_json(f.coldest_soil_c, 2);
  out["outside_low_c"] = ranged_json(f.outside_low_c, 2);
  out["design_winter"] = {{"outside_c", rounded(f.design.outside_c, 2)},
                          {"drawn", f.design.drawn},
                          {"inside_c", ranged_json(f.design.inside_c, 2)},
                          {"soil_c", ranged_json(f.design.soil_c, 2)}};
  Json below = Json::array();
  for (const auto& b : f.below)
    below.push_back({{"limit_c", b.limit_c},
                     {"hours", ranged_json(b.hours, 1)},
                     {"nights", ranged_json(b.nights, 1)}});
  out["below"] = below;
  out["condensing_h"] = ranged_json(f.condensing_h, 0);
  if (f.hot_days) out["days_above_35"] = ranged_json(*f.hot_days, 1);
  if (f.vents_m2) out["vents_m2_below_30"] = ranged_json(*f.vents_m2, 2);
  out["summer_wind_off_axis_deg"] =
      f.breeze_angle_deg ? Json(rounded(*f.breeze_angle_deg, 1)) : Json(nullptr);
  Json crops = Json::array();
  for (const auto& c : f.crops) {
    Json spells = Json::array();
    for (const auto& s : c.grows) spells.push_back({s.from_day, s.to_day});
    crops.push_back({{"crop", c.crop.crop},
                     {"lives_share", rounded(c.lives_share, 3)},
                     {"margin_k", ranged_json(c.margin_k, 2)},
                     {"killed_at_c", c.crop.hard_c},
                     {"from_memory", c.crop.from_memory},
                     {"growing_days", c.growing_days},
                     {"grows_day_of_year", spells}});
  }
  out["crops"] = crops;
  out["nothing_grows"] = nullptr;
  if (f.still)
    out["nothing_grows"] = {{"from_day_of_year", f.still->from_day},
                            {"to_day_of_year", f.still->to_day},
                            {"from_low", f.still->from_low_day},
                            {"from_high", f.still->from_high_day},
                            {"to_low", f.still->to_low_day},
                            {"to_high", f.still->to_high_day},
                            {"days", f.still->days},
                            {"share_too_dark", rounded(f.still->light_share, 3)}};
  Json helps = Json::array();
  for (const auto& h : f.helps)
    helps.push_back({{"what", h.what},
                     {"detail", h.detail},
                     {"value", rounded(h.value, 3)},
                     {"lift_k", ranged_json(h.lift_k, 2)}});
  out["what_helps"] = helps;
  Json drivers = Json::array();
  for (const auto& d : f.drivers)
    drivers.push_back({{"what", d.what}, {"share", rounded(d.share, 3)}});
  out["what_drives_the_range"] = drivers;
  out["coldest_week"] = {{"first_hour_of_year", f.week.first_hour},
                         {"inside_c", hours_json(f.week.inside_c, 2)},
                         {"inside_low_c", hours_json(f.week.low_c, 2)},
                         {"inside_high_c", hours_json(f.week.high_c, 2)},
                         {"outside_c", hours_json(f.week.outside_c, 2)},
                         {"soil_c", hours_json(f.week.soil_c, 2)}};
  out["days"] = {{"inside_c", hours_json(f.days.inside_c, 2)},
                 {"lowest_c", hours_json(f.days.lowest_c, 2)},
                 {"outside_c", hours_json(f.days.outside_c, 2)},
                 {"soil_c", hours_json(f.days.soil_c, 2)},
                 {"inside_mol_m2", hours_json(f.days.mol_m2, 2)}};
  Json said = Json::array();
  for (const auto& note : f.said) said.push_back(note.key);
  out["corrected_or_assumed"] = said;
  return out;
}

}  // namespace survey
