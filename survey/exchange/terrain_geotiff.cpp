#include <geotiff/geo_normalize.h>
#include <geotiff/geotiff.h>
#include <geotiff/geovalues.h>
#include <geotiff/xtiffio.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>
#include <memory>

#include "survey/book/text.h"
#include "survey/exchange/terrain_raster.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::fail;
using horizon::Result;
using horizon::TerrainGrid;

constexpr std::uint32_t kNoDataTag = 42113;  // as raster libraries write it: a number in ASCII

struct CloseTiff {
  void operator()(TIFF* tiff) const { XTIFFClose(tiff); }
};
struct FreeGeo {
  void operator()(GTIF* geo) const { GTIFFree(geo); }
};
using Tiff = std::unique_ptr<TIFF, CloseTiff>;
using Geo = std::unique_ptr<GTIF, FreeGeo>;

struct Layout {
  int bits = 0, format = SAMPLEFORMAT_UINT, samples = 1;
};

double sample_at(const std::uint8_t* p, const Layout& layout) {
  const auto as = [&](auto value) {
    std::memcpy(&value, p, sizeof value);
    return static_cast<double>(value);
  };
  switch (layout.format * 100 + layout.bits) {
    case SAMPLEFORMAT_UINT * 100 + 8:
      return as(std::uint8_t{});
    case SAMPLEFORMAT_UINT * 100 + 16:
      return as(std::uint16_t{});
    case SAMPLEFORMAT_UINT * 100 + 32:
      return as(std::uint32_t{});
    case SAMPLEFORMAT_INT * 100 + 8:
      return as(std::int8_t{});
    case SAMPLEFORMAT_INT * 100 + 16:
      return as(std::int16_t{});
    case SAMPLEFORMAT_INT * 100 + 32:
      return as(std::int32_t{});
    case SAMPLEFORMAT_IEEEFP * 100 + 32:
      return as(float{});
    case SAMPLEFORMAT_IEEEFP * 100 + 64:
      return as(double{});
    default:
      return std::numeric_limits<double>::quiet_NaN();
  }
}

bool readable(const Layout& l) {
  if (l.format == SAMPLEFORMAT_IEEEFP) return l.bits == 32 || l.bits == 64;
  return (l.format == SAMPLEFORMAT_UINT || l.format == SAMPLEFORMAT_INT) &&
         (l.bits == 8 || l.bits == 16 || l.bits == 32);
}

// Each strip or tile is a block; a strip is a tile as wide as the picture.
Result<void> read_cells(TIFF* tiff, const Layout& layout, double no_data, double unit_m,
                        Raster& raster, const std::string& path) {
  const bool tiled = TIFFIsTiled(tiff);
  std::uint32_t block_columns = static_cast<std::uint32_t>(raster.columns), block_rows = 0;
  if (tiled) {
    TIFFGetField(tiff, TIFFTAG_TILEWIDTH, &block_columns);
    TIFFGetField(tiff, TIFFTAG_TILELENGTH, &block_rows);
  } else {
    TIFFGetFieldDefaulted(tiff, TIFFTAG_ROWSPERSTRIP, &block_rows);
    block_rows = std::min(block_rows, static_cast<std::uint32_t>(raster.rows));
  }
  std::uint16_t planar = PLANARCONFIG_CONTIG;
  TIFFGetFieldDefaulted(tiff, TIFFTAG_PLANARCONFIG, &planar);
  const size_t stride = static_cast<size_t>(layout.bits / 8) *
                        (planar == PLANARCONFIG_CONTIG ? static_cast<size_t>(layout.samples) : 1);
  const tmsize_t size = tiled ? TIFFTileSize(tiff) : TIFFStripSize(tiff);
  if (block_columns == 0 || block_rows == 0 || size <= 0 ||
      static_cast<double>(size) > 8 * kMostCells ||
      static_cast<double>(size) < static_cast<double>(stride) * block_columns)
    return fail(Code::bad_input, "error.tiff_blocks", path);
  std::vector<std::uint8_t> block(static_cast<size_t>(size));
  for (int top = 0; top < raster.rows; top += static_cast<int>(block_rows))
    for (int left = 0; left < raster.columns; left += static_cast<int>(block_columns)) {
      const auto x = static_cast<std::uint32_t>(left), y = static_cast<std::uint32_t>(top);
      const tmsize_t got =
          tiled ? TIFFReadEncodedTile(tiff, TIFFComputeTile(tiff, x, y, 0, 0), block.data(), size)
                : TIFFReadEncodedStrip(tiff, TIFFComputeStrip(tiff, y, 0), block.data(), size);
      if (got < 0) return fail(Code::bad_input, "error.tiff_part_packed", path);
      const int rows = std::min(static_cast<int>(block_rows), raster.rows - top);
      const int columns = std::min(static_cast<int>(block_columns), raster.columns - left);
      for (int r = 0; r < rows; ++r)
        for (int c = 0; c < columns; ++c) {
          const size_t at =
              (static_cast<size_t>(r) * block_columns + static_cast<size_t>(c)) * stride;
          if (at + stride > static_cast<size_t>(got)) continue;  // stays a void
          const double value = sample_at(&block[at], layout);
          if (value != no_data)
            raster.heights_m[static_cast<size_t>(top + r) * static_cast<size_t>(raster.columns) +
                             static_cast<size_t>(left + c)] = static_cast<float>(value * unit_m);
        }
    }
  return {};
}

// Longitude and latitude, or the projected system's name.
Result<std::string> system_of(GTIF* geo, const std::string& path) {
  GTIFDefn definition;
  if (!GTIFGetDefn(geo, &definition))
    return fail(Code::bad_input, "error.tiff_system_missing", path);
  if (definition.Model == ModelTypeGeographic) return std::string();
  if (definition.Model != ModelTypeProjected)
    return fail(Code::bad_input, "error.tiff_system_neither", path);
  if (definition.PCS != KvUserDefined && definition.PCS > 0)
    return "EPSG:" + std::to_string(definition.PCS);
  const std::unique_ptr<char, void (*)(char*)> text(GTIFGetProj4Defn(&definition), GTIFFreeMemory);
  if (!text || std::string_view(text.get()).find("+proj=") == std::string_view::npos)
    return fail(Code::bad_input, "error.tiff_projection", path);
  return std::string(text.get()) + " +type=crs";
}

double vertical_unit_m(GTIF* geo) {
  std::uint16_t unit = 0;
  if (GTIFKeyGetSHORT(geo, VerticalUnitsGeoKey, &unit, 0, 1) != 1) return 1;
  if (unit == 9002) return 0.3048;
  return unit == 9003 ? 1200.0 / 3937 : 1;
}

}  // namespace

Result<TerrainGrid> read_geotiff(const std::string& path,
                                 const std::optional<std::string>& system) {
  // The library prints to standard error unless told otherwise, and only for the whole program.
  TIFFSetErrorHandler(nullptr);
  TIFFSetWarningHandler(nullptr);
  const Tiff tiff(XTIFFOpen(path.c_str(), "r"));
  if (!tiff) return fail(Code::bad_input, "error.tiff_damaged", path);
  const Geo geo(GTIFNew(tiff.get()));
  std::uint32_t columns = 0, rows = 0;
  std::uint16_t bits = 1, format = SAMPLEFORMAT_UINT, samples = 1;
  TIFFGetField(tiff.get(), TIFFTAG_IMAGEWIDTH, &columns);
  TIFFGetField(tiff.get(), TIFFTAG_IMAGELENGTH, &rows);
  TIFFGetFieldDefaulted(tiff.get(), TIFFTAG_BITSPERSAMPLE, &bits);
  TIFFGetFieldDefaulted(tiff.get(), TIFFTAG_SAMPLEFORMAT, &format);
  TIFFGetFieldDefaulted(tiff.get(), TIFFTAG_SAMPLESPERPIXEL, &samples);
  if (columns < 2 || rows < 2 || static_cast<double>(columns) * rows > kMostCells)
    return fail(Code::bad_input, "error.tiff_size", path);
  const Layout layout{bits, format, samples};
  if (!readable(layout)) return fail(Code::bad_input, "error.tiff_numbers", path);
  // Pictures: colours, or grey in 8 bits, in which no valley's heights fit.
  std::uint16_t photometric = PHOTOMETRIC_MINISBLACK;
  TIFFGetField(tiff.get(), TIFFTAG_PHOTOMETRIC, &photometric);
  if ((photometric != PHOTOMETRIC_MINISBLACK && photometric != PHOTOMETRIC_MINISWHITE) || bits == 8)
    return fail(Code::bad_input, "error.tiff_is_picture", path);
  Raster raster;
  raster.columns = static_cast<int>(columns);
  raster.rows = static_cast<int>(rows);
  raster.heights_m.assign(static_cast<size_t>(columns) * rows,
                          std::numeric_limits<float>::quiet_NaN());

  // A height belongs to the middle of its cell, or to the very point.
  std::uint16_t kind = RasterPixelIsArea;
  if (geo) GTIFKeyGetSHORT(geo.get(), GTRasterTypeGeoKey, &kind, 0, 1);
  const double first = kind == RasterPixelIsPoint ? 0 : 0.5;
  double x[3] = {first, first + 1, first}, y[3] = {first, first, first + 1};
  for (int i = 0; i < 3; ++i)
    if (!geo || !GTIFImageToPCS(geo.get(), &x[i], &y[i]))
      return fail(Code::bad_input, "error.tiff_no_place", path);
  raster.x0 = x[0];
  raster.x_column = x[1] - x[0];
  raster.x_row = x[2] - x[0];
  raster.y0 = y[0];
  raster.y_column = y[1] - y[0];
  raster.y_row = y[2] - y[0];
  if (system) {
    raster.system = *system;
  } else {
    auto named = system_of(geo.get(), path);
    if (!named) return tl::unexpected(named.error());
    raster.system = std::move(*named);
  }

  double no_data = -32768;
  std::uint16_t count = 0;
  char* text = nullptr;
  if (TIFFGetField(tiff.get(), kNoDataTag, &count, &text) && text && count > 0)
    no_data = number_of(std::string_view(text, strnlen(text, count))).value_or(NAN);
  if (auto read = read_cells(tiff.get(), layout, no_data, vertical_unit_m(geo.get()), raster, path);
      !read)
    return tl::unexpected(read.error());
  return grid_of(std::move(raster), path);
}

}  // namespace survey
