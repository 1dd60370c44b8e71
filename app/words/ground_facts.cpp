#include "app/words/ground_facts.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "app/words/form_words.h"
#include "app/words/house_words.h"
#include "app/words/quantity.h"
#include "app/words/sentence.h"
#include "app/words/words.h"

namespace app {
namespace {

std::string range(const std::string& low, const std::string& high) {
  return low == high ? low : tr("ground.range", {low, high});
}

std::string degree_days(double cd, Units units) {
  return shown_text(Measure::degree_days_cd, cd, units);
}
std::string warmth(double c, Units units) { return shown_text(Measure::temperature_c, c, units); }

std::string day(double day_of_year) {
  const int whole = std::clamp(static_cast<int>(std::lround(day_of_year)), 1, 365);
  return day_month(horizon::date_of_day(2027, whole));
}

std::string sector(const horizon::Evidence<int>& value) {
  return tr_of("choice", horizon::sector_name(value.value));
}

// Evidence names its pit or test; under that name as a title it need not.
std::string beside_name(const std::string& name, const std::string& from) {
  return from.starts_with(name + ", ") ? from.substr(name.size() + 2) : from;
}

void frost_dates(FactGroup& group, const horizon::FrostDates& dates, std::string name) {
  group.rows.push_back(
      {std::move(name),
       tr("ground.frost_dates",
          {day(dates.last_spring_day), day(dates.first_autumn_day), number(dates.frost_free_d)}),
       ""});
  if (dates.one_in_ten)
    group.rows.push_back(
        {tr("ground.one_in_ten"),
         tr("ground.one_in_ten_value", {day(dates.one_in_ten->last_later_than_day),
                                        day(dates.one_in_ten->first_earlier_than_day)}),
         ""});
}

}  // namespace

// Below 3 m to the centimetre: what was entered as 125 cm must not come back as 1.2 m.
std::string length(double metres, Units units) {
  if (units == Units::imperial) return number(metres / 0.3048, 1) + "\u00A0ft";
  const bool tenths = std::abs(metres * 10 - std::round(metres * 10)) < 0.05;
  return number(metres, std::abs(metres) < 3 && !tenths ? 2 : 1) + "\u00A0m";
}

std::string fall_rate(const horizon::PercolationResult& result, Units units) {
  return units == Units::imperial
             ? number(result.fall_mm_h / 25.4, 2) + " ± " +
                   number(2 * result.fall_sigma_mm_h / 25.4, 2) + "\u00A0in/h"
             : number(result.fall_mm_h) + " ± " + number(2 * result.fall_sigma_mm_h) + "\u00A0mm/h";
}

std::string spot_name(const horizon::SpotVerdict& spot) {
  return spot.best_place ? tr("ground.best_place") : spot.name;
}

std::string verdict_words(const horizon::VerdictLine& line, Units units) {
  using namespace horizon::verdict_limits;
  const auto v = [&](std::size_t i) { return i < line.values.size() ? line.values[i] : 0; };
  const std::string key = "verdict." + std::string(line.about);
  const auto& about = line.about;
  if (about == "sun") {
    std::string text = tr(key, {hours_decimal(v(0)), number(v(1), 1), number(v(2), 1),
                                number(kEnoughSun_h), number(kLittleSun_h)});
    if (line.values.size() > 3) text += ". " + tr("verdict.sun_flat", {hours_decimal(v(3))});
    return text;
  }
  if (about == "cold_air")
    return tr(key, {tr_of("cold_air", name_of(static_cast<horizon::ColdAir>(v(0))))});
  if (about == "frost_depth") return tr(key, {length(v(0), units), length(kDeepFrost_m, units)});
  if (about == "frost_group")
    return tr(key, {std::string(name_of(static_cast<horizon::FrostGroup>(v(0))))});
  if (about == "percolation")
    return tr(key, {fall_rate({.fall_mm_h = v(0), .fall_sigma_mm_h = v(1) / 2}, units),
                    tr_of("planting", name_of(static_cast<horizon::DrainsFor>(v(2))))}) +
           (v(3) > 0 ? "" : " " + tr("ground.not_steady"));
  if (about == "water_table") return tr(key, {length(v(0), units), length(kHighWater_m, units)});
  if (about == "shelter")
    return tr(key, {tr(v(0) > 1.5   ? "ground.shelter_good"
                       : v(0) > 0.5 ? "ground.shelter_some"
                                    : "ground.shelter_open")});
  if (about == "access") return tr(key, {distance(v(0), units), distance(kFarAccess_m, units)});
  if (about == "access_slope") return tr(key, {number(v(0)), number(kSteepAccess_percent)});
  if (about == "water") return tr(key, {distance(v(0), units), distance(kFarWater_m, units)});
  return tr(key);
}

FactGroup pit_facts(const survey::PitFinding& pit, Units units) {
  FactGroup group{pit.name, beside_name(pit.name, words_of(pit.from)), {}, {}, {}};
  if (pit.layers.empty()) return group;
  for (const auto& layer : pit.layers)
    group.rows.push_back(
        {depth(layer.top_m, units) + " – " + depth(layer.bottom_m, units),
         tr("ground.layer_value",
            {tr_of("texture", name_of(layer.texture)), number(layer.water.available_percent()),
             tr_of("permeability",
                   name_of(horizon::permeability_of(layer.water.conductivity_mm_h)))}),
         ""});
  group.rows.push_back({tr("ground.available_water"),
                        tr("ground.available_water_value",
                           {shown_text(Measure::level_mm, pit.available_water_mm, units),
                            length(std::min(1.0, pit.described_m), units)}),
                        ""});
  if (pit.hydrologic_group)
    group.rows.push_back(
        {tr("ground.hydrologic_group"),
         std::string(name_of(*pit.hydrologic_group)) + " · " + tr("ground.hydrologic_scale"), ""});
  if (pit.frost_group)
    group.rows.push_back({tr("ground.frost_group"),
                          range(std::string(name_of(pit.frost_group->least)),
                                std::string(name_of(pit.frost_group->most))) +
                              " · " + tr("ground.frost_group_scale"),
                          ""});
  if (pit.bearing) {
    const auto bearing = horizon::presumptive_bearing(*pit.bearing);
    const std::string load = units == Units::imperial
                                 ? number(bearing.vertical_psf) + "\u00A0lb/ft²"
                                 : number(bearing.vertical_kpa()) + "\u00A0kPa";
    group.rows.push_back({tr("ground.bearing"),
                          load + " · " + tr_of("bearing", name_of(*pit.bearing)),
                          std::string(horizon::kBearingTable)});
    group.cautions.push_back(tr("ground.caution.bearing"));
  }
  if (pit.frost_depth)
    group.rows.push_back(
        {tr("ground.frost_depth"),
         range(length(pit.frost_depth->shallow_m, units), length(pit.frost_depth->deep_m, units)),
         tr("ground.frost_depth_why")});
  if (pit.frost_cleared)
    group.rows.push_back({tr("ground.frost_cleared"),
                          range(length(pit.frost_cleared->shallow_m, units),
                                length(pit.frost_cleared->deep_m, units)),
                          tr("ground.frost_depth_why")});
  if (!pit.edge_table.empty()) {
    std::string text;
    const HouseUnit unit = house_unit("edge_m2kw", units);
    for (const double m2kw : horizon::kEdgeResistances_m2kw) {
      const auto least = horizon::least_depth_m(pit.edge_table, m2kw);
      const std::string r = number(unit.shown(m2kw));
      add_clause(text, (least ? tr("ground.edge_depth", {r, length(*least, units)})
                              : tr("ground.edge_never", {r})));
    }
    group.rows.push_back({tr("ground.edge_table"), text,
                          tr("ground.edge_table_why", {temperature(2, units), unit.name})});
  }
  if (pit.edge_insulation) {
    const auto& edge = *pit.edge_insulation;
    if (edge.common_practice_m)
      group.rows.push_back({tr("ground.edge"),
                            tr(edge.agree ? "ground.edge_agrees" : "ground.edge_differs",
                               {length(*edge.common_practice_m, units), temperature(-35, units)}),
                            tr("ground.edge_why")});
  }
  return group;
}

FactGroup percolation_facts(const survey::PercolationFinding& test, Units units) {
  FactGroup group{test.name, beside_name(test.name, words_of(test.from)), {}, {}, {}};
  if (!test.result) return group;
  const auto& result = *test.result;
  const auto rate = [&](double value, double sigma) {
    return units == Units::imperial
               ? number(value / 25.4, 2) + " ± " + number(2 * sigma / 25.4, 2) + "\u00A0in/h"
               : number(value) + " ± " + number(2 * sigma) + "\u00A0mm/h";
  };
  group.rows.push_back({tr("ground.level_falls"), fall_rate(result, units), ""});
  group.rows.push_back({tr("ground.through_walls"),
                        rate(result.infiltration_mm_h, result.infiltration_sigma_mm_h), ""});
  group.rows.push_back({tr("ground.for_beds"),
                        tr_of("planting", name_of(result.planting)) +
                            (result.planting_sure ? "" : " " + tr("ground.not_sure")),
                        ""});
  group.rows.push_back({tr("ground.for_trench"),
                        tr_of("trench", name_of(result.trench)) +
                            (result.trench_sure ? "" : " " + tr("ground.not_sure")),
                        ""});
  if (!result.steady) group.notes.push_back(tr("ground.not_steady"));
  if (!result.soaked) group.notes.push_back(tr("ground.not_soaked"));
  if (test.clock_jump_s != 0)
    group.notes.push_back(tr("ground.clock_jump", {number(std::abs(test.clock_jump_s) / 60, 1)}));
  return group;
}

FactGroup frost_facts(const survey::GroundFindings& findings, Units units) {
  FactGroup group{tr("ground.frost"), "", {}, {}, {}};
  if (!findings.frost) return group;
  const survey::FrostFinding& frost = *findings.frost;
  group.from = words_of(frost.air.from);
  group.rows.push_back(
      {tr("ground.freezing_index"),
       degree_days(frost.air.value.index_cd, units) + " · " +
           tr(frost.average_winter ? "ground.average_winter" : "ground.design_winter"),
       ""});
  group.rows.push_back(
      {tr("ground.surface"),
       tr("ground.surface_value", {tr_of("choice", frost.surface), number(frost.n_factor, 2)}),
       "UFC 3-130-04"});
  for (const auto& pit : findings.pits)
    if (pit.frost_depth)
      group.rows.push_back(
          {tr("ground.frost_depth_at", {pit.name}),
           range(length(pit.frost_depth->shallow_m, units), length(pit.frost_depth->deep_m, units)),
           tr("ground.frost_depth_why")});
  group.notes.push_back(tr("ground.frost_note"));
  if (frost.average_winter) group.notes.push_back(tr("ground.missing.average_winter"));
  group.cautions.push_back(tr("ground.caution.frost"));
  return group;
}

FactGroup temperature_facts(const survey::GroundFindings& findings, Units units) {
  FactGroup group{tr("ground.temperature"), words_of(findings.temperatures_from), {}, {}, {}};
  for (const auto& one : findings.temperatures) {
    std::string value =
        tr("ground.temperature_value",
           {warmth(one.coldest_c, units), day(one.coldest_day), warmth(one.warmest_c, units)});
    if (one.bare_coldest_c)
      add_clause(value, tr("ground.temperature_bare", {warmth(*one.bare_coldest_c, units)}));
    group.rows.push_back({tr("ground.at_depth", {depth(one.depth_m, units)}), value, ""});
  }
  if (!group.rows.empty()) group.notes.push_back(tr("ground.temperature_note"));
  return group;
}

FactGroup cold_facts(const survey::GroundFindings& findings, Units units) {
  const survey::ColdFinding& cold = findings.cold;
  FactGroup group{tr("ground.cold"), "", {}, {}, {}};
  if (cold.design_low_c)
    group.rows.push_back({tr("ground.design_low"), warmth(cold.design_low_c->value, units),
                          words_of(cold.design_low_c->from)});
  if (cold.record) {
    group.rows.push_back({tr("ground.record"),
                          tr_count("ground.record_value", std::lround(cold.record->value.years),
                                   {warmth(cold.record->value.coldest_c, units)}),
                          words_of(cold.record->from)});
    for (const auto& nights : cold.nights)
      group.rows.push_back({tr("ground.nights_under", {warmth(nights.limit_c, units)}),
                            tr("ground.nights_value", {number(nights.nights)}), ""});
  }
  if (cold.frost) frost_dates(group, *cold.frost, tr("ground.frost_free", {temperature(0, units)}));
  if (cold.killing_frost)
    frost_dates(group, *cold.killing_frost,
                tr("ground.killing_frost_free", {temperature(-2, units)}));
  if (cold.heating_degree_days)
    group.rows.push_back({tr("ground.heating_days", {temperature(18, units)}),
                          degree_days(cold.heating_degree_days->value, units),
                          words_of(cold.heating_degree_days->from)});
  if (cold.growing_degree_days)
    group.rows.push_back(
        {tr("ground.growing_days", {temperature(10, units), temperature(30, units)}),
         degree_days(cold.growing_degree_days->value, units),
         words_of(cold.growing_degree_days->from)});
  if (cold.from_months) group.notes.push_back(tr("ground.from_months"));
  if (cold.cold_air) {
    group.rows.push_back({tr("ground.cold_air"), tr_of("cold_air", name_of(cold.cold_air->value)),
                          words_of(cold.cold_air->from)});
    std::string seen;
    for (const auto& sign : cold.signs_seen) add_clause(seen, field_words(sign));
    if (!seen.empty()) group.notes.push_back(tr("ground.signs_seen", {seen}));
  }
  if (!group.rows.empty()) group.notes.push_back(tr("ground.hardy_greens", {warmth(-5, units)}));
  return group;
}

FactGroup wind_facts(const survey::GroundFindings& findings, Units units) {
  const survey::WindFinding& wind = findings.wind;
  FactGroup group{tr("ground.wind"), "", {}, {}, {}};
  const auto row = [&](const char* name, const std::optional<horizon::Evidence<int>>& value) {
    if (value) group.rows.push_back({tr(name), sector(*value), words_of(value->from)});
  };
  row("field.prevailing_from", wind.prevailing);
  row("field.storm_from", wind.storm);
  row("field.summer_from", wind.summer);
  if (wind.strongest_ms)
    group.rows.push_back(
        {tr("field.strongest_ms"), shown_text(Measure::speed_ms, *wind.strongest_ms, units), ""});
  if (wind.shelter) {
    std::string kinds[3];
    for (int s = 0; s < horizon::kWindSectors; ++s) {
      auto& list =
          kinds[static_cast<int>(wind.shelter->value[static_cast<std::size_t>(s)].shelter)];
      add_listed(list, tr_of("choice", horizon::sector_name(s)));
    }
    constexpr const char* kNames[] = {"ground.shelter_open", "ground.shelter_some",
                                      "ground.shelter_good"};
    for (int i = 2; i >= 0; --i)
      if (!kinds[i].empty())
        group.rows.push_back({tr(kNames[i]), kinds[i], words_of(wind.shelter->from)});
    group.notes.push_back(tr("ground.shelter_note"));
  }
  for (const auto& sign : wind.drift_signs)
    group.rows.push_back({field_words(sign.key), sign.value, ""});
  if (wind.breeze)
    group.rows.push_back(
        {tr("ground.breeze"),
         tr(wind.breeze->value.through ? "ground.breeze_through" : "ground.breeze_across",
            {degrees(wind.breeze->value.angle_deg)}),
         words_of(wind.breeze->from)});
  return group;
}

FactGroup snow_facts(const survey::GroundFindings& findings, Units units) {
  FactGroup group{tr("ground.snow"), "", {}, {}, {}};
  if (!findings.snow) return group;
  const survey::SnowFinding& snow = *findings.snow;
  const auto load = [&](double kn_m2) { return shown_text(Measure::load_kn_m2, kn_m2, units); };
  group.rows.push_back({tr("field.ground_snow_kn_m2"), load(snow.ground_kn_m2.value),
                        words_of(snow.ground_kn_m2.from)});
  group.rows.push_back(
      {tr("ground.roof_snow", {degrees(snow.tilt_deg)}),
       load(snow.roof_kn_m2) + " · " + tr("ground.shape_factor", {number(snow.mu1, 2)}),
       "EN 1991-1-3"});
  group.rows.push_back(
      {tr("ground.slope_factor"),
       tr("ground.slope_factor_value", {number(snow.cs_slippery, 2), number(snow.cs_other, 2)}),
       tr("ground.slope_factor_from")});
  if (snow.slid)
    group.rows.push_back(
        {tr("ground.slid"),
         tr(snow.slid->blocks ? "ground.slid_blocks" : "ground.slid_value",
            {length(snow.slid->reach_m, units), length(snow.slid->height_m, units)}),
         ""});
  if (!snow.assumed.empty()) group.notes.push_back(tr("ground.assumed", {words_of(snow.assumed)}));
  group.notes.push_back(tr("ground.snow_note"));
  group.cautions.push_back(tr("ground.caution.snow"));
  return group;
}

FactGroup form_facts(const survey::SiteNote& note, Units units) {
  FactGroup group{tr("ground.topic." + std::string(name_of(note.topic))), "", {}, {}, {}};
  const survey::Form* form = form_of(note.topic);
  if (!form) return group;
  for (const survey::FormField& field : form->fields)
    if (const auto kept = answer_to(note, field.key))
      group.rows.push_back({field_words(field.key), answer_words(field, *kept, units), ""});
  if (!note.text.empty()) group.notes.push_back(note.text);
  if (!form->caution.empty()) group.cautions.push_back(tr(form->caution));
  return group;
}

FactGroup things_facts(const survey::PlotFindings& plot, Units units) {
  FactGroup group{tr("ground.things"), "", {}, {}, {}};
  constexpr double kNinety = 2.146;  // of a plane's two-dimensional normal errors
  for (const auto& thing : plot.things) {
    const double away = std::hypot(thing.east_m, thing.north_m);
    const double azimuth =
        horizon::wrap_360(std::atan2(thing.east_m, thing.north_m) / horizon::kDegree);
    std::string value = tr("ground.thing_value",
                           {length(away, units), compass_point(azimuth),
                            length(kNinety * thing.ellipse.major_m, units),
                            length(kNinety * thing.ellipse.minor_m, units),
                            length(thing.height_low_m, units), length(thing.height_high_m, units)});
    // What else it could be, where that is not next to nothing.
    if (thing.choices.size() > 1 && thing.choices.front().weight < 0.9)
      value += ". " + tr("ground.thing_or",
                         {tr("shape." + std::string(name_of(thing.choices.front().shape.form))),
                          number(100 * thing.choices.front().weight)});
    if (thing.placing == horizon::Placing::direction) value = tr("ground.thing_direction");
    group.rows.push_back(
        {thing.name.empty() ? tr("kind." + std::string(name_of(thing.kind))) : thing.name, value,
         thing.placing == horizon::Placing::direction ? std::string()
         : thing.stations > 1 ? tr_count("ground.thing_from", thing.stations)
                              : tr("ground.thing_from_one")});
  }
  if (!group.rows.empty()) group.notes.push_back(tr("ground.things_note", {plot.origin}));
  for (const auto& advice : plot.aim_next) group.notes.push_back(words_of(advice));
  return group;
}

FactGroup places_facts(const survey::PlotFindings& plot, Units units) {
  FactGroup group{tr("ground.places"), "", {}, {}, {}};
  const auto hidden_by = [&](const horizon::FootprintPlace& place) {
    std::string takes;
    for (std::size_t o = 0; o < place.shares.size(); ++o) {
      const auto& what = plot.plot.survey.obstacles[o].what;
      const double day_h = place.shares[o].hidden_h / plot.winter_days;
      if (day_h < 0.05) continue;
      add_listed(takes,
                 (what.label.empty() ? tr("kind." + std::string(name_of(what.kind))) : what.label) +
                     " " + hours_minutes(day_h));
    }
    return takes.empty() ? std::string() : tr("ground.place_takes", {takes});
  };
  const auto hours_range = [&](const horizon::FootprintPlace& place) {
    const std::string low = number(place.low_h / plot.winter_days, 1),
                      high = hours_decimal(place.high_h / plot.winter_days);
    const std::string value = hours_decimal(place.mean_h / plot.winter_days);
    return high == hours_decimal(place.low_h / plot.winter_days)
               ? value
               : value + " (" + tr("ground.range", {low, high}) + ")";
  };
  // From the station drawn beside it.
  const auto where = [&](const horizon::FootprintPlace& place) {
    const horizon::PlotStation* beside = nullptr;
    double least = 1e9;
    for (const auto& station : plot.plot.survey.stations) {
      const double away =
          std::hypot(place.east_m - station.eye.x(), place.north_m - station.eye.y());
      if (away < least) least = away, beside = &station;
    }
    const double azimuth = horizon::wrap_360(
        std::atan2(place.east_m - beside->eye.x(), place.north_m - beside->eye.y()) /
        horizon::kDegree);
    const auto at = horizon::to_place(plot.origin_place, {place.east_m, place.north_m, 0});
    return tr("ground.place_value", {hours_range(place), length(least, units), degrees(azimuth),
                                     beside->name, position(at.latitude_deg, at.longitude_deg)});
  };
  struct Row {
    double hours_a_day = 0;
    std::array<std::string, 3> words;
  };
  std::vector<Row> rows;
  for (std::size_t b = 0; b < plot.best.size(); ++b) {
    const auto& best = plot.best[b];
    std::string value = where(best);
    for (const auto& later : plot.later)
      add_clause(value, tr("ground.place_later",
                           {number(later.years), number(later.best[b].low_h / plot.winter_days, 1),
                            hours_decimal(later.best[b].high_h / plot.winter_days)}));
    rows.push_back({best.mean_h / plot.winter_days,
                    {tr("ground.place", {spot_number(b)}), value, hidden_by(best)}});
  }
  for (std::size_t s = 0; s < plot.at_stations.size() && !plot.best.empty(); ++s)
    if (const auto& at = plot.at_stations[s])
      rows.push_back({at->mean_h / plot.winter_days,
                      {tr("ground.place_station", {plot.plot.survey.stations[s].name}),
                       tr("ground.place_station_value", {hours_range(*at)}), hidden_by(*at)}});
  std::stable_sort(rows.begin(), rows.end(),
                   [](const Row& a, const Row& b) {  // as told: what reads the same keeps its order
                     return std::lround(10 * a.hours_a_day) > std::lround(10 * b.hours_a_day);
                   });
  for (const Row& row : rows) group.rows.push_back({row.words[0], row.words[1], row.words[2]});
  if (!group.rows.empty()) {
    group.notes.push_back(
        tr("ground.places_note",
           {length(plot.footprint.length_m, units), length(plot.footprint.depth_m, units),
            degrees(plot.footprint.facing.degrees()), length(1, units)}));
    group.notes.push_back(
        plot.boundary.empty()
            ? tr("ground.places_rules_open", {length(5, units), length(3, units), length(2, units)})
            : tr("ground.places_rules", {length(plot.setback_m, units), length(5, units),
                                         length(3, units), length(2, units)}));
  }
  return group;
}

FactGroup later_facts(const survey::PlotFindings& plot) {
  FactGroup group;
  if (plot.later.empty()) return group;
  group.title = tr("ground.later_title");
  for (std::size_t s = 0; s < plot.station_h.size(); ++s) {
    // The change alone: what the station has today is told from its own aims, not from the plan.
    std::string value;
    const auto a_day = [&](double hours) { return with_sign(hours / plot.winter_days, 1); };
    for (const auto& later : plot.later) {
      const horizon::MeanHours& change = later.station_change_h[s];
      const std::string low = a_day(change.low_h), high = a_day(change.high_h);
      std::string told = a_day(change.mean_h) + "\u00A0" + tr("unit.h");
      if (low != high) told += " (" + range(low, high) + ")";
      add_clause(value, tr("ground.later_in", {number(later.years), told}));
    }
    group.rows.push_back(
        {tr("ground.later_station", {plot.plot.survey.stations[s].name}), value, ""});
  }
  group.notes.push_back(tr("ground.later_note"));
  return group;
}

std::vector<FactGroup> weather_facts(const survey::GroundFindings& findings, Units units) {
  std::vector<FactGroup> all = {frost_facts(findings, units), temperature_facts(findings, units),
                                cold_facts(findings, units), wind_facts(findings, units),
                                snow_facts(findings, units)};
  std::erase_if(all, [](const FactGroup& group) { return group.rows.empty(); });
  return all;
}

}  // namespace app
