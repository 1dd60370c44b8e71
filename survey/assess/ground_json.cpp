#include "survey/assess/ground_json.h"

namespace survey {
namespace {

template <class T>
Json word(const std::optional<T>& value) {
  return value ? Json(std::string(name_of(*value))) : Json();
}

template <class T>
void trace(Json& out, const std::string& key, const std::optional<Evidence<T>>& value, int decimals,
           const Say& say) {
  if (!value) return;
  out[key] = {{"value", rounded(value->value, decimals)}, {"from", say(value->from)}};
}

Json layer_json(const LayerFinding& layer) {
  return {{"top_m", layer.top_m},
          {"bottom_m", layer.bottom_m},
          {"texture", std::string(name_of(layer.texture))},
          {"from_laboratory", layer.from_laboratory},
          {"sand_percent", rounded(layer.soil.sand_percent, 1)},
          {"silt_percent", rounded(layer.soil.silt_percent, 1)},
          {"clay_percent", rounded(layer.soil.clay_percent, 1)},
          {"coarse_percent", layer.coarse_percent},
          {"available_water_percent", rounded(layer.water.available_percent(), 1)},
          {"conductivity_mm_h", rounded(layer.water.conductivity_mm_h, 2)},
          {"permeability",
           std::string(name_of(horizon::permeability_of(layer.water.conductivity_mm_h)))}};
}

Json pit_json(const PitFinding& pit, const Say& say) {
  Json out = {{"name", pit.name},
              {"from", say(pit.from)},
              {"available_water_top_metre_mm", rounded(pit.available_water_mm, 1)},
              {"described_to_m", pit.described_m},
              {"hydrologic_soil_group", word(pit.hydrologic_group)}};
  out["layers"] = Json::array();
  for (const LayerFinding& layer : pit.layers) out["layers"].push_back(layer_json(layer));
  if (pit.frost_group)
    out["frost_group"] = {{"least", std::string(name_of(pit.frost_group->least))},
                          {"most", std::string(name_of(pit.frost_group->most))}};
  if (pit.bearing)
    out["presumptive_bearing"] = {
        {"class", std::string(name_of(*pit.bearing))},
        {"vertical_kpa", rounded(horizon::presumptive_bearing(*pit.bearing).vertical_kpa(), 1)},
        {"source", std::string(horizon::kBearingTable)},
        {"caution", std::string(horizon::kBearingCaution)}};
  if (pit.frost_depth)
    out["frost_depth_m"] = {{"low", rounded(pit.frost_depth->shallow_m, 2)},
                            {"high", rounded(pit.frost_depth->deep_m, 2)}};
  if (pit.frost_cleared)
    out["frost_depth_cleared_of_snow_m"] = {{"low", rounded(pit.frost_cleared->shallow_m, 2)},
                                            {"high", rounded(pit.frost_cleared->deep_m, 2)}};
  if (!pit.edge_table.empty()) {
    auto& table = out["edge_table"] = Json::array();
    for (const auto& row : pit.edge_table)
      table.push_back({{"depth_m", row.depth_m},
                       {"resistance_m2k_w", row.resistance_m2kw},
                       {"coldest_inside_edge_c", rounded(row.coldest_c, 1)},
                       {"saves_w_m_k", rounded(row.saves_w_mk, 3)},
                       {"frost_free", row.frost_free}});
  }
  if (pit.edge_insulation && pit.edge_insulation->common_practice_m)
    out["edge_insulation"] = {
        {"common_practice_m", rounded(*pit.edge_insulation->common_practice_m, 2)},
        {"within_frost_depth_range", pit.edge_insulation->agree}};
  return out;
}

Json percolation_json(const PercolationFinding& test, const Say& say) {
  Json out = {{"name", test.name}, {"from", say(test.from)}};
  if (test.clock_jump_s != 0) out["clock_was_set_by_s"] = rounded(test.clock_jump_s, 0);
  if (!test.result) return out;
  const horizon::PercolationResult& result = *test.result;
  out["fall_mm_h"] = rounded(result.fall_mm_h, 1);
  out["fall_sigma_mm_h"] = rounded(result.fall_sigma_mm_h, 1);
  out["infiltration_mm_h"] = rounded(result.infiltration_mm_h, 1);
  out["infiltration_sigma_mm_h"] = rounded(result.infiltration_sigma_mm_h, 1);
  out["steady"] = result.steady;
  out["soaked_long_enough"] = result.soaked;
  out["planting"] = std::string(horizon::planting_words(result.planting));
  out["planting_sure"] = result.planting_sure;
  out["trench"] = std::string(horizon::trench_words(result.trench));
  out["trench_sure"] = result.trench_sure;
  return out;
}

Json frost_dates_json(const horizon::FrostDates& dates) {
  Json out = {{"years", dates.years},
              {"last_spring_day", rounded(dates.last_spring_day, 0)},
              {"first_autumn_day", rounded(dates.first_autumn_day, 0)},
              {"frost_free_d", rounded(dates.frost_free_d, 0)}};
  if (dates.one_in_ten)
    out["one_year_in_ten"] = {
        {"last_later_than_day", rounded(dates.one_in_ten->last_later_than_day, 0)},
        {"first_earlier_than_day", rounded(dates.one_in_ten->first_earlier_than_day, 0)}};
  return out;
}

Json cold_json(const GroundFindings& findings, const Say& say) {
  const ColdFinding& cold = findings.cold;
  Json out = Json::object();
  if (findings.frost) {
    const FrostFinding& frost = *findings.frost;
    out["freezing_index_cd"] = rounded(frost.air.value.index_cd, 0);
    out["frost_duration_d"] = rounded(frost.air.value.duration_d, 0);
    out["mean_annual_c"] = rounded(frost.air.value.mean_annual_c, 2);
    out["freezing_index_from"] = say(frost.air.from);
    out["average_winter"] = frost.average_winter;
    out["surface"] = frost.surface;
    out["n_factor"] = frost.n_factor;
    out["snow_m"] = frost.snow_m;
  }
  trace(out, "design_low_c", cold.design_low_c, 1, say);
  if (cold.record) {
    out["record"] = {{"from", say(cold.record->from)},
                     {"years", rounded(cold.record->value.years, 1)},
                     {"coldest_c", rounded(cold.record->value.coldest_c, 1)},
                     {"mean_yearly_low_c", rounded(cold.record->value.mean_yearly_low_c, 1)}};
    if (cold.record->value.low_1_in_30_c)
      out["record"]["low_1_in_30_c"] = rounded(*cold.record->value.low_1_in_30_c, 1);
  }
  out["nights_under"] = Json::array();
  for (const auto& nights : cold.nights)
    out["nights_under"].push_back(
        {{"limit_c", nights.limit_c}, {"nights_a_year", rounded(nights.nights, 1)}});
  trace(out, "heating_degree_days_base_18_cd", cold.heating_degree_days, 0, say);
  trace(out, "growing_degree_days_base_10_cd", cold.growing_degree_days, 0, say);
  out["degree_days_from_monthly_means"] = cold.from_months;
  out["degree_days_method"] =
      cold.from_months
          ? "single sine between monthly mean low and high; heating by the spread of days"
          : "daily low, high and mean of the hourly file";
  if (cold.frost) out["frost_0_c"] = frost_dates_json(*cold.frost);
  if (cold.killing_frost) out["frost_minus_2_c"] = frost_dates_json(*cold.killing_frost);
  if (cold.cold_air) {
    out["cold_air_gathers"] = {{"value", std::string(name_of(cold.cold_air->value))},
                               {"from", say(cold.cold_air->from)},
                               {"signs_seen", cold.signs_seen}};
  }
  return out;
}

Json wind_json(const WindFinding& wind, const Say& say) {
  Json out = Json::object();
  const auto sector = [&](const char* key, const std::optional<Evidence<int>>& value) {
    if (value)
      out[key] = {{"value", std::string(horizon::sector_name(value->value))},
                  {"from", say(value->from)}};
  };
  sector("prevailing_from", wind.prevailing);
  sector("storm_from", wind.storm);
  sector("summer_from", wind.summer);
  if (wind.strongest_ms) out["strongest_ms"] = *wind.strongest_ms;
  if (wind.shelter) {
    out["shelter_from"] = say(wind.shelter->from);
    out["shelter"] = Json::array();
    for (int s = 0; s < horizon::kWindSectors; ++s) {
      const auto& one = wind.shelter->value[static_cast<std::size_t>(s)];
      out["shelter"].push_back({{"sector", std::string(horizon::sector_name(s))},
                                {"shelter", std::string(name_of(one.shelter))},
                                {"height_deg", rounded(one.height_deg, 1)}});
    }
  }
  for (const auto& sign : wind.drift_signs) out["drift_signs"][sign.key] = sign.value;
  if (wind.breeze)
    out["cross_breeze"] = {{"axis_true_deg", rounded(wind.breeze->value.axis.degrees(), 1)},
                           {"angle_deg", rounded(wind.breeze->value.angle_deg, 1)},
                           {"end_vents_serve", wind.breeze->value.through},
                           {"from", say(wind.breeze->from)}};
  return out;
}

Json snow_json(const SnowFinding& snow, const Say& say) {
  Json out = {{"ground_snow_kn_m2", snow.ground_kn_m2.value},
              {"from", say(snow.ground_kn_m2.from)},
              {"tilt_deg", snow.tilt_deg},
              {"assumed", say(snow.assumed)},
              {"en1991_mu1", rounded(snow.mu1, 3)},
              {"roof_snow_kn_m2", rounded(snow.roof_kn_m2, 3)},
              {"asce7_cs_slippery_unheated", rounded(snow.cs_slippery, 3)},
              {"asce7_cs_other_unheated", rounded(snow.cs_other, 3)}};
  if (snow.slid)
    out["slid_snow"] = {{"reach_m", rounded(snow.slid->reach_m, 1)},
                        {"height_m", rounded(snow.slid->height_m, 1)},
                        {"reaches_glazing", snow.slid->blocks}};
  return out;
}

}  // namespace

Json ground_findings_json(const GroundFindings& findings, const Say& say) {
  Json out;
  out["pits"] = Json::array();
  for (const auto& pit : findings.pits) out["pits"].push_back(pit_json(pit, say));
  out["percolation"] = Json::array();
  for (const auto& test : findings.percolation)
    out["percolation"].push_back(percolation_json(test, say));
  out["cold"] = cold_json(findings, say);
  out["ground_temperature"] = Json::array();
  for (const auto& one : findings.temperatures) {
    out["ground_temperature"].push_back({{"depth_m", one.depth_m},
                                         {"coldest_c", rounded(one.coldest_c, 1)},
                                         {"coldest_day_of_year", rounded(one.coldest_day, 0)},
                                         {"warmest_c", rounded(one.warmest_c, 1)}});
    if (one.bare_coldest_c)
      out["ground_temperature"].back()["coldest_cleared_of_snow_c"] =
          rounded(*one.bare_coldest_c, 1);
  }
  out["wind"] = wind_json(findings.wind, say);
  if (findings.snow) out["snow"] = snow_json(*findings.snow, say);
  out["forms"] = Json::object();
  for (const auto& form : findings.forms) {
    Json fields = Json::object();
    for (const auto& field : form.fields) fields[field.key] = field.value;
    out["forms"][std::string(name_of(form.topic))] = fields;
  }
  out["missing"] = Json::array();
  for (const auto& what : findings.missing) out["missing"].push_back(say(what));
  return out;
}

}  // namespace survey
