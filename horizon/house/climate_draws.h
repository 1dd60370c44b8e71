// horizon/house/climate_draws.h: winters that could come, drawn from twelve normals or from a year's hours.
// Units:    degrees Celsius, shares 0 to 1, m/s, mm
// Frame:    index 0 = January; a draw is a row of whole days from `first_day`, a day as in
//           horizon/house/plane_hours.h
// Valid:    climates whose months are described by a mean and day-to-day changes; no foehn, no
//           cold lake of air apart from what the normals of the place hold
// Accuracy: a draw is a possible year, not a forecast. Days follow one another with a memory; months
//           come out with the given means over many draws
// Source:   daily means as a first-order autoregressive process (the usual weather generator), of a
//           file brought to its own distribution by rank;
//           daily clearness by the distribution of Bendt, Collares-Pereira & Rabl 1981 and the memory
//           0.29 of Graham, Hollands & Brunger 1988; hours by Collares-Pereira & Rabl 1979 and Liu &
//           Jordan 1960, split by Erbs 1982; dew point at the day's minimum (FAO-56, annex 6)
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "horizon/house/house_weather.h"
#include "horizon/light/sky_input.h"
#include "horizon/skyline/ridge_lines.h"

namespace horizon {

struct ClimateMonths {
  Monthly mean_c{};     // at the site's height
  Monthly swing_k{};    // mean daily maximum less minimum
  Monthly day_sd_k{};   // of daily means about the month's mean
  Monthly clearness{};  // global over outside the atmosphere
  Monthly wind_ms{};
  Monthly snow_mm{};     // water of snow and rain a month; 0 where not known
  double memory = 0.65;  // of a day's departure by the next; three typical years had 0.57 to 0.69
  // Correlation of a day's clearness with its own warmth's departure and with the next day's: without
  // the second, what memory makes of the first.
  Monthly warm_when_clear{};
  std::optional<Monthly> warm_after_clear;
  // Departures over their own sd, rising, of the colder and the warmer half of the year: cold spells
  // may reach further than warm ones. Empty: the normal law.
  std::array<std::vector<double>, 2> departures;
  // How unsure day_sd_k itself is, as a logarithm: drawn with each year.
  double sd_log = 0;
  std::string source;
  std::vector<Error> said;  // what was assumed for want of an entry
};

// What a surveyor can enter; all that is not given is assumed and said.
struct NormalsEntry {
  std::array<std::optional<double>, 12> mean_c, min_c, max_c, coldest_c, wind_ms, precipitation_mm;
  std::optional<double> height_m;  // of the station
};
Result<ClimateMonths> climate_of(const NormalsEntry& normals, const MonthlyNormals& light,
                                 const Place& site);
// Means and changes of a file's year; the memory is its own.
ClimateMonths climate_of(const HouseWeather& year, const SiteSun& sun);

// Lowest temperature of the site that one winter in thirty reaches, by the draws' own law.
class ClimateDraws {
 public:
  ClimateDraws(const ClimateMonths& climate, const SiteSun& sun);
  // days from first_day (of the year, 0 = 1 January); the same seed gives the same weather.
  HouseWeather draw(std::uint32_t seed, int first_day, int days) const;

  // Of the light alone: the clearness of each day as in draw(), and what a day of some clearness
  // brings, hour by hour (`day` from 0 = 1 January; 24 hours, their light alone is set).
  std::vector<double> clearness(std::uint32_t seed, int first_day, int days) const;
  void light_of(int day, double clearness, std::span<HouseHour> hours) const;

 private:
  struct Day {
    double low = 0, high = 0, clearness = 0;
  };
  // One more than asked for. spread: of this year's departures against the usual.
  std::vector<Day> days_of(Gauss& gauss, int first_day, int days, double spread) const;
  // In sigmas, of the normal's; a table for each half of the year.
  static constexpr double kDepartureStep = 0.05, kDeparturesEnd = 5;
  static constexpr int kDepartures = 200;
  static void set_departures(const std::vector<double>& own, std::vector<double>& out);
  double departure(double normal, int month) const;
  // What an hour of the year has of its day, whatever the weather.
  struct Hour {
    float global_share = 0, diffuse_share = 0;  // of the day's sum
    HourSun sun;
    enum class Part { before_dawn, warming, cooling } part = Part::cooling;
    double way = 0;  // from one turning point to the next, as half a cosine
  };
  static void set_way(double at, float sunset_deg, Hour& hour);
  ClimateMonths climate_;
  const SiteSun* sun_;
  std::vector<Hour> hours_;
  std::vector<float> most_;  // by hour: never more beam than through a very clear sky
  std::vector<float> outside_wh_, sunset_deg_;
  std::array<std::vector<double>, 12> clearness_;  // by rank
  std::array<std::vector<double>, 2> departures_;
  std::array<bool, 12> warm_half_{};
  std::vector<double> mean_, swing_, sd_;  // by day
};

}  // namespace horizon
