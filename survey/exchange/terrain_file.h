// survey/exchange/terrain_file.h: a grid of heights from a file that the user has brought.
// Units:  metres (feet in a GeoTIFF that says so are converted)
// Reads   SRTM .hgt (1 or 3 arc seconds; the file's name says where: N46E010.hgt)
//         GeoTIFF, strips or tiles, whole or real numbers of 8 to 64 bits, any compression libtiff
//         knows; geographic or any projected system PROJ knows; the first band
//         ESRI ASCII grid (.asc, .agr, .txt); its system from the .prj beside it, from `system`, or
//         longitude and latitude where the numbers can be nothing else
//         Voids (-32768, the file's own no-data value, not a number) become NaN
// Errors: what the file lacks and where to get it; a file over 150 million cells is refused
// Source: SRTM topographic data, user guide; OGC 19-008r4 (GeoTIFF 1.1); ESRI ASCII raster format
#pragma once

#include <optional>
#include <string>

#include "horizon/result.h"
#include "horizon/terrain/terrain.h"

namespace survey {

// `system`: such as "EPSG:32632", where the file does not say.
horizon::Result<horizon::TerrainGrid> read_terrain(const std::string& path,
                                                   const std::optional<std::string>& system = {});

}  // namespace survey
