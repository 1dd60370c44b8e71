// app/handover/site_report.h: all that is handed over, read and worked out once: the report and every
// file of the package are drawn from this one value.
// Units:  as the headers it is made of
// Cost:   about half a second a station (findings with ranges)
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "app/drawing/charts/sun_values.h"
#include "horizon/house/house_findings.h"
#include "horizon/light/findings.h"
#include "horizon/skyline/mask.h"
#include "horizon/sun/sun.h"
#include "horizon/sun/sun_path.h"
#include "horizon/sun/sun_year.h"
#include "survey/assess/ground_findings.h"
#include "survey/assess/plot_findings.h"
#include "survey/assess/station_input.h"
#include "survey/assess/station_skyline.h"
#include "survey/book/store.h"

namespace app {

struct StationReport {
  survey::StationSkyline derived;
  std::vector<survey::HeadingCheckRow> checks;  // all, with the voided
  horizon::StationInput input;
  horizon::StationFindings findings;
  horizon::Masks masks;
  std::shared_ptr<const horizon::SunPath> path;  // of the year, local clock
  horizon::SunYear year;
  std::vector<DayPath> day_paths;
  SunYearChart sun_year_chart;
  std::optional<horizon::HouseFindings> house;  // whole at the first station, else odds only
  std::string house_missing;                    // why there is none

  const std::string& name() const { return derived.station.name; }
  const horizon::Skyline& skyline() const { return derived.skyline(); }
};

struct PercolationReport {
  survey::PercolationTest test;
  std::vector<survey::PercolationReading> readings;  // in time order
};
struct PitReport {
  survey::SoilPit pit;
  std::vector<survey::SoilLayer> layers;  // from the top
};

struct SiteReport {
  survey::SiteSettings settings;
  std::vector<survey::Visit> visits;
  std::vector<StationReport> stations;  // the main one first; those without any sighting left out
  std::vector<std::string> left_out;    // why a station is not here
  std::vector<PitReport> pits;
  std::vector<PercolationReport> percolation;
  std::vector<survey::SiteNote> notes;
  std::vector<survey::Hazard> hazards;
  std::vector<survey::Landmark> landmarks;
  std::vector<survey::Photo> photos;
  std::vector<survey::Path> paths;
  std::vector<survey::Person> people;
  std::vector<survey::ObstacleRow> obstacles;
  survey::GroundFindings ground;
  std::optional<survey::PlotFindings> plot;             // nothing without a position
  horizon::Weights weights = horizon::kDefaultWeights;  // of its verdict
  std::optional<horizon::SitePlan> plan;                // of the plot

  const survey::Site& site() const { return settings.site; }
  double utc_offset_h() const { return settings.site.created.utc_offset_h; }
  const StationReport* station(const survey::Id& id) const;
};

// The one with the most winter sun: page 1 leads with it, and its house is told in full.
std::size_t best_station(const SiteReport& site);

// 0 to 1 of the whole, and what is being done.
using Progress = std::function<void(double part, std::string_view what)>;
using Cancelled = std::function<bool()>;

// draws: of the uncertainty, as StationInput's. weather: an hourly year of the place, for the
// skies (in place of what the field book knows of the climate) and for the nights, frosts and winds
// of the ground; none: null. Fails without any station that has sightings.
horizon::Result<SiteReport> site_report(
    const survey::FieldBook& book, int draws, const Progress& progress, const Cancelled& cancelled,
    std::shared_ptr<const horizon::WeatherYear> weather = nullptr);

inline horizon::Error cancelled_error() { return {horizon::Code::failed, "error.cancelled", ""}; }

}  // namespace app
