// For a build without libgeotiff: says so, and what to do instead.
#include "survey/exchange/terrain_raster.h"

namespace survey {

horizon::Result<horizon::TerrainGrid> read_geotiff(const std::string& path,
                                                   const std::optional<std::string>&) {
  return horizon::fail(horizon::Code::bad_input,
                       "GeoTIFF grids cannot be read here; save the grid as ESRI ASCII (.asc) or "
                       "SRTM (.hgt), or open the site on a computer",
                       path);
}

}  // namespace survey
