// survey/assess/ground_findings.h: what soil, water, frost, cold, wind and snow of a site file come
// to.
// Units:   metres, mm, mm/h, per cent, degrees Celsius, degree-days (C d), m/s, kN/m2
// Traces:  each value's `from` says which pit, test, form or record it rests on, as a sentence by
//          its key
// Errors:  what cannot be worked out is left out, and `missing` says what is missing and where;
//          only a file that cannot be read fails
// Derived: nothing here is stored; one place for screens, command line, report and package
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "horizon/ground/edge_table.h"
#include "horizon/ground/frost_group.h"
#include "horizon/ground/percolation.h"
#include "horizon/ground/presumptive_bearing.h"
#include "horizon/ground/snow.h"
#include "horizon/plot/verdict.h"
#include "survey/assess/assessment.h"
#include "survey/book/store.h"

namespace survey {

using horizon::Evidence;

struct LayerFinding {
  double top_m = 0, bottom_m = 0, coarse_percent = 0, organic_percent = 0;
  horizon::Texture texture = horizon::Texture::loam;
  bool from_laboratory = false;  // else by feel, with the typical point of the class
  horizon::FineEarth soil;
  horizon::SoilWater water;
};

struct PitFinding {
  std::string name;
  horizon::Sentence from;  // "Pit 1, layers by feel"
  std::optional<Position> position;
  std::optional<double> water_m;
  std::vector<LayerFinding> layers;  // from the top
  double available_water_mm = 0;     // in the top metre, or as deep as was dug
  double described_m = 0;
  std::optional<horizon::HydrologicGroup> hydrologic_group;
  // Of the deepest layer, on which one would build:
  std::optional<horizon::FrostRange> frost_group;
  std::optional<horizon::BearingClass> bearing;
  std::optional<horizon::FrostRangeDepth> frost_depth;    // under the snow of the frost form
  std::optional<horizon::FrostRangeDepth> frost_cleared;  // without it; where snow was entered
  std::vector<horizon::EdgeRow> edge_table;               // of the ground cleared of snow, moist
  std::optional<horizon::EdgeInsulation> edge_insulation;
};

struct PercolationFinding {
  std::string name;
  horizon::Sentence from;
  std::optional<Position> position;
  std::optional<horizon::PercolationResult> result;
  double clock_jump_s = 0;  // the time of day was set by this much during the test; put right here
};

struct FrostFinding {
  Evidence<horizon::FreezingIndex> air;  // the typed design winter, else the average of normals
  bool average_winter = false;           // a design winter goes deeper
  double n_factor = 1;
  std::string surface;  // name_of(horizon::Surface)
  double snow_m = 0;    // lies on the ground in mid winter
};

struct GroundTemperature {
  double depth_m = 0, coldest_c = 0, warmest_c = 0;
  std::optional<double> bare_coldest_c;  // kept clear of snow; where snow was entered
  double coldest_day = 0;                // of the year
};

struct NightsUnder {
  double limit_c = 0, nights = 0;
};
struct ColdFinding {
  std::optional<Evidence<double>> design_low_c;
  std::optional<Evidence<horizon::ColdSummary>> record;  // of a weather file
  std::vector<NightsUnder> nights;                       // a year, of the weather file
  std::optional<Evidence<double>> heating_degree_days;   // base 18
  std::optional<Evidence<double>> growing_degree_days;   // base 10, cut 30
  bool from_months = false;  // of monthly means: short warm and cold spells are lost
  std::optional<horizon::FrostDates> frost, killing_frost;  // limits 0 and -2
  std::optional<Evidence<horizon::ColdAir>> cold_air;
  std::vector<std::string> signs_seen;  // keys of horizon::cold_air_signs()
};

struct WindFinding {
  std::optional<Evidence<int>> prevailing, storm, summer;  // sectors
  std::optional<double> strongest_ms;
  std::optional<horizon::WindSummary> record;
  std::optional<Evidence<std::array<horizon::SectorShelter, horizon::kWindSectors>>> shelter;
  std::vector<Field> drift_signs;  // key, what was seen
  std::optional<Evidence<horizon::CrossBreeze>> breeze;
};

struct SnowFinding {
  Evidence<double> ground_kn_m2;
  double tilt_deg = 60, run_m = 2, foot_m = 0.6;
  horizon::Sentence assumed;  // what of these nobody chose yet
  bool held = false;
  double mu1 = 0, roof_kn_m2 = 0;
  double cs_slippery = 0, cs_other = 0;  // thermal factor 1.2
  std::optional<horizon::SlidSnow> slid;
};

struct GroundFindings {
  std::vector<PitFinding> pits;
  std::vector<PercolationFinding> percolation;
  std::optional<FrostFinding> frost;
  std::vector<GroundTemperature> temperatures;
  horizon::Sentence temperatures_from;
  ColdFinding cold;
  WindFinding wind;
  std::optional<SnowFinding> snow;
  std::vector<SiteNote> forms;  // the newest of each topic, as kept
  std::vector<horizon::Sentence> missing;

  const SiteNote* form(Topic topic) const;
};

struct GroundOptions {
  const horizon::WeatherYear* weather = nullptr;  // hourly, of the place
  std::optional<horizon::TrueAzimuth> facing;     // else the designer's choice, else towards noon
  std::optional<double> tilt_deg;
  const Assessment* site = nullptr;  // where it is there already; else it is made
};
horizon::Result<GroundFindings> ground_findings(const FieldBook& book,
                                                const GroundOptions& options = {});

// A percolation test as the sums want it: times by the clock that cannot be set where it is known.
struct PercolationTimes {
  std::vector<horizon::WaterReading> readings;  // in order
  double clock_jump_s = 0;                      // the largest seen
  bool checked = true;                          // every step by the clock that cannot be set
};
horizon::Result<PercolationTimes> percolation_times(std::vector<PercolationReading> readings);

// The layer's class: of the laboratory's parts, else as named, words for stones left aside.
horizon::Result<LayerFinding> layer_finding(const SoilLayer& row);

}  // namespace survey
