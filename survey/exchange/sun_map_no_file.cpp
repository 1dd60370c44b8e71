// Where GDAL is not: the browser hands over without the sun map's GeoTIFF.
#include "survey/exchange/plan_files.h"

namespace survey {

horizon::Result<void> write_sun_map(const horizon::SitePlan&, const horizon::HoursMap&, int,
                                    const std::string& path) {
  return horizon::fail(horizon::Code::not_found, "error.no_sun_map_here", path);
}

}  // namespace survey
