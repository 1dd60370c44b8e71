#include "survey/assess/house_input.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "horizon/ground/wind.h"
#include "survey/book/text.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::fail;
using horizon::House;
using horizon::Result;

#define ADRET_HOUSE(key, from, to, decimals, yes_no, place)                          \
  HouseKey {                                                                         \
    key, from, to, decimals, yes_no, [](const House& h) { return double(h.place); }, \
        [](House& h, double v) { h.place = static_cast<decltype(h.place)>(v); }      \
  }
const std::array<HouseKey, 19> kKeys = {
    ADRET_HOUSE("floor_length_m", 2, 100, 1, false, length_m),
    ADRET_HOUSE("floor_width_m", 2, 30, 1, false, width_m),
    ADRET_HOUSE("ridge_m", 1, 12, 1, false, ridge_m),
    ADRET_HOUSE("glazing_m2", 1, 2000, 1, false, glazing_m2),
    ADRET_HOUSE("wall_m2kw", 0.05, 20, 1, false, wall_m2kw),
    ADRET_HOUSE("roof_m2kw", 0.05, 20, 1, false, roof_m2kw),
    ADRET_HOUSE("clay_kg_m2", 0, 1000, 0, false, clay_kg_m2),
    ADRET_HOUSE("water_l", 0, 100000, 0, false, water_l),
    ADRET_HOUSE("air_changes_per_h", 0, 20, 2, false, air_changes_h),
    ADRET_HOUSE("edge_depth_m", 0, 4, 1, false, edge.depth_m),
    ADRET_HOUSE("edge_m2kw", 0, 10, 1, false, edge.resistance_m2kw),
    ADRET_HOUSE("night_cover_m2kw", 0, 10, 1, false, night_m2kw),
    HouseKey{"night_cover_by_clock", 0, 1, 0, true,
             [](const House& h) { return double(h.night == horizon::NightCover::by_clock); },
             [](House& h, double v) {
               h.night = v > 0.5 ? horizon::NightCover::by_clock : horizon::NightCover::by_sun;
             }},
    ADRET_HOUSE("snow_swept", 0, 1, 0, true, snow_swept),
    ADRET_HOUSE("vent_m2", 0, 500, 1, false, vent_m2),
    ADRET_HOUSE("vents_open_c", 5, 60, 0, false, vent_above_c),
    ADRET_HOUSE("soil_w_mk", 0.2, 4, 1, false, soil_w_mk),
    HouseKey{"soil_water_percent", 0, 60, 0, false,
             [](const House& h) { return h.soil_water_share * 100; },
             [](House& h, double v) { h.soil_water_share = v / 100; }},
    ADRET_HOUSE("soil_density_kg_m3", 300, 2300, 0, false, soil_density_kg_m3),
};
#undef ADRET_HOUSE

bool given(const DesignChoices& choices, std::string_view key) {
  return std::ranges::any_of(choices.house, [&](const Field& f) { return f.key == key; });
}

// What was not entered follows the rest: glazing as deep as the floor, a ridge above it.
void fit(House& house, const DesignChoices& choices) {
  const double tilt = house.glazing.tilt_deg * horizon::kDegree;
  if (!given(choices, "glazing_m2")) {
    const double most = tilt < 1.55 ? 0.95 * house.width_m / std::cos(tilt) : 1e9;
    house.glazing_m2 = house.length_m * std::min({3.5, most});
  }
  const double rise = house.glazing_m2 / house.length_m * std::sin(tilt);
  if (!given(choices, "ridge_m") && !choices.height_m)
    house.ridge_m = std::max(house.ridge_m, rise + 0.3);
}

horizon::NormalsEntry normals_of(const ClimateNormals& climate) {
  horizon::NormalsEntry out;
  out.mean_c = climate.mean_c;
  out.min_c = climate.min_c;
  out.max_c = climate.max_c;
  out.coldest_c = climate.coldest_c;
  out.wind_ms = climate.wind_ms;
  out.precipitation_mm = climate.precipitation_mm;
  if (climate.position) out.height_m = climate.position->height_m;
  return out;
}

}  // namespace

std::span<const HouseKey> house_keys() { return kKeys; }

const HouseKey* house_key(std::string_view key) {
  const auto at = std::ranges::find(kKeys, key, &HouseKey::key);
  return at == kKeys.end() ? nullptr : &*at;
}

Result<void> put_house_field(std::vector<Field>& fields, std::string_view key,
                             std::string_view value) {
  const HouseKey* known = house_key(key);
  if (!known) {
    std::string all;
    for (const HouseKey& k : kKeys) all += (all.empty() ? "" : ", ") + std::string(k.key);
    return fail(Code::bad_input, {"error.house_unknown_key", {all}}, std::string(key));
  }
  std::erase_if(fields, [&](const Field& f) { return f.key == key; });
  if (trimmed(value).empty()) return {};
  const auto number = number_of(value);
  if (!number || !(*number >= known->from && *number <= known->to)) {
    return fail(Code::bad_input,
                {"error.house_number_range",
                 {horizon::Arg::figure(known->from, known->from > 0 && known->from < 1 ? 2 : 0),
                  horizon::Arg::figure(known->to, 0)}},
                std::string(key));
  }
  fields.push_back({std::string(key), std::string(trimmed(value))});
  return {};
}

Result<House> house_of(const DesignChoices& choices, const horizon::StationInput& station,
                       horizon::TrueAzimuth best_facing) {
  House house = horizon::reference_house();
  if (choices.length_m) house.length_m = *choices.length_m;
  if (choices.depth_m) house.width_m = *choices.depth_m;
  if (choices.height_m) house.ridge_m = *choices.height_m;
  house.glazing = station.chosen.value_or(horizon::Plane{best_facing, 30});
  house.pane = station.glazing;
  house.pane_m2kw = horizon::pane_resistance_m2kw(house.pane);
  house.light_left = station.frames_and_dirt;
  for (const Field& field : choices.house) {
    std::vector<Field> checked;
    if (auto ok = put_house_field(checked, field.key, field.value); !ok)
      return tl::unexpected(ok.error());
    if (const HouseKey* key = house_key(field.key); key && !checked.empty())
      key->set(house, *number_of(field.value));
  }
  fit(house, choices);
  if (auto ok = horizon::check_house(house); !ok) return tl::unexpected(ok.error());
  return house;
}

Result<horizon::HouseInput> house_input(const SiteSettings& settings,
                                        const horizon::StationInput& station,
                                        horizon::TrueAzimuth best_facing,
                                        std::shared_ptr<const horizon::WeatherYear> weather,
                                        std::span<const StationSkyline> others,
                                        std::span<const horizon::OtherSpot> spots) {
  horizon::HouseInput input;
  auto house = house_of(settings.choices, station, best_facing);
  if (!house) return tl::unexpected(house.error());
  input.house = std::move(*house);
  input.place = station.place;
  input.utc_offset_h = station.utc_offset_h;
  input.year = station.year;
  input.skyline = station.skyline;
  input.slope = station.slope;
  input.albedo = station.albedo;
  input.skyline_albedo = station.skyline_albedo;
  input.weather = weather ? std::move(weather) : station.sky.weather;
  if (settings.climate) input.normals = normals_of(*settings.climate);
  input.light = station.sky.normals;
  input.best_facing = best_facing;
  if (settings.summer_wind_from)
    input.breeze_angle_deg =
        horizon::cross_breeze(input.house.glazing.facing, *settings.summer_wind_from).angle_deg;
  // Never the sea's level by silence: a kilometre is 6.5 degrees.
  input.height_known = station.height_known;
  if (!input.height_known && input.weather)
    input.place.height_m = input.weather->place.height_m;
  else if (!input.height_known && input.normals)
    input.place.height_m = input.normals->height_m.value_or(input.place.height_m);
  input.design_low_c = settings.design_low_c;
  if (!input.design_low_c && settings.climate)
    for (const auto& month : settings.climate->coldest_c)
      if (month) input.design_low_c = std::min(input.design_low_c.value_or(*month), *month);
  for (const StationSkyline& other : others) {
    if (other.skyline().points.empty()) continue;
    horizon::OtherSpot spot;
    spot.name = other.station.name;
    spot.place = other.eye;
    spot.skyline = other.skyline();
    input.other_spots.push_back(std::move(spot));
  }
  input.other_spots.insert(input.other_spots.end(), spots.begin(), spots.end());
  if (auto ok = horizon::check_house_input(input); !ok) return tl::unexpected(ok.error());
  return input;
}

}  // namespace survey
