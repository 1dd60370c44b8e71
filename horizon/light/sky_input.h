// horizon/light/sky_input.h: what is known about the sky at a place, in the user's own numbers.
// Units:    a month's value is the mean of its days; January first
// Valid:    sunshine fraction 0 to 1; global radiation 0 to 12 kWh/m2 a day and below what arrives
//           outside the atmosphere
// Errors:   `check_sky` names the month and the cure
// Source:   Angstrom-Prescott with a = 0.25 and b = 0.50, FAO-56 eq. 35
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <string>

#include "horizon/light/clear_sky.h"
#include "horizon/light/weather_year.h"
#include "horizon/result.h"

namespace horizon {

using Monthly = std::array<double, 12>;

enum class SkySource {
  clear,    // no clouds: the most the place can give
  normals,  // the mean day of each month, from the user's monthly normals
  weather,  // an hourly file
};
std::string_view name_of(SkySource source);  // "clear sky", "monthly normals", "weather file"

struct MonthlyNormals {
  enum class What { sunshine_fraction, global_kwh_m2_day };
  What what = What::sunshine_fraction;
  Monthly values{};
  double angstrom_a = 0.25, angstrom_b = 0.50;
  std::string source;  // where the user has them from
};

struct SkyInput {
  SkySource source = SkySource::clear;
  std::optional<MonthlyTurbidity> turbidity;   // without it, by height
  std::optional<MonthlyNormals> normals;       // needed for `normals`
  std::shared_ptr<const WeatherYear> weather;  // needed for `weather`
};

// Monthly mean daily global over the same outside the atmosphere (clearness), 0 to 0.85.
Monthly monthly_clearness(const MonthlyNormals& normals, double latitude_deg);
Result<void> check_sky(const SkyInput& sky, const Place& place);

// New snow 0.8, old snow 0.5, grass 0.2; enter the months with snow on the ground.
inline constexpr Monthly kGrassAlbedo = {.2, .2, .2, .2, .2, .2, .2, .2, .2, .2, .2, .2};
// months: bit 0 = January.
Monthly snow_albedo(unsigned snow_months, double snow = 0.6, double bare = 0.2);

}  // namespace horizon
