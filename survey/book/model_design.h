// survey/book/model_design.h: the climate taken for the site, the designer's choices, and findings.
// Units:  degrees Celsius, kWh per m2 and day, fractions 0 to 1, metres, m/s, mm
// Frame:  index 0 = January
#pragma once

#include <array>

#include "survey/book/model.h"

namespace survey {

using MonthValues = std::array<std::optional<double>, 12>;

struct ClimateNormals {
  Id id;
  std::string name;    // of the weather station or grid cell
  std::string source;  // publisher, title, period
  std::optional<Position> position;
  MonthValues mean_c, min_c, max_c;  // daily mean; mean daily minimum and maximum
  MonthValues coldest_c;             // lowest on record
  MonthValues sunshine_fraction;     // of the possible hours
  MonthValues global_kwh_m2_day;     // on the horizontal
  MonthValues snow_cover_fraction;   // of days
  MonthValues albedo;                // of the ground
  MonthValues linke_turbidity;       // at air mass 2
  MonthValues wind_ms, precipitation_mm;
  std::string note;
};

// One row in a file.
struct DesignChoices {
  Id id;
  Id station_id;                          // where the building stands
  std::optional<double> facing_true_deg;  // of the glazing
  std::optional<double> tilt_deg;         // of the glazing, from the horizontal
  std::string glazing;                    // "single_glass", "twin_wall_polycarbonate", ...
  double frames_and_dirt = 0.85;          // share of the light that they leave
  std::optional<double> length_m, depth_m, height_m;  // outside; length along the glazing
  std::vector<Field> crop_needs;                      // key: crop, value: mol/m2 a day
  // Of the unheated house, where it differs from the reference: survey/assess/house_input.h.
  std::vector<Field> house;
  int winter_months = 0;        // bit 0 = January; 0 = by the hemisphere
  std::optional<int> year;      // that the sun is worked out for
  bool imperial_units = false;  // in what people read; files stay metric
  std::string language;         // of the report: "en", "de"; empty: as the program's
  std::string note;
};

// A result as it was handed over. Derived: it can be worked out again from the rows it names.
struct Finding {
  Id id, station_id;
  std::string what;  // "direct_sun_shortest_day"
  std::optional<double> value;
  std::string unit;                 // "h"
  std::optional<double> low, high;  // hold 90 %
  std::string text;                 // where a number does not say it
  std::string worked_out_from;      // rows, methods, choices
  Moment time;
};

// A few numbers for the list of sites: derived, kept beside the rows so that the list is quick.
struct SkylineSketch {
  std::vector<float> elevation_deg;  // at equal steps of true azimuth from north
  std::vector<std::uint8_t> kind;    // horizon::Kind, one for each; 255 = nobody aimed here
};

}  // namespace survey
