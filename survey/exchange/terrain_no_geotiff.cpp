// For a build without libgeotiff: says so, and what to do instead.
#include "survey/exchange/terrain_raster.h"

namespace survey {

horizon::Result<horizon::TerrainGrid> read_geotiff(const std::string& path,
                                                   const std::optional<std::string>&) {
  return horizon::fail(horizon::Code::bad_input, "error.no_geotiff_here", path);
}

}  // namespace survey
