// survey/exchange/gdal_files.h: GDAL's handles as values that close themselves, for the valley's files.
// Errors:  GDAL's own words go to CPLGetLastErrorMsg, none to the terminal; null where it failed
#pragma once

#include <gdal_priv.h>
#include <ogr_spatialref.h>

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "horizon/result.h"

namespace survey {

struct GdalClose {
  void operator()(GDALDataset* file) const { GDALClose(file); }
};
using GdalFile = std::unique_ptr<GDALDataset, GdalClose>;
struct GdalRelease {
  void operator()(OGRSpatialReference* system) const { system->Release(); }
  void operator()(OGRCoordinateTransformation* t) const { OCTDestroyCoordinateTransformation(t); }
};
using GdalSystem = std::unique_ptr<OGRSpatialReference, GdalRelease>;
using GdalTransform = std::unique_ptr<OGRCoordinateTransformation, GdalRelease>;

// flags: GDAL_OF_RASTER or GDAL_OF_VECTOR; read only.
GdalFile gdal_open(const std::string& path, unsigned flags);
// "EPSG:4326" or a PROJ string; longitude or easting first.
GdalSystem gdal_system(const std::string& name);
GdalTransform gdal_transform(const OGRSpatialReference* from, const OGRSpatialReference* to);
// As the options of gdalwarp.
GdalFile gdal_warped(GDALDataset* file, const std::vector<std::string>& options);

// `write` makes a file of the hidden name it is given; it gets `path` when it is whole and on disk.
horizon::Result<void> gdal_write_whole(const std::string& path,
                                       const std::function<bool(const std::string& part)>& write);

}  // namespace survey
