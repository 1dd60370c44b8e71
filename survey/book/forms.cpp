#include "survey/book/forms.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <vector>

#include "horizon/ground/cold.h"
#include "horizon/ground/frost.h"
#include "horizon/ground/wind.h"
#include "survey/book/text.h"

namespace survey {
namespace {

constexpr FormField number_field(std::string_view key, Measure measure, double low, double high) {
  return {key, Answer::number, measure, low, high, {}};
}
constexpr FormField yes_no(std::string_view key) {
  return {key, Answer::yes_no, Measure::none, 0, 0, {}};
}
constexpr FormField words_field(std::string_view key) {
  return {key, Answer::words, Measure::none, 0, 0, {}};
}

constexpr std::string_view kSources[] = {"spring", "mains", "stream", "well", "rain"};
constexpr std::string_view kPermits[] = {"none", "notice", "permit", "unclear"};
constexpr std::string_view kWays[] = {"road", "track", "path", "none"};

const std::array<std::string_view, horizon::kWindSectors>& sectors() {
  static const auto names = [] {
    std::array<std::string_view, horizon::kWindSectors> all;
    for (int i = 0; i < horizon::kWindSectors; ++i)
      all[static_cast<std::size_t>(i)] = horizon::sector_name(i);
    return all;
  }();
  return names;
}

std::span<const std::string_view> surfaces() {
  static const auto names = [] {
    std::array<std::string_view, horizon::kSurfaceCount> all;
    for (int i = 0; i < horizon::kSurfaceCount; ++i)
      all[static_cast<std::size_t>(i)] = name_of(static_cast<horizon::Surface>(i));
    return all;
  }();
  return names;
}

constexpr FormField kWater[] = {
    {"source", Answer::choice, Measure::none, 0, 0, kSources},
    number_field("distance_m", Measure::length_m, 0, 5000),
    number_field("water_rise_m", Measure::length_m, -300, 500),
    number_field("water_flow_l_min", Measure::flow_l_min, 0, 500),
    yes_no("runs_in_winter"),
    number_field("water_line_depth_m", Measure::depth_m, 0, 4),
};
constexpr FormField kServices[] = {
    number_field("power_distance_m", Measure::length_m, 0, 5000),
    number_field("power_kw", Measure::power_kw, 0, 100),
    number_field("drain_distance_m", Measure::length_m, 0, 5000),
    yes_no("lines_located"),
    words_field("lines_known"),
};
constexpr FormField kAccess[] = {
    {"way", Answer::choice, Measure::none, 0, 0, kWays},
    number_field("access_distance_m", Measure::length_m, 0, 5000),
    number_field("lane_width_m", Measure::length_m, 0.5, 20),
    number_field("access_slope_percent", Measure::part_percent, 0, 60),
    yes_no("cleared_in_winter"),
    yes_no("turning_place"),
};
constexpr FormField kNeighbour[] = {
    number_field("neighbour_distance_m", Measure::length_m, 0, 2000),
    number_field("boundary_distance_m", Measure::length_m, 0, 1000),
    yes_no("neighbour_agrees"),
    words_field("neighbour_wishes"),
};
constexpr FormField kPermission[] = {
    {"permit_needed", Answer::choice, Measure::none, 0, 0, kPermits},
    yes_no("permit_asked"),
    number_field("setback_m", Measure::length_m, 0, 100),
    words_field("zone"),
};
constexpr FormField kSnow[] = {
    number_field("ground_snow_kn_m2", Measure::load_kn_m2, 0, 25),
    words_field("snow_code"),
    number_field("usual_snow_m", Measure::depth_m, 0, 6),
    number_field("glazing_foot_m", Measure::depth_m, 0, 3),
    yes_no("snow_held"),
};

std::span<const FormField> frost_fields() {
  static const FormField fields[] = {
      number_field("freezing_index_cd", Measure::degree_days_cd, 0, 6000),
      number_field("frost_duration_d", Measure::days, 1, 330),
      number_field("mean_annual_c", Measure::temperature_c, -15, 30),
      number_field("design_low_c", Measure::temperature_c, -60, 15),
      words_field("frost_figures_from"),
      {"surface", Answer::choice, Measure::none, 0, 0, surfaces()},
      number_field("snow_m", Measure::depth_m, 0, 3),
  };
  return fields;
}

std::span<const FormField> wind_fields() {
  static const auto fields = [] {
    std::vector<FormField> all = {
        {"prevailing_from", Answer::choice, Measure::none, 0, 0, sectors()},
        {"storm_from", Answer::choice, Measure::none, 0, 0, sectors()},
        {"summer_from", Answer::choice, Measure::none, 0, 0, sectors()},
        number_field("strongest_ms", Measure::speed_ms, 0, 90),
    };
    for (const auto& sign : horizon::drift_signs()) all.push_back(words_field(sign.key));
    return all;
  }();
  return fields;
}

std::span<const FormField> cold_air_fields() {
  static const auto fields = [] {
    std::vector<FormField> all;
    for (const auto& sign : horizon::cold_air_signs()) all.push_back(yes_no(sign.key));
    return all;
  }();
  return fields;
}

}  // namespace

std::span<const Form> forms() {
  static const Form all[] = {
      {Topic::frost, frost_fields(), "ground.caution.frost"},
      {Topic::cold_air, cold_air_fields(), ""},
      {Topic::wind, wind_fields(), ""},
      {Topic::snow, kSnow, "ground.caution.snow"},
      {Topic::water, kWater, "ground.caution.water"},
      {Topic::services, kServices, "ground.caution.dig"},
      {Topic::access, kAccess, "ground.caution.access"},
      {Topic::neighbour, kNeighbour, ""},
      {Topic::permission, kPermission, "ground.caution.permission"},
  };
  return all;
}

const Form* form_of(Topic topic) {
  for (const Form& form : forms())
    if (form.topic == topic) return &form;
  return nullptr;
}

const FormField* field_of(Topic topic, std::string_view key) {
  const Form* form = form_of(topic);
  if (!form) return nullptr;
  for (const FormField& field : form->fields)
    if (field.key == key) return &field;
  return nullptr;
}

std::optional<double> Kept::number() const { return number_of(text_); }

horizon::Result<double> kept_value(const FormField& field, const Kept& kept) {
  const auto si = kept.number();
  const double slack = 1e-4 * std::max(1.0, std::abs(field.high));
  if (si && *si >= field.low - slack && *si <= field.high + slack)
    return std::clamp(*si, field.low, field.high);
  const horizon::Sentence plausible{
      kPlausible,
      {static_cast<int>(field.measure), horizon::Arg::figure(kept_number(field.low).text()),
       horizon::Arg::figure(kept_number(field.high).text())}};
  return horizon::fail(horizon::Code::bad_input,
                       {si ? "ground.not_plausible" : "ground.no_number", {kept.text(), plausible}},
                       std::string(field.key));
}

std::string fewest_decimals(double value, const std::function<bool(double)>& same) {
  char text[64];
  for (int decimals = 0; decimals <= 20; ++decimals) {
    std::snprintf(text, sizeof text, "%.*f", decimals, value);
    if (same(std::strtod(text, nullptr))) break;
  }
  return text;
}

Kept kept_number(double si) {
  return Kept(fewest_decimals(si, [&](double read) { return read == si; }));
}

std::optional<Kept> answer_to(const SiteNote& note, std::string_view key) {
  for (const Field& field : note.fields)
    if (field.key == key && !field.value.empty()) return Kept(field.value);
  return std::nullopt;
}

std::string text_of(const std::optional<Kept>& kept, std::string_view otherwise) {
  return kept ? kept->text() : std::string(otherwise);
}

void set_answer(SiteNote& note, std::string_view key, const Kept& value) {
  std::erase_if(note.fields, [&](const auto& field) { return field.key == key; });
  if (!value.text().empty()) note.fields.push_back({std::string(key), value.text()});
}

}  // namespace survey
