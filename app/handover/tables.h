// app/handover/tables.h: the text files of the package: tables, skyline map, site.json, README.
// Units:  in every column's and key's name; times in UTC (ISO 8601) unless a name says local
// Layout: CSV as RFC 4180 with a header row; GeoJSON as RFC 7946; site.json by
//         docs/site.schema.json
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "app/handover/site_report.h"

namespace app {

std::string mask_csv(const StationReport& station);         // one row a degree
std::string breakpoints_csv(const StationReport& station);  // the exact pieces
std::string sun_hours_csv(const StationReport& station);    // one row an hour the sun is up
std::string sun_vectors_csv(
    const StationReport& station);  // towards the sun, and its share of beam
std::string skyline_geojson(const SiteReport& site);

struct PackageFacts {
  std::string made_utc, software;
};
std::string_view site_schema();  // docs/site.schema.json
std::string site_json(const SiteReport& site, const PackageFacts& facts);

struct PackageFile {
  std::string name;  // in the package, with '/'
  std::string about;
};
std::string package_readme(const SiteReport& site, const PackageFacts& facts,
                           const std::vector<PackageFile>& files);

}  // namespace app
