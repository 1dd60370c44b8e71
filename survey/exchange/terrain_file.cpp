#include "survey/exchange/terrain_file.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <limits>
#include <map>
#include <string_view>

#include "horizon/angle.h"
#include "horizon/geodesy.h"
#include "survey/book/ranges.h"
#include "survey/book/text.h"
#include "survey/exchange/grid.h"
#include "survey/exchange/terrain_raster.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::fail;
using horizon::Result;
using horizon::TerrainGrid;

constexpr float kVoid = std::numeric_limits<float>::quiet_NaN();

std::optional<int> digits_of(std::string_view text) {
  int value = 0;
  for (const char c : text) {
    if (c < '0' || c > '9') return std::nullopt;
    value = value * 10 + (c - '0');
  }
  return text.empty() ? std::nullopt : std::optional(value);
}

// ---- SRTM .hgt: big-endian 16-bit heights, the south-west corner in the name ----

struct Corner {
  int south_deg, west_deg;
};
std::optional<Corner> corner_in_name(const std::string& stem) {
  const std::string name = lower_ascii(stem);
  if (name.size() < 7 || (name[0] != 'n' && name[0] != 's') || (name[3] != 'e' && name[3] != 'w'))
    return std::nullopt;
  const auto latitude = digits_of(name.substr(1, 2)), longitude = digits_of(name.substr(4, 3));
  if (!latitude || !longitude || *latitude > 90 || *longitude > 180) return std::nullopt;
  return Corner{name[0] == 's' ? -*latitude : *latitude, name[3] == 'w' ? -*longitude : *longitude};
}

Result<TerrainGrid> read_hgt(const std::string& path) {
  const auto corner = corner_in_name(std::filesystem::path(path).stem().string());
  if (!corner) return fail(Code::bad_input, "error.hgt_name", path);
  const auto bytes = read_file(path);
  if (!bytes) return tl::unexpected(bytes.error());
  Raster raster;
  for (const auto& [columns, rows] :
       {std::pair{1201, 1201}, {3601, 3601}, {1801, 3601}, {601, 1201}})
    if (bytes->size() == size_t{2} * static_cast<size_t>(columns) * static_cast<size_t>(rows)) {
      raster.columns = columns;
      raster.rows = rows;
    }
  if (raster.columns == 0) return fail(Code::bad_input, "error.hgt_size", path);
  raster.heights_m.reserve(bytes->size() / 2);
  for (size_t i = 0; i + 1 < bytes->size(); i += 2) {
    const auto h = static_cast<std::int16_t>(static_cast<unsigned char>((*bytes)[i]) << 8 |
                                             static_cast<unsigned char>((*bytes)[i + 1]));
    raster.heights_m.push_back(h == -32768 ? kVoid : static_cast<float>(h));
  }
  raster.x0 = corner->west_deg;
  raster.x_column = 1.0 / (raster.columns - 1);
  raster.y0 = corner->south_deg + 1;
  raster.y_row = -1.0 / (raster.rows - 1);
  return grid_of(std::move(raster), path);
}

// ---- ESRI ASCII grid ----

class Words {
 public:
  explicit Words(std::string_view text) : text_(text) {}
  std::string_view next() {
    while (at_ < text_.size() && is_blank(text_[at_])) ++at_;
    const size_t begin = at_;
    while (at_ < text_.size() && !is_blank(text_[at_])) ++at_;
    return text_.substr(begin, at_ - begin);
  }
  void back(std::string_view word) { at_ = static_cast<size_t>(word.data() - text_.data()); }

 private:
  static bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }
  std::string_view text_;
  size_t at_ = 0;
};

// The system that the .prj beside the file holds, or nothing.
std::optional<std::string> system_beside(const std::string& path) {
  for (const char* ending : {".prj", ".PRJ"}) {
    const auto beside = std::filesystem::path(path).replace_extension(ending);
    std::error_code none;
    if (!std::filesystem::exists(beside, none)) continue;
    if (const auto text = read_file(beside.string())) return std::string(trimmed(*text));
  }
  return std::nullopt;
}

bool is_geographic(std::string_view system) {
  const std::string text = lower_ascii(system);
  return text.starts_with("geogc") || text == "epsg:4326" || text == "epsg:4258" ||
         text == "epsg:4269";
}

Result<Raster> header_of(Words& words, const std::string& path) {
  std::map<std::string, double> header;
  for (;;) {
    const std::string_view word = words.next();
    if (word.empty() || number_of(word)) {
      words.back(word.empty() ? word : word);
      break;
    }
    const std::string name = lower_ascii(word);
    const auto value = number_of(words.next());
    if (!value) {
      if (name == "nodata_value") {
        header[name] = NAN;
        continue;
      }
      return fail(Code::bad_input, {"error.asc_header_number", {name.substr(0, 30)}}, path);
    }
    header[name] = *value;
  }
  const auto has = [&](const char* name) { return header.contains(name); };
  Raster raster;
  const double columns = header["ncols"], rows = header["nrows"];
  if (!(columns >= 2 && rows >= 2 && columns * rows <= kMostCells) ||
      columns != std::floor(columns) || rows != std::floor(rows))
    return fail(Code::bad_input, "error.asc_size", path);
  raster.columns = static_cast<int>(columns);
  raster.rows = static_cast<int>(rows);
  raster.x_column = has("dx") ? header["dx"] : header["cellsize"];
  raster.y_row = -(has("dy") ? header["dy"] : header["cellsize"]);
  if (!(raster.x_column > 0 && raster.y_row < 0))
    return fail(Code::bad_input, "error.asc_cellsize", path);
  if (!(has("xllcorner") || has("xllcenter")) || !(has("yllcorner") || has("yllcenter")))
    return fail(Code::bad_input, "error.asc_corner", path);
  raster.x0 = has("xllcenter") ? header["xllcenter"] : header["xllcorner"] + raster.x_column / 2;
  const double south =
      has("yllcenter") ? header["yllcenter"] : header["yllcorner"] - raster.y_row / 2;
  raster.y0 = south - raster.y_row * (raster.rows - 1);
  // Kept here until the cells are read.
  raster.x_row = has("nodata_value") ? header["nodata_value"] : -9999;
  return raster;
}

Result<TerrainGrid> read_ascii(const std::string& path, const std::optional<std::string>& system) {
  const auto bytes = read_file(path);
  if (!bytes) return tl::unexpected(bytes.error());
  Words words(*bytes);
  auto raster = header_of(words, path);
  if (!raster) return tl::unexpected(raster.error());
  const double no_data = raster->x_row;
  raster->x_row = 0;
  const size_t cells = static_cast<size_t>(raster->columns) * static_cast<size_t>(raster->rows);
  // Two characters a cell at least: a header alone must not ask for the memory.
  if (bytes->size() < 2 * cells - 1) return fail(Code::bad_input, "error.asc_ends_early", path);
  raster->heights_m.reserve(cells);
  while (raster->heights_m.size() < cells) {
    const std::string_view word = words.next();
    if (word.empty()) return fail(Code::bad_input, "error.asc_ends_early", path);
    const auto value = number_of(word);
    if (!value && lower_ascii(word) != "nan")
      return fail(Code::bad_input,
                  {"error.asc_no_height",
                   {std::string(word.substr(0, 20)),
                    raster->heights_m.size() / static_cast<size_t>(raster->columns) + 1}},
                  path);
    raster->heights_m.push_back(!value || *value == no_data ? kVoid : static_cast<float>(*value));
  }
  const auto named = system ? system : system_beside(path);
  if (named) {
    if (!is_geographic(*named)) raster->system = *named;
  } else {
    const bool degrees =
        raster->x_column < 0.1 && std::abs(raster->x0) <= 360 && std::abs(raster->y0) <= 90;
    if (!degrees) return fail(Code::bad_input, "error.asc_system_needed", path);
  }
  return grid_of(std::move(*raster), path);
}

}  // namespace

Result<TerrainGrid> grid_of(Raster raster, const std::string& path) {
  for (float& h : raster.heights_m)
    if (!(h > -12000 && h < 9000)) h = kVoid;  // no ground on Earth, whatever the file calls it
  // Marks for voids that the file does not declare; then what no ground on the Earth can be.
  for (float& h : raster.heights_m)
    if (!(h > -9990 && h < 32767)) h = kVoid;
  if (std::none_of(raster.heights_m.begin(), raster.heights_m.end(),
                   [](float h) { return std::isfinite(h); }))
    return fail(Code::bad_input, "error.terrain_only_voids", path);
  const auto odd = std::count_if(raster.heights_m.begin(), raster.heights_m.end(), [](float h) {
    return h < range::kHeight_m.min || h > range::kHeight_m.max;
  });
  if (odd > 0) return fail(Code::bad_input, {"error.terrain_odd_heights", {odd}}, path);
  const double determinant = raster.x_column * raster.y_row - raster.x_row * raster.y_column;
  if (!std::isfinite(determinant) || determinant == 0)
    return fail(Code::bad_input, "error.terrain_cells_nowhere", path);

  TerrainGrid grid;
  grid.columns = raster.columns;
  grid.rows = raster.rows;
  grid.heights_m = std::move(raster.heights_m);
  grid.source = std::filesystem::path(path).filename().string();
  const double column_size = std::hypot(raster.x_column, raster.y_column);
  const double row_size = std::hypot(raster.x_row, raster.y_row);
  const auto cell_at = [=](double x, double y) {
    const double dx = x - raster.x0, dy = y - raster.y0;
    return std::pair((dx * raster.y_row - dy * raster.x_row) / determinant,
                     (dy * raster.x_column - dx * raster.y_column) / determinant);
  };
  if (raster.system.empty()) {
    const double middle_x = raster.x0 + raster.x_column * (raster.columns - 1) / 2 +
                            raster.x_row * (raster.rows - 1) / 2;
    const double middle_y = raster.y0 + raster.y_column * (raster.columns - 1) / 2 +
                            raster.y_row * (raster.rows - 1) / 2;
    if (!(std::abs(middle_y) <= 90 && std::abs(middle_x) <= 540))
      return fail(Code::bad_input, "error.terrain_cells_off_earth", path);
    const double degree_m = horizon::kDegree * horizon::kEarthRadius_m;
    grid.cell_m =
        degree_m * std::min(column_size * std::cos(middle_y * horizon::kDegree), row_size);
    grid.cell_of = [=](double latitude_deg, double longitude_deg) {
      // The turn of longitude that lies nearest to the grid's middle.
      return cell_at(middle_x + horizon::wrap_180(longitude_deg - middle_x), latitude_deg);
    };
    return grid;
  }
  const auto system = Grid::open(raster.system);
  if (!system) {
    horizon::Error error = system.error();
    error.where = path;
    return tl::unexpected(error);
  }
  grid.cell_m = std::min(column_size, row_size) * system->unit_m();
  grid.cell_of = [=, system = *system](double latitude_deg, double longitude_deg) {
    const auto at = system.easting_northing({latitude_deg, longitude_deg, 0});
    if (!at) return std::pair(-1e9, -1e9);  // far outside
    return cell_at(at->first, at->second);
  };
  return grid;
}

namespace {

Result<TerrainGrid> read_any(const std::string& path, const std::optional<std::string>& system) {
  std::ifstream file(path, std::ios::binary);
  char magic[4] = {};
  if (!file || !file.read(magic, 4))
    return fail(Code::not_found, "error.terrain_file_unreadable", path);
  const std::string_view start(magic, 4);
  using namespace std::string_view_literals;
  if (start == "II*\0"sv || start == "MM\0*"sv || start == "II+\0"sv || start == "MM\0+"sv)
    return read_geotiff(path, system);
  if (start.starts_with("PK")) return fail(Code::bad_input, "error.zip_archive", path);
  if (lower_ascii(std::filesystem::path(path).extension().string()) == ".hgt")
    return read_hgt(path);
  if (lower_ascii(start) == "ncol") return read_ascii(path, system);
  return fail(Code::bad_input, "error.no_terrain_grid", path);
}

}  // namespace

Result<TerrainGrid> read_terrain(const std::string& path,
                                 const std::optional<std::string>& system) {
  constexpr double kCoarsest_m = 1000;  // a valley fits into wider cells, ridges and all
  auto grid = read_any(path, system);
  if (grid && grid->cell_m > kCoarsest_m)
    return fail(Code::bad_input,
                {"error.terrain_coarse", {horizon::Arg::figure(grid->cell_m / 1000, 0)}}, path);
  return grid;
}

}  // namespace survey
