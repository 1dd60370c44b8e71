// survey/exchange/plan_files.h: the plan of a site as files that other programs read?
// Units:    metres; DXF, IFC: east (true), north, up from the plan's origin, the ground at the main
//           station; the tie to the grid is in the file
// Formats:  DXF of the year 2000 (layers, line types, blocks STATION and PEG, $INSUNITS 6);
//           IFC4 (ISO 16739-1:2018) as an ISO 10303-21 file; GeoTIFF (OGC 19-008r4), turned with
//           the plot, so that no cell is resampled; pegs as an RFC 4180 table
// Accuracy: coordinates are written to 0.1 mm
// Same:     the same plan gives the same bytes
#pragma once

#include <span>
#include <string>

#include "horizon/plot/hours_map.h"
#include "horizon/plot/site_plan.h"
#include "horizon/result.h"

namespace survey {

std::string plan_dxf(const horizon::SitePlan& plan);
// made_utc: "2027-01-10T12:00:00Z"; software: "Adret 0.1.0".
std::string plan_ifc(const horizon::SitePlan& plan, const std::string& made_utc,
                     const std::string& software);
std::string pegs_csv(const horizon::SitePlan& plan);

// Winter direct sun, hours a day; -9999 where something stands. Fails where GDAL is not (the
// browser), where the plan has no grid, or the disk says no.
horizon::Result<void> write_sun_map(const horizon::SitePlan& plan, const horizon::HoursMap& map,
                                    int winter_days, const std::string& path);

}  // namespace survey
