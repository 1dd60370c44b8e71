// survey/exchange/geo_tags.h: where a TIFF lies, by its geographic tags.
// Units:  as the tags; metres a unit of height
// Valid:  geographic, or projected by EPSG code, UTM zone or one of six projections written out. What is
//         written out keeps its ellipsoid; shifts between datums (up to some hundred metres) are not in it
// Errors: bad_input: no place, no system, an unknown projection, a written-out or geographic system that
//         is not in degrees from Greenwich
// Source: OGC 19-008r4 (GeoTIFF 1.1), requirements classes GeoKeyDirectory, raster to model, annexes B and C
#pragma once

#include <tiffio.h>

#include <optional>
#include <string>
#include <string_view>

#include "horizon/result.h"

namespace survey {

struct GeoTags {
  // A corner (column, row) of a cell: x = x0 + x_column * column + x_row * row, y alike.
  double x0 = 0, x_column = 0, x_row = 0;
  double y0 = 0, y_column = 0, y_row = 0;
  bool at_point = false;  // a value belongs to the corner itself, not to the cell
  double height_unit_m = 1;
  // Empty: longitude and latitude in degrees. Or why it is none.
  horizon::Result<std::string> system;
};
horizon::Result<GeoTags> geo_tags_of(TIFF* tiff, const std::string& path);

// Metres in one unit by the name that a band's writer gave it; none where it is no length.
std::optional<double> unit_of_heights(std::string_view name);

// The text of an ASCII tag that libtiff itself does not know; empty where there is none.
std::string text_tag(TIFF* tiff, std::uint32_t tag);

}  // namespace survey
