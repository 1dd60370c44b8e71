// The sun map as a GeoTIFF: the cells as they were worked out, turned and scaled with the plot.
#include <cmath>

#include "survey/exchange/gdal_files.h"
#include "survey/exchange/plan_files.h"

namespace survey {

horizon::Result<void> write_sun_map(const horizon::SitePlan& plan, const horizon::HoursMap& map,
                                    int winter_days, const std::string& path) {
  const auto& grid = map.grid;
  if (!plan.grid || grid.columns < 1 || grid.rows < 1)
    return horizon::fail(horizon::Code::not_found, "error.grid_unknown", path);
  const auto system = gdal_system(plan.grid->code);
  if (!system)
    return horizon::fail(horizon::Code::not_found, "error.grid_unknown", plan.grid->code);
  const auto at = [&](double column, double row) {  // corners of cells; rows from the north
    return plan.on_grid({grid.west_m + (column - 0.5) * grid.step_m,
                         grid.south_m + (grid.rows - 0.5 - row) * grid.step_m});
  };
  const Eigen::Vector2d origin = at(0, 0), right = at(1, 0) - origin, down = at(0, 1) - origin;
  double transform[6] = {origin.x(), right.x(), down.x(), origin.y(), right.y(), down.y()};
  constexpr float kNothing = -9999;
  std::vector<float> cells;
  for (int row = grid.rows - 1; row >= 0; --row)
    for (int column = 0; column < grid.columns; ++column) {
      const auto& spot = map.at(column, row);
      cells.push_back(spot.occupied ? kNothing
                                    : static_cast<float>(spot.direct_h / std::max(1, winter_days)));
    }
  return gdal_write_whole(path, [&](const std::string& part) {
    GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GTiff");
    if (!driver) return false;
    GdalFile file(driver->Create(part.c_str(), grid.columns, grid.rows, 1, GDT_Float32, nullptr));
    if (!file) return false;
    GDALRasterBand* band = file->GetRasterBand(1);
    band->SetDescription("winter direct sun, hours a day");
    band->SetUnitType("h");
    band->SetNoDataValue(kNothing);
    return file->SetGeoTransform(transform) == CE_None &&
           file->SetSpatialRef(system.get()) == CE_None &&
           band->RasterIO(GF_Write, 0, 0, grid.columns, grid.rows, cells.data(), grid.columns,
                          grid.rows, GDT_Float32, 0, 0) == CE_None;
  });
}

}  // namespace survey
