// tests/horizon/house/cold_valley.h: an invented continental valley with the reference house in it.
#pragma once

#include "horizon/house/house_findings.h"

// January -9 C, lows on record -35 C, sun six tenths of the time, snow from November to March.
inline horizon::HouseInput cold_valley() {
  horizon::HouseInput input;
  input.place = {46.6213, 10.3478, 1482};
  input.utc_offset_h = 1;
  input.year = 2027;
  horizon::NormalsEntry n;
  const double mean[] = {-9, -7, -2, 4, 9, 13, 15, 14, 10, 4, -3, -8};
  const double record[] = {-35, -34, -27, -15, -6, -1, 1, 0, -6, -15, -26, -33};
  horizon::MonthlyNormals light;
  for (int m = 0; m < 12; ++m) {
    n.mean_c[m] = mean[m];
    n.min_c[m] = mean[m] - 6.5;
    n.max_c[m] = mean[m] + 6.5;
    n.coldest_c[m] = record[m];
    n.wind_ms[m] = 1.5;
    n.precipitation_mm[m] = 40;
    light.values[m] = 0.6;
  }
  n.height_m = 1482;
  light.source = "invented";
  input.normals = n;
  input.light = light;
  input.albedo = horizon::snow_albedo(0b110000000111);  // November to March
  input.design_low_c = -35;
  return input;
}
