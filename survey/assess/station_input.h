// survey/assess/station_input.h: what the light at a station is worked out from, out of the field book.
// One place for screens, command line and report, so that all give the same numbers.
// Units:  as horizon/light/findings.h
#pragma once

#include <optional>

#include "horizon/light/findings.h"
#include "survey/assess/station_skyline.h"
#include "survey/book/store.h"

namespace survey {

// What the whole site shares: read once, used for each station.
struct SiteSettings {
  Site site;
  DesignChoices choices;
  std::optional<ClimateNormals> climate;                 // the first one entered
  std::optional<horizon::GroundSlope> slope;             // of the first pit where it was measured
  std::optional<double> design_low_c;                    // of the frost form
  std::optional<horizon::TrueAzimuth> summer_wind_from;  // of the wind form; else the usual wind's
};
horizon::Result<SiteSettings> site_settings(const FieldBook& book);

// The year that the sun is worked out for: the one chosen, else that of the first visit.
int sun_year_of(const SiteSettings& settings);
// Sunshine or radiation of all twelve months make typical skies; else the sky is clear.
horizon::StationInput station_input(const SiteSettings& settings, const StationSkyline& station);

// The name as the site file spells it ("twin_wall_polycarbonate"), or that of glazing_named.
std::optional<horizon::Glazing> glazing_of(std::string_view name);

}  // namespace survey
