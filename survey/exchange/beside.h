// survey/exchange/beside.h: which weather file and height grids are kept beside a site file?
// Layout: FOLDER/weather/ID/NAME, one file a site, ID the site's id; FOLDER/terrain/NAME, for all sites
//         of the folder; FOLDER is where the site file lies. Too large for the site file, and others'
// Safety: names are cut to safe ones (safe_file_name); only files that a listing of these folders
//         returns are ever removed, and only once the new one is whole
// Errors: what the readers refuse is not kept; the reason and the cure as they say
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "survey/book/store.h"
#include "survey/exchange/weather_file.h"

namespace survey {

struct KeptWeather {
  std::string path;
  WeatherFile file;
  std::vector<horizon::Error> fit;  // does it speak for the site's place?
  bool already = false;             // the same bytes were there
};
// A file of another climate (more than 500 km away) is refused where the site has a position.
// `at`: where the observer stands, else the site's position.
horizon::Result<KeptWeather> keep_weather(const FieldBook& book, std::string_view name,
                                          std::string_view bytes,
                                          const std::optional<horizon::Place>& at = {});
std::string weather_beside(const FieldBook& book);  // empty: none

struct KeptTerrain {
  std::string path, source;
  int columns = 0, rows = 0;
  double cell_m = 0;
  std::optional<double> ground_m;  // at the site; nothing where the grid does not hold it
  bool already = false;
};
// From a path, since a name and a .prj beside it belong to a grid. `system` such as EPSG:32632.
horizon::Result<KeptTerrain> keep_terrain(const FieldBook& book, const std::string& path,
                                          const std::optional<std::string>& system = {});
std::vector<std::string> terrain_beside(const FieldBook& book);  // in the order of their names

}  // namespace survey
