#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>
#include <memory>
#include <pugixml.hpp>

#include "survey/book/text.h"
#include "survey/exchange/geo_tags.h"
#include "survey/exchange/terrain_raster.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::fail;
using horizon::Result;
using horizon::TerrainGrid;

// As raster libraries write them: XML, and a number in ASCII.
constexpr std::uint32_t kMetadataTag = 42112, kNoDataTag = 42113;

struct CloseTiff {
  void operator()(TIFF* tiff) const { TIFFClose(tiff); }
};
using Tiff = std::unique_ptr<TIFF, CloseTiff>;

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

// Metres in one unit of the first band, where its writer names one: maps of hours, temperatures or
// slopes lie in the same kind of file as heights. `keys_m`: what the file's keys say, which goes before.
Result<double> cell_unit_m(const std::string& metadata, double keys_m, const std::string& path) {
  pugi::xml_document xml;
  if (metadata.empty() || !xml.load_string(metadata.c_str())) return keys_m;
  for (const pugi::xml_node item : xml.child("GDALMetadata").children("Item")) {
    if (std::string_view(item.attribute("role").value()) != "unittype" ||
        item.attribute("sample").as_int() != 0)
      continue;
    const auto unit = unit_of_heights(item.child_value());
    if (!unit) return fail(Code::bad_input, {"error.grid_not_heights", {item.child_value()}}, path);
    return keys_m != 1 ? keys_m : *unit;
  }
  return keys_m;
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

}  // namespace

Result<TerrainGrid> read_geotiff(const std::string& path,
                                 const std::optional<std::string>& system) {
  // The library prints to standard error unless told otherwise, and only for the whole program.
  TIFFSetErrorHandler(nullptr);
  TIFFSetWarningHandler(nullptr);
  const Tiff tiff(TIFFOpen(path.c_str(), "r"));
  if (!tiff) return fail(Code::bad_input, "error.tiff_damaged", path);
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
  const auto tags = geo_tags_of(tiff.get(), path);
  if (!tags) return tl::unexpected(tags.error());
  const double middle = tags->at_point ? 0 : 0.5;
  raster.x0 = tags->x0 + middle * (tags->x_column + tags->x_row);
  raster.x_column = tags->x_column;
  raster.x_row = tags->x_row;
  raster.y0 = tags->y0 + middle * (tags->y_column + tags->y_row);
  raster.y_column = tags->y_column;
  raster.y_row = tags->y_row;
  if (!system && !tags->system) return tl::unexpected(tags->system.error());
  raster.system = system ? *system : *tags->system;

  const auto unit_m = cell_unit_m(text_tag(tiff.get(), kMetadataTag), tags->height_unit_m, path);
  if (!unit_m) return tl::unexpected(unit_m.error());
  double no_data = -32768;
  if (const std::string text = text_tag(tiff.get(), kNoDataTag); !text.empty())
    no_data = number_of(text).value_or(NAN);
  if (auto read = read_cells(tiff.get(), layout, no_data, *unit_m, raster, path); !read)
    return tl::unexpected(read.error());
  return grid_of(std::move(raster), path);
}

}  // namespace survey
