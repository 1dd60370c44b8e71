// tests/horizon/house/denver_year.h: the hours of ASHRAE 140's own weather (tests/data/SOURCES.md).
#pragma once

#include <doctest/doctest.h>

#include "horizon/light/weather_year.h"
#include "tests/csv_rows.h"

namespace denver {

using namespace horizon;

inline const Place kPlace{39.83, -104.65, 1650};

inline WeatherYear year() {
  WeatherYear out;
  out.place = kPlace;
  out.utc_offset_h = -7;
  out.station = "725650";
  for (const CsvRow& row : csv_rows("house/denver_hours.csv")) {
    WeatherHour h;
    h.dry_bulb_c = row["dry_bulb_c"];
    h.relative_humidity_percent = row["humidity_percent"];
    h.beam_normal_wm2 = row["beam_normal_wm2"];
    h.diffuse_horizontal_wm2 = row["diffuse_wm2"];
    h.global_horizontal_wm2 = row["global_wm2"];
    h.wind_speed_ms = row["wind_ms"];
    h.sky_cover = row["opaque_tenths"] / 10;
    out.hours.push_back(h);
  }
  REQUIRE(out.hours.size() == 8760);
  return out;
}

}  // namespace denver
