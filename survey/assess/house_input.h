// survey/assess/house_input.h: the unheated house as the field book keeps it, and what it is worth.
// Units:  in the keys' names
// Keys:   docs/formats.md, "The house"; a key that is absent has the reference house's value. Facing
//         and tilt are the design's own, else the best facing and 30 degrees; the pane is the design's
// Errors: a value that is no number, out of range or of an unknown key names the key and the cure
// Derived: findings are never stored; one place for screens, command line and report
#pragma once

#include <span>

#include "horizon/house/house_findings.h"
#include "survey/assess/station_input.h"

namespace survey {

struct HouseKey {
  std::string_view key;  // "night_cover_m2kw"
  double from = 0, to = 0;
  int decimals = 1;
  bool yes_no = false;
  double (*get)(const horizon::House&) = nullptr;
  void (*set)(horizon::House&, double) = nullptr;
};
std::span<const HouseKey> house_keys();
const HouseKey* house_key(std::string_view key);
// Puts the value, or takes the key out where it is empty. "" and unknown keys are refused.
horizon::Result<void> put_house_field(std::vector<Field>& fields, std::string_view key,
                                      std::string_view value);

// The house on this station, its glazing as it fits.
horizon::Result<horizon::House> house_of(const DesignChoices& choices,
                                         const horizon::StationInput& station,
                                         horizon::TrueAzimuth best_facing);
// weather: an hourly year, or null. others: the site's other stations, to compare; spots: other
// places on the plot.
horizon::Result<horizon::HouseInput> house_input(
    const SiteSettings& settings, const horizon::StationInput& station,
    horizon::TrueAzimuth best_facing, std::shared_ptr<const horizon::WeatherYear> weather,
    std::span<const StationSkyline> others = {}, std::span<const horizon::OtherSpot> spots = {});

}  // namespace survey
