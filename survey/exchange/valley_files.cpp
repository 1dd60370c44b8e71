#include "survey/exchange/valley_files.h"

#include <cpl_conv.h>
#include <cpl_error.h>
#include <gdal_priv.h>
#include <gdal_utils.h>
#include <gdalwarper.h>
#include <ogr_spatialref.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <limits>
#include <mutex>

#include "horizon/geodesy.h"
#include "survey/exchange/exchange.h"
#include "survey/exchange/gdal_files.h"
#include "survey/exchange/geo_tags.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::fail;
using horizon::Result;

constexpr float kNone = std::numeric_limits<float>::quiet_NaN();
constexpr int kNodes = 33;  // of the lattice that places are read from
constexpr double kMostCellsOfAll = 4e9;
constexpr double kLowest_m = -1000;  // lower "heights" are gaps that the file does not name

std::string transverse_mercator(double latitude_deg, double longitude_deg) {
  char text[160];
  std::snprintf(text, sizeof text,
                "+proj=tmerc +lat_0=%.3f +lon_0=%.3f +k=1 +x_0=0 +y_0=0 +datum=WGS84 +units=m "
                "+no_defs",
                latitude_deg, longitude_deg);
  return text;
}

struct Extent {
  double west = 1e300, south = 1e300, east = -1e300, north = -1e300, cell = 1e300, area = 0;
};

Result<void> widen(Extent& extent, GDALDataset* file, const std::string& wkt,
                   const std::string& path) {
  void* transformer =
      GDALCreateGenImgProjTransformer(file, nullptr, nullptr, wkt.c_str(), FALSE, 0, 1);
  double geo[6], box[4];
  int columns = 0, rows = 0;
  const bool sound =
      transformer && GDALSuggestedWarpOutput2(file, GDALGenImgProjTransform, transformer, geo,
                                              &columns, &rows, box, 0) == CE_None;
  if (transformer) GDALDestroyGenImgProjTransformer(transformer);
  if (!sound) return fail(Code::bad_input, "error.grid_not_onto_plane", path);
  extent.west = std::min(extent.west, box[0]);
  extent.south = std::min(extent.south, box[1]);
  extent.east = std::max(extent.east, box[2]);
  extent.north = std::max(extent.north, box[3]);
  extent.cell = std::min(extent.cell, geo[1]);
  extent.area += (box[2] - box[0]) * (box[3] - box[1]);
  return {};
}

}  // namespace

struct ValleyGrid::Source {
  struct Part {
    GdalFile file, warped;
    double unit_m = 1;
  };
  std::vector<Part> parts;
  std::mutex reading;
  GdalTransform to_grid, to_places;
  std::vector<horizon::GridSpot> nodes;  // kNodes by kNodes over the whole
};

namespace {

Result<GdalFile> opened(const std::string& path, double& unit_m) {
  GdalFile file = gdal_open(path, GDAL_OF_RASTER);
  if (!file) return fail(Code::bad_input, "error.no_height_grid_read", path);
  if (!file->GetSpatialRef()) return fail(Code::bad_input, "error.grid_system_needed", path);
  const std::string name = file->GetRasterBand(1)->GetUnitType();
  const auto unit = unit_of_heights(name);
  if (!unit) return fail(Code::bad_input, {"error.grid_not_heights", {name}}, path);
  unit_m = *unit;
  return file;
}

Result<std::pair<double, double>> middle_of(const std::vector<GDALDataset*>& files) {
  double south = 90, north = -90, west = 1e9, east = -1e9;
  for (GDALDataset* file : files) {
    GdalTransform to = gdal_transform(file->GetSpatialRef(), gdal_system("EPSG:4326").get());
    double geo[6];
    if (!to || file->GetGeoTransform(geo) != CE_None)
      return fail(Code::bad_input, "error.grid_place_unknown", file->GetDescription());
    for (const double u : {0.0, 1.0})
      for (const double v : {0.0, 1.0}) {
        const double c = u * file->GetRasterXSize(), r = v * file->GetRasterYSize();
        double x = geo[0] + c * geo[1] + r * geo[2], y = geo[3] + c * geo[4] + r * geo[5];
        if (!to->Transform(1, &x, &y))
          return fail(Code::bad_input, "error.grid_beyond_system", file->GetDescription());
        if (east > -1e9) x = (east + west) / 2 + horizon::wrap_180(x - (east + west) / 2);
        west = std::min(west, x), east = std::max(east, x);
        south = std::min(south, y), north = std::max(north, y);
      }
  }
  return std::pair((south + north) / 2, horizon::wrap_180((west + east) / 2));
}

}  // namespace

Result<ValleyGrid> ValleyGrid::open(const std::vector<std::string>& paths, double cell_m) {
  ValleyGrid valley;
  valley.source_ = std::make_shared<Source>();
  std::vector<GDALDataset*> files;
  for (const std::string& path : paths) {
    Source::Part part;
    auto file = opened(path, part.unit_m);
    if (!file) return tl::unexpected(file.error());
    part.file = std::move(*file);
    files.push_back(part.file.get());
    valley.source_->parts.push_back(std::move(part));
  }
  const auto middle = middle_of(files);
  if (!middle) return tl::unexpected(middle.error());
  valley.system_ = transverse_mercator(middle->first, middle->second);
  const auto system = gdal_system(valley.system_);
  char* wkt = nullptr;
  system->exportToWkt(&wkt);
  const std::string plane = wkt;
  CPLFree(wkt);
  Extent extent;
  for (size_t i = 0; i < files.size(); ++i)
    if (auto wide = widen(extent, files[i], plane, paths[i]); !wide)
      return tl::unexpected(wide.error());
  if ((extent.east - extent.west) * (extent.north - extent.south) > 20 * extent.area)
    return fail(Code::bad_input, "error.grids_far_apart", paths.front());
  valley.cell_m_ = cell_m > 0 ? cell_m : std::max(0.1, std::round(extent.cell * 10) / 10);
  valley.west_m_ = std::floor(extent.west / valley.cell_m_) * valley.cell_m_;
  valley.north_m_ = std::ceil(extent.north / valley.cell_m_) * valley.cell_m_;
  const double columns = std::ceil((extent.east - valley.west_m_) / valley.cell_m_);
  const double rows = std::ceil((valley.north_m_ - extent.south) / valley.cell_m_);
  if (columns * rows > kMostCellsOfAll || columns > 2e6 || rows > 2e6)
    return fail(Code::bad_input, "error.valley_too_many_cells");
  valley.columns_ = static_cast<int>(columns);
  valley.rows_ = static_cast<int>(rows);

  for (Source::Part& part : valley.source_->parts) {
    const double finest = valley.cell_m_ / std::max(1e-9, extent.cell);
    const auto number = [](double value) { return std::to_string(value); };
    part.warped =
        gdal_warped(part.file.get(),
                    {"-of", "VRT", "-t_srs", valley.system_, "-te", number(valley.west_m_),
                     number(valley.north_m_ - rows * valley.cell_m_),
                     number(valley.west_m_ + columns * valley.cell_m_), number(valley.north_m_),
                     "-ts", std::to_string(valley.columns_), std::to_string(valley.rows_), "-ot",
                     "Float32", "-dstnodata", "nan", "-r", finest > 2 ? "average" : "bilinear"});
    if (!part.warped)
      return fail(Code::bad_input, "error.grid_not_onto_plane", part.file->GetDescription());
  }
  Source& source = *valley.source_;
  source.to_grid = gdal_transform(gdal_system("EPSG:4326").get(), system.get());
  source.to_places = gdal_transform(system.get(), gdal_system("EPSG:4326").get());
  for (int j = 0; j < kNodes; ++j)
    for (int i = 0; i < kNodes; ++i) {
      double x[2], y[2];
      x[0] = x[1] = valley.west_m_ + columns * valley.cell_m_ * i / (kNodes - 1);
      y[0] = valley.north_m_ - rows * valley.cell_m_ * j / (kNodes - 1);
      y[1] = y[0] + 100;
      if (!source.to_places->Transform(2, x, y))
        return fail(Code::bad_input, "error.valley_beyond_system", paths.front());
      const horizon::Place here{y[0], x[0], 0};
      source.nodes.push_back(
          {here, horizon::wrap_180(horizon::geodesic(here, {y[1], x[1], 0}).azimuth.degrees())});
    }
  return valley;
}

Result<horizon::MetricGrid> ValleyGrid::read(const ValleyWindow& window) const {
  horizon::MetricGrid grid;
  grid.columns = window.columns;
  grid.rows = window.rows;
  grid.column_m = grid.row_m = cell_m_;
  grid.heights_m.assign(static_cast<size_t>(window.columns) * static_cast<size_t>(window.rows),
                        kNone);
  const int left = std::max(0, window.column), top = std::max(0, window.row);
  const int right = std::min(columns_, window.column + window.columns);
  const int bottom = std::min(rows_, window.row + window.rows);
  if (right <= left || bottom <= top) return grid;
  std::vector<float> band(static_cast<size_t>(right - left) * static_cast<size_t>(bottom - top));
  const std::scoped_lock lock(source_->reading);
  for (const Source::Part& part : source_->parts) {
    if (part.warped->GetRasterBand(1)->RasterIO(GF_Read, left, top, right - left, bottom - top,
                                                band.data(), right - left, bottom - top,
                                                GDT_Float32, 0, 0) != CE_None)
      return fail(Code::failed, {"error.grid_not_read_to_end", {std::string(CPLGetLastErrorMsg())}},
                  part.file->GetDescription());
    const float* from = band.data();
    for (int r = top; r < bottom; ++r)
      for (int c = left; c < right; ++c, ++from) {
        const float h = *from * static_cast<float>(part.unit_m);
        if (h > kLowest_m) grid.heights_m[grid.index(c - window.column, r - window.row)] = h;
      }
  }
  return grid;
}

horizon::GridSpot ValleyGrid::spot(double column, double row) const {
  const double x = std::clamp((column + 0.5) / columns_, 0.0, 1.0) * (kNodes - 1);
  const double y = std::clamp((row + 0.5) / rows_, 0.0, 1.0) * (kNodes - 1);
  const int i = std::min(static_cast<int>(x), kNodes - 2),
            j = std::min(static_cast<int>(y), kNodes - 2);
  const auto mixed = [&](auto value) {
    const auto at = [&](int di, int dj) {
      return value(source_->nodes[static_cast<size_t>((j + dj) * kNodes + i + di)]);
    };
    return (1 - (y - j)) * ((1 - (x - i)) * at(0, 0) + (x - i) * at(1, 0)) +
           (y - j) * ((1 - (x - i)) * at(0, 1) + (x - i) * at(1, 1));
  };
  const double first = source_->nodes[static_cast<size_t>(j * kNodes + i)].place.longitude_deg;
  horizon::GridSpot spot;
  spot.place.latitude_deg = mixed([](const horizon::GridSpot& s) { return s.place.latitude_deg; });
  spot.place.longitude_deg = horizon::wrap_180(mixed([first](const horizon::GridSpot& s) {
    return first + horizon::wrap_180(s.place.longitude_deg - first);
  }));
  spot.grid_north_deg = mixed([](const horizon::GridSpot& s) { return s.grid_north_deg; });
  return spot;
}

std::pair<double, double> ValleyGrid::cell_of(const horizon::Place& place) const {
  double x = place.longitude_deg, y = place.latitude_deg;
  const std::scoped_lock lock(source_->reading);
  if (!source_->to_grid->Transform(1, &x, &y)) return {-1e9, -1e9};
  return {(x - west_m_) / cell_m_ - 0.5, (north_m_ - y) / cell_m_ - 0.5};
}

ValleyWindow tile_of(const ValleyGrid& valley, int index, int count) {
  // As many columns of tiles as make them square, the last ones of a row wider.
  int across = std::max(
      1,
      static_cast<int>(std::lround(std::sqrt(double(count) * valley.columns() / valley.rows()))));
  while (count % across != 0) --across;
  const int down = count / across, i = (index - 1) % across, j = (index - 1) / across;
  const auto edge = [](long long size, int k, int n) { return static_cast<int>(size * k / n); };
  ValleyWindow window;
  window.column = edge(valley.columns(), i, across);
  window.columns = edge(valley.columns(), i + 1, across) - window.column;
  window.row = edge(valley.rows(), j, down);
  window.rows = edge(valley.rows(), j + 1, down) - window.row;
  return window;
}

Result<void> write_layer(const ValleyGrid& valley, const ValleyWindow& window, const Layer& layer,
                         const std::string& path) {
  const bool classes = !layer.colours.empty();
  GdalFile memory(GetGDALDriverManager()->GetDriverByName("MEM")->Create(
      "", window.columns, window.rows, 1, classes ? GDT_Byte : GDT_Float32, nullptr));
  double geo[6] = {valley.west_m() + window.column * valley.cell_m(),
                   valley.cell_m(),
                   0,
                   valley.north_m() - window.row * valley.cell_m(),
                   0,
                   -valley.cell_m()};
  memory->SetGeoTransform(geo);
  memory->SetSpatialRef(gdal_system(valley.system()).get());
  GDALRasterBand* band = memory->GetRasterBand(1);
  band->SetDescription(layer.words.c_str());
  band->SetUnitType(layer.unit.c_str());
  band->SetNoDataValue(classes ? 0.0 : std::numeric_limits<double>::quiet_NaN());
  if (classes) {
    GDALColorTable table;
    for (size_t i = 0; i < layer.colours.size(); ++i) {
      const GDALColorEntry colour{layer.colours[i][0], layer.colours[i][1], layer.colours[i][2],
                                  static_cast<short>(i == 0 ? 0 : 255)};
      table.SetColorEntry(static_cast<int>(i), &colour);
    }
    band->SetColorTable(&table);
  }
  std::vector<float> values = layer.values;
  if (classes)
    for (float& v : values)
      if (std::isnan(v)) v = 0;
  if (band->RasterIO(GF_Write, 0, 0, window.columns, window.rows, values.data(), window.columns,
                     window.rows, GDT_Float32, 0, 0) != CE_None)
    return fail(Code::failed, CPLGetLastErrorMsg(), path);
  return gdal_write_whole(path, [&](const std::string& part) {
    CPLStringList options;
    options.SetNameValue("COMPRESS", "DEFLATE");
    options.SetNameValue("PREDICTOR", "YES");
    options.SetNameValue("RESAMPLING", classes ? "NEAREST" : "AVERAGE");
    if (!layer.overviews) options.SetNameValue("OVERVIEWS", "NONE");
    GdalFile file(GetGDALDriverManager()->GetDriverByName("COG")->CreateCopy(
        part.c_str(), memory.get(), FALSE, options.List(), nullptr, nullptr));
    return file != nullptr;
  });
}

Result<void> join_layers(const std::vector<std::string>& tiles, const std::string& path) {
  std::vector<const char*> names;
  for (const std::string& tile : tiles) names.push_back(tile.c_str());
  return gdal_write_whole(path, [&](const std::string& part) {
    int wrong = 0;
    GdalFile file(static_cast<GDALDataset*>(GDALBuildVRT(
        part.c_str(), static_cast<int>(names.size()), nullptr, names.data(), nullptr, &wrong)));
    return file != nullptr;
  });
}

Result<std::vector<float>> read_layer(const ValleyGrid& valley, const std::string& path) {
  GdalFile file = gdal_open(path, GDAL_OF_RASTER);
  double geo[6];
  if (!file || file->GetGeoTransform(geo) != CE_None)
    return fail(Code::bad_input, "error.no_valley_layer", path);
  const int column = static_cast<int>(std::lround((geo[0] - valley.west_m()) / valley.cell_m()));
  const int row = static_cast<int>(std::lround((valley.north_m() - geo[3]) / valley.cell_m()));
  const int columns = file->GetRasterXSize(), rows = file->GetRasterYSize();
  if (column < 0 || row < 0 || column + columns > valley.columns() || row + rows > valley.rows() ||
      std::abs(geo[1] - valley.cell_m()) > 1e-6)
    return fail(Code::bad_input, "error.valley_other_grids", path);
  std::vector<float> values(
      static_cast<size_t>(valley.columns()) * static_cast<size_t>(valley.rows()), kNone);
  float* first =
      values.data() + static_cast<size_t>(row) * static_cast<size_t>(valley.columns()) + column;
  if (file->GetRasterBand(1)->RasterIO(
          GF_Read, 0, 0, columns, rows, first, columns, rows, GDT_Float32, 0,
          static_cast<GSpacing>(sizeof(float)) * valley.columns()) != CE_None)
    return fail(Code::failed, CPLGetLastErrorMsg(), path);
  return values;
}

}  // namespace survey
