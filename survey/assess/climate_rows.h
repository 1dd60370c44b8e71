// survey/assess/climate_rows.h: the twelve-month rows of the climate: how each is typed and kept, and
// what they come to.
// Units:  typed in the reader's units; kept as ClimateNormals says. Sunshine is typed in
//         hours a month or as a share of the possible hours, and kept as the share; snow lying is
//         typed in days a month and kept as a share of the days
// Valid:  sunshine in hours below the polar circles; a month without possible sun keeps no share
// Source: possible hours FAO-56 eq. 34; the rest is bookkeeping
#pragma once

#include "horizon/light/weather_year.h"
#include "survey/book/forms.h"

namespace survey {

struct ClimateRow {
  std::string_view words;  // key of its name
  MonthValues ClimateNormals::*kept = nullptr;
  Measure measure = Measure::temperature_c;
  double low = 0, high = 0;  // plausible, in the measure's SI
  enum class As : std::uint8_t { is, share, days, sun_hours } as = As::is;
};
std::span<const ClimateRow> climate_rows();

// month 1 to 12; between what is kept and the row's own measure.
std::optional<double> measured(const ClimateRow& row, double kept, int month, double latitude_deg);
std::optional<double> to_keep(const ClimateRow& row, double si, int month, double latitude_deg);

// Of the middle of the month, hours a day.
double possible_sunshine_h(int month, double latitude_deg);

// The months of an hourly file, as normals: temperatures, global radiation, snow where it has it.
ClimateNormals climate_of(const horizon::WeatherYear& weather);

// What the light rests on with these rows: a key of app/words.
std::string_view sky_of(const ClimateNormals& climate);

}  // namespace survey
